"""The words of the pictures: none over another, none outside its picture, none too small, at three widths."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from hypothesis_profile import NIGHTLY
from sheet.conftest import ONE_JOB, Browser, Sheets

#: A phone, a tablet upright, a desk.
WIDTHS = (360, 768, 1280) if NIGHTLY else (360,)

#: Boxes of all words that can be seen in a picture, on the screen: [picture, words, left, top, right, bottom].  A
#: box has the height of a line, a fifth of which is above and below the letters.
BOXES = """
return [...document.querySelectorAll('figure svg')].flatMap(svg => {
  const frame = svg.getBoundingClientRect(), name = svg.closest('section').id + ' ' + svg.getAttribute('class');
  return [...svg.querySelectorAll('text')].filter(t => t.getClientRects().length).map(t => {
    const b = t.getBoundingClientRect(), turned = t.transform.baseVal.numberOfItems > 0;
    const [x, y] = turned ? [0.15 * b.width, 0] : [0, 0.15 * b.height];
    return [name, t.textContent, b.left + x, b.top + y, b.right - x, b.bottom - y,
            frame.left, frame.top, frame.right, frame.bottom, t.getAttribute('font-size') * svg.getScreenCTM().a];
  });
});
"""


def over_one_another(boxes: list[Any]) -> list[tuple[str, str, str]]:
    found = []
    for index, (name, words, x0, y0, x1, y1, *_) in enumerate(boxes):
        for other, words_, a0, b0, a1, b1, *_ in boxes[index + 1 :]:
            if other == name and min(x1, a1) - max(x0, a0) > 0.5 and min(y1, b1) - max(y0, b0) > 0.5:
                found.append((name, words, words_))
    return found


def outside(boxes: list[Any]) -> list[tuple[str, str]]:
    return [
        (name, words)
        for name, words, x0, y0, x1, y1, left, top, right, bottom, _ in boxes
        if x0 < left - 0.5 or y0 < top - 0.5 or x1 > right + 0.5 or y1 > bottom + 0.5
    ]


@pytest.mark.parametrize("job", ONE_JOB)
def test_no_words_lie_over_one_another_and_none_leave_their_picture(page: Browser, sheets: Sheets, job: str) -> None:
    path, built = sheets[job]
    assert built.plan is not None
    for width in WIDTHS:
        page.wide(width)
        page.open(path)
        page.unfold()
        boxes = page.run(BOXES)
        assert len(boxes) > 15 * len(built.plan.setups)
        assert over_one_another(boxes) == []
        assert outside(boxes) == []
        assert [(name, words) for name, words, *_, size in boxes if size < 11] == []


@pytest.mark.parametrize("job", ("reading_table", pytest.param("oak_slab", marks=pytest.mark.nightly), "spoilboard"))
def test_nor_do_they_with_any_pass_shown(page: Browser, sheets: Sheets, job: str) -> None:
    path, built = sheets[job]
    assert built.plan is not None
    page.wide(360)
    page.open(path)
    page.unfold()
    for setup in built.plan.setups:
        for number in range(1, len(setup.passes) + 1):
            shown = page.run(
                "const r = document.querySelector(`#${arguments[0]} .control input`); r.value = arguments[1];"
                "r.dispatchEvent(new Event('input')); return r.value", setup.face, number,
            )  # fmt: skip
            assert shown == str(number)
            boxes = page.run(BOXES)
            assert over_one_another(boxes) == []
            assert outside(boxes) == []


@pytest.mark.parametrize("job", ("window_seat", pytest.param("bread_board", marks=pytest.mark.nightly)))
def test_no_words_lie_over_the_line_of_the_section(page: Browser, sheets: Sheets, job: str) -> None:
    page.wide(1280)
    page.open(sheets[job][0])
    page.unfold()
    crossed = page.run("""
    return [...document.querySelectorAll('svg.plan path.cutline')].flatMap(line => {
      const c = line.getBoundingClientRect();
      return [...line.closest('svg').querySelectorAll('text')].filter(t => {
        const b = t.getBoundingClientRect();
        return b.width && b.left < c.right && b.right > c.left && b.top < c.bottom && b.bottom > c.top;
      }).map(t => t.textContent);
    });""")
    assert crossed == []


def test_words_that_do_are_found(page: Browser, tmp_path: Path) -> None:
    text = '<text x="{}" y="30" font-size="20" dominant-baseline="central">word</text>'
    for second, over, out in ((20, 1, 0), (80, 0, 0), (180, 0, 1)):
        path = tmp_path / f"{second}.html"
        path.write_text(
            "<!doctype html><section id=a><figure style='width:200px'><svg class=plan viewBox='0 0 200 60'>"
            f"{text.format(5)}{text.format(second)}</svg></figure></section>"
        )
        page.open(path)
        boxes = page.run(BOXES)
        assert (len(boxes), len(over_one_another(boxes)), len(outside(boxes))) == (2, over, out)


@pytest.mark.parametrize("job", ONE_JOB)
@pytest.mark.parametrize("width", WIDTHS)
def test_pictures_fit_the_screen_and_nothing_scrolls_sideways(
    page: Browser, sheets: Sheets, job: str, width: int
) -> None:
    page.wide(width)
    page.open(sheets[job][0])
    page.unfold()
    wide = page.run(
        "return [...document.querySelectorAll('main *')].filter(e => !e.closest('svg') || e.tagName === 'svg')"
        ".filter(e => e.scrollWidth > e.clientWidth + 1 && getComputedStyle(e).overflowX !== 'visible'"
        "  || e.getBoundingClientRect().right > innerWidth + .5).map(e => e.outerHTML.slice(0, 90))"
    )
    assert wide == []
    # and they are no smaller than the screen lets them be
    narrow = page.run(
        "return [...document.querySelectorAll('figure > svg')].map(e => e.getBoundingClientRect())"
        ".filter(b => Math.max(b.width, b.height) < Math.min(innerWidth - 24, 600)).length"
    )
    assert narrow == 0
