"""The checks: one subject a file, its code in the file's name, its page in the file's docstring.

A file `fwNNN_subject.py` holds the page that `flatwise explain FWNNN` prints (its docstring) and either

* `check(plan: Plan) -> Iterator[Diagnostic]`: a judgement of a finished plan, run by `run`, or
* small functions that make the finding for the stage that discovers it (parsing, reading, seating, …).

Adding a check touches its own file and its case; this file finds it by name.
"""

from __future__ import annotations

import pkgutil
from collections.abc import Callable, Iterable
from functools import cache
from importlib import import_module

from flatwise.diagnostics import Diagnostic, Findings
from flatwise.stages import Plan, Waived, Work
from flatwise_grammar.records import dataclass

Check = Callable[[Plan], Iterable[Diagnostic]]


@dataclass(frozen=True)
class Page:
    """What `explain` says of a code."""

    code: str
    title: str
    text: str


@cache
def _modules() -> dict[str, str]:
    return {
        info.name[:5].upper(): f"{__name__}.{info.name}"
        for info in pkgutil.iter_modules(__path__)
        if info.name.startswith("fw")
    }


def codes() -> tuple[str, ...]:
    """Every code, in order."""
    return tuple(sorted(_modules()))


def page(code: str) -> Page | None:
    """The page of a code, or None for a code that there is not."""
    name = _modules().get(code.upper())
    if name is None:
        return None
    text = (import_module(name).__doc__ or "").strip() + "\n"
    title = text.splitlines()[0].partition("·")[2].strip()
    return Page(code.upper(), title, text)


def run(plan: Plan) -> Findings:
    """Every judgement of a plan, in the order of the codes."""
    found: list[Diagnostic] = []
    for code in codes():
        if code < "FW2" or code > "FW9":
            continue  # these are found while reading, and by the proof
        judge: Check | None = getattr(import_module(_modules()[code]), "check", None)
        if judge is not None:
            found.extend(judge(plan))
    return tuple(found)


def waive(work: Work, findings: Findings, *, whole: bool) -> tuple[Findings, tuple[Waived, ...]]:
    """Let waived rules through: their findings become FW703 warnings; waivers without need become FW702.

    `whole` is False where the job could not be judged to the end: nobody knows then what was not needed.
    """
    from flatwise.check import fw702_waiver, fw703_waived

    waivers = work.waivers
    kept: list[Diagnostic] = []
    let_through: dict[str, Diagnostic] = {}
    for finding in findings:
        if finding.rule and finding.rule in waivers:
            worst = let_through.setdefault(finding.rule, finding)
            let_through[finding.rule] = _worse(worst, finding)
        else:
            kept.append(finding)
    waived = []
    for rule, finding in let_through.items():
        waiver = waivers[rule]
        kept.append(fw703_waived.waived(finding, waiver))
        waived.append(Waived(rule, str(waiver.reason), finding.value or 0.0, finding.limit or 0.0))
    if whole:
        kept.extend(fw702_waiver.without_need(waivers[rule]) for rule in waivers if rule not in let_through)
    return tuple(kept), tuple(waived)


def _worse(one: Diagnostic, other: Diagnostic) -> Diagnostic:
    """The one of two breaches of a rule that is further from its limit."""

    def excess(finding: Diagnostic) -> float:
        return abs((finding.value or 0.0) - (finding.limit or 0.0))

    return other if excess(other) > excess(one) else one
