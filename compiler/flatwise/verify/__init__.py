"""Verify: read a program back from its bytes, and cut it in memory.

This part shares nothing with the stages that plan and write.  Its reader is written from the standard, and its wood is
a height field that only knows where a disc went.  A program need not follow the plan's own moves.  It must leave the
plan's plane over the whole face, and on the way it must not bite too deep, hit anything or exceed a limit.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping

from flatwise.core.finding import Finding, Findings
from flatwise.model.bed import BatchFace, BatchPlan
from flatwise.model.built import Proof
from flatwise.model.measuring import BedWalk, Walk
from flatwise.model.stages import FaceName, Plan, Setup, Work
from flatwise_grammar.nodes import Span

_HEADER = re.compile(rb"\((job|batch|face|measure) ([a-z0-9_]+)\)", re.IGNORECASE)
#: The header stands within this many bytes.
_HEAD = 4096


def header(program: bytes) -> dict[str, str]:
    """`job` or `batch`, and `face` or `measure`, as a program's first comments name them, where they do."""
    found: dict[str, str] = {}
    for key, value in _HEADER.findall(program[:_HEAD]):
        found.setdefault(key.decode().lower(), value.decode().lower())
    return found


def verify(program: bytes, plan: Plan, setup: Setup, name: str | None = None) -> tuple[Proof, Findings]:
    """The results of cutting the program, and everything that is wrong with it (FW901 to FW904).

    `name` is the path that spans carry, by default the face's own file name.  Never raises for a program's fault.
    """
    from flatwise.verify.prove import prove

    return prove(program, plan, setup, name or f"{setup.face}.nc", header(program))


def verify_batch(
    program: bytes, plan: BatchPlan, face: BatchFace, name: str | None = None
) -> tuple[Mapping[str, Proof], Findings]:
    """The same for a program of a batch: what it does to each panel, by job, and everything that is wrong with it."""
    from flatwise.verify.bed_proof import prove_batch

    return prove_batch(program, plan, face, name or f"{face.face}.nc", header(program))


def measured_face(program: bytes, name: str) -> str:
    """`top` or `under` for a measuring program, by its header or else its file's name; "" for any other."""
    by_name = {"measure": "top", "measure_under": "under"}.get(name.lower().partition(".")[0], "")
    said = header(program)
    return said.get("measure", "" if "face" in said else by_name)


def verify_walk(program: bytes, work: Work, walk: Walk, name: str) -> Findings:
    """Everything that is wrong with a measuring program (FW901 to FW903); `name` is the path that spans carry."""
    from flatwise.verify.walk_proof import prove_walk

    return prove_walk(program, work, walk, name, header(program))


def verify_bed_walk(program: bytes, bed: BedWalk, name: str) -> Findings:
    """The same for a measuring program over all panels of a batch."""
    from flatwise.verify.walk_proof import prove_bed_walk

    return prove_bed_walk(program, bed, name, header(program))


def judge(program: bytes, name: str, plan: Plan) -> tuple[Proof | None, Findings]:
    """Verify a program against the face that its header names, or else its file name, or the job's only face."""
    setups = {setup.face: setup for setup in plan.setups}
    face = _face_of(program, name, setups, f"job `{plan.work.name}`")
    return (None, (face,)) if isinstance(face, Finding) else verify(program, plan, setups[face], name)


def judge_batch(program: bytes, name: str, plan: BatchPlan) -> tuple[Mapping[str, Proof], Findings]:
    """The same for a batch; no proofs where the face is not clear."""
    faces = {each.face: each for each in plan.faces}
    face = _face_of(program, name, faces, f"batch `{plan.batch.name}`")
    return ({}, (face,)) if isinstance(face, Finding) else verify_batch(program, plan, faces[face], name)


def _face_of(program: bytes, name: str, faces: Collection[FaceName], of: str) -> FaceName | Finding:
    """The face that a program cuts, of those that there are."""
    from flatwise.findings.fw902_not_as_planned import departs

    stem = name.replace("\\", "/").rsplit("/", 1)[-1].lower()
    face = header(program).get("face") or next((word for word in ("first", "second") if word in stem), "")
    if not face and len(faces) == 1:
        return next(iter(faces))
    found = next((each for each in faces if each == face), None)
    if found is not None:
        return found
    has = " and ".join(faces) or "none"
    said = f"is for the {face} face" if face else "does not say which face it is for"
    message = f"The program {said}, but {of} now cuts these faces: {has}."
    way_out = "" if face else "Put `(face first)` or `(face second)` in its first lines."
    return departs(message, Span(name, 0, len(program.partition(b"\n")[0])), way_out)
