"""Works made without a text: a plain top of the small shop, and the blocks of its job that tests replace."""

from __future__ import annotations

from typing import Any

from compiler.shop import ash, cutter, holders, length_of, machine, mm, q

from flatwise.model.job import (
    Corner,
    Cut,
    Faces,
    Flip,
    Hold,
    Job,
    PanelSize,
    SecondTo,
    Stock,
    Take,
    UntilClean,
    Waive,
    Zero,
    ZeroZ,
)
from flatwise.model.shop_rules import Rules
from flatwise.model.stages import Work
from flatwise.model.words import DeclaredName
from flatwise_grammar.nodes import Span

RULES = Rules(
    depth=0.6, leave=15.0, clearance=2.0, overrun=4.0, ridge=0.03, power=0.7, uneven=3.0, survey=True, standard="rules"
)


def stock(length: float, width: float, thickness: float, **changed: Any) -> Stock:
    size = PanelSize(length=mm(length), width=mm(width), thickness=mm(thickness))
    return Stock(**{"size": size, "wood": DeclaredName("ash"), "grain": "x", **changed})


def zero(
    x: float | str = 120.0,
    y: float | str = 120.0,
    paper: float | str | None = 0.05,
    *,
    on: Any = "top",
    corner: Any = "front_left",
) -> Zero:
    """Work zero: a corner of the panel at machine X and Y, the height set on its top or the bed, by paper."""
    sheet = paper if paper is None else length_of(paper)
    return Zero(corner=Corner(corner=corner, x=length_of(x), y=length_of(y)), z=ZeroZ(on=on, paper=sheet))


def cut(**changed: Any) -> Cut:
    words: dict[str, Any] = {
        "cutter": DeclaredName("fly_64"),
        "stepover": q("65%"),
        "depth": q("0.5mm"),
        "finish": q("0.2mm"),
        "overrun": q("6mm"),
        "speed": q("14000rpm"),
    }
    return Cut(**{**words, **changed})


def second_to(thickness: float | str, within: str | None = None) -> SecondTo:
    return SecondTo(thickness=length_of(thickness), within=q(within) if within else None)


def faces(first: Any = ..., second: Any = ...) -> Faces:
    return Faces(
        first=UntilClean(until="until") if first is ... else first,
        second=second_to("28mm", "0.5mm") if second is ... else second,
        flip=Flip(edge="long_edge"),
    )


def work(
    length: float = 900.0,
    width: float = 500.0,
    thickness: float = 32.0,
    *,
    name: str = "example",
    job: dict[str, Any] | None = None,
    **changed: Any,
) -> Work:
    """A Work: `job` replaces blocks of the job, other arguments replace fields of the Work."""
    path = f"jobs/{name}.flat"
    blocks: dict[str, Any] = {
        "machine": DeclaredName("bench_router"),
        "stock": stock(length, width, thickness),
        "hold": Hold(),
        "zero": zero(),
        "cut": cut(),
        "faces": faces(),
    }
    made = Work(
        name=name,
        path=path,
        span=Span(path, 0, 1),
        job=Job(**{**blocks, **(job or {})}),
        machine=machine(),
        cutter=cutter(),
        wood=ash(),
        rules=RULES,
        holders=holders(length, width),
        sets={},
        points={},
        waivers={},
        sources=((path, "0" * 64),),
    )
    return made._replace(**changed)


def waiver(rule: Any, reason: Any = None) -> dict[str, Waive]:
    return {rule: Waive(rule=rule, reason=reason)}


def bed_work(length: float = 1300.0, width: float = 1300.0, take: str = "0.6mm") -> Work:
    """A skim of the machine's spoilboard, whose front left corner lies short of the travel along Y."""
    board = stock(length, width, 18.0, wood=DeclaredName("mdf")).placed("bed")
    job = {
        "stock": board,
        "hold": None,
        "zero": zero("10mm", "-40mm", None),
        "cut": cut(depth=q("0.4mm"), finish=None),
        "faces": faces(first=Take(depth=q(take)), second=None),
    }
    return work(length, width, 18.0, job=job, holders=())
