"""The pictures as a browser has them, read back in millimetres and held against the plan."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import Any

import pytest
from sheet.conftest import FEW_JOBS, ONE_JOB, ROOT, Browser, Sheets
from sheet.test_lettering import BOXES, outside, over_one_another

from flatwise.model.stages import Setup
from flatwise.pipeline import build, read_works
from flatwise.report import files

#: mm that a shape may be off its place
NEAR = 0.1

#: Reads shapes off the screen: pixels back to mm by the panel's own sides as the plan has them, so that a picture
#: that is stretched, shifted or cut shows itself.
READ = """
const [face, kind, length, width] = arguments;
const svg = document.querySelector(`#${face} svg.plan`);
const on = e => { const b = e.getBBox(), m = e.getScreenCTM();
  return [b.x * m.a + m.e, b.y * m.d + m.f, (b.x + b.width) * m.a + m.e, (b.y + b.height) * m.d + m.f]; };
const panel = on(svg.querySelector('rect.panel'));
const sx = length / (panel[2] - panel[0]), sy = width / (panel[3] - panel[1]);
const mm = b => [(b[0] - panel[0]) * sx, (panel[3] - b[3]) * sy, (b[2] - panel[0]) * sx, (panel[3] - b[1]) * sy];
const corners = e => [...e.getAttribute('d').matchAll(/[ML](\\S+) ([^LZ]+)/g)];
const points = e => { const m = e.getScreenCTM(); return corners(e).map(f =>
  [((+f[1] * m.a + m.e) - panel[0]) * sx, (panel[3] - (+f[2] * m.d + m.f)) * sy]); };
