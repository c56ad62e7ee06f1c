"""What a batch writes: the sheet, and what the command line makes of it."""

from __future__ import annotations

import json
import re
from pathlib import Path

from compiler.random_batches import write_batch
from compiler.reading import read_text
from compiler.test_batches import at, trays
from compiler.tool.in_process import flatwise
from example_jobs import BATCH, ROOT, example_batch

from flatwise.pipeline import build_batch
from flatwise.report import files


def test_the_sheet_shows_where_each_panel_lies_and_sets_one_zero() -> None:
    batch, built = example_batch()
    assert built.plan is not None
    page = files(built, {})["sheet.html"].decode()
    ids = re.findall(r' id="([^"]+)"', page)
    assert len(ids) == len(set(ids)) > 40
    for number, plan in enumerate(built.plan.plans, 1):
        name, corner = plan.work.name, plan.work.job.zero.corner
        place = rf"front left corner at <span[^>]*>X {corner.x:.1f} mm, Y {corner.y:.1f} mm<"
        assert re.search(rf"{number} {name}</td>.*?>{place}", page)
        # its own page has its holders and the edge over which it is turned, and only the first has the zero
        own = page[page.index(f'id="panel-{name}"') :].split("</section>")[0]
        assert f"Panel {number}: {name}" in own and "turned over its long edge, its back edge toward you" in own
        assert own.count("from the front left corner") == 4 and "No leaves" in own
        assert ("X0 Y0" in own) == ("Red corner: X Y zero" in own) == ("touch off here" in own) == (number == 1)
    # X and Y are set once, for all panels, and kept for the second faces
    first = batch.works[0].name
    assert page.count(f"Set X 0, Y 0 over the front left corner of the panel {first}") == 1
    for once in (
        "The manuals of the machine",
        "No gloves near",
        "Set Z 0 there",
        "To touch:",
        "10000 rpm is within",
        "Keep X, Y and Z",
        "a panel that is forced flat springs back",
        "The holding forces are estimates",
        "Write into its job",
    ):
        assert page.count(once) == 1, once
    # a panel that goes on alone has its zero at its own corner
    assert "set X 0, Y 0 over its own corner" in page


def test_the_sheet_names_leaves_warnings_and_a_panel_that_is_not_turned(shop: Path) -> None:
    """Of these two panels the first has a single face and a doubtful reading, the second stands on three corners."""
    first, second = write_batch(1055).split("job panel_1", 1)
    gaps = "gap back_right 0.5mm, back 0.25mm, right 0.25mm, front 0mm, left 0mm; within"
    second = re.sub("gap .*; within", gaps, second).replace(
        "    hold {", "    supports { shims leaf_set under corners }; hold {"
    )
    front = read_text(shop, f"{first}job panel_1{second}", "random.flat")
    page = files(build_batch(front.batches[0]), front.texts)["sheet.html"].decode()
    assert "then its leaves, flat on the bed" in page and "Take all their leaves out" in page
    panels = [page[page.index(f'id="panel-panel_{number}"') :].split("</section>")[0] for number in (0, 1)]
    assert ["No leaves" in each for each in panels] == [True, False] and "Gap left" in panels[1]
    assert "Leave panel_0 clamped" in page and page.count("panel_0: turned") == 0 and "panel_1: turned" in page
    assert "FW205: panel_0: The thickness" in page


# -- the command line --------------------------------------------------------------------------------------------


