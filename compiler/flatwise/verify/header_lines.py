"""A program's header, compared with the job and the setup that it is verified for."""

from __future__ import annotations

import re
from hashlib import sha256

from flatwise.findings.fw902_not_as_planned import departs
from flatwise.model.bed import BatchWork
from flatwise.model.measuring import Walk
from flatwise.model.stages import Work
from flatwise.verify.finished_face import corner_of_zero
from flatwise.verify.proof_run import ProgramRun, ProofRun
from flatwise_grammar.nodes import Span

#: The header stands within this many characters.
HEAD = 4096
_COMMENT = re.compile(r"\(([^()\n]*)\)")
#: Marks the further lines of a long comment.
_GOES_ON = "+ "
#: The lines that are compared, each with the names of its values.
_LINES = {
    re.compile(r"cutter (.+)"): ("cutter",),
    re.compile(r"gauge (.+)"): ("gauge",),
    re.compile(r"lengths in (\S+), work offset (\S+)"): ("unit", "work offset"),
    re.compile(r"zero x y: (\S+) corner of the \w+(?: \w+)?, at machine x (-?[\d.]+)(?:mm|in) y (-?[\d.]+)(?:mm|in)"): (
        "corner",
        "corner's machine X",
        "corner's machine Y",
    ),
    re.compile(
        r"zero z: on the (\w+).*? at x (-?[\d.]+) y (-?[\d.]+): .*? until (?:paper of ([\d.]+)(?:mm|in)|it) just"
    ): ("touched surface", "touched place's X", "touched place's Y", "paper"),
    re.compile(r"zero z: on the (\w+).*? at x (-?[\d.]+) y (-?[\d.]+): .*? pressed ([\d.]+)(?:mm|in), set z 0 there"): (
        "touched surface",
        "touched place's X",
        "touched place's Y",
        "pressing",
    ),
    re.compile(r"zero z: .*on the cut face until (?:paper of ([\d.]+)(?:mm|in)|it) just .*set z (-?[\d.]+) there"): (
        "paper",
        "Z to set",
    ),
}

#: when the machine's block delete switch may be on
_BLOCK_DELETE = re.compile(r"block delete: .*z shows at most (-?[\d.]+) where the face is highest")

Value = str | float


def block_delete_z(text: str) -> float | None:
    """The most that Z may show where the face is highest while block delete is on, in the program's unit; None if the
    header does not say it."""
    for line, _, _ in _comments(text):
        found = _BLOCK_DELETE.match(line)
        if found is not None:
            try:
                return float(found[1])
            except ValueError:
                return None
    return None


def judge_header(run: ProofRun, text: str, said: dict[str, str]) -> None:
    """The header must be that of this job and face, where it says anything; other sources are a warning.

    `said` is what it says of job and face (`verify.header`).
    """
    name = {"job": run.work.name} if run.batch is None else {"batch": run.batch.name}
    _judge_names(run, text, said, {**name, "face": str(run.setup.face)})
    _judge_lines(run, text, _wanted(run))
    _judge_sources(run, text, run.batch or run.work)


def judge_walk_header(
    run: ProgramRun, walk: Walk, text: str, said: dict[str, str], batch: BatchWork | None = None
) -> None:
    """The same for the header of a measuring program, of one job or a batch."""
    name = {"job": run.work.name} if batch is None else {"batch": batch.name}
    _judge_names(run, text, said, {**name, "measure": walk.face})
    x, y = corner_of_zero(run.work)
    gauge, unit = walk.gauge, run.work.machine.controller.unit
    wanted = {
        **_offset_and_corner(run),
        "gauge": f"{walk.gauge_name}, reach {gauge.reach}, travel {gauge.travel}, across {gauge.across}",
        "touched surface": "bed",
        "touched place's X": (walk.zero_at[0] - x) / unit,
        "touched place's Y": (walk.zero_at[1] - y) / unit,
        "pressing": float(gauge.travel) / 2.0 / unit,
    }
    _judge_lines(run, text, wanted)
    _judge_sources(run, text, batch or run.work)


def _judge_lines(run: ProgramRun, text: str, wanted: dict[str, Value]) -> None:
    """The header's values against those wanted, by their names in `_LINES`."""
    for line, start, end in _comments(text):
        for pattern, names in _LINES.items():
            found = pattern.match(line)
            for name, theirs in zip(names, found.groups(), strict=True) if found is not None else ():
                # only the first line that gives a value is the header's
                ours = wanted.pop(name, None)
                if ours is not None and not _same(run, theirs, ours):
                    message = f"The header says that the {name} is {theirs or 'none'}, but the job has {_shown(ours)}."
                    way_out = "Use the program that was built from this job."
                    run.add(f"header {name}", departs(message, Span(run.name, start, end), way_out))


