"""`flatwise new`: the options, the files of `shared/`, and a message when an option can't be met."""

from __future__ import annotations

import io
import json
import re
import shutil
from pathlib import Path

import pytest
from compiler.tool.in_process import flatwise
from hypothesis import given
from hypothesis import strategies as st
from hypothesis_profile import examples

from flatwise.model.words import PLACES
from flatwise.tool import new
from flatwise_grammar import format_text

EMPTY = "Its survey is empty: check reports FW205 until the panel is measured and the readings are in the job.\n"


def made(shop: Path, name: str = "top") -> str:
    text = (shop / "jobs" / f"{name}.flat").read_text("utf-8")
    assert text == format_text(text)
    return text


def codes(shop: Path, name: str = "top") -> set[str]:
    """The codes that `check` gives for a job, notes left out."""
    run = flatwise("check", "--message", "json", f"jobs/{name}.flat", cwd=shop)
    found = [json.loads(line) for line in run.stdout.splitlines()]
    return {each["code"] for each in found if each["severity"] != "note"}


def fill_in(shop: Path, name: str = "top", *, words: str = "thickness|gap") -> None:
    """Write readings of a flat panel into the blanks of the survey, and remove their `#`, as its comment says."""
    text = made(shop, name)
    ((thickness, unit),) = re.findall(r"size .*? x .*? x (.*?(mm|in))\b", text)

    def filled(line: re.Match[str]) -> str:
        value = {"thickness": thickness, "gap": f"0{unit}"}.get(line[2], "0.1mm")
        return line[1] + line[2] + line[3].replace(f"__{unit}", value)

    text, changed = re.subn(rf"^( *)# ({words})(  .*)$", filled, text, flags=re.M)
    assert changed
    (shop / "jobs" / f"{name}.flat").write_text(format_text(text), "utf-8")


def measured_and_sound(shop: Path, name: str = "top") -> None:
    """It says only that nothing is measured; with a flat panel's readings in the blanks it builds without a warning."""
    assert codes(shop, name) == {"FW205"}
    fill_in(shop, name)
    run = flatwise("check", "--strict", f"jobs/{name}.flat", cwd=shop)
    assert run.returncode == 0, run.stdout


WISHES = {
    "nothing": [],
    "a size": ["--size", "700mm x 400mm x 28mm", "--left", "25mm"],
    "one unit for all": ["--size", "1100 x 600 x 40 mm", "--left", "36.5mm"],
    "near the travel": ["--size", "1180mm x 380mm x 34mm"],
    "a wood": ["--wood", "walnut"],
    "the other machine": ["--machine", "long_router"],
    "inches": ["--machine", "long_router", "--size", "36in x 18in x 1 1/4in", "--wood", "cherry"],
}


#: of each sort one is enough for a quick run
MORE = "nothing", "a size", "a wood", "near the travel", "one unit for all"


@pytest.mark.parametrize(
    "wish", [pytest.param(each, marks=pytest.mark.nightly) if each in MORE else each for each in WISHES]
)
def test_only_the_readings_are_missing_in_what_it_writes(shop: Path, wish: str) -> None:
    run = flatwise("new", "top", *WISHES[wish], cwd=shop)
    assert run.returncode == 0 and run.stdout.startswith(f"Wrote jobs/top.flat.\n{EMPTY}Next: flatwise measure jobs/")
    assert run.stdout.count("\n") == 4 and "Isolate the spindle" in run.stdout
    assert made(shop).count("  # ") >= 9
    walk = flatwise("measure", "jobs/top.flat", cwd=shop)
    assert walk.returncode == 0 and "measure.nc" in walk.stdout, walk.stdout
    measured_and_sound(shop)


@pytest.mark.parametrize("unit", ["mm", "in"])
def test_every_blank_is_a_correct_line_once_it_is_filled_in(shop: Path, unit: str) -> None:
    """Each reading once, the glue line that a step needs, and the points that the form gives."""
    flatwise("new", "top", *WISHES["inches" if unit == "in" else "nothing"], cwd=shop)
    text = made(shop)
    survey = text[text.index("survey {") : text.index("supports {")]
    assert not re.search(r"\d(mm|in)", survey)
    for word, places in (("thickness", set(PLACES)), ("gap", set(PLACES) - {"centre"})):
        lines = re.findall(rf"^ *# {word}  (.*)$", survey, re.M)
        blanks = [blank.split() for line in lines for blank in line.split(", ")]
        assert len(lines) == 3 and len(blanks) == len(places)
        assert {tuple(blank) for blank in blanks} == {(place, f"__{unit}") for place in places}
    for blank, line in (
        (f"# glue_lines  y __{unit}, __{unit}", "glue_lines  y 200mm"),
        (f"__{unit} at y __{unit}", f"__{unit} at y 200mm"),
        ('# probe      "top.csv"', 'probe "top.csv"'),
    ):
        assert text.count(blank) == 1
        text = text.replace(blank, line)
    (shop / "jobs" / "top.flat").write_text(format_text(text))
    corners = {"mm": "10,10,32\n890,10,32\n10,490,32\n890,490,32", "in": "1,1,1.25\n35,1,1.25\n1,17,1.25\n35,17,1.25"}
    (shop / "jobs" / "top.csv").write_text(f"x {unit},y {unit},z {unit}\n{corners[unit]}\n")
    fill_in(shop, words="thickness|gap|step|within")
    assert not re.search(r"# *(thickness|gap|step|within|probe|glue_lines) ", made(shop))
    run = flatwise("check", "jobs/top.flat", cwd=shop)
    assert run.returncode == 0, run.stdout


