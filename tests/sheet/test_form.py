"""The form for measuring in a browser: typing, doubts, what is kept and saved, and the form on paper and on a phone."""

from __future__ import annotations

import io
import re
import shutil
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from time import monotonic, sleep

import pytest
from example_jobs import BATCH
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys
from sheet.conftest import HERE, ROOT, Browser
from sheet.test_print import printed

from flatwise.model.measuring import Measured as Made
from flatwise.model.measuring import Walk
from flatwise.model.stages import Work
from flatwise.pipeline import build, measure, measure_batch, read_works
from flatwise.report.form import bed_form, form
from flatwise.survey import survey

#: the sample panel before anybody has measured it
LINES = "        walk dial_10 at 5 x 3; within 0.05mm\n"
SURVEY = re.compile(r"    survey \{.*?\n    \}\n", re.DOTALL)


@dataclass(frozen=True)
class Measured:
    """A job that nobody has measured, in a project of its own, and its form."""

    job: Path
    work: Work
    walk: Walk
    page: Path

    def dial(self) -> list[str]:
        """A reading for each stop, to a hundredth, 4.98 on the bed: a panel that is twisted and hollow."""
        readings = []
        for stop in self.walk.stops:
            u, v = stop.x / self.work.length - 0.5, stop.y / self.work.width - 0.5
            readings.append(f"{5.05 + 1.2 * u * v + 0.6 * u * u:.2f}")
        return readings


def written(folder: Path, survey_lines: str) -> Path:
    if not (folder / "shared").exists():
        shutil.copytree(ROOT / "shared", folder / "shared")
        (folder / "flatwise.toml").write_text("")
        (folder / "jobs").mkdir()
    job = folder / "jobs" / "reading_table.flat"
    text = (ROOT / "jobs" / "reading_table.flat").read_text()
    job.write_text(SURVEY.sub(f"    survey {{\n{survey_lines}    }}\n", text))
    return job


@pytest.fixture(scope="module")
def measured(tmp_path_factory: pytest.TempPathFactory) -> Measured:
    folder = tmp_path_factory.mktemp("measured")
    job = written(folder, LINES)
    (work,) = read_works([job]).works
    made = measure(work, under=False)
    assert made.panel is not None and made.walk is not None and made.program
    path = folder / "measure.html"
    path.write_bytes(form(work, made, under=False))
    return Measured(job, work, made.walk, path)


@pytest.fixture
def downloads(page: Browser, tmp_path: Path) -> Iterator[Path]:
    folder = tmp_path / "downloads"
    folder.mkdir()
    page.command("Browser.setDownloadBehavior", behavior="allow", downloadPath=str(folder))
    yield folder
    page.command("Browser.setDownloadBehavior", behavior="default")


def put(page: Browser, *texts: str) -> None:
    """Type into the field that is shown and go on with the Enter key, as from a keyboard."""
    keys = [f"{Keys.CONTROL}a{Keys.NULL}{text}{Keys.ENTER}" for text in texts]
    page.driver.switch_to.active_element.send_keys("".join(keys))


def start(page: Browser, path: Path) -> None:
    page.open(path)
    page.driver.find_element(By.ID, "value").click()


def said(page: Browser, ident: str = "said") -> str:
    return page.driver.find_element(By.ID, ident).text


def text_of(page: Browser, ident: str) -> str:
    value: str = page.run("return document.getElementById(arguments[0]).value", ident)
    return value


def save(page: Browser, downloads: Path, what: str, name: str) -> str:
    page.driver.find_element(By.CSS_SELECTOR, f"[data-save={what}]").click()
    until = monotonic() + 5
    while not (downloads / name).exists() and monotonic() < until:
        sleep(0.02)
    return (downloads / name).read_text()


@pytest.mark.nightly
def test_a_batch_is_typed_in_one_go_in_the_order_of_its_walk(page: Browser, downloads: Path, tmp_path: Path) -> None:
    """The dial on the bed is typed once, and the Enter key goes on from one panel to the next."""
    path = ROOT / "jobs" / f"{BATCH}.flat"
    text = path.read_text().replace("survey {", "survey { walk dial_10 at 3 x 2")
    (batch,) = read_works([path], {path: text}).batches
    made = measure_batch(batch)
    assert made.walk is not None and len(made.walk.stops) == 24
    form_page = tmp_path / "measure.html"
    form_page.write_bytes(bed_form(batch, made, under=False))
    page.open(form_page)
    (first, _), (last, walk) = made.walk.panels[0], made.walk.panels[-1]
    page.driver.find_element(By.ID, f"{first.name}-value").click()
    put(page, "4.98")
    for _, each in made.walk.panels:
        put(page, *(f"{4.98 + stop.number / 1000:.3f}" for stop in each.stops))
    assert page.console() == []
    assert said(page, f"{last.name}-count") == "Reading 6 of 6, 6 typed"
    want = ["x mm,y mm,z mm"]
    for stop in walk.stops:
        z = Decimal(f"{stop.expected:.3f}") + Decimal(stop.number) / 1000
        want.append(f"{stop.x:g},{stop.y:g},{z}")
    name = f"{last.name}_top.csv"
    page.driver.find_element(By.CSS_SELECTOR, f"[data-panel='{last.name}-'] [data-save=points]").click()
    until = monotonic() + 5
    while not (downloads / name).exists() and monotonic() < until:
        sleep(0.02)
    assert (downloads / name).read_text().splitlines() == want
    # another dial on the bed moves every panel; each has its own readings
    again = page.driver.find_element(By.CSS_SELECTOR, "[data-cell=bed] button")
    again.click()
    put(page, "4.97")
    moved = text_of(page, f"{last.name}-points").splitlines()[-1]
    assert Decimal(moved.split(",")[-1]) - Decimal(want[-1].split(",")[-1]) == Decimal("0.01")
    pypdf = pytest.importorskip("pypdf", reason="pypdf is not installed")
    assert len(pypdf.PdfReader(io.BytesIO(printed(page, form_page, "Letter"))).pages) <= 3