def _judge_names(run: ProgramRun, text: str, said: dict[str, str], own: dict[str, str]) -> None:
    """Job or batch, and face or measured face, as the header says them."""
    whole = "batch" if "batch" in own else "job"
    for key in ("job", "batch", *(each for each in own if each != whole)):
        # a program of a batch is no program of a job, whatever the names are
        theirs, ours = said.get(key), own.get(key, own[whole] if key in ("job", "batch") else "")
        if theirs is None or (theirs == ours and key in own):
            continue
        start = max(text.lower().find(f"({key} {theirs})"), 0)
        span = Span(run.name, start, start + len(key) + len(theirs) + 3)
        theirs, wanted = _program_for(key, theirs), _program_for(key if key in own else whole, ours)
        message = f"The header says that the program is for {theirs}, but it is verified for {wanted}."
        run.add(f"header {key}", departs(message, span, f"Use the program that was built for {wanted}."))


def _program_for(key: str, name: str) -> str:
    if key in ("job", "batch"):
        return f"{key} `{name}`"
    return {"face": f"the {name} face", "measure": f"measuring the {name}"}[key]


def _judge_sources(run: ProgramRun, text: str, of: Work | BatchWork) -> None:
    found = re.search(r"\(sources ([0-9a-f]+)\)", text[:HEAD], re.IGNORECASE)
    ours, kind = _digest(of), "job" if isinstance(of, Work) else "batch"
    if found is None or found[1].lower() == ours:
        return
    message = f"The program was built from sources {found[1]}, but those of {kind} `{of.name}` are now {ours}."
    way_out = f"The {kind} or a file that it uses has changed since: build the program again."
    run.add("sources", departs(message, Span(run.name, *found.span()), way_out, "warning"))


def _digest(work: Work | BatchWork) -> str:
    """The first 16 hex digits of the SHA-256 over the digest and path of every source, in their order."""
    listed = "".join(f"{digest} {path}\n" for path, digest in work.sources)
    return sha256(listed.encode("utf-8", "surrogatepass")).hexdigest()[:16]


def _comments(text: str) -> list[tuple[str, int, int]]:
    """The comments of the header in small letters with their places, each joined with the lines in which it goes on."""
    joined: list[tuple[str, int, int]] = []
    for found in _COMMENT.finditer(text[:HEAD]):
        line = found[1].lower()
        if joined and line.startswith(_GOES_ON):
            before, start, _ = joined[-1]
            joined[-1] = (f"{before} {line.removeprefix(_GOES_ON)}", start, found.end())
        else:
            joined.append((line, *found.span()))
    return joined


def _wanted(run: ProofRun) -> dict[str, Value]:
    """The values that the header must give by their names in `_LINES`, lengths in the unit of the program."""
    work, touch = run.work, run.setup.touch
    cutter, zero, unit = work.cutter, work.job.zero, work.machine.controller.unit
    x, y = corner_of_zero(work)
    paper = zero.z.paper
    return {
        **_offset_and_corner(run),
        "cutter": f"{cutter.name} {cutter.diameter}, {int(cutter.wings)} wings, shank {cutter.shank}",
        "touched surface": str(zero.z.on),
        "touched place's X": (touch.x - x) / unit,
        "touched place's Y": (touch.y - y) / unit,
        "paper": float(paper) / unit if paper is not None else 0.0,
        # on a face that was cut before; everywhere else it is 0
        "Z to set": (run.setup.face_z + touch.paper) / unit if run.setup.zero_on_face else 0.0,
    }


def _offset_and_corner(run: ProgramRun) -> dict[str, Value]:
    """The values that every header gives."""
    controller, corner = run.work.machine.controller, run.work.job.zero.corner
    return {
        "unit": controller.units,
        "work offset": str(controller.offset),
        "corner": str(corner.corner),
        "corner's machine X": float(corner.x) / controller.unit,
        "corner's machine Y": float(corner.y) / controller.unit,
    }


def _same(run: ProgramRun, theirs: str | None, ours: Value) -> bool:
    """Whether a value of the header is the job's: texts without blanks, numbers to the last digit."""
    controller = run.work.machine.controller
    if isinstance(ours, str):
        return "".join((theirs or "").split()) == "".join(ours.lower().split())
    try:
        return abs(float(theirs or 0.0) - ours) <= 0.51 * controller.digit / controller.unit
    except ValueError:
        return False


def _shown(value: Value) -> str:
    return f"{value:.6g}" if isinstance(value, float) else value