const found = [...svg.querySelectorAll(kind)];
return [sx / sy, found.map(e => e.tagName === 'path' ? points(e) : mm(on(e)))];
"""


def read(page: Browser, setup: Setup, kind: str) -> Any:
    squareness, shapes = page.run(READ, setup.face, kind, setup.top.length, setup.top.width)
    assert squareness == pytest.approx(1.0, abs=1e-4)  # to one scale both ways
    return shapes


def near(found: Any, wanted: Any) -> None:
    assert len(found) == len(wanted)
    for one, other in zip(found, wanted, strict=True):
        assert one == pytest.approx(other, abs=NEAR)


@pytest.mark.parametrize("job", FEW_JOBS)
def test_holders_leaves_origin_and_touch_lie_where_the_plan_has_them(page: Browser, sheets: Sheets, job: str) -> None:
    path, built = sheets[job]
    assert built.plan is not None
    page.open(path)
    page.unfold()
    radius = float(built.plan.work.cutter.diameter) / 2
    for setup in built.plan.setups:
        for kind, mark in (("dog", "circle.dog"), ("clamp", "rect.clamp")):
            held = [(h.x0, h.y0, h.x1, h.y1) for h in setup.holders if h.kind == kind]
            near(read(page, setup, mark), held)
        leaves = read(page, setup, "rect.leaf")
        assert len(leaves) == len(setup.shims)
        for (x0, y0, x1, y1), shim in zip(leaves, setup.shims, strict=True):
            assert (x1 - x0, y1 - y0) == pytest.approx((25, 25), abs=NEAR)
            # flush with the outline, and over its place
            assert x0 >= -NEAR and y0 >= -NEAR and x1 <= setup.top.length + NEAR and y1 <= setup.top.width + NEAR
            assert x0 - NEAR <= shim.x <= x1 + NEAR and y0 - NEAR <= shim.y <= y1 + NEAR
        touch = setup.touch
        near(
            read(page, setup, "circle.touch"),
            [(touch.x - radius, touch.y - radius, touch.x + radius, touch.y + radius)],
        )
        ((x0, y0, x1, y1),) = read(page, setup, "circle.zero")
        assert ((x0 + x1) / 2, (y0 + y1) / 2) == pytest.approx(setup.origin, abs=NEAR)
        grown = radius + built.plan.work.rules.clearance
        kept = [(h.x0 - grown, h.y0 - grown, h.x1 + grown, h.y1 + grown) for h in setup.holders]
        near(read(page, setup, ".keepout:not(.shoe)"), kept)
        # the dust shoe's own, where one is declared: it rides above the edge, with no clearance asked of it
        shoe = built.plan.work.machine.shoe
        wide = float(shoe.across) / 2 if shoe is not None else 0.0
        low = float(shoe.above) if shoe is not None else 0.0
        kept = [(h.x0 - wide, h.y0 - wide, h.x1 + wide, h.y1 + wide) for h in setup.holders if shoe and h.height > low]
        near(read(page, setup, ".keepout.shoe"), kept)


@pytest.mark.parametrize("job", FEW_JOBS)
def test_the_rows_of_every_pass_are_those_of_the_program(page: Browser, sheets: Sheets, job: str) -> None:
    import re

    path, built = sheets[job]
    assert built.plan is not None
    page.open(path)
    page.unfold()
    for setup in built.plan.setups:
        # read from the bytes of the program, not from the plan: what is drawn is what the machine does
        text = built.programs[f"{setup.face}.nc"].decode("ascii")
        worth = 25.4 if "G20" in text else 1.0
        passes: list[list[tuple[float, float]]] = []
        x = y = 0.0
        feeding = False
        for line in text.splitlines():
            if re.match(r"\((finish )?pass ", line, re.I):
                passes.append([])
            code = re.sub(r"\([^)]*\)", "", line)
            if "G53" in code:
                continue
            if move := re.search(r"\bG([01])\b|G0?([01])(?=\D|$)", code):
                feeding = "1" in (move[1] or move[2] or "")
            xs, ys = re.search(r"X(-?[\d.]+)", code), re.search(r"Y(-?[\d.]+)", code)
            x = float(xs[1]) * worth + setup.origin[0] if xs else x
            y = float(ys[1]) * worth + setup.origin[1] if ys else y
            if passes and feeding and (xs or ys):
                passes[-1].append((x, y))
        assert len(passes) == len(setup.passes)
        for number, moves in enumerate(passes, 1):
            page.run(
                "const r = document.querySelector(`#${arguments[0]} .control input`); r.value = arguments[1];"
                "r.dispatchEvent(new Event('input'))", setup.face, number,
            )  # fmt: skip
            runs = read(page, setup, f'.pass[data-pass="{number}"] path.row')
            # each run begins where the cutter came down; the ends of feed moves follow
            drawn = [tuple(point) for run in runs for point in run[1:]]
            near(drawn, moves)


@pytest.mark.parametrize("job", FEW_JOBS)
def test_section_and_stack_show_the_heights_of_the_plan(page: Browser, sheets: Sheets, job: str) -> None:
    path, built = sheets[job]
    assert built.plan is not None
    page.open(path)
    page.unfold()
    heights = """const svg = document.querySelector(`#${arguments[0]} svg.${arguments[1]}`), d = svg.dataset;
    return [...svg.querySelectorAll(arguments[2])].map(e => { const b = e.getBBox();
      return [b.x, d.top - (b.y + b.height) / d.tall, b.x + b.width, d.top - b.y / d.tall]; })"""
    for setup in built.plan.setups:
        stacked = page.run(heights, setup.face, "stack", "path.level")
        for (_, low, _, high), one in zip(stacked, setup.passes, strict=True):
            assert (low, high) == pytest.approx((one.plane, one.plane), abs=0.01)
        (_, plane, _, _) = page.run(heights, setup.face, "section", "path.plane:not(.other)")[0]
        assert plane == pytest.approx(setup.plane, abs=0.02)
        if (other := page.run(heights, setup.face, "section", "path.plane.other")) and setup.face == "first":
            left = setup.plane - other[0][1]
            assert left == pytest.approx(built.plan.forecast, abs=0.02)
        ((_, low, _, high),) = page.run(heights, setup.face, "section", "rect.blade")
        assert (low, high) == pytest.approx((setup.plane, setup.plane + float(built.plan.work.cutter.blade)), abs=0.02)
        tops = {round(each[3], 1) for each in page.run(heights, setup.face, "section", "rect.dog, rect.clamp")}
        assert tops <= {round(each.height, 1) for each in setup.holders}


@pytest.mark.parametrize("job", ONE_JOB)
def test_the_bar_beside_a_section_is_as_high_as_it_says(page: Browser, sheets: Sheets, job: str) -> None:
    path, built = sheets[job]
    assert built.plan is not None
    page.open(path)
    page.unfold()
    bars = page.run(
        "return [...document.querySelectorAll('svg:has(.scale)')].map(svg => [[...svg.querySelectorAll('.scale')]"
        ".reduce((sum, e) => sum + e.getBBox().height, 0) / svg.dataset.tall,"
        "svg.querySelector('.scale').parentElement.nextElementSibling.textContent])"
    )
    assert len(bars) == 2 * len(built.plan.setups)
    for high, said in bars:
        value, symbol = said.split()
        assert high == pytest.approx(float(value) * {"mm": 1.0, "in": 25.4}[symbol], rel=0.02)


@pytest.mark.parametrize("job", ONE_JOB)
def test_a_plane_has_one_number_wherever_it_is_told(page: Browser, sheets: Sheets, job: str) -> None:
    path, built = sheets[job]
    assert built.plan is not None
    page.open(path)
    page.unfold()
    for setup in built.plan.setups:
        table, stack, section = page.run(
            "const f = document.getElementById(arguments[0]), t = (w, e) => [...f.querySelectorAll(w)].map(e);"
            "return [t('tr[data-pass] td:nth-child(3)', e => e.textContent),"
            "t('svg.stack text', e => e.textContent), t('svg.section text', e => e.textContent)]",
            setup.face,
        )
        labels = [words.split(": ")[1] for words in stack if ": " in words]
        assert len(table) == len(setup.passes) and labels == table[-len(labels) :] and labels
        assert f"plane {table[-1]}" in section


def test_high_and_low_of_the_map_are_those_of_the_face(page: Browser, sheets: Sheets) -> None:
    path, built = sheets["reading_table"]
    assert built.plan is not None
    page.open(path)
    page.unfold()
    for setup in built.plan.setups:
        words = page.run(
            "return [...document.querySelectorAll(`#${arguments[0]} .relief .marked`)].map(e => e.textContent)",
            setup.face,
        )
        assert [word.split()[1] for word in words] == ["high", "low"]
        told = [float(word.split()[2]) for word in words]
        assert told == pytest.approx([setup.highest, setup.lowest], abs=0.0051)
        places = page.run(
            "const s = document.querySelector(`#${arguments[0]} .relief`); return [...s.querySelectorAll('.mark')]"
            ".map(e => [+e.getAttribute('cx'), s.dataset.top - e.getAttribute('cy')])",
            setup.face,
        )
        for (x, y), height in zip(places, (setup.highest, setup.lowest), strict=True):
            assert height in [pytest.approx(each, abs=1e-3) for each in setup.top.both_at(round(x, 1), round(y, 1))]


#: The words of pictures that leave their frame.
CUT_OFF = """return [...document.querySelectorAll('figure svg')].flatMap(svg => { const v = svg.viewBox.baseVal;
        return [...svg.querySelectorAll('text')].filter(t => t.getClientRects().length).filter(t => {
          const b = t.getBBox(), turns = t.transform.baseVal;
          const m = turns.numberOfItems ? turns.consolidate().matrix : null;
          const turn = p => m ? [m.a * p[0] + m.c * p[1] + m.e, m.b * p[0] + m.d * p[1] + m.f] : p;
          const c = [turn([b.x, b.y]), turn([b.x + b.width, b.y + b.height])];
          return c.some(([x, y]) => x < v.x - .5 || x > v.x + v.width + .5 || y < v.y - .5 || y > v.y + v.height + .5);
        }).map(t => svg.getAttribute('class') + ': ' + t.textContent) })"""


@pytest.mark.parametrize("job", ONE_JOB)
def test_no_word_of_a_picture_is_cut_off_at_its_edge(page: Browser, sheets: Sheets, job: str) -> None:
    page.open(sheets[job][0])
    page.unfold()
    assert page.run(CUT_OFF) == []


@pytest.mark.parametrize(
    "corner",
    (
        "front_left",
        "back_right",
        pytest.param("front_right", marks=pytest.mark.nightly),
        pytest.param("back_left", marks=pytest.mark.nightly),
    ),
)
def test_nor_is_one_on_a_narrow_panel_with_its_zero_at_another_corner(
    page: Browser, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, corner: str
) -> None:
    shutil.copytree(ROOT / "shared", tmp_path / "shared")
    (tmp_path / "jobs").mkdir()
    (tmp_path / "flatwise.toml").write_text("")
    monkeypatch.chdir(tmp_path)
    x, y = (500 if corner.endswith("right") else 300, 1100 if corner.startswith("back") else 200)
    job = tmp_path / "jobs" / "narrow.flat"
    job.write_text(
        'use "../shared/shop.flat"\nuse "../shared/sample.flat"\n'
        "job narrow from plain_top {\n    stock { size 200mm x 900mm x 32mm; wood ash; grain along y }\n"
        f"    zero {{ corner {corner} at {x}mm, {y}mm }}\n}}\n"
    )
    front = read_works([job])
    built = build(front.works[0])
    assert built.programs, [str(each) for each in built.findings]
    path = tmp_path / "sheet.html"
    path.write_bytes(files(built, front.texts)["sheet.html"])
    page.open(path)
    page.unfold()
    assert page.run(CUT_OFF) == []
    boxes = page.run(BOXES)
    assert over_one_another(boxes) == [] and outside(boxes) == []
    assert built.plan is not None
    for setup in built.plan.setups:
        ((x0, y0, x1, y1),) = read(page, setup, "circle.zero")
        assert ((x0 + x1) / 2, (y0 + y1) / 2) == pytest.approx(setup.origin, abs=NEAR)
