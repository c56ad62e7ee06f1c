"""Random walks: what the checks let through is proven, so that nobody is told to build a sound job again."""

from __future__ import annotations

from collections.abc import Callable

from compiler.plan.plans import bumpy, panel_of
from compiler.shop import clamp, dog, length_of, machine, mm
from compiler.walks import gauge, walk_of, walking
from compiler.works import stock, zero
from hypothesis import given
from hypothesis import strategies as st
from hypothesis_profile import examples

from flatwise import check
from flatwise.gcode.walk_program import write_walk
from flatwise.model.measuring import Walk
from flatwise.model.shop import Controller
from flatwise.model.stages import Work
from flatwise.model.words import Whole
from flatwise.verify import verify_walk

Draw = Callable[[st.SearchStrategy[float]], float]


@st.composite
def walks(draw: Draw) -> tuple[Work, Walk]:
    """A panel with a rough top, holders as high as its top or so, any gauge, and a controller in mm or inches."""

    def between(low: float, high: float) -> float:
        return draw(st.floats(low, high))

    length, width, thick = between(60.0, 900.0), between(60.0, 700.0), between(8.0, 45.0)
    holders = tuple(
        made(edge, between(0.0, side), length, width, height=thick + between(-8.0, 4.0))
        for made, edge, side in ((dog, "left", width), (dog, "front", length), (clamp, "right", width))
    )
    units, places = draw(st.sampled_from([("mm", 3), ("mm", 1), ("in", 4), ("in", 2)]))  # type: ignore[arg-type]
    work = walking(
        int(between(2, 5)),
        int(between(2, 5)),
        of=gauge(str(mm(between(30.0, 70.0))), str(mm(between(2.0, 15.0))), str(mm(between(10.0, 80.0)))),
        length=length,
        width=width,
        thickness=thick,
        job={"stock": stock(length, width, thick), "zero": zero("200mm", "200mm", None)},
        holders=holders,
        machine=machine(lift=length_of("20mm"), controller=Controller(units=units, decimals=Whole(int(places)))),
    )
    top = bumpy(length, width, thick, seed=int(between(0, 99)), rough=between(0.0, 4.0), nodes=4)
    bound = between(0.0, 3.0)
    return work, walk_of(work, panel_of(top.level(0.0), top, (0.1, bound, 0.1)), under=draw(st.booleans()) > 0.5)


@given(walks())
@examples(10)
def test_what_the_checks_let_through_is_proven(made: tuple[Work, Walk]) -> None:
    work, walk = made
    if not check.run_walk(work, walk):
        assert verify_walk(write_walk(work, walk), work, walk, "measure.nc") == ()