def test_the_wish_is_in_the_text_with_what_belongs_to_it(shop: Path) -> None:
    flatwise("new", "top", *WISHES["inches"], cwd=shop)
    text = made(shop)
    assert 'use "../shared/inch_shop.flat"' in text and "shop.flat" not in text.replace("inch_shop.flat", "")
    for said in ("long_router", "inch_tops", "slab_2in", "brass_set", "pin_dog", "wedge_clamp", "cherry"):
        assert said in text
    assert "size   36in x 18in x 1 1/4in" in text and "back_left __in" in text and "second  to 1.125in" in text
    assert not re.search(r"\dmm", text)


def test_a_cutter_of_another_file_brings_its_file(shop: Path) -> None:
    (shop / "shared" / "drawer.flat").write_text(
        'use "shop.flat"\ncutter small like fly_64 { diameter 40mm; depth up to 0.8mm }\n'
        "wood pear { density 690kg/m3; modulus 8000MPa }\n"
    )
    flatwise("new", "top", "--cutter", "small", "--wood", "pear", cwd=shop)
    text = made(shop)
    assert 'use "../shared/shop.flat"\nuse "../shared/drawer.flat"\n' in text and "cutter    small" in text
    measured_and_sound(shop)


@pytest.mark.parametrize(
    ("wish", "said"),
    [
        (["--wood", "ahs"], "No wood called ahs"),
        (["--machine", "mill"], "there is bench_router, long_router"),
        (["--cutter", "x"], "No cutter called x"),
        (["--standard", "house"], "No standard called house"),
        (["--size", "900mm x 500mm"], "three lengths such as 900mm x 500mm x 32mm"),
        (["--size", "900kg x 500mm x 32mm"], "three lengths"),
        (["--size", "900 x 500 x 32"], "three lengths"),
        (["--size", "0mm x 500mm x 32mm"], "three lengths"),
        (["--size", "1/0in x 5in x 3in"], "three lengths"),
        (["--left", "thin"], "is not a length such as 29mm"),
        (["--left", "1/0in"], "is not a length such as 29mm"),
        (["--left", "29kg"], "is not a length such as 29mm"),
    ],
)
def test_a_wish_that_nothing_meets_is_said_and_nothing_is_written(shop: Path, wish: list[str], said: str) -> None:
    run = flatwise("new", "top", *wish, cwd=shop)
    assert run.returncode == 1 and said in run.stdout and run.stderr == ""
    assert list((shop / "jobs").iterdir()) == []


def test_a_wish_that_the_machine_can_not_meet_is_written_and_said(shop: Path) -> None:
    run = flatwise("new", "top", "--size", "2000mm x 500mm x 32mm", cwd=shop)
    assert run.returncode == 0 and "It does not compile yet: FW301: " in run.stdout
    assert "FW301" in flatwise("check", "jobs", cwd=shop).stdout


def test_a_stricter_standard_leaves_the_depth_to_it(shop: Path) -> None:
    run = flatwise("new", "top", "--standard", "fine_tops", cwd=shop)
    assert run.stdout.startswith("Wrote jobs/top.flat.\n") and "not compile" not in run.stdout
    assert "# no depth: passes as deep as" in made(shop)
    measured_and_sound(shop)


def test_the_standard_that_the_project_requires_is_the_one_that_is_taken(shop: Path) -> None:
    (shop / "flatwise.toml").write_text('standard = "fine_tops"\nstandard_from = "shared/standards.flat"\n')
    assert "not compile" not in flatwise("new", "top", cwd=shop).stdout
    assert "standard  fine_tops" in made(shop)
    measured_and_sound(shop)
    # another one may be named; what it writes keeps to both
    assert "not compile" not in flatwise("new", "other", "--standard", "solid_tops", cwd=shop).stdout
    measured_and_sound(shop, "other")


