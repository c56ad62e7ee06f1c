"""The checks: each judges a finished plan, one code a file, with the code's page as the file's docstring.

A file `fwNNN_subject.py` has `check(plan: Plan) -> Iterator[Finding]`; `run` finds it by its name.  Findings that a
stage makes while it works are in `flatwise.findings`.
"""

from __future__ import annotations

import pkgutil
from collections.abc import Callable, Iterable
from functools import cache
from importlib import import_module

from flatwise.core.finding import Finding, Findings
from flatwise.findings import fw702_waiver, fw703_waived
from flatwise.model.built import Waived
from flatwise.model.stages import Plan, Work

Check = Callable[[Plan], Iterable[Finding]]


@cache
def _judges() -> tuple[Check, ...]:
    """The judges of all codes, in the order of their codes."""
    names = sorted(info.name for info in pkgutil.iter_modules(__path__))
    return tuple(import_module(f"{__name__}.{name}").check for name in names)


def run(plan: Plan) -> Findings:
    """Every judgement of a plan, in the order of the codes."""
    return tuple(finding for judge in _judges() for finding in judge(plan))


def waive(work: Work, findings: Findings, *, whole: bool) -> tuple[Findings, tuple[Waived, ...]]:
    """Let waived rules through: their findings become FW703 warnings; waivers without need become FW702.

    `whole` is False where the job could not be judged to the end: nobody knows then what was not needed.
    """
    waivers = work.waivers
    kept: list[Finding] = []
    let_through: dict[str, Finding] = {}
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


def _worse(one: Finding, other: Finding) -> Finding:
    """The one of two breaches of a rule that is further from its limit."""

    def excess(finding: Finding) -> float:
        return abs((finding.value or 0.0) - (finding.limit or 0.0))

    return other if excess(other) > excess(one) else one
