"""Loading: whatever a path or a file is, there is a finding with a code, and never an exception or a wait."""

from __future__ import annotations

import os
from hashlib import sha256
from pathlib import Path

import pytest
from compiler.reading import USES, codes, mended, only, read_text, under

from flatwise.model.kinds import point_file_words
from flatwise.pipeline import read_works
from flatwise.sources.load import SOURCE_LIMIT, load
from flatwise.sources.project import read_project, root_of


def codes_of_paths(*paths: Path) -> list[str]:
    return [finding.code for finding in read_works(paths).findings]


def test_a_missing_file_says_what_is_near(shop: Path) -> None:
    (shop / "jobs" / "bench_top.flat").write_text(USES + "job a from plain_top { }")
    front = read_works([Path("jobs/bench_tpo.flat")])
    finding = only(front)
    assert finding.code == "FW004"
    assert "jobs/bench_top.flat" in finding.help
    assert finding.span is None


def test_what_is_no_readable_text_is_fw004(shop: Path) -> None:
    binary = shop / "jobs" / "binary.flat"
    binary.write_bytes(b"job demo {\n\xff\xfe\x00 }")
    pipe = shop / "jobs" / "pipe.flat"
    os.mkfifo(pipe)
    empty = shop / "empty"
    empty.mkdir()
    below = binary / "x.flat"
    front = read_works([binary])
    assert only(front).code == "FW004"
    assert "byte 12, on line 2" in only(front).message
    for path in (pipe, empty, below, Path("/dev/null"), Path("a\0b.flat"), Path("x" * 5000)):
        assert codes_of_paths(path) == ["FW004"], path


def test_five_megabytes_are_refused_unread(shop: Path) -> None:
    large = shop / "jobs" / "large.flat"
    large.write_bytes(b"# " + b"x" * 5_000_000)
    finding = only(read_works([large]))
    assert finding.code == "FW004"
    assert "5,000,002 bytes" in finding.message and "1,000,000" in finding.message
    assert SOURCE_LIMIT == 1_000_000


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("a { " * 2000, {"FW001", "FW002"}),
        ("cutter big { diameter " + "9" * 10_000 + "mm }", {"FW003", "FW105"}),
        ("job", {"FW001"}),
        ("\0\0\0", {"FW001"}),
        ("}" * 1000, {"FW001"}),
        ('use "' + "x" * 3000 + '.flat"', {"FW004", "FW106"}),
        ('use "a\\\\b.flat"', {"FW106"}),
    ],
)
def test_hostile_texts_have_codes(shop: Path, text: str, expected: set[str]) -> None:
    front = read_text(shop, 'use "../shared/shop.flat"\n' + text)
    found = set(codes(front))
    assert found and found & expected, found
    assert not front.works


def test_use_of_what_is_not_a_file_below_the_root(shop: Path) -> None:
    os.mkfifo(shop / "jobs" / "pipe.flat")
    outside = shop.parent / f"{shop.name}_outside.flat"
    outside.write_text("dog far { across 19mm; height 9mm }")
    (shop / "jobs" / "link.flat").symlink_to(outside)
    (shop / "jobs" / "down").symlink_to(shop.parent)
    for target, code in {
        "missing.flat": "FW106",
        "../shared": "FW004",
        ".": "FW004",
        "pipe.flat": "FW004",
        f"../../{outside.name}": "FW106",
        "link.flat": "FW106",
        f"down/{outside.name}": "FW106",
        str(outside): "FW106",
        "../../..": "FW106",
        "": "FW106",
        "example.flat/x.flat": "FW106",
    }.items():
        front = read_text(shop, f'use "{target}"\n')
        finding = only(front)
        assert finding.code == code, (target, finding.message)
        assert under(front, finding) == f'"{target}"'
        # where the project stands on this computer is told to nobody
        assert str(shop.parent) not in finding.message.replace(f'"{target}"', "")


def test_a_file_that_uses_itself_is_reported(shop: Path) -> None:
    assert only(read_text(shop, 'use "example.flat"\n')).code == "FW106"


def test_files_found_in_a_folder_are_checked_before_they_are_opened(shop: Path) -> None:
    (shop / "jobs" / "large.flat").write_text("#" * 1_000_001)
    os.mkfifo(shop / "jobs" / "pipe.flat")  # reading it would wait for ever
    found = read_works([shop / "jobs"]).findings
    assert sorted(one.code for one in found) == ["FW004", "FW004"]
    assert any("1,000,001 bytes; the limit is 1,000,000" in one.message for one in found)