def test_a_thin_panel_is_held_by_what_stands_lowest(shop: Path) -> None:
    easy = 'use "shop.flat"\nstandard thin like solid_tops { leave at least 10mm }\n'
    # what a comment says of a height is nobody's height
    tall = "dog tall_dog {  # another one has height 2mm\n    across 19mm\n    height 40mm\n}\n"
    (shop / "shared" / "thin.flat").write_text(easy + tall)
    run = flatwise("new", "tray", "--size", "500mm x 300mm x 15mm", "--left", "12.5mm", "--standard", "thin", cwd=shop)
    assert run.stdout.startswith("Wrote jobs/tray.flat.\n") and "not compile" not in run.stdout
    text = made(shop, "tray")
    assert "thin_dog  left" in text and "low_cam   right" in text
    measured_and_sound(shop, "tray")
    # thinner than the lowest clamp: written, and said
    run = flatwise("new", "lid", "--size", "300mm x 200mm x 12mm", "--standard", "thin", cwd=shop)
    assert "It does not compile yet: FW501: The cutter meets the clamp low_cam" in run.stdout


def test_a_shop_is_written_only_where_there_is_none(tmp_path: Path) -> None:
    (tmp_path / "flatwise.toml").touch()
    assert flatwise("new", "top", "--wood", "x", cwd=tmp_path).returncode == 1
    assert not (tmp_path / "shared").exists()
    run = flatwise("new", "top", "--size", "800mm x 400mm x 30mm", cwd=tmp_path)
    assert "Wrote shared/shop.flat, an invented shop" in run.stdout
    assert flatwise("format", "--check", ".", cwd=tmp_path).returncode == 0
    assert flatwise("measure", "jobs/top.flat", cwd=tmp_path).returncode == 0
    assert (tmp_path / "out" / "top" / "measure.nc").exists()  # the shop has a gauge
    measured_and_sound(tmp_path)


def test_a_shop_without_a_gauge_measures_by_hand(shop: Path) -> None:
    for path in (shop / "shared").glob("*.flat"):
        path.write_text(re.sub(r"^gauge.*$", "", path.read_text("utf-8"), flags=re.M))
    run = flatwise("new", "top", cwd=shop)
    assert run.returncode == 0 and "gauge" not in run.stdout
    assert "walk" not in made(shop) and "top.csv" not in made(shop)
    assert flatwise("measure", "jobs/top.flat", cwd=shop).returncode == 0
    assert [path.name for path in (shop / "out" / "top").iterdir()] == ["measure.html"]
    measured_and_sound(shop)


def test_the_cautions_stand_at_the_head_of_the_job(shop: Path) -> None:
    flatwise("new", "top", cwd=shop)
    head = made(shop).partition("use ")[0]
    for said in (
        "isolate the spindle",
        "eyes, ears and lungs",
        "clamp by hand",
        "stay at the stop",
        "manuals of machine",
    ):
        assert said in head
    assert "local rules and trained practice come first" in head


def ask(shop: Path, monkeypatch: pytest.MonkeyPatch, typed: str, *options: str) -> str:
    """What `new top --ask` prints while this is typed."""
    monkeypatch.setattr("sys.stdin", io.StringIO(typed))
    run = flatwise("new", "top", "--ask", *options, cwd=shop)
    assert run.returncode == 0, run.stdout
    return run.stdout


