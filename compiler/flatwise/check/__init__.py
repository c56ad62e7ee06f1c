"""The checks judge a finished plan, one file a code; the file's docstring is the code's page.

A file `fwNNN_subject.py` has `check(plan: Plan) -> Iterator[Finding]`; `run` finds it by its name.  Findings that a
stage makes while it works are in `flatwise.findings`.
"""

from __future__ import annotations

import pkgutil
from collections.abc import Callable, Iterable, Mapping
from functools import cache
from importlib import import_module

from flatwise.check import (
    fw301_travel,
    fw302_reach,
    fw304_nose,
    fw501_contact,
    fw503_overlap,
    fw601_not_clean,
    fw602_too_thin,
    fw603_tolerance,
    fw701_standard,
)
from flatwise.core.finding import Finding, Findings
from flatwise.findings import fw702_waiver, fw703_waived
from flatwise.model.bed import BatchPlan
from flatwise.model.built import Waived
from flatwise.model.measuring import BedWalk, Walk
from flatwise.model.stages import Plan, Work

Check = Callable[[Plan], Iterable[Finding]]


@cache
def _judges() -> tuple[Check, ...]:
    """The check of each code, in the order of the codes."""
    names = sorted(info.name for info in pkgutil.iter_modules(__path__))
    return tuple(import_module(f"{__name__}.{name}").check for name in names)


def run(plan: Plan) -> Findings:
    """The findings of all checks of a plan, in the order of the codes."""
    return tuple(finding for judge in _judges() for finding in judge(plan))


def run_walk(work: Work, walk: Walk) -> Findings:
    """The findings of the checks that judge a measuring walk as well: travel, reach and contact."""
    judges = (fw301_travel.check_walk, fw302_reach.check_walk, fw501_contact.check_walk)
    return tuple(finding for judge in judges for finding in judge(work, walk))


def run_bed_walk(bed: BedWalk) -> Mapping[str, Findings]:
    """The same for each panel of a walk over a bed, by its job; nothing is said twice."""
    found: dict[str, Findings] = {}
    said: set[tuple[str, str]] = set()
    for work, walk in bed.panels:
        new = tuple(each for each in run_walk(work, walk) if (each.code, each.message) not in said)
        said |= {(each.code, each.message) for each in new}
        found[work.name] = found.get(work.name, ()) + new
    return found


def run_batch(plan: BatchPlan) -> Findings:
    """The findings about panels that are in each other's way."""
    judges = (fw304_nose.check_batch, fw501_contact.check_batch, fw503_overlap.check_batch)
    return tuple(finding for judge in judges for finding in judge(plan))


def reaches(plan: Plan) -> bool:
    """Whether the panel has wood enough as it lies: no FW601, FW602, FW603, and nothing of the rule `uneven`."""
    judges = (fw601_not_clean.check, fw602_too_thin.check, fw603_tolerance.check, fw701_standard.check_uneven)
    return all(finding.rule in plan.work.waivers for judge in judges for finding in judge(plan))


def waive(work: Work, findings: Findings, *, whole: bool) -> tuple[Findings, tuple[Waived, ...]]:
    """Apply the job's waivers: waived breaches become FW703 warnings, and unneeded waivers FW702 warnings.

    `whole` is False where the job could not be judged to the end, so that an unneeded waiver can't be told.
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
        # contact hides that the clearance is broken
        needed = {*let_through, *("clearance" for finding in findings if finding.code == "FW501")}
        kept.extend(fw702_waiver.without_need(waivers[rule]) for rule in waivers if rule not in needed)
    return tuple(kept), tuple(waived)


def _worse(one: Finding, other: Finding) -> Finding:
    """The breach that is further from its limit."""

    def excess(finding: Finding) -> float:
        return abs((finding.value or 0.0) - (finding.limit or 0.0))

    return other if excess(other) > excess(one) else one