def test_circles_are_harmless(shop: Path) -> None:
    (shop / "jobs" / "other.flat").write_text('use "example.flat"\ndog tall { across 19mm; height 20mm }')
    text = 'use "other.flat"\nuse "./other.flat"\n' + USES + "job demo from plain_top { }"
    front = read_text(shop, text)
    assert not front.findings
    assert [work.name for work in front.works] == ["demo"]


def test_without_following_only_the_files_asked_for_are_read(shop: Path) -> None:
    (shop / "flatwise.toml").write_text("no such key = 1")
    (shop / "jobs" / "other.flat").write_text("dog {")
    path = shop / "jobs" / "example.flat"
    path.write_text('use "other.flat"\njob demo { survey { probe "none.csv" } }')
    loaded, findings = load([path], follow=False)
    assert findings == () and list(loaded.sources) == ["jobs/example.flat"] and not loaded.points
    assert {finding.code for finding in load([path])[1]} == {"FW001", "FW002"}


def test_the_words_that_name_files_of_points_come_from_the_model() -> None:
    assert point_file_words() == {"probe", "thickness"}


def test_use_offers_the_file_that_is_meant(shop: Path) -> None:
    front = read_text(shop, 'use "../shared/shpo.flat"\n')
    assert mended(front, only(front)).startswith('use "../shared/shop.flat"')


def test_a_folder_means_all_its_files_in_order_but_hidden_ones(shop: Path) -> None:
    for name in ("b", "a", ".hidden/c", "deep/d"):
        path = shop / "jobs" / f"{name}.flat"
        path.parent.mkdir(exist_ok=True)
        path.write_text(
            USES.replace("../", "../../" if "/" in name else "../") + f"job {name[-1]} from plain_top {{ }}"
        )
    loaded, findings = load([Path("jobs")])
    assert not findings
    assert loaded.asked == ("jobs/a.flat", "jobs/b.flat", "jobs/deep/d.flat")
    assert [work.name for work in read_works([Path("jobs"), Path("jobs/a.flat")]).works] == ["a", "b", "d"]


