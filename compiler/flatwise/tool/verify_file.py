"""Verifying a program in a file against a job: the plan of the face that it cuts, or the walk that it makes."""

from __future__ import annotations

from pathlib import Path

from flatwise.core.finding import Finding, Findings, has_errors
from flatwise.core.units import show
from flatwise.findings.fw902_not_as_planned import departs
from flatwise.model.bed import BatchWork
from flatwise.model.stages import Work
from flatwise.pipeline import Front, judge_walk, work_out, work_out_batch
from flatwise.sources.paths import POINTS_LIMIT, unreadable
from flatwise.verify import header, judge, judge_batch, measured_face


def verify_file(file: Path, front: Front, path: Path, name: str) -> tuple[Findings, str, str]:
    """All findings, the sentence that says what is proven ("" where it is not), and the text of the program.

    `front` is what was read from the job file at `path`, `name` the job's name, or "" where none was given.
    """
    program, findings = _bytes(file)
    findings, text = findings + front.findings, program.decode("latin-1")
    if has_errors(findings):
        return findings, "", text
    said = header(program)
    work = _job_of_program(front, path, name or said.get("batch", said.get("job", "")), file)
    if isinstance(work, Finding):
        return (*findings, work), "", text
    face = measured_face(program, file.name)
    if face:
        found, sentence = _walk(program, file, work, face)
    elif isinstance(work, BatchWork):
        found, sentence = _cut_bed(program, file, work)
    else:
        found, sentence = _cut(program, file, work)
    return findings + found, sentence, text


def _cut(program: bytes, file: Path, work: Work) -> tuple[Findings, str]:
    plan, findings, _ = work_out(work)
    if plan is None or has_errors(findings):
        return findings, ""
    proof, judged = judge(program, str(file), plan)
    if proof is None or has_errors(judged):
        return findings + judged, ""
    bite = show(proof.deepest_bite, work.job.stock.size.thickness)
    sentence = (
        f"{file} does what {work.name} plans: {proof.program_moves} moves, deepest bite {bite}, no collisions, no wood "
        "left above the plane."
    )
    return findings + judged, sentence


def _cut_bed(program: bytes, file: Path, batch: BatchWork) -> tuple[Findings, str]:
    plan, findings = work_out_batch(batch)
    if plan is None or has_errors(findings):
        return findings, ""
    proofs, judged = judge_batch(program, str(file), plan)
    if not proofs or has_errors(judged):
        return findings + judged, ""
    bite = show(max(proof.deepest_bite for proof in proofs.values()), batch.works[0].job.stock.size.thickness)
    moves = sum(proof.program_moves for proof in proofs.values())
    sentence = (
        f"{file} does what {batch.name} plans: {len(proofs)} panels, {moves} moves at them, deepest bite {bite}, no "
        "collisions, no wood left above the planes."
    )
    return findings + judged, sentence


def _walk(program: bytes, file: Path, work: Work | BatchWork, face: str) -> tuple[Findings, str]:
    walk, findings = judge_walk(program, str(file), work, under=face == "under")
    if walk is None or has_errors(findings):
        return findings, ""
    panels = "panels" if isinstance(work, BatchWork) else "panel"
    return findings, f"{file} measures {work.name} at {len(walk.stops)} points; only the tip touches the {panels}."


def _job_of_program(front: Front, path: Path, name: str, program: Path) -> Work | BatchWork | Finding:
    """The job or batch that a program is for: the one named, or one that its path names, or the only one."""
    works: dict[str, Work | BatchWork] = {work.name: work for work in front.cuts}
    if name in works:
        return works[name]
    near = [works[part] for part in (program.stem, program.resolve().parent.name) if part in works]
    if not name and (near or len(works) == 1):
        return (near or list(works.values()))[0]
    said = f"is for job `{name}`" if name else "does not say which job it is for"
    has = ", ".join(f"`{each}`" for each in works) or "no job"
    return departs(f"The program {said}, but {path} has {has}.", None, f"Name the job with --job {path}:NAME.")


def _bytes(path: Path) -> tuple[bytes, Findings]:
    """The bytes of a program, or the finding that says why it can't be read."""
    problem = unreadable(path.resolve(), str(path), None, POINTS_LIMIT)
    return (b"", (problem,)) if problem is not None else (path.read_bytes(), ())
