"""The pictures of the sheet from plans made by hand: to scale, whole, and told apart without colour."""

from __future__ import annotations

import re
from itertools import pairwise
from xml.etree import ElementTree

import pytest
from compiler.gcode.write_plans import built, plan, setup, work
from compiler.pages import page

from flatwise.core.surface import Surface
from flatwise.model.stages import Bound
from flatwise.report.display import DisplayUnit
from flatwise.report.height_map import height_map
from flatwise.report.plan_view import letter, plan_view
from flatwise.report.section import section_of, stack_view
from flatwise.report.sheet import sheet


def shapes(drawing: str, kind: str) -> list[ElementTree.Element]:
    """Every shape of a kind, wherever it stands in the picture."""
    return [each for each in ElementTree.fromstring(drawing).iter() if kind in (each.get("class") or "").split()]


def test_the_drawing_is_to_scale_and_holds_everything() -> None:
    drawing = plan_view(work(), setup())
    whole = ElementTree.fromstring(drawing)
    left, top, width, height = (float(value) for value in whole.attrib["viewBox"].split())
    (panel,) = shapes(drawing, "panel")
    assert (float(panel.get("width", 0)), float(panel.get("height", 0))) == (200.0, 100.0)
    assert [len(shapes(drawing, kind)) for kind in ("dog", "clamp", "leaf", "keepout", "touch", "pass")] == [
        1, 1, 1, 2, 3, 2,
    ]  # fmt: skip
    for each in whole.iter("rect"):
        x, y = float(each.get("x", 0)), float(each.get("y", 0))
        assert left <= x and x + float(each.get("width", 0)) <= left + width
        assert top <= y and y + float(each.get("height", 0)) <= top + height
    # y runs upward on the bed: the clamp's middle, 50 mm from the front, is as high in the drawing as the panel's
    (clamp,) = shapes(drawing, "clamp")
    middle = float(panel.get("y", 0)) + 50.0
    assert float(clamp.get("y", 0)) + float(clamp.get("height", 0)) / 2 == pytest.approx(middle)
    # the keep-out is the holder grown by radius and clearance: 25 + 2 mm
    grown = shapes(drawing, "keepout")[1]
    assert (float(grown.get("width", 0)), float(grown.get("height", 0))) == (32 + 54, 70 + 54)
    assert float(grown.get("rx", 0)) == 27


def test_a_turned_panel_carries_the_names_of_its_own_edges() -> None:
    named = [(each.text or "").split()[0] for each in shapes(plan_view(work(), setup()), "edge")]
    assert named == ["front", "back", "left", "right"]
    turned = shapes(plan_view(work(), setup("second")), "edge")
    # the word alone where a short edge has no room for more
    assert [(each.text or "").split()[0] for each in turned] == ["back", "front", "left", "right"]
    assert ["moved" in (each.get("class") or "") for each in turned] == [True, True, False, False]
    words = " ".join(" ".join(page(sheet(built())).words).split())
    assert "front back" in words and "left left, as before" in words


def test_bands_of_height_are_told_apart_without_colour() -> None:
    from importlib.resources import files

    style = files("flatwise.report").joinpath("sheet.css").read_text()
    shades = [re.search(rf"svg \.b{band} {{ fill: (#[0-9a-f]{{6}}) }}", style) for band in range(6)]

    def luminance(colour: str) -> float:
        """Relative luminance, W3C WCAG 2.1."""
        parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
        red, green, blue = (part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts)
        return 0.2126 * red + 0.7152 * green + 0.0722 * blue

    values = [luminance(shade[1]) for shade in shades if shade]
    assert len(values) == 6
    # each darker than the one before, by a contrast that a copier keeps
    assert all((pale + 0.05) / (dark + 0.05) > 1.2 for pale, dark in pairwise(values))


def test_the_map_paints_each_cell_once_in_the_band_of_its_height() -> None:
    slope = Surface.flat(200.0, 100.0, 20.0).plus(0.01, 0.0, 0.0)
    drawing = height_map(setup()._replace(top=slope), DisplayUnit("mm"))
    area = 0.0
    for band in range(6):
        (path,) = [each for each in shapes(drawing, f"b{band}") if each.tag.endswith("path")]
        spans = [[float(part) for part in run] for run in re.findall(r"M(\S+) (\S+)H(\S+)V(\S+)H", path.get("d", ""))]
        area += sum((x1 - x0) * (y1 - y0) for x0, y0, x1, y1 in spans)
        # 20 to 22 mm over 200 mm: each band is a third of a mm, a sixth of the length, within a cell
        assert min(run[0] for run in spans) == pytest.approx(200 * band / 6, abs=200 / 56)
        assert max(run[2] for run in spans) == pytest.approx(200 * (band + 1) / 6, abs=200 / 56)
    # to what the page's hundredths of a millimetre leave
    assert area == pytest.approx(200.0 * 100.0, rel=1e-3)
    level = height_map(setup(), DisplayUnit("mm"))
    assert "level: 21 mm" in level and "high" not in level.split("</title>")[-1].replace("higher", "")


def test_a_step_stands_upright_in_the_stack() -> None:
    import numpy as np

    stepped = Surface(
        np.array([0.0, 200.0]),
        np.array([0.0, 40.0, 40.0, 100.0]),
        np.array([[21.0] * 2, [21.0] * 2, [21.5] * 2, [21.5] * 2]),
    )
    whole = plan()
    one = setup()._replace(top=stepped, bound=Bound.even(stepped.level(0.1)))
    wood = shapes(stack_view(whole, one), "panel")[0].get("d", "")
    points = [tuple(map(float, each)) for each in re.findall(r"([\d.-]+) ([\d.-]+)", wood)]
    rise = [(a, b) for a, b in pairwise(points) if a[1] != b[1] and 0 < a[0] < 100 and 0 < b[0] < 100]
    assert len(rise) == 1 and all(39.9 < x < 40.1 or abs(x - 40) < 2 for x, _ in rise[0])
    assert section_of(work(), one).side == 100.0 and section_of(work(), one).across == "y"


def test_letters_go_on_after_z() -> None:
    assert [letter(each) for each in (0, 1, 25, 26, 51, 52, 701, 702)] == ["A", "B", "Z", "AA", "AZ", "BA", "ZZ", "AAA"]
