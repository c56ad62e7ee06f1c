"""The sheet on paper: A4 and Letter, a page to lay the panel and one a face, nothing cut off or torn between pages."""

from __future__ import annotations

import base64
import io
import re
import shutil
import subprocess
from pathlib import Path
from unicodedata import normalize

import pytest
from example_jobs import ROOT, example_batch, quickly
from sheet.conftest import Browser, Sheets

from flatwise.pipeline import build, read_works
from flatwise.report import files

#: Points (1/72 in).  A4 is ISO 216, 210 × 297 mm; Letter is ANSI/ASME Y14.1 size A, 8.5 × 11 in.
PAPERS = {"A4": (210 / 25.4 * 72, 297 / 25.4 * 72), "Letter": (8.5 * 72, 11.0 * 72)}


def printed(page: Browser, path: Path, paper: str) -> bytes:
    wide, high = (side / 72 for side in PAPERS[paper])
    page.command("Emulation.clearDeviceMetricsOverride")
    page.open(path)
    made = page.command("Page.printToPDF", paperWidth=wide, paperHeight=high, printBackground=False)
    return base64.b64decode(made["data"])


def assert_whole(made: bytes, paper: str, folder: Path) -> None:
    """No word of the pages lies in their margins."""
    if shutil.which("pdftotext") is None:
        pytest.skip("pdftotext is not installed (Debian: poppler-utils)")
    (folder / "sheet.pdf").write_bytes(made)
    boxes = subprocess.run(
        ["pdftotext", "-bbox", str(folder / "sheet.pdf"), "-"], capture_output=True, text=True, check=True
    ).stdout
    wide, high = PAPERS[paper]
    found = re.findall(r'<word xMin="([\d.-]+)" yMin="([\d.-]+)" xMax="([\d.-]+)" yMax="([\d.-]+)">', boxes)
    assert len(found) > 300
    # 10 and 13 mm of margin, less what a descender takes
    for x0, y0, x1, y1 in (map(float, each) for each in found):
        assert x0 > 30 and y0 > 25 and x1 < wide - 30 and y1 < high - 25


@pytest.mark.parametrize(
    "paper", [pytest.param("A4", marks=pytest.mark.nightly), "Letter"]
)  # Letter is the shorter one
@pytest.mark.parametrize("job", quickly("reading_table", "study_shelf", "spoilboard"))
def test_a_page_to_prepare_and_one_a_face_with_few_ticks(page: Browser, sheets: Sheets, job: str, paper: str) -> None:
    pypdf = pytest.importorskip("pypdf", reason="pypdf is not installed")
    path, built = sheets[job]
    assert built.plan is not None
    made = printed(page, path, paper)
    assert len(pypdf.PdfReader(io.BytesIO(made)).pages) == 1 + len(built.plan.setups) <= 3
    assert path.read_text().count('type="checkbox"') <= 24


@pytest.mark.parametrize(
    "after",
    [
        pytest.param("thickness front_left 30.4mm, front_right 30.3mm, back_left 30.4mm", marks=pytest.mark.nightly),
        "marks left",
    ],
)
def test_a_face_that_is_cut_later_has_two_pages(page: Browser, tmp_path: Path, after: str) -> None:
    pypdf = pytest.importorskip("pypdf", reason="pypdf is not installed")
    job = ROOT / "jobs" / "reading_table.flat"
    text = job.read_text().rstrip().removesuffix("}") + f"    after first {{ {after} }}\n}}\n"
    front = read_works([job], {job: text})
    built = build(front.works[0])
    path = tmp_path / "sheet.html"
    path.write_bytes(files(built, front.texts)["sheet.html"])
    assert len(built.programs) == 1
    assert len(pypdf.PdfReader(io.BytesIO(printed(page, path, "Letter"))).pages) == 2


@pytest.mark.nightly
@pytest.mark.parametrize("paper", PAPERS)
def test_a_batch_has_two_pages_for_all_and_one_a_panel(page: Browser, tmp_path: Path, paper: str) -> None:
    pypdf = pytest.importorskip("pypdf", reason="pypdf is not installed")
    batch, built = example_batch()
    path = tmp_path / "sheet.html"
    path.write_bytes(files(built, {})["sheet.html"])
    made = printed(page, path, paper)
    pages = [normalize("NFKC", each.extract_text()) for each in pypdf.PdfReader(io.BytesIO(made)).pages]
    assert len(pages) == 2 + len(batch.works)
    # in the order of the work, the bed first
    whole = " ".join(" ".join(pages).split())
    order = ("Before you start", "Lay all panels", "Set the zero", "Load first.nc", "Turn each panel", "Load second.nc")
    assert [whole.index(each) for each in order] == sorted(whole.index(each) for each in order)
    for number, (work, text) in enumerate(zip(batch.works, pages[2:], strict=True), 1):
        assert text.startswith(f"Panel {number}: {work.name}") and "The second face" in text and "Measured" in text
    assert_whole(made, paper, tmp_path)