def test_it_asks_for_what_is_not_given_and_takes_the_default_for_nothing(
    shop: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    printed = ask(shop, monkeypatch, "700mm x 400mm x 28mm\n\nteak\n\n\n" + "\n" * 17, "--machine", "bench_router")
    asked = re.findall(r"([^:\[\n]+) \[([^\]]+)\]: ", printed)
    questions = [text for word, text in new.QUESTIONS.items() if word != "machine"]
    assert [question for question, _ in asked[:5]] == questions
    assert dict(asked)[new.QUESTIONS["left"]] == "25mm" and dict(asked)[new.QUESTIONS["cutter"]] == "fly_64"
    assert printed.count("the spindle isolated; Enter where you took none.\nThickness at the back left corner, ") == 1
    # every place once, and none of them was measured
    assert len(asked) == len(dict(asked)) == 5 + 9 + 8 and {default for _, default in asked[5:]} == {"not measured"}
    assert all(question.endswith(", mm") for question, _ in asked[5:]) and EMPTY in printed
    text = made(shop)
    assert "700mm x 400mm x 28mm" in text and "wood   teak" in text and "second  to 25mm" in text
    measured_and_sound(shop)


def test_answers_become_readings_in_the_unit_of_the_size(shop: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    typed = "\n" * 3 + "1.25\n1 1/4\n\n1.25in\n31.8mm\n1.25\n1.24\n1.25\n1.26\n\n0.003\n\n0\n0\n\n3 thou\n"
    printed = ask(shop, monkeypatch, typed, *WISHES["inches"])
    assert "Thickness at the back left corner, in [not measured]: " in printed and "not compile" not in printed
    assert EMPTY not in printed
    survey = made(shop).partition("survey {")[2]
    for line in (
        "thickness  back_left 1.25in, back 1 1/4in",
        "# thickness  back_right __in",
        "thickness  left 1.25in, centre 31.8mm, right 1.25in",
        "thickness  front_left 1.24in, front 1.25in, front_right 1.26in",
        "gap        back 0.003in",
        "# gap        back_left __in, back_right __in",
        "gap        left 0in, right 0in",
        "gap        front 3thou",
    ):
        assert line in survey
    assert flatwise("build", "jobs/top.flat", cwd=shop).returncode == 0


def test_a_wrong_answer_is_asked_again_with_what_is_wrong(shop: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    typed = "900\n900 x 500 x 32 mm\n\noakk\noak tree\nteak\n\n\n\n32\n31,6\n-31.6\n31.6kg\n31.6\n"
    printed = ask(shop, monkeypatch, typed)
    assert "The size '900' is not three lengths such as 900mm x 500mm x 32mm.\nLength x width" in printed
    assert printed.count("No wood called oak") == 2 and "wood   teak" in made(shop)
    for wrong in ("31,6", "-31.6", "31.6kg"):
        assert f"'{wrong}' is not a length such as 0.25mm.\nThickness at the middle of the back edge, mm [" in printed
    assert "thickness  back_left 32mm, back 31.6mm\n" in made(shop)


@pytest.mark.parametrize("answers", [0, 2, 6, 9])
def test_where_the_input_ends_the_job_has_what_was_given(
    shop: Path, monkeypatch: pytest.MonkeyPatch, answers: int
) -> None:
    typed = ["800mm x 400mm x 30mm", "27mm", "teak", "", "", "", "30.1", "30.0", "30.2"]
    printed = ask(shop, monkeypatch, "".join(f"{line}\n" for line in typed[:answers]))
    text = made(shop)
    assert ("800mm x 400mm x 30mm" in text) == (answers > 0) and ("second  to 27mm" in text) == (answers > 1)
    assert ("thickness  back_left 30.1mm, back 30.0mm, back_right 30.2mm" in text) == (answers == 9)
    assert (EMPTY in printed) == (answers < 7) and printed.count("]: ") == answers + 1


def test_a_stop_at_the_keyboard_leaves_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    typed = iter(["", "", "", "", "", "", "31.6"])

    def type_and_stop(_: str) -> str:
        for line in typed:
            return line
        raise KeyboardInterrupt

    (tmp_path / "flatwise.toml").touch()
    monkeypatch.setattr("builtins.input", type_and_stop)
    assert flatwise("new", "top", "--ask", cwd=tmp_path).returncode == 2
    assert [path.name for path in tmp_path.iterdir()] == ["flatwise.toml"]


def test_readings_that_contradict_are_kept_and_said(shop: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    printed = ask(shop, monkeypatch, "\n" * 6 + "31.6\n316\n31.6\n")
    assert "The readings can't all be right; they are in the job as given: FW202: " in printed
    assert "thickness  back_left 31.6mm, back 316mm, back_right 31.6mm\n" in made(shop)
    assert "FW202" in codes(shop)


TYPED = st.one_of(
    st.sampled_from(
        ["", "32", "31.9", "32.05mm", "0.1", "0", "1 1/4in", "0.02 in", "3thou", "1/0", "mm", "3,2", "1e3"]
    ),
    st.decimals(0, 40, places=2).map(str),
    st.text(st.sampled_from('0123456789./ ,-minctho}{#"$'), max_size=8),
)


@examples(4, 600)
@given(defaults=st.sampled_from((0, 1, 6)), typed=st.lists(TYPED, max_size=30))
def test_whatever_is_typed_the_job_compiles_or_says_why(
    defaults: int, typed: list[str], tmp_path_factory: pytest.TempPathFactory, repository: Path
) -> None:
    shop = tmp_path_factory.mktemp("typed")
    shutil.copytree(repository / "shared", shop / "shared")
    (shop / "flatwise.toml").touch()
    with pytest.MonkeyPatch.context() as patch:
        printed = ask(shop, patch, "\n" * defaults + "".join(f"{line}\n" for line in typed))
    survey = made(shop).partition("survey {")[2].partition("supports {")[0]
    blanks, readings = (
        len(re.findall(rf"(?:front|back|left|right|centre)\w* {value}", survey)) for value in ("__", r"\d")
    )
    assert blanks + readings == 9 + 8
    assert (EMPTY in printed) == (readings == 0)
    run = flatwise("check", "jobs/top.flat", cwd=shop)
    said = re.search(r"(?:in the job as given|does not compile yet): (FW\d+)", printed)
    assert (run.returncode == 1) == bool(said or not readings)
    if said and readings:
        assert said[1] in run.stdout
