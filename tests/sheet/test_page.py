"""The sheet in a browser: it loads by itself, ticks and passes work, by mouse and by keyboard, wide and narrow."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys
from sheet.conftest import FEW_JOBS, HERE, ONE_JOB, Browser, Sheets


@pytest.mark.parametrize("job", FEW_JOBS)
def test_it_loads_without_a_word_on_the_console_and_asks_for_nothing(page: Browser, sheets: Sheets, job: str) -> None:
    path, _ = sheets[job]
    page.open(path)
    assert page.console() == []
    assert page.requests() == [path.as_uri()]
    assert page.run("return document.documentElement.className") == "live"
    # nothing that the page could fetch later either
    assert page.run("return document.querySelectorAll('[src], link, iframe, object, embed').length") == 0


def test_a_page_that_asked_for_something_would_be_seen(page: Browser, tmp_path: Path) -> None:
    path = tmp_path / "asks.html"
    path.write_text("<!doctype html><img src='missing.png'>")
    page.open(path)
    assert len(page.requests()) == 2 and page.console()


def test_ticks_stay_on_reload_by_job_face_and_sources(page: Browser, sheets: Sheets) -> None:
    page.open(sheets["reading_table"][0])
    for ident in ("before-wear", "first-cutter", "second-turn"):
        page.driver.find_element(By.ID, ident).click()
    assert page.driver.find_element(By.ID, "ticked").text.startswith("3 of ")
    page.driver.refresh()
    ticked = "return [...document.querySelectorAll('.steps input:checked')].map(each => each.id)"
    assert page.run(ticked) == ["before-wear", "first-cutter", "second-turn"]
    # and it is said, so that nobody takes them for another panel's
    assert "kept from an earlier visit" in page.driver.find_element(By.ID, "ticked").text
    assert len(page.run("return Object.keys(localStorage)")) == 3
    # another job, and the same job from other sources, know nothing of them
    page.driver.get(sheets["spoilboard"][0].as_uri())
    assert page.run(ticked) == []
    changed = sheets["reading_table"][0].with_name("changed.html")
    text = sheets["reading_table"][0].read_text()
    number = page.run("return document.querySelector('header code').textContent")
    page.driver.get(sheets["reading_table"][0].as_uri())
    own = page.run("return document.querySelector('header code').textContent")
    assert own != number
    changed.write_text(text.replace(own, "0" * 16))
    page.driver.get(changed.as_uri())
    assert page.run(ticked) == []
    page.driver.get(sheets["reading_table"][0].as_uri())
    page.driver.find_element(By.ID, "clear").click()
    page.driver.refresh()
    assert page.run(ticked) == [] and page.run("return localStorage.length") == 0


def test_where_nothing_may_be_kept_the_page_still_works(page: Browser, sheets: Sheets) -> None:
    refuse = (
        "Object.defineProperty(window, 'localStorage', { get() { throw new DOMException('no', 'SecurityError') } })"
    )
    script = page.command("Page.addScriptToEvaluateOnNewDocument", source=refuse)["identifier"]
    try:
        page.open(sheets["reading_table"][0])
        page.driver.find_element(By.ID, "before-stop").click()
        assert page.driver.find_element(By.ID, "ticked").text.startswith("1 of ")
        page.driver.find_element(By.CSS_SELECTOR, "#first .control button:last-of-type").click()
        assert page.driver.find_element(By.CSS_SELECTOR, "#first .say").text.startswith("Pass 1 of ")
        assert page.console() == []
    finally:
        page.command("Page.removeScriptToEvaluateOnNewDocument", identifier=script)


def test_without_scripts_the_sheet_is_whole(page: Browser, sheets: Sheets) -> None:
    path, built = sheets["reading_table"]
    assert built.plan is not None
    page.command("Emulation.setScriptExecutionDisabled", value=True)
    try:
        page.open(path)
        assert page.run("return document.documentElement.className") == ""
        # the plan shows what lies where, and every pass has its way beside the others
        seen = "return [...document.querySelectorAll(arguments[0])].filter(e => e.getClientRects().length)"
        assert page.run(seen + ".length", "#first .plan .pass") == 0
        assert page.run(seen + ".length", "#first .plan .keepout") > 0
        page.unfold()
        named = page.run(seen + ".map(e => e.textContent)", "#first .ways span")
        numbers = [int(each) for words in named for each in re.findall(r"\d+", words.split(":")[0])]
        assert sorted(numbers) == [index + 1 for index in range(len(built.plan.setups[0].passes))]
        # what only a script could serve is not shown
        assert page.run("return [...document.querySelectorAll('button')].some(e => e.getClientRects().length)") is False
        assert page.run("return document.querySelectorAll('.steps input').length") > 20
        # and the closed parts open
        for each in page.driver.find_elements(By.TAG_NAME, "summary"):
            each.click()
        assert page.run(seen + ".length", "svg.relief, svg.stack, svg.section, .limits") == 2 * 3 + 2 + 1
    finally:
        page.command("Emulation.setScriptExecutionDisabled", value=False)


def test_the_control_steps_through_the_passes(page: Browser, sheets: Sheets) -> None:
    path, built = sheets["study_shelf"]
    assert built.plan is not None
    page.open(path)
    for setup in built.plan.setups:
        face = page.driver.find_element(By.ID, setup.face)
        _, more = face.find_elements(By.CSS_SELECTOR, ".control button")
        say = face.find_element(By.CSS_SELECTOR, ".say")
        assert say.text == f"The set-up. ▶ shows the {len(setup.passes)} passes one by one."
        for number, one in enumerate(setup.passes, 1):
            more.click()
            assert say.text.startswith(f"Pass {number} of {len(setup.passes)}")
            assert f"{one.plane / 25.4:.4f}".rstrip("0") in say.text
            shown = "return [...arguments[0].querySelectorAll('.plan .pass')].filter(e => e.getClientRects().length)"
            assert page.run(shown + ".map(e => e.dataset.pass)", face) == [str(number)]
            assert page.run("return arguments[0].querySelector('tr.now').dataset.pass", face) == str(number)
        assert not more.is_enabled()


def test_the_steps_follow_the_work(page: Browser, sheets: Sheets) -> None:
    page.open(sheets["reading_table"][0])
    steps = page.run("return [...document.querySelectorAll('.steps input')].map(e => e.id)")
    assert steps[:3] == ["before-referenced", "before-wear", "before-stop"]
    # dogs and leaves are on the bed before the panel comes; it is scribbled on last, and looked at after the cut
    first = "place bed lay hold cutter xy z pencil air cut marks"
    assert [each.removeprefix("first-") for each in steps if each.startswith("first-")] == first.split()
    second = "turn lay hold cutter xy z pencil air cut marks"
    assert [each.removeprefix("second-") for each in steps if each.startswith("second-")] == second.split()
    for before, after in (("Put the dogs", "Lay the leaves"), ("Lay the panel down", "Press on each corner")):
        words = page.driver.find_element(By.ID, "before").text
        assert words.index(before) < words.index(after) < words.index("Test every clamp by hand")
    # the leaves come out while the panel is off the bed
    words = page.driver.find_element(By.CSS_SELECTOR, "label:has(#second-turn)").text
    assert words.index("lift the panel out") < words.index("Take all leaves out") < words.index("Turn the panel over")
    turned = page.driver.find_element(By.CSS_SELECTOR, "label:has(#second-lay)").text
    assert "against all dogs (A, B, C, D), its back edge now toward you" in turned


@pytest.mark.parametrize("job", ("spoilboard", pytest.param("front_bed", marks=pytest.mark.nightly)))
def test_the_machines_own_board_is_no_panel(page: Browser, sheets: Sheets, job: str) -> None:
    page.open(sheets[job][0])
    said = page.run("return document.body.innerText + [...document.querySelectorAll('title')].map(e => e.textContent)")
    assert re.findall(r"\b(?:panel|leaves|holders?|survey\w*|sag|calipers)\b(?! the machine)", said) == []
    assert "no clamp, no dog, no leaf" in said and "Every screw and pin in it is deeper" in said


def test_a_pointer_is_told_what_it_rests_on(page: Browser, sheets: Sheets) -> None:
    from selenium.webdriver import ActionChains

    path, built = sheets["reading_table"]
    assert built.plan is not None
    setup = built.plan.setups[0]
    page.open(path)
    clamp = page.driver.find_element(By.CSS_SELECTOR, "#first .plan .clamp")
    ActionChains(page.driver).scroll_to_element(clamp).move_to_element(clamp).perform()
    figure = page.driver.find_element(By.CSS_SELECTOR, "#first figure:has(.plan)")
    told = figure.find_element(By.TAG_NAME, "output").text
    assert "clamp side_cam at the right edge: 305 mm from the front edge, 13 mm high" in told
    # the height under the pointer is the plan's, within what a coarser grid and a rounded pixel leave
    page.unfold()
    relief = page.driver.find_element(By.CSS_SELECTOR, "#first .relief")
    ActionChains(page.driver).scroll_to_element(relief).perform()
    x, y = 800.0, 480.0
    at = page.run(
        "const s = arguments[0], p = new DOMPoint(arguments[1], s.dataset.top - arguments[2])"
        ".matrixTransform(s.getScreenCTM()); return [p.x, p.y]",
        relief, x, y,
    )  # fmt: skip
    page.run(
        "arguments[0].dispatchEvent(new PointerEvent('pointermove', {clientX: arguments[1], clientY: arguments[2]}))",
        relief, *at,
    )  # fmt: skip
    told = page.driver.find_element(By.CSS_SELECTOR, "#first figure:has(.relief) output").text
    assert told.startswith("800 mm from the left end, 480 mm from the front edge: ")
    assert float(told.split(": ")[1].split()[0]) == pytest.approx(float(setup.top.at(x, y)), abs=0.012)


def test_the_keyboard_alone_reaches_and_works_everything(page: Browser, sheets: Sheets) -> None:
    page.open(sheets["reading_table"][0])
    # the closed parts are reached, and open at a key
    first = page.driver.find_element(By.TAG_NAME, "summary")
    first.send_keys(Keys.ENTER)
    assert page.run("return document.querySelector('details').open")
    page.unfold()
    wanted = "button:not(:disabled), input, a, summary"
    count = page.run(
        "window.reached = new Set(); document.addEventListener('focusin', e => reached.add(e.target));"
        "return document.querySelectorAll(arguments[0]).length",
        wanted,
    )
    page.driver.find_element(By.TAG_NAME, "body").send_keys(Keys.TAB * (count + 60))
    missed = "return [...document.querySelectorAll(arguments[0])].filter(e => !reached.has(e)).map(e => e.outerHTML)"
    assert page.run(missed, wanted) == []
    box = page.driver.find_element(By.ID, "first-lay")
    box.send_keys(Keys.SPACE)
    assert box.is_selected()
    # a focus that nobody sees is none
    assert page.run("arguments[0].focus(); return getComputedStyle(arguments[0]).outlineStyle", box) == "solid"
    reach = page.driver.find_element(By.CSS_SELECTOR, "#first .control input")
    reach.send_keys(Keys.ARROW_RIGHT, Keys.ARROW_RIGHT)
    assert page.driver.find_element(By.CSS_SELECTOR, "#first .say").text.startswith("Pass 2 of ")
    value = page.driver.find_element(By.CSS_SELECTOR, "#first figure:has(.plan) .next")
    out = page.driver.find_element(By.CSS_SELECTOR, "#first figure:has(.plan) output")
    value.send_keys(Keys.ENTER)
    first = out.text
    value.send_keys(Keys.ENTER)
    assert first.startswith("Keep-out around A") and out.text != first


@pytest.mark.parametrize("job", FEW_JOBS)
def test_a_narrow_screen_shows_it_whole(page: Browser, sheets: Sheets, job: str) -> None:
    page.wide(360, 740)
    page.open(sheets[job][0])
    page.unfold()
    assert page.run("return document.documentElement.scrollWidth") <= 360
    # 44 px: the target size of WCAG 2.1, success criterion 2.5.5 (from memory), and more so for dusty fingers
    small = page.run(
        "return [...document.querySelectorAll('button, summary, .steps label, .control input')]"
        ".filter(e => e.getBoundingClientRect().height < 44).map(e => e.outerHTML)"
    )
    assert small == []
    # lettering in a picture is no smaller than what can be read at arm's length
    tiny = page.run(
        "return [...document.querySelectorAll('figure svg')].flatMap(svg => [...svg.querySelectorAll('text')].map(t =>"
        "t.getAttribute('font-size') * svg.getScreenCTM().a)).filter(size => size < 11)"
    )
    assert tiny == []
    assert page.run("return document.querySelector('nav').getBoundingClientRect().height") < 740 / 4


@pytest.mark.parametrize("width", [360, pytest.param(1000, marks=pytest.mark.nightly)])
@pytest.mark.parametrize("job", ONE_JOB)
def test_the_rules_of_accessibility_find_nothing(page: Browser, sheets: Sheets, job: str, width: int) -> None:
    axe = HERE / "node_modules" / "axe-core" / "axe.min.js"
    if not axe.exists():
        pytest.skip("axe-core is not installed: run npm install in tests/sheet")
    page.wide(width)
    page.open(sheets[job][0])
    page.unfold()
    page.unfold()
    page.run(axe.read_text(encoding="utf-8"))
    found = page.driver.execute_async_script(
        "const done = arguments[0]; axe.run().then(r => done(r.violations.map(v => [v.id, v.nodes[0].html])))"
    )
    assert found == []