def test_a_batch_is_built_in_place_of_its_jobs(shop: Path) -> None:
    (shop / "jobs" / f"{BATCH}.flat").write_bytes((ROOT / "jobs" / f"{BATCH}.flat").read_bytes())
    run = flatwise("build", "jobs", "--depfile", "made.d", cwd=shop)
    assert run.returncode == 0 and run.stdout.startswith(f"{BATCH}: 4 panels, ")
    assert [each.name for each in (shop / "out").iterdir() if not each.name.startswith(".")] == [BATCH]
    written = sorted(each.name for each in (shop / "out" / BATCH).iterdir())
    assert written == ["first.nc", "second.nc", "sheet.html", "summary.json"]
    assert (shop / "made.d").read_text().startswith(f"out/{BATCH}/first.nc out/{BATCH}/second.nc")
    told = json.loads((shop / "out" / BATCH / "summary.json").read_text())
    assert set(told) == {"schema", "batch", "jobs", "programs"} and told["jobs"][1]["place"]["y"] == 80.0
    for name in (BATCH, ""):
        command = ("verify", f"out/{BATCH}/first.nc", "--job", f"jobs/{BATCH}.flat{':' * bool(name)}{name}")
        run = flatwise(*command, cwd=shop)
        assert run.returncode == 0 and "4 panels" in run.stdout
    assert flatwise("verify", f"out/{BATCH}/first.nc", "--job", f"jobs/{BATCH}.flat:tea_tray", cwd=shop).returncode == 1


def test_one_job_of_a_batch_by_itself(shop: Path) -> None:
    (shop / "jobs" / f"{BATCH}.flat").write_bytes((ROOT / "jobs" / f"{BATCH}.flat").read_bytes())
    run = flatwise("build", f"jobs/{BATCH}.flat:tea_tray", cwd=shop)
    assert run.returncode == 0 and run.stdout.startswith("tea_tray: 18mm")
    assert flatwise("check", f"jobs/{BATCH}.flat", cwd=shop).stdout == "1 job checked, no problems.\n"
    assert flatwise("check", f"jobs/{BATCH}.flat:no_tray", cwd=shop).returncode == 2


def test_a_panel_that_goes_on_alone_sets_its_own_zero(shop: Path) -> None:
    """As the sheet of the batch says: `after` and its place in the job, which leaves the batch."""
    text = (ROOT / "jobs" / f"{BATCH}.flat").read_text(encoding="utf-8")
    own = "after first { marks left }; zero { corner front_left at 80mm, 471mm }"
    head, tray = text.split("job tea_tray from kitchen_tray {")
    text = f"{head}job tea_tray from kitchen_tray {{ {own}; {tray.replace('tea_tray, ', '')}"
    (shop / "jobs" / "alone.flat").write_text(text, encoding="utf-8")
    assert flatwise("build", "jobs/alone.flat:tea_tray", cwd=shop).returncode == 0
    page = (shop / "out" / "tea_tray" / "sheet.html").read_text()
    assert "If the panel was cut in a batch, set X and Y anew there" in page
    assert "X 80.0 mm, Y 471.0 mm" in page


def test_nothing_is_written_for_a_batch_with_an_error(shop: Path) -> None:
    read_text(shop, trays("", at(100, 100), at(560, 100)))
    run = flatwise("build", "jobs", cwd=shop)
    assert run.returncode == 1 and "FW501" in run.stdout and not (shop / "out").exists()


def test_what_an_edit_of_a_batch_changes(shop: Path) -> None:
    text = trays("gap 40mm; from front_left at 120mm, 120mm", *["zero { z bed }"] * 2)
    read_text(shop, text, "old.flat")
    read_text(shop, text.replace("gap 40mm", "gap 90mm"), "new.flat")
    said = flatwise("compare", "jobs/old.flat", "jobs/new.flat", cwd=shop).stdout
    assert said.startswith("trays: ") and "tray_b, zero" in said and "tray_a" not in said
    read_text(shop, text.replace("from front_left at 120mm, 120mm", "from front_left at 120mm, 1200mm"), "new.flat")
    run = flatwise("compare", "jobs/old.flat", "jobs/new.flat", "--fail-on", "worse", cwd=shop)
    assert run.returncode == 1 and "does not compile" in run.stdout and "FW301" in run.stdout


def test_a_batch_with_the_name_of_its_job_is_checked_and_not_written(shop: Path) -> None:
    text = trays("gap 60mm; from front_left at 120mm, 120mm", *["zero { z bed }"] * 2).replace(
        "batch trays", "batch tray_a"
    )
    read_text(shop, text)
    run = flatwise("build", "jobs/example.flat", cwd=shop)
    assert run.returncode == 1 and "FW103" in run.stdout and "tray_a: not written." in run.stdout
    assert not (shop / "out").exists()
