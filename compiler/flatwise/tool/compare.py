"""What a change of text does to the work: the figures of a job before and after, and which of them are worse.

Only what somebody would see at the machine counts: where nothing that is shown differs and the programs make the same
moves, nothing is said, however the text was rewritten.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Literal, NamedTuple

from flatwise.core.finding import Finding, Findings, has_errors
from flatwise.core.units import UNITS, show
from flatwise.model.built import Waived
from flatwise.model.stages import Plan, Setup, Work
from flatwise.pipeline import work_out
from flatwise.report.job_text import minutes, stack
from flatwise.tool.runs import run

Verdict = Literal["worse", "better", "changed"]
NONE = "-"


class Side(NamedTuple):
    """A job on one side: its work and, once worked out, its plan where they could be made, and all that was found.

    `hidden` begins paths that are there for the comparison only; messages leave it out.
    """

    job: str
    work: Work | None = None
    findings: Findings = ()
    hidden: str = ""
    plan: Plan | None = None
    waived: tuple[Waived, ...] = ()

    def worked_out(self) -> Side:
        """The side with its plan."""
        plan, more, waived = work_out(self.work) if self.work is not None else (None, (), ())
        found = self.findings + more
        if self.hidden:
            found = tuple(replace(each, message=each.message.replace(self.hidden, "")) for each in found)
        return self._replace(plan=plan, waived=waived, findings=found)


class Change(NamedTuple):
    """One thing that differs, in words; `before` or `after` is "-" where there is none."""

    what: str
    before: str
    after: str
    verdict: Verdict


class Compared(NamedTuple):
    """One job: its name (`old -> new` where it was renamed), and what differs."""

    job: str
    changes: tuple[Change, ...]

    @property
    def verdict(self) -> Verdict:
        """The worst of its changes."""
        verdicts = {change.verdict for change in self.changes}
        return "worse" if "worse" in verdicts else "better" if "better" in verdicts else "changed"


class _Figure(NamedTuple):
    """A figure as it is shown; `value` and `worse` (the direction that is worse) where one is better than another."""

    shown: str
    value: float = 0.0
    worse: Literal["more", "less", ""] = ""


Pair = tuple[Side | None, Side | None]


def compare(
    old: Sequence[Side], new: Sequence[Side], workers: int | None = None
) -> tuple[tuple[Compared, ...], tuple[str, ...]]:
    """Every job that differs, in the order of the new side, jobs that are gone last; and reports of faults of the tool.

    Jobs are paired by name; one job alone on each side is a pair whatever it is called.
    """
    before = {side.job: side for side in old}
    if len(old) == len(new) == 1:
        pairs: list[Pair] = [(old[0], new[0])]
    else:
        names = {side.job for side in new}
        pairs = [(before.get(side.job), side) for side in new]
        pairs += [(side, None) for side in old if side.job not in names]
    found = list(run(_compared, pairs, _failed, workers))
    compared = tuple(each for each in found if isinstance(each, Compared) and each.changes)
    return compared, tuple(each for each in found if isinstance(each, str))


def _compared(pair: Pair) -> Compared | str:
    old, new = (side.worked_out() if side is not None else None for side in pair)
    changes = sorted(_changes(old, new), key=lambda change: _rank(change.what))
    return Compared(_named(old, new), tuple(changes))


#: what a reader has to know first: what is found, what is left and how sure, how long, how near to a holder
_FIRST = ("job", "FW", "waived", "asked for", "left", "+/-", "most that", "machine time", "least clearance")
#: what follows from the rest
_LAST = (", loses", ", passes", ", deepest bite", ", speed", ", feed", ", ridge", ", holding load")


def _rank(what: str) -> int:
    """Where a thing stands in the list: the first ones, the rest, what follows from others, the leaves."""
    for rank, start in enumerate(_FIRST):
        if what.startswith(start):
            return rank
    if not is_detail(what):
        return len(_FIRST)
    return len(_FIRST) + (2 if what.startswith("leaves at ") else 1)


def is_detail(what: str) -> bool:
    """Whether a thing that differs follows from others: the single passes, feeds and leaves."""
    return what.startswith("leaves at ") or what.endswith(_LAST)


def _failed(pair: Pair, why: str) -> Compared | str:
    return why


def _named(old: Side | None, new: Side | None) -> str:
    names = dict.fromkeys(side.job for side in (old, new) if side is not None)
    return " -> ".join(names)


def _changes(old: Side | None, new: Side | None) -> Iterator[Change]:
    if old is None or new is None:
        side = new or old
        assert side is not None
        state = _state(side)
        worse = new is not None and not _sound(new)
        yield Change("job", NONE if old is None else state, NONE if new is None else state, _when(worse))
        return
    if _sound(old) != _sound(new):
        yield Change("job", _state(old), _state(new), "worse" if _sound(old) else "better")
    # where a side does not compile, what is found there says all: its figures are those of nothing that is cut
    figures = _figures(old, new) if _sound(old) and _sound(new) else {}
    found = [change for what, (one, other) in figures.items() if (change := _change(what, one, other)) is not None]
    yield from _asked(old, new, found)
    yield from _findings(old, new)
    if not found and _sound(old) and _sound(new) and _moves(old) != _moves(new):
        yield Change("moves", "as they were", "others", "changed")


def _when(worse: bool) -> Verdict:
    return "worse" if worse else "changed"


def _sound(side: Side) -> bool:
    return side.plan is not None and not has_errors(side.findings)


def _state(side: Side) -> str:
    return "compiles" if _sound(side) else "does not compile"


def _change(what: str, old: _Figure | None, new: _Figure | None) -> Change | None:
    """The change of a figure, or None where it is shown alike."""
    before, after = old.shown if old else NONE, new.shown if new else NONE
    if before == after:
        return None
    verdict: Verdict = "changed"
    if old is not None and new is not None and new.worse:
        verdict = "worse" if (new.value > old.value) == (new.worse == "more") else "better"
    return Change(what, before, after, verdict)


def _asked(old: Side, new: Side, found: list[Change]) -> Iterator[Change]:
    """The changes, those that a job asks for neither better nor worse: another thickness leaves and takes another."""
    asked = old.plan is not None and new.plan is not None and old.plan.target != new.plan.target
    for change in found:
        follows = asked and change.what.endswith(("left", "loses", "machine time", "clearance"))
        yield change._replace(verdict="changed") if follows else change


# -- figures ----------------------------------------------------------------------------------------------------------


def _figures(old: Side, new: Side) -> dict[str, tuple[_Figure | None, _Figure | None]]:
    """Every figure of both sides by what it is, in the units of the new side (of the old where that has none)."""
    work = new.work or old.work
    unit = work.job.stock.size.thickness.unit if work is not None else "mm"
    unit = unit if unit in UNITS else "mm"
    one, other = ({} if side.plan is None else dict(_of(side.plan, unit)) for side in (old, new))
    return {what: (one.get(what), other.get(what)) for what in [*other, *(what for what in one if what not in other)]}


def _of(plan: Plan, unit: str) -> Iterator[tuple[str, _Figure]]:
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
        yield "asked for", _Figure(show(plan.target, unit, 5))
    yield "left", _Figure(show(plan.forecast, unit, 5), plan.forecast, "less")
    yield "+/-", _Figure(show(plan.plus_minus, unit, 3), plan.plus_minus, "more")
    yield "most that can be left", _Figure(show(plan.most_left, unit, 5), plan.most_left, "less")
    for setup in plan.setups:
        for what, figure in _face(setup, unit):
            yield f"{setup.face} face, {what}", figure
    time = sum(setup.time for setup in plan.setups)
    yield "machine time", _Figure(minutes(time), time, "more")
    if plan.seating is not None:
        for shim in plan.seating.shims:
            if shim.leaves:
                yield f"leaves at {shim.place or f'{show(shim.x)}, {show(shim.y)}'}", _Figure(stack(work, shim.leaves))
    yield from _holders(plan, unit)


def _face(setup: Setup, unit: str) -> Iterator[tuple[str, _Figure]]:
    feed = "in/min" if unit == "in" else "mm/min"
    yield "loses", _Figure(show(setup.removed_mean, unit, 3), setup.removed_mean, "more")
    yield "passes", _Figure(str(len(setup.passes)))
    deepest = max((each.depth for each in setup.passes), default=0.0)
    yield "deepest bite", _Figure(show(deepest, unit, 3))
    yield "speed", _Figure(show(setup.speed, "rpm", 5))
    yield "feed", _Figure(f"{show(setup.feed, feed, 5)}, by {setup.feed_limit.replace('_', ' ')}")
    yield "ridge", _Figure(show(setup.ridge, unit, 3), setup.ridge, "more")
    yield "holding load", _Figure(show(setup.holding_load, "N", 3))


def _holders(plan: Plan, unit: str) -> Iterator[tuple[str, _Figure]]:
    """Where holders stand, and the least height between the lowest plane and one of them."""
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
        yield "least clearance", _Figure(shown, gap, "less")


def _moves(side: Side) -> list[bytes]:
    """The programs without what their headers say of names and sources."""
    from flatwise.gcode.write import write

    assert side.plan is not None
    programs = (write(side.plan, setup) for setup in side.plan.setups)
    return [
        b"\n".join(line for line in program.splitlines() if not line.startswith((b"(job ", b"(sources ")))
        for program in programs
    ]


# -- findings ----------------------------------------------------------------------------------------------------------


def _findings(old: Side, new: Side) -> Iterator[Change]:
    """What is found anew or no more, code by code; a finding whose numbers alone differ is shown as changed."""
    for code in sorted({finding.code for finding in (*old.findings, *new.findings)}):
        if code == "FW703":  # told as a waiver, with its reason
            continue
        before, after = (_said(side.findings, code) for side in (old, new))
        gone = [each for each in before if each not in after]
        come = [each for each in after if each not in before]
        what = f"{code} {next(each.severity for each in (*new.findings, *old.findings) if each.code == code)}"
        both = min(len(gone), len(come))
        for number in range(max(len(gone), len(come))):
            verdict: Verdict = "changed" if number < both else "worse" if come[number:] else "better"
            yield Change(
                what, (gone[number : number + 1] or [NONE])[0], (come[number : number + 1] or [NONE])[0], verdict
            )
    waivers = [{each.rule: each.because for each in side.waived} for side in (old, new)]
    for rule in sorted({*waivers[0], *waivers[1]}):
        one, other = (waiver.get(rule, NONE) for waiver in waivers)
        if one != other:
            # a rule more is let through: somebody has to agree to it
            verdict = "worse" if one == NONE else "better" if other == NONE else "changed"
            yield Change(f"waived: {rule}", one, other, verdict)


def _said(findings: Sequence[Finding], code: str) -> list[str]:
    return list(dict.fromkeys(finding.message for finding in findings if finding.code == code))
