"""FW301 for a panel that is too large for the travel: what it says of other ways and sizes holds, at the limits."""

from __future__ import annotations

import re
from typing import Any

import pytest
from compiler.plan.plans import planned
from compiler.shop import cutter, length_of, machine, q
from compiler.works import cut, stock, work, zero

from flatwise import check
from flatwise.core.finding import Finding
from flatwise.model.job import PanelSize, RowsLine
from flatwise.model.shop import Travel

ALONG = RowsLine(direction="along")


def too_large(
    length: float, width: float, travel: tuple[float, float] = (1320.0, 1320.0), *, grain: Any = "x", **job: Any
) -> list[Finding]:
    """FW301 of a panel that lies in the back right corner of the travel; the cutter's centre just reaches its ends."""
    tool, on = job.pop("tool", cutter()), job.pop("on", "top")
    overrun, direction = float(job.get("overrun", q("6mm"))), job.get("rows", ALONG).direction
    along = length_of(float(tool.diameter) / 2.0 + overrun), length_of(overrun - float(tool.diameter) / 2.0)
    past_x, past_y = along if (grain == "x") == (direction == "along") else along[::-1]
    corner = zero(travel[0] - past_x, travel[1] - past_y, None, on=on, corner="back_right")
    wide = machine(travel=Travel(x=length_of(travel[0]), y=length_of(travel[1]), z=q("160mm")))
    blocks = {"stock": stock(length, width, 32.0, grain=grain), "zero": corner, "cut": cut(**job)}
    plan = planned(work(length, width, job=blocks, machine=wide, cutter=tool, holders=()))
    return [one for one in check.run(plan) if one.code == "FW301"]


def test_a_panel_that_fits_no_way_round() -> None:
    # 1300 mm and two run-outs of 38 mm make 1376 mm; across, the outermost centres lie 26 mm inside the edges
    (one,) = too_large(1300.0, 1000.0)
    assert one.message == (
        "The panel is too large for the travel either way round: with its run-outs, the cut needs 1376mm of X travel, "
        "56mm more than there is."
    )
    assert one.help == (
        "With this cutter and overrun, the largest panel is 1244mm x 1372mm. This one fits with `rows across grain`."
    )
    assert one.value == pytest.approx(56.0)
    assert too_large(1300.0, 1000.0, rows=RowsLine(direction="across")) == []


def test_both_ways_round_are_considered() -> None:
    assert [one.help for one in too_large(1300.0, 900.0, (1320.0, 1380.0))] == ["Turn the panel on the bed."]
    assert too_large(900.0, 1300.0, (1320.0, 1380.0), grain="y") == []
    (one,) = too_large(1300.0, 1150.0, (1320.0, 1000.0))
    assert "1376mm of X travel, 56mm more than there is and 1098mm of Y travel, 98mm more than there is." in one.message
    assert one.help == (
        "With this cutter and overrun, the largest panel is 1244mm x 1052mm or 924mm x 1372mm turned on the bed."
    )
    assert [one.help for one in too_large(60.0, 60.0, (70.0, 70.0))] == ["No panel fits with this cutter and overrun."]


def test_a_job_in_inches_reads_inches() -> None:
    size = PanelSize(length=q("52in"), width=q("20in"), thickness=q("1 1/4in"))
    blocks = {"stock": stock(1320.8, 508.0, 32.0, size=size), "zero": zero(on="top", paper=None)}
    (one,) = (each for each in check.run(planned(work(1320.8, 508.0, job=blocks))) if each.code == "FW301")
    assert "needs 55in of X travel, 3.024in more than there is" in one.message
    assert "the largest panel is 48.97in x 54.01in." in one.help


@pytest.mark.parametrize("on", ["top", "bed"])
@pytest.mark.parametrize("direction", ["along", "across"])
@pytest.mark.parametrize(
    "overrun", ["2mm", *(pytest.param(each, marks=pytest.mark.nightly) for each in ("6mm", "15mm"))]
)
def test_the_largest_panel_fits_and_a_larger_one_does_not(on: str, direction: Any, overrun: str) -> None:
    travel, ways = (800.0, 600.0), {"on": on, "rows": RowsLine(direction=direction), "overrun": q(overrun)}
    (one,) = too_large(1000.0, 900.0, travel, **ways)
    sizes = re.findall(r"([0-9.]+)mm x ([0-9.]+)mm( turned)?", one.help)
    assert [bool(turned) for _, _, turned in sizes] == [False, True]
    for a, b, turned in sizes:
        grain = "y" if turned else "x"
        for more_a, more_b, count in ((0.0, 0.0, 0), (0.2, 0.0, 1), (0.0, 0.2, 1)):
            length, width = float(a) + more_a, float(b) + more_b
            sides = (width, length) if turned else (length, width)
            assert len(too_large(*sides, travel, grain=grain, **ways)) == count, (sides, turned)


def test_rough_passes_go_no_way_that_leaves_the_travel() -> None:
    # the rows of the last pass just fit; rounds and rows in the other direction would run past the front end
    assert too_large(900.0, 652.0, (1320.0, 600.0)) == []
