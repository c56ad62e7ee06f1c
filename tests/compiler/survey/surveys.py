"""Surveys and supports made by hand, and the work of a panel that lies free."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from compiler.shop import INSIDE, ash, mm, q, shims, written
from compiler.works import faces as both_faces
from compiler.works import second_to, stock, work

from flatwise.model import job as j
from flatwise.model.shop import Shims
from flatwise.model.shop_rules import Rules
from flatwise.model.stages import Work
from flatwise.model.words import CORNERS, DeclaredName, Place, PointFileName
from flatwise_grammar.nodes import Span


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
    return written(block)


def step(height: float, axis: str, line: float, face: str | None = None, way: str | None = None) -> j.Step:
    return j.Step(face=face, height=mm(height), way=way, axis=axis, line=mm(line))


def arch(height: float, way: str) -> j.Arch:
    return j.Arch(height=mm(height), way=way)


def twist(height: float, way: str | None = None) -> j.Twist:
    return j.Twist(height=mm(height), way=way)


def corners(front_left: float, front_right: float, back_left: float, back_right: float) -> dict[str, float]:
    return dict(zip(CORNERS, (front_left, front_right, back_left, back_right), strict=True))


def file(points: Any, name: str = "points.csv", at: int = 100) -> tuple[PointFileName, dict[Span, Any]]:
    """The name of a file of points, and its entry in Work.points."""
    span = Span(INSIDE.path, at, at + len(name))
    return PointFileName(name, span), {span: np.asarray(points, dtype=float)}


def supports(
    under: Sequence[Any] = (),
    *,
    aim: str = "enough",
    by_hand: Mapping[Any, float] | None = None,
) -> j.Supports:
    chosen = (j.ShimPlaces(set=DeclaredName("leaf_set"), places=tuple(place(at) for at in under)),) if under else ()
    block = j.Supports(
        shims=chosen,
        shim=tuple(j.SetShim(height=mm(h), place=place(at)) for at, h in (by_hand or {}).items()),
        aim=aim,
    )
    return written(block, words=("shims" if under else "shim",))


def free_work(
    size: tuple[float, float, float] = (1120.0, 610.0, 31.5),
    *,
    survey: j.Survey | None = None,
    supports: j.Supports | None = None,
    grain: str = "x",
    glue_lines: tuple[str, Sequence[float]] | None = None,
    density: float = 670.0,
    modulus: float = 12000.0,
    leaves: Shims | None = None,
    faces: j.Faces | None = None,
    after_first: j.After | None = None,
    bed: bool = False,
    **changed: Any,
) -> Work:
    """The work of a panel without holders, in a shop without a standard; `changed` are fields of the Work."""
    lines = j.GlueLines(axis=glue_lines[0], at=tuple(mm(at) for at in glue_lines[1])) if glue_lines else None
    blocks = {
        "stock": written(stock(*size, grain=grain, glue_lines=lines), "bed" if bed else ""),
        "survey": survey,
        "supports": supports,
        "hold": written(j.Hold()),
        "faces": faces or both_faces(second=second_to(size[2] - 2.5)),
        "after_first": after_first,
    }
    words = {
        "wood": ash(density=q(f"{density}kg/m3"), modulus=q(f"{modulus:f}MPa")),
        "rules": Rules(),
        "holders": (),
        "sets": {"leaf_set": leaves or shims()} if supports is not None and supports.shims else {},
    }
    return work(*size, job=blocks, **{**words, **changed})
