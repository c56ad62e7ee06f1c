"""What a job's author writes is text on the sheet, whatever it looks like."""

from __future__ import annotations

import shutil
from pathlib import Path

from sheet.conftest import ROOT, Browser, Sheets

from flatwise.pipeline import build, read_works
from flatwise.report import files

TAG = "</title></style></svg><script>document.title='taken'</script><img src=x onerror=document.title='taken'>"
#: no slash and no quote: a name that a file can have
NAME = "<img src=x onerror=document.title=1>&lt;b&gt;.flat"


def test_tags_in_strings_comments_and_names_stay_text(page: Browser, tmp_path: Path, monkeypatch) -> None:  # type: ignore[no-untyped-def]
    shutil.copytree(ROOT / "shared", tmp_path / "shared")
    (tmp_path / "jobs").mkdir()
    (tmp_path / "flatwise.toml").write_text("")
    shop = tmp_path / "shared" / "shop.flat"
    text = shop.read_text().replace("chart in the cutter's leaflet", TAG)
    assert TAG in text
    shop.write_text(text)
    job = tmp_path / "jobs" / NAME
    job.write_text(
        f"# {TAG}\n"
        'use "../shared/shop.flat"\nuse "../shared/sample.flat"\n'
        "job script from plain_top {\n"
        f'    waive overrun because "{TAG}"   # {TAG}\n'
        "    cut { overrun 3mm }\n}\n"
    )
    monkeypatch.chdir(tmp_path)
    front = read_works([job])
    built = build(front.works[0])
    assert built.programs and [each.rule for each in built.waived] == ["overrun"]
    path = tmp_path / "sheet.html"
    path.write_bytes(files(built, front.texts)["sheet.html"])
    page.open(path)
    assert page.console() == [] and page.requests() == [path.as_uri()]
    assert page.run("return document.title") == "script: sheet for the machine"
    assert page.run("return [document.scripts.length, document.images.length]") == [1, 0]
    page.unfold()
    said = page.run("return document.body.innerText")
    # the waiver's reason, the source of the chip load, and the file's name, each as it was written
    assert said.count(TAG) >= 3 and NAME in said


def test_characters_that_steer_are_spelled_out(tmp_path: Path, monkeypatch) -> None:  # type: ignore[no-untyped-def]
    shutil.copytree(ROOT / "shared", tmp_path / "shared")
    (tmp_path / "flatwise.toml").write_text("")
    (tmp_path / "job.flat").write_text(
        'use "shared/shop.flat"\nuse "shared/sample.flat"\n'
        'job steers from plain_top {\n    waive overrun because "a\x1b[2J\u202eb\x85"\n    cut { overrun 3mm }\n}\n'
    )
    monkeypatch.chdir(tmp_path)
    front = read_works([Path("job.flat")])
    made = files(build(front.works[0]), front.texts)["sheet.html"].decode()
    assert "a\\x1b[2J\\x202eb\\x85" in made
    assert not any(ch in made for ch in "\x1b\u202e\x85\0")


def test_a_script_that_got_in_would_not_run(page: Browser, sheets: Sheets) -> None:
    whole = sheets["reading_table"][0].read_text()
    path = sheets["reading_table"][0].with_name("spoiled.html")
    path.write_text(whole.replace("<main>", "<main><script>document.title = 'taken'</script>"))
    page.open(path)
    assert page.run("return document.title") == "reading_table: sheet for the machine"
    assert any("Content Security Policy" in each["message"] for each in page.console())
    # and the page's own script still does
    assert page.run("return document.documentElement.className") == "live"
