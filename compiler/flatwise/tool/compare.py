"""The effect of a change of text on the work: the figures of each job before and after, and which of them are worse.

Only what somebody would notice at the machine counts: where no figure differs and the programs make the same moves,
a job is unchanged, however its text was rewritten.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import zip_longest
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Literal, NamedTuple

from flatwise.core.finding import Findings, has_errors
from flatwise.core.units import UNITS, feed_unit, show
from flatwise.model.bed import BatchPlan, BatchWork
from flatwise.model.built import Waived
from flatwise.model.stages import Plan, Setup, Work
from flatwise.pipeline import Front, read_works, work_out, work_out_batch
from flatwise.report.display import duration, leaf_stack, machine_time
from flatwise.tool import errors
from flatwise.tool.jobs import by_path, chosen
from flatwise.tool.revisions import checked_out
from flatwise.tool.workers import Task, run

Verdict = Literal["worse", "better", "changed"]
NONE = "-"
_TIME = "machine time"


class JobSide(NamedTuple):
    """A job or batch as it was or is: all findings, its work if it could be read and, once worked out, its plan.

    `plans` are one for each panel, and `bed` is the plan of a batch.  Messages leave out `hidden`, where paths begin in
    a temporary folder.
    """

    job: str
    work: Work | BatchWork | None = None
    findings: Findings = ()
    hidden: str = ""
    plans: tuple[Plan, ...] = ()
    bed: BatchPlan | None = None
    waived: tuple[Waived, ...] = ()

    @property
    def compiles(self) -> bool:
        return bool(self.plans) and not has_errors(self.findings)

    def worked_out(self) -> JobSide:
        """The same with its plan."""
        if isinstance(self.work, BatchWork):
            bed, more = work_out_batch(self.work)
            made = self._replace(bed=bed, plans=bed.plans if bed is not None else ())
        else:
            plan, more, waived = work_out(self.work) if self.work is not None else (None, (), ())
            made = self._replace(plans=(plan,) if plan is not None else (), waived=waived)
        found = self.findings + more
        if self.hidden:
            found = tuple(each._replace(message=each.message.replace(self.hidden, "")) for each in found)
        return made._replace(findings=found)


class Difference(NamedTuple):
    """One thing that differs, in words; `before` or `after` is "-" where there is none."""

    what: str
    before: str
    after: str
    verdict: Verdict


class JobComparison(NamedTuple):
    """The differences of one job (`old -> new` where it was renamed)."""

    job: str
    differences: tuple[Difference, ...]

    @property
    def verdict(self) -> Verdict:
        """Worse if any difference is, otherwise better if any is."""
        verdicts = {difference.verdict for difference in self.differences}
        return "worse" if "worse" in verdicts else "better" if "better" in verdicts else "changed"


class _Figure(NamedTuple):
    """A figure as it is shown; where more or less of it is worse, `worse` says which and `value` compares."""

    shown: str
    value: float = 0.0
    worse: Literal["more", "less", ""] = ""


# -- the two sides -----------------------------------------------------------------------------------------------------


def read_sides(old: str, new: str) -> tuple[list[JobSide], list[JobSide], Findings]:
    """The jobs of both sides, and the findings about files that could not be read.

    Each side is a file, a folder, or either at a revision (`REV:path`).  Jobs whose sources and rules are the same on
    both sides are left out.  Raises NoRevision.
    """
    with TemporaryDirectory(prefix="flatwise-") as folder:
        paths = [checked_out(given, Path(folder) / name) for given, name in ((old, "old"), (new, "new"))]
        fronts = [chosen(read_works([path]), {}) for path in paths]
        unreadable = tuple(finding for front in fronts for finding in front.findings if finding.span is None)
        same = _same(*(front.cuts for front in fronts))
        if not all(front.texts for front in fronts):
            return [], [], unreadable  # nothing can be compared with a side that does not exist
        hidden = [f"{Path(folder).resolve() / name}/" for name in ("old", "new")]
        before, after = (list(_jobs(front, same, start)) for front, start in zip(fronts, hidden, strict=True))
    return before, after, unreadable


def _same(old: Sequence[Work | BatchWork], new: Sequence[Work | BatchWork]) -> set[str]:
    """The names of jobs with the same text in all their files, and the same rules, on both sides."""

    def key(work: Work | BatchWork) -> tuple[object, ...]:
        rules = [each.rules._replace(spans={}) for each in (work.works if isinstance(work, BatchWork) else (work,))]
        return (work.name, *sorted(digest for _, digest in work.sources), *rules)

    known = {work.name: key(work) for work in old}
    return {work.name for work in new if known.get(work.name) == key(work)}


def _jobs(front: Front, same: set[str], hidden: str) -> Iterator[JobSide]:
    """Every job in the files that were named, except those that are the same on both sides."""
    works = {work.name: work for work in front.cuts}
    placed = by_path(front.findings)
    for name, block in front.jobs.items():
        work = works.get(name)
        found = placed.get(block.path, ())
        if work is None and not has_errors(found):
            # the error is in a file that the job uses
            found = tuple(each for each in front.findings if each.span is not None)
        if name in same and not has_errors(found):
            continue
        yield JobSide(name, work, found, hidden)


# -- comparing ---------------------------------------------------------------------------------------------------------

Pair = tuple[JobSide | None, JobSide | None]


def compare(
    old: Sequence[JobSide], new: Sequence[JobSide], workers: int | None = None
) -> tuple[tuple[JobComparison, ...], tuple[str, ...]]:
    """Every job that differs, in the order of the new side, removed jobs last; and reports of bugs.

    Jobs are paired by name; a single job on each side is a pair whatever its name.
    """
    before = {side.job: side for side in old}
    if len(old) == len(new) == 1:
        pairs: list[Pair] = [(old[0], new[0])]
    else:
        names = {side.job for side in new}
        pairs = [(before.get(side.job), side) for side in new]
        pairs += [(side, None) for side in old if side.job not in names]
    found = list(run(Task(_compared, _failed, _stopped), pairs, workers))
    compared = tuple(each for each in found if isinstance(each, JobComparison) and each.differences)
    return compared, tuple(each for each in found if isinstance(each, str))


def _compared(pair: Pair) -> JobComparison | str:
    old, new = (side.worked_out() if side is not None else None for side in pair)
    name = " -> ".join(dict.fromkeys(side.job for side in (old, new) if side is not None))
    return JobComparison(name, tuple(sorted(_differences(old, new), key=lambda difference: _rank(difference.what))))


def _job(pair: Pair) -> str:
    return next(side.job for side in pair if side is not None)


def _failed(pair: Pair, error: Exception) -> JobComparison | str:
    return errors.bug_report(error, _job(pair))


def _stopped(pair: Pair, why: str) -> JobComparison | str:
    return f"flatwise: job {_job(pair)} was not compared: {why}."


#: what a reader has to know first: findings, what is left and how certain, how long, how near to a holder
_FIRST = ("job", "FW", "waived", "target", "thickness left", "+/-", "maximum", "machine time", "minimum clearance")
#: what follows from the other figures
_LAST = (", wood removed", ", passes", ", deepest bite", ", speed", ", feed", ", ridge", ", holding load")
#: what another target changes by intention
_FOLLOWS_TARGET = ("thickness left", "maximum thickness", "wood removed", "machine time", "clearance")


def _rank(what: str) -> int:
    """The place of a difference in the list: the first ones, the rest, what follows from others, the leaves."""
    for rank, start in enumerate(_FIRST):
        if what.startswith(start):
            return rank
    if not is_detail(what):
        return len(_FIRST)
    return len(_FIRST) + (2 if what.startswith("leaves at ") else 1)


def is_detail(what: str) -> bool:
    """Whether a difference follows from others: single passes, feeds and leaves."""
    return what.startswith("leaves at ") or what.endswith(_LAST)


def _differences(old: JobSide | None, new: JobSide | None) -> Iterator[Difference]:
    if old is None or new is None:
        before, after = (NONE if side is None else _state(side) for side in (old, new))
        yield Difference("job", before, after, "worse" if new is not None and not new.compiles else "changed")
        return
    if old.compiles != new.compiles:
        yield Difference("job", _state(old), _state(new), "worse" if old.compiles else "better")
    # the figures of a job that does not compile are of nothing that is cut: its findings say everything
    both = old.compiles and new.compiles
    figures = list(_figure_differences(old, new)) if both else []
    yield from figures
    yield from _finding_differences(old, new)
    yield from _waiver_differences(old, new)
    if both and not figures and _moves(old) != _moves(new):
        yield Difference("moves", "as before", "different", "changed")


def _state(side: JobSide) -> str:
    return "compiles" if side.compiles else "does not compile"


def _figure_differences(old: JobSide, new: JobSide) -> Iterator[Difference]:
    """Figures that read differently; with another target, those that follow from it are neither better nor worse."""
    retargeted = [plan.target for plan in old.plans] != [plan.target for plan in new.plans]
    for what, (one, other) in _figures(old, new).items():
        before, after = one.shown if one else NONE, other.shown if other else NONE
        if before == after:
            continue
        verdict: Verdict = "changed"
        follows = retargeted and what.endswith(_FOLLOWS_TARGET)
        if one is not None and other is not None and other.worse and not follows:
            verdict = "worse" if (other.value > one.value) == (other.worse == "more") else "better"
        yield Difference(what, before, after, verdict)


# -- figures -----------------------------------------------------------------------------------------------------------


def _figures(old: JobSide, new: JobSide) -> dict[str, tuple[_Figure | None, _Figure | None]]:
    """Every figure of both sides by its name, in the unit of the new side."""
    unit = new.plans[0].work.job.stock.size.thickness.unit
    unit = unit if unit in UNITS else "mm"
    one, other = (dict(_side_figures(side, unit)) for side in (old, new))
    return {what: (one.get(what), other.get(what)) for what in [*other, *(what for what in one if what not in other)]}


def _side_figures(side: JobSide, unit: str) -> Iterator[tuple[str, _Figure]]:
    """The figures of a job, or of a batch: those of each panel, then of all."""
    if side.bed is None:
        yield from _plan_figures(side.plans[0], unit)
        return
    for plan in side.plans:
        yield from ((f"{plan.work.name}, {what}", each) for what, each in _plan_figures(plan, unit) if what != _TIME)
    for face in side.bed.faces:
        yield f"{face.face} face, order", _Figure(", ".join(plan.work.name for plan, _ in face.panels))
    time = machine_time(side.bed)
    yield _TIME, _Figure(duration(time), time, "more")


def _plan_figures(plan: Plan, unit: str) -> Iterator[tuple[str, _Figure]]:
    work, size = plan.work, plan.work.job.stock.size
    sides = (size.length, size.width, size.thickness)
    yield "panel", _Figure(" x ".join(show(float(side), unit, 5) for side in sides) + f", {work.job.stock.wood}")
    yield "machine", _Figure(work.machine.name)
    yield "cutter", _Figure(work.cutter.name)
    yield "standard", _Figure(", and ".join(filter(None, (work.rules.standard, work.rules.required))) or NONE)
    corner, paper = work.job.zero.corner, work.job.zero.z.paper
    place = ", ".join(show(float(each), unit, 5) for each in (corner.x, corner.y))
    sheet = f" by paper {show(float(paper), unit, 3)}" if paper else ""
    yield "zero", _Figure(f"{corner.corner} at {place}; z {work.job.zero.z.on}{sheet}")
    if plan.target is not None:
        yield "target", _Figure(show(plan.target, unit, 5))
    yield "thickness left", _Figure(show(plan.forecast, unit, 5), plan.forecast, "less")
    yield "+/-", _Figure(show(plan.plus_minus, unit, 3), plan.plus_minus, "more")
    yield "maximum thickness", _Figure(show(plan.most_left, unit, 5), plan.most_left, "less")
    for setup in plan.setups:
        for what, figure in _face_figures(setup, unit):
            yield f"{setup.face} face, {what}", figure
    time = machine_time(plan)
    yield _TIME, _Figure(duration(time), time, "more")
    if plan.seating is not None:
        for shim in plan.seating.shims:
            if shim.leaves:
                place = shim.place or f"{show(shim.x)}, {show(shim.y)}"
                yield f"leaves at {place}", _Figure(leaf_stack(work, shim.leaves))
    yield from _holder_figures(plan, unit)


def _face_figures(setup: Setup, unit: str) -> Iterator[tuple[str, _Figure]]:
    feed = feed_unit(unit)
    yield "wood removed", _Figure(show(setup.removed_mean, unit, 3), setup.removed_mean, "more")
    yield "passes", _Figure(str(len(setup.passes)))
    deepest = max((each.depth for each in setup.passes), default=0.0)
    yield "deepest bite", _Figure(show(deepest, unit, 3))
    yield "speed", _Figure(show(setup.speed, "rpm", 5))
    yield "feed", _Figure(f"{show(setup.feed, feed, 5)}, limited by {setup.feed_limit.replace('_', ' ')}")
    yield "ridge", _Figure(show(setup.ridge, unit, 3), setup.ridge, "more")
    yield "holding load", _Figure(show(setup.holding_load, "N", 3))


def _holder_figures(plan: Plan, unit: str) -> Iterator[tuple[str, _Figure]]:
    """Where the holders stand, and the smallest height between the lowest plane and one of them."""
    places: dict[str, list[str]] = {}
    for each in plan.work.holders:
        places.setdefault(f"{each.kind} {each.name}, {each.edge}", []).append(show(each.along, unit, 4))
    for what, at in places.items():
        yield what, _Figure(f"at {', '.join(at)}")
    if plan.setups and plan.work.holders:
        plane = min(setup.plane for setup in plan.setups)
        tall = max(plan.work.holders, key=lambda each: each.height)
        gap = plane - tall.height
        shown = f"{show(gap, unit, 3)} over {tall.kind} {tall.name} on the {tall.edge} edge"
        yield "minimum clearance", _Figure(shown, gap, "less")


def _moves(side: JobSide) -> list[bytes]:
    """The programs without the names and sources in their headers."""
    from flatwise.gcode.write import write, write_batch

    if side.bed is not None:
        programs = [write_batch(side.bed, face) for face in side.bed.faces]
    else:
        programs = [write(plan, setup) for plan in side.plans for setup in plan.setups]
    return [
        b"\n".join(line for line in program.splitlines() if not line.startswith((b"(job ", b"(batch ", b"(sources ")))
        for program in programs
    ]


# -- findings ----------------------------------------------------------------------------------------------------------


def _finding_differences(old: JobSide, new: JobSide) -> Iterator[Difference]:
    """New and resolved findings, code by code; where only the numbers of a finding differ, it changed."""
    for code in sorted({finding.code for finding in (*old.findings, *new.findings)} - {"FW703"}):
        before, after = (
            list(dict.fromkeys(each.message for each in side.findings if each.code == code)) for side in (old, new)
        )
        severity = next(each.severity for each in (*new.findings, *old.findings) if each.code == code)
        gone = [message for message in before if message not in after]
        come = [message for message in after if message not in before]
        for one, other in zip_longest(gone, come, fillvalue=NONE):
            # nobody has to agree to a note
            verdict: Verdict = "changed" if severity == "note" else _verdict(one, other)
            yield Difference(f"{code} {severity}", one, other, verdict)


def _waiver_differences(old: JobSide, new: JobSide) -> Iterator[Difference]:
    """Rules that are waived now or no longer: FW703, with the reason instead of the message."""
    before, after = ({waived.rule: waived.because for waived in side.waived} for side in (old, new))
    for rule in sorted({*before, *after}):
        one, other = before.get(rule, NONE), after.get(rule, NONE)
        if one != other:
            yield Difference(f"waived: {rule}", one, other, _verdict(one, other))


def _verdict(before: str, after: str) -> Verdict:
    """A finding or waiver that appears is worse: somebody has to agree to it."""
    return "worse" if before == NONE else "better" if after == NONE else "changed"