def test_ticks_of_a_batch_are_kept(page: Browser, tmp_path: Path) -> None:
    path = tmp_path / "sheet.html"
    path.write_bytes(files(example_batch()[1], {})["sheet.html"])
    page.open(path)
    ids = ["before-wear", "panel-tea_tray-laid", "panel-bread_tray-held-again"]
    page.run("for (const id of arguments[0]) document.getElementById(id).click()", ids)
    page.driver.refresh()
    assert page.run("return [...document.querySelectorAll('input:checked')].map(each => each.id)") == ids
    assert page.console() == []


@pytest.mark.nightly
def test_when_block_delete_may_be_on_takes_no_further_page(page: Browser, tmp_path: Path) -> None:
    """`bread_board` has a pass that may be air in both faces."""
    pypdf = pytest.importorskip("pypdf", reason="pypdf is not installed")
    shop = ROOT / "shared" / "shop.flat"
    job = ROOT / "jobs" / "bread_board.flat"
    front = read_works([job], {shop: shop.read_text().replace("controller {", "controller { block_delete yes;")})
    built = build(front.works[0])
    path = tmp_path / "sheet.html"
    path.write_bytes(files(built, front.texts)["sheet.html"])
    text = path.read_text()
    assert text.count("Block delete is off") == 2 and text.count('type="checkbox"') <= 24
    assert len(pypdf.PdfReader(io.BytesIO(printed(page, path, "Letter"))).pages) == 3


@pytest.mark.nightly
def test_closed_parts_take_no_paper_and_open_ones_are_printed(page: Browser, sheets: Sheets) -> None:
    pypdf = pytest.importorskip("pypdf", reason="pypdf is not installed")
    path, _ = sheets["lamp_table"]
    page.open(path)
    titles = page.run("return [...document.querySelectorAll('summary')].map(each => each.textContent)")
    assert {"Height map", "Limits", "How sure the thickness is"} <= set(titles)
    whole = []
    for _ in range(2):
        made = base64.b64decode(page.command("Page.printToPDF")["data"])
        pages = [normalize("NFKC", each.extract_text()) for each in pypdf.PdfReader(io.BytesIO(made)).pages]
        whole.append(" ".join(" ".join(pages).split()))
        page.unfold()
    for title in (*titles, "minimum zone", "Holding"):
        assert title not in whole[0] and title in whole[1], title


@pytest.mark.parametrize("paper", ["A4", pytest.param("Letter", marks=pytest.mark.nightly)])
@pytest.mark.parametrize("job", ("reading_table", pytest.param("study_shelf", marks=pytest.mark.nightly), "spoilboard"))
def test_pages_are_whole(page: Browser, sheets: Sheets, tmp_path: Path, job: str, paper: str) -> None:
    pypdf = pytest.importorskip("pypdf", reason="pypdf is not installed")
    path, built = sheets[job]
    assert built.plan is not None
    made = printed(page, path, paper)
    pages = pypdf.PdfReader(io.BytesIO(made)).pages
    # NFKC takes the ligatures of a font apart again
    texts = [" ".join(normalize("NFKC", each.extract_text()).split()) for each in pages]
    for each in pages:
        assert (float(each.mediabox.width), float(each.mediabox.height)) == pytest.approx(PAPERS[paper], abs=1.0)
    assert all(len(text) > 60 for text in texts), "a page is nearly empty"
    whole = " ".join(texts)
    # what only works on a screen is not on paper
    assert "Next part" not in whole and "Clear all ticks" not in whole
    for setup in built.plan.setups:
        # a face has a page of its own, and its plan, with all its marks, is on it
        start = next(text for text in texts if re.search(rf"\d\. The {setup.face} face", text))
        assert re.match(rf"\d\. The {setup.face} face", start)
        assert re.search(r"\btouch( off)?\b", start) and "X0 Y0" in start
        for index, _ in enumerate(setup.holders):
            # a word in a picture is painted twice, first its white rim
            assert re.search(rf"(?<![A-Za-z]){chr(ord('A') + index)}{{1,2}}(?![A-Za-z])", start)
        assert f"{setup.face}.nc" in start
    assert_whole(made, paper, tmp_path)


def test_a_chosen_pass_and_ticks_are_printed_as_they_stand(page: Browser, sheets: Sheets) -> None:
    pypdf = pytest.importorskip("pypdf", reason="pypdf is not installed")
    page.open(sheets["reading_table"][0])
    page.run("document.getElementById('before-wear').click()")
    page.run("document.querySelector('#first .control button:last-of-type').click()")
    made = base64.b64decode(page.command("Page.printToPDF")["data"])
    assert any("What you need" in each.extract_text() for each in pypdf.PdfReader(io.BytesIO(made)).pages)
    assert len(made) > 20_000