def test_spans_name_files_as_people_see_them(shop: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = shop / "jobs" / "example.flat"
    path.write_text(USES + "job demo from plain_top { cut { depth 3N } }")
    finding = only(read_works([path]))
    assert finding.span is not None and finding.span.path == "jobs/example.flat"
    monkeypatch.chdir(shop / "jobs")
    finding = only(read_works([Path("example.flat")]))
    assert finding.span is not None and finding.span.path == "example.flat"
    monkeypatch.chdir(shop / "shared")
    finding = only(read_works([path]))
    assert finding.span is not None and finding.span.path == str(path)


def test_sources_are_hashes_of_the_bytes_from_the_root(shop: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (shop / "jobs" / "top.csv").write_bytes(b"x mm,y mm,z mm\r\n0,0,32\r\n900,0,32\r\n0,500,32\r\n")
    text = USES + 'job demo from plain_top { survey { probe "top.csv" } }'
    work = read_text(shop, text).works[0]
    names = ["jobs/example.flat", "jobs/top.csv", "shared/sample.flat", "shared/shop.flat"]
    assert [path for path, _ in work.sources] == names
    for path, digest in work.sources:
        assert digest == sha256((shop / path).read_bytes()).hexdigest()
    monkeypatch.chdir(shop / "shared")
    assert read_works([shop / "jobs" / "example.flat"]).works[0].sources == work.sources


def test_an_editors_text_stands_for_the_file(shop: Path) -> None:
    path = shop / "jobs" / "unsaved.flat"
    front = read_works([path], {path: USES + "job fresh from plain_top { }"})
    assert not front.findings and front.works[0].name == "fresh"
    shared = shop / "shared" / "shop.flat"
    broken = shared.read_text().replace("fly_64", "fly_63")
    front = read_works([path], {path: USES + "job fresh from plain_top { }", shared: broken})
    assert set(codes(front)) == {"FW102"}


def test_the_root_is_the_nearest_folder_with_a_mark(tmp_path: Path) -> None:
    deep = tmp_path / "a" / "b" / "c"
    deep.mkdir(parents=True)
    here = tmp_path.resolve()
    assert root_of(deep, here) == here  # no mark: the working folder, as the file lies below it
    assert root_of(deep, here / "elsewhere") == deep  # else the file's own
    (here / "a" / ".git").write_text("gitdir: elsewhere")
    assert root_of(deep, here) == here / "a"
    (here / "a" / "b" / "pyproject.toml").write_text("[tool.other]\n")
    assert root_of(deep, here) == here / "a"
    (here / "a" / "b" / "c" / "pyproject.toml").write_text("[tool.flatwise]\nout = 'programs'\n")
    assert root_of(deep, here) == deep
    project, findings = read_project(deep, here)
    assert (project.out, findings) == ("programs", ())


@pytest.mark.parametrize(
    ("text", "code", "marked"),
    [
        ('standrad = "x"', "FW101", "standrad"),
        ("strict = 1", "FW104", "strict"),
        ("out = 3", "FW104", "out"),
        ("standard = [", "FW001", None),
    ],
)
def test_findings_in_a_project_file_point_at_that_file(shop: Path, text: str, code: str, marked: str | None) -> None:
    (shop / "flatwise.toml").write_text(text + "\n")
    front = read_text(shop, "job demo from plain_top { }")
    finding = only(front)
    assert finding.code == code
    assert finding.span is not None and finding.span.path == "flatwise.toml"
    assert marked is None or under(front, finding) == marked


def test_the_projects_standard_holds_for_jobs_that_name_none(shop: Path) -> None:
    sample = (shop / "shared" / "sample.flat").read_text().replace("    standard  solid_tops\n", "")
    (shop / "shared" / "sample.flat").write_text(sample)
    job = 'use "../shared/shop.flat"\nuse "../shared/sample.flat"\njob demo from plain_top { }'
    assert read_text(shop, job).works[0].rules.standard == ""
    (shop / "flatwise.toml").write_text('standard = "house"\nstandard_from = "rules.flat"\n')
    assert set(codes(read_text(shop, job))) == {"FW004"}
    (shop / "rules.flat").write_text("standard house { leave at least 3/4in; unseen 1mm per m; survey required }")
    front = read_text(shop, job)
    assert not front.findings
    rules = front.works[0].rules
    assert (rules.standard, rules.leave, rules.unseen, rules.survey) == ("house", 19.05, 0.001, True)
    assert (rules.clearance, rules.rock, rules.power, rules.sag) == (2.0, 0.05, 1.0, 0.2)
    assert ("rules.flat", sha256((shop / "rules.flat").read_bytes()).hexdigest()) in front.works[0].sources
    (shop / "flatwise.toml").write_text('standard = "hose"\nstandard_from = "rules.flat"\n')
    assert codes(read_text(shop, job)) == ["FW102"]


def test_files_of_points_are_checked_like_sources(shop: Path) -> None:
    (shop / "jobs" / "folder.csv").mkdir()
    os.mkfifo(shop / "jobs" / "pipe.csv")
    for name in ("none.csv", "folder.csv", "pipe.csv", "../../x.csv", ""):
        front = read_text(shop, f'job demo from plain_top {{ survey {{ probe "{name}" }} }}')
        assert codes(front) == ["FW004"], name
        assert not front.works


def test_the_page_of_fw004_holds(shop: Path) -> None:
    from flatwise.findings import pages

    page = pages.page("FW004")
    assert page is not None
    failing, mended_path = "jobs/no_such_table.flat", "jobs/reading_table.flat"
    assert f"flatwise check {failing}" in page.text and f"flatwise check {mended_path}" in page.text
    assert codes_of_paths(shop / failing) == ["FW004"]
    here = Path(__file__).resolve().parents[3]
    assert codes_of_paths(here / mended_path) == []


@pytest.mark.parametrize(
    ("written", "out"),
    [
        ("[tool.flatwise]\nout = 'programs'\n", "programs"),
        ("[tool]\nflatwise = { out = 'programs' }\n", "programs"),
        ("[tool]\nflatwise.out = 'programs'\n", "programs"),
        ("tool.flatwise.out = 'programs'\n", "programs"),
        ("tool = { flatwise = { out = 'programs' } }\n", "programs"),
        ("[project]\nname = 'x'\n  [ \"tool\" . 'flatwise' ]\nout = 'programs'\n", "programs"),
        ("[project]\nname = 'flatwise'\n[tool.other]\nout = 'programs'\n", "out"),
    ],
)
def test_every_way_to_write_the_table_of_a_project(tmp_path: Path, written: str, out: str) -> None:
    inner = tmp_path / "project" / "jobs"
    inner.mkdir(parents=True)
    (tmp_path / "project" / "pyproject.toml").write_text(written)
    root = root_of(inner, tmp_path / "project")
    assert root == tmp_path / "project"
    assert read_project(root, tmp_path)[0].out == out