def test_fifteen_points_typed_kept_and_saved_build_the_job(
    page: Browser, measured: Measured, downloads: Path, tmp_path: Path
) -> None:
    start(page, measured.page)
    assert page.requests() == [measured.page.as_uri()] and page.console() == []
    dials = measured.dial()
    put(page, "4,98", *dials)
    # kept on reload, and the next empty field is the one that is shown
    page.driver.refresh()
    assert said(page, "count") == "Reading 17 of 33, 16 typed"
    assert said(page).startswith("16 readings kept from an earlier visit")
    page.driver.find_element(By.ID, "value").click()
    order = page.run("return [...document.querySelectorAll('.cells.thickness [data-cell]')].map(e => e.dataset.cell)")
    assert said(page, "title").lower().startswith("thickness")
    thickness = ("31.60", "31.4", "31.45", "31,50", "31.300", "31.55", "31.52", "31.5", "31.4")
    put(page, *thickness)
    csv = save(page, downloads, "points", "top.csv")
    # the height is the program's Z + the dial − the dial on the bed, to the last digit (decimal arithmetic)
    want = ["x mm,y mm,z mm"]
    for stop, dial in zip(measured.walk.stops, dials, strict=True):
        z = Decimal(f"{stop.expected:g}") + Decimal(dial) - Decimal("4.98")
        want.append(f"{stop.x:g},{stop.y:g},{z}")
    assert csv.splitlines() == want
    lines = save(page, downloads, "lines", "reading_table-survey.txt")
    assert lines == text_of(page, "lines")
    places = [each.removeprefix("thickness-") for each in order]
    given = ", ".join(f"{place} {text.replace(',', '.')}mm" for place, text in zip(places, thickness, strict=True))
    # the job's own `within` is not written twice
    assert lines == f'probe "top.csv"\nthickness {given}\n'
    job = written(tmp_path, f"{LINES}{lines}")
    shutil.copy(downloads / "top.csv", job.parent)
    (work,) = read_works([job]).works
    built = build(work)
    assert set(built.programs) == {"first.nc", "second.nc"}, [str(each) for each in built.findings]
    # measured again, the form ends with how much the points brought, as the command line prints it
    page_again = form(work, measure(work), under=False).decode()
    assert "With top.csv, the top is known within 0.08 mm instead of " in page_again and "They save " in page_again
    top = survey(work)[0].upper
    for row in csv.splitlines()[1:]:
        x, y, z = map(float, row.split(","))
        assert float(top.at(x, y)) == pytest.approx(z, abs=1e-6)


def test_what_is_unlikely_or_wrong_is_asked_about_at_once(page: Browser, measured: Measured) -> None:
    start(page, measured.page)
    put(page, "5", "5.1", "5.2", "5.1", "5.2")
    put(page, "2.75")
    assert said(page) == "2.40 mm lower than its neighbours: read again?"
    assert said(page, "title") == "Dial at point 5" and said(page, "next") == "Keep 2.75"
    put(page, "5.1")
    assert said(page, "title") == "Dial at point 6"
    for wrong, words in (("5.1.2", "Type one comma"), ("5x", "“5x” is not a number"), ("-", "is not a number")):
        put(page, wrong)
        assert words in said(page) and said(page, "title") == "Dial at point 6"
        assert page.run("return document.getElementById('value').getAttribute('aria-invalid')") == "true"
    # a reading that is kept is not asked about again, and the minus key makes it negative
    put(page, "3.3", "3.3")
    assert said(page, "title") == "Dial at point 7"
    minus, field = page.driver.find_element(By.ID, "minus"), page.driver.find_element(By.ID, "value")
    field.send_keys("5.1")
    for shown in ("-5.1", "5.1"):
        minus.click()
        assert text_of(page, "value") == shown
    page.driver.find_element(By.ID, "back").click()
    assert said(page, "title") == "Dial at point 6" and said(page) == ""
    # a map cell near each typed point has a colour, the others none
    assert (
        0
        < page.run("return document.querySelectorAll('#map .band').length")
        < page.run("return document.querySelectorAll('#map rect').length")
    )


