"""Works made by hand: a job of the little shop without a line of text, for tests of the later stages."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from flatwise.model import job as j
from flatwise.model import shop as s
from flatwise.model.words import CORNERS, Name, Place, Text, Whole
from flatwise.stages import Rules, Work
from flatwise.units import Quantity
from flatwise_grammar.nodes import Span

HERE = Span("jobs/made.flat", 0, 8)
#: a span inside the job, so that fixes have a place to go
INSIDE = Span("jobs/made.flat", 20, 28)
LEAVES = (0.03, 0.05, 0.10, 0.15, 0.20, 0.25, 0.30, 0.40, 0.50, 1.00)


def _written(block: Any, **marks: Any) -> Any:
    """The block as if it had been read: frozen, with its place."""
    block.__dict__.update({"_head": INSIDE, **marks})
    return block


def mm(value: float) -> Quantity:
    return Quantity(value, "mm", f"{value:g}mm", INSIDE)


def place(at: str | tuple[float, float]) -> Place:
    return Place(at, 0.0, 0.0, INSIDE) if isinstance(at, str) else Place("", *at, INSIDE)


def readings(values: Mapping[Any, float]) -> tuple[j.Reading, ...]:
    """{place: mm} → readings; a place is a name or a point."""
    return tuple(j.Reading(place=place(at), value=mm(value)) for at, value in values.items())


def survey(
    thickness: Mapping[Any, float] | None = None,
    gap: Mapping[Any, float] | None = None,
    *,
    within: float = 0.05,
    step: Sequence[j.Step] = (),
    files: Sequence[j.ReadingFile] = (),
    **words: Any,
) -> j.Survey:
    block = j.Survey(
        thickness=(*readings(thickness or {}), *files),
        gap=readings(gap or {}),
        within=mm(within),
        step=tuple(step),
        **words,
    )
    return _written(block)


def step(height: float, axis: str, line: float, face: str | None = None, way: str | None = None) -> j.Step:
    return j.Step(face=face, height=mm(height), way=way, axis=axis, line=mm(line))


def arch(height: float, way: str) -> j.Arch:
    return j.Arch(height=mm(height), way=way)


def twist(height: float, way: str | None = None) -> j.Twist:
    return j.Twist(height=mm(height), way=way)


def shims(leaves: Sequence[float] = LEAVES, stack: int = 3) -> s.Shims:
    return s.Shims(leaves=tuple(mm(leaf) for leaf in leaves), stack=Whole(stack))


def supports(
    under: Sequence[Any] = (),
    *,
    aim: str = "least_removal",
    by_hand: Mapping[Any, float] | None = None,
) -> j.Supports:
    chosen = (j.Under(set=Name("leaf_set"), places=tuple(place(at) for at in under)),) if under else ()
    block = j.Supports(
        shims=chosen,
        shim=tuple(j.SetShim(height=mm(h), place=place(at)) for at, h in (by_hand or {}).items()),
        aim=aim,
    )
    return _written(block, _spans={"shims": INSIDE} if under else {"shim": INSIDE})


def work(
    size: tuple[float, float, float] = (1120.0, 610.0, 31.5),
    *,
    survey: j.Survey | None = None,
    supports: j.Supports | None = None,
    grain: str = "x",
    glue_lines: tuple[str, Sequence[float]] | None = None,
    rules: Rules | None = None,
    points: Mapping[Span, Any] | None = None,
    density: float = 670.0,
    modulus: float = 12000.0,
    holders: tuple[Any, ...] = (),
    leaves: s.Shims | None = None,
    faces: j.Faces | None = None,
    bed: bool = False,
    **blocks: Any,
) -> Work:
    """A Work of the little shop; everything that is not named is plain."""
    stock = j.Stock(
        size=j.Box(length=mm(size[0]), width=mm(size[1]), thickness=mm(size[2])),
        wood=Name("ash"),
        grain=grain,
        glue_lines=j.GlueLines(axis=glue_lines[0], at=tuple(mm(at) for at in glue_lines[1])) if glue_lines else None,
    )
    _written(stock, _name="bed" if bed else "")
    faces = faces or j.Faces(
        first=j.UntilClean(until="until"),
        second=j.SecondTo(thickness=mm(size[2] - 2.5)),
        flip=j.Flip(edge="long_edge"),
    )
    machine = s.Machine(
        travel=s.Travel(x=mm(1320.0), y=mm(1320.0), z=mm(160.0)),
        feed=Quantity(8000.0, "mm/min"),
        spindle=s.Spindle(power=Quantity(2200.0, "W"), least=Quantity(8000.0, "rpm"), most=Quantity(24000.0, "rpm")),
        collet=s.ColletRange(least=mm(0.5), most=mm(13.0)),
        nose=mm(63.0),
        bed=mm(0.08),
    )
    cutter = s.Cutter(
        diameter=mm(64.0),
        wings=Whole(3),
        shank=mm(12.0),
        blade=mm(9.0),
        stick_out=mm(38.0),
        depth=mm(1.2),
        speed=s.SpeedRange(least=Quantity(10000.0, "rpm"), most=Quantity(16000.0, "rpm")),
        chip_load=s.ChipLoad(least=mm(0.1), most=mm(0.3)),
    )
    hold = _written(j.Hold())
    job = j.Job(
        machine=Name("bench_router"),
        stock=stock,
        survey=survey,
        supports=supports,
        hold=hold,
        zero=j.Zero(corner=j.Corner(corner="front_left", x=mm(90.0), y=mm(120.0)), z=j.ZeroZ(on="top", paper=mm(0.05))),
        cut=j.Cut(cutter=Name("fly_64")),
        faces=faces,
        **blocks,
    )
    return Work(
        name="made",
        path=HERE.path,
        span=HERE,
        job=job,
        machine=machine,
        cutter=cutter,
        wood=s.Wood(density=Quantity(density, "kg/m3"), modulus=Quantity(modulus, "MPa")),
        rules=rules or Rules(),
        holders=holders,
        sets={"leaf_set": leaves or shims()} if supports is not None and supports.shims else {},
        points=points or {},
        waivers={},
        sources=((HERE.path, "0" * 64),),
    )


def file(points: Any, name: str = "points.csv", at: int = 100) -> tuple[Text, dict[Span, Any]]:
    """The name of a file of points, and what Work.points holds for it."""
    span = Span(HERE.path, at, at + len(name))
    return Text(name, span), {span: np.asarray(points, dtype=float)}


def corners(front_left: float, front_right: float, back_left: float, back_right: float) -> dict[str, float]:
    return dict(zip(CORNERS, (front_left, front_right, back_left, back_right), strict=True))