def test_clearing_asks_first(page: Browser, measured: Measured) -> None:
    start(page, measured.page)
    put(page, "5", "5.1")
    clear = page.driver.find_element(By.ID, "clear")
    clear.click()
    page.driver.switch_to.alert.dismiss()
    assert page.run("return localStorage.length") == 1
    clear.click()
    page.driver.switch_to.alert.accept()
    assert page.run("return localStorage.length") == 0
    page.driver.refresh()
    assert said(page, "count") == "Reading 1 of 33, 0 typed"


def test_another_program_knows_nothing_of_the_readings(page: Browser, measured: Measured, tmp_path: Path) -> None:
    start(page, measured.page)
    put(page, "5", "5.1")
    lower = measured.walk._replace(stops=tuple(s._replace(expected=s.expected - 1) for s in measured.walk.stops))
    other = tmp_path / "measure.html"
    other.write_bytes(form(measured.work, Made(survey(measured.work)[0], lower, b"", ()), under=False))
    page.driver.get(other.as_uri())
    assert said(page, "count") == "Reading 1 of 33, 0 typed"


@pytest.mark.parametrize("width", [400, pytest.param(1000, marks=pytest.mark.nightly)])
def test_a_phone_shows_it_whole_and_the_rules_of_accessibility_find_nothing(
    page: Browser, measured: Measured, width: int
) -> None:
    page.wide(width, 800)
    start(page, measured.page)
    put(page, "5", "5.1", "5.2", "5.1", "5.2", "2.75")
    assert page.run("return document.documentElement.scrollWidth") <= width
    shown = "return [...document.querySelectorAll('button, input')].filter(e => e.getClientRects().length)"
    assert page.run(shown + ".filter(e => e.getBoundingClientRect().height < 44).map(e => e.outerHTML)") == []
    # the plan and the field are on one screen
    page.run("document.querySelector('.work').scrollIntoView()")
    assert page.run("return document.getElementById('next').getBoundingClientRect().bottom") < 800
    axe = HERE / "node_modules" / "axe-core" / "axe.min.js"
    if not axe.exists():
        pytest.skip("axe-core is not installed: run npm install in tests/sheet")
    page.run(axe.read_text(encoding="utf-8"))
    found = page.driver.execute_async_script(
        "const done = arguments[0]; axe.run().then(r => done(r.violations.map(v => [v.id, v.nodes[0].html])))"
    )
    assert found == []


@pytest.mark.parametrize("paper", [pytest.param("A4", marks=pytest.mark.nightly), "Letter"])
def test_it_prints_as_a_blank_form_on_one_page(page: Browser, measured: Measured, paper: str) -> None:
    pypdf = pytest.importorskip("pypdf", reason="pypdf is not installed")
    (sheet,) = pypdf.PdfReader(io.BytesIO(printed(page, measured.page, paper))).pages
    text = sheet.extract_text()
    assert "Isolate the spindle" in text and "operator" in text
    numbers = [str(stop.number) for stop in measured.walk.stops]
    assert text.split("Dial, mm")[1].split("Thickness")[0].split() == ["bed", *numbers]
    drawn = "return [...document.querySelectorAll('svg.plan .dial text')].map(e => e.textContent)"
    assert sorted(page.run(drawn), key=int) == numbers
    assert "Next" not in text and "Save" not in text


def test_without_a_gauge_it_serves_calipers_and_feelers(page: Browser, measured: Measured, tmp_path: Path) -> None:
    work = measured.work._replace(job=measured.work.job.model_copy(update={"survey": None}))
    path = tmp_path / "hand.html"
    path.write_bytes(form(work, measure(work), under=False))
    start(page, path)
    fields = page.run("return [...document.querySelectorAll('[data-cell]')].map(e => e.dataset.cell)")
    assert len(fields) == 17 and "gap-centre" not in fields
    # feelers come first, and the corners before the edges: a corner without a reading counts as touching
    put(page, "0", "0", "0", "0,42", "-0.1")
    assert said(page) == "A gap cannot be less than 0."
    put(page, "0.10")
    lines = text_of(page, "lines").splitlines()
    assert lines[0] == "survey {" and lines[-1] == "}" and lines[-2] == "    within 0.1mm"
    assert lines[1].startswith("    gap front_left 0mm, front_right 0mm, back_left 0mm, back_right 0.42mm, ")
    assert "measure.nc" not in page.driver.find_element(By.TAG_NAME, "body").text


def test_the_lower_face_has_its_own_file_and_turned_places(page: Browser, measured: Measured, tmp_path: Path) -> None:
    path = tmp_path / "measure_under.html"
    made = measure(measured.work, under=True)
    assert made.panel is not None and made.walk is not None
    path.write_bytes(form(measured.work, made, under=True))
    start(page, path)
    put(page, "5", "5.1")
    assert text_of(page, "lines") == 'probe under "under.csv"\n'
    fields = page.run("return [...document.querySelectorAll('[data-cell]')].map(e => e.dataset.cell)")
    assert not [each for each in fields if each.startswith("gap")]
    # turned over its long edge, the panel's front is at the back of the bed
    high = "return document.querySelector(`[data-field=thickness-${arguments[0]}]`).getBoundingClientRect().top"
    assert page.run(high, "front") < page.run(high, "back")
