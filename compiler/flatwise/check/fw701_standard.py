"""FW701 · a rule of the shop's standard is broken

The job is within the limits of cutter, machine and holders, but it breaks a rule that the shop has agreed on: the
depth of a pass, the overrun past the edges, the ridge between rows, the share of the spindle's power, or the
difference between what the two faces lose. A waiver with a reason lifts one rule.

A project may require a standard for all its jobs (`standard` in flatwise.toml). Its rules hold in addition to those of
the job's own standard; of each rule the stricter counts.

## Why it hurts
The rules are what the shop has learned. A panel that loses much more on one side than on the other, for example,
moves again as its inner stresses even out.

## Fails
```flat
job demo from plain_top {
    cut { depth 0.8mm }
}
```

## Mended
```flat
job demo from plain_top {
    cut { depth 0.6mm }
}
```
"""

from __future__ import annotations

from collections.abc import Iterator

from flatwise.core.finding import Finding, relate
from flatwise.core.fixes import at_least, at_most, value_fix
from flatwise.core.units import Quantity, feed_unit, fixed, show, show_apart
from flatwise.model.stages import Plan
from flatwise.plan.cutting import spindle_power
from flatwise_grammar.nodes import Span


def check(plan: Plan) -> Iterator[Finding]:
    """Check the rules depth, overrun, ridge, power and uneven; FW502 checks clearance."""
    yield from _depth(plan)
    yield from _overrun(plan)
    if plan.setups:
        yield from _ridge(plan)
        yield from _power(plan)
        yield from check_uneven(plan)


def _finding(
    plan: Plan,
    rule: str,
    message: str,
    span: Span,
    value: float,
    limit: float,
    hint: str,
    fixed: tuple[Quantity, str] | None = None,
) -> Finding:
    rules = plan.work.rules
    return Finding(
        "FW701",
        message,
        span,
        related=relate(f"the rule {rule} of {rules.of(rule)}", rules.spans.get(rule)),
        help=f"{hint}; or waive {rule} and say why.",
        fix=value_fix(*fixed) if fixed is not None else None,
        rule=rule,
        value=value,
        limit=limit,
    )


def _standard(plan: Plan, rule: str) -> str:
    """The standard that has a rule, in words; by name where it is the project's and not the job's own."""
    rules = plan.work.rules
    return f"the project's standard {rules.required}" if rule in rules.from_required else "the standard"


def _depth(plan: Plan) -> Iterator[Finding]:
    rule, cut = plan.work.rules.depth, plan.work.job.cut
    if rule is None:
        return
    for what, written in (("depth", cut.depth), ("finish", cut.finish)):
        if written is None or float(written) <= rule + 1e-9:
            continue
        text = at_most(min(rule, float(plan.work.cutter.depth)), written)
        yield _finding(
            plan,
            "depth",
            f"The {what} of {written} is more than the {at_most(rule, written)} that {_standard(plan, 'depth')} "
            "allows in one pass.",
            written.span,
            float(written),
            rule,
            f"Write {text} or less",
            (written, text),
        )


def _overrun(plan: Plan) -> Iterator[Finding]:
    rule, written = plan.work.rules.overrun, plan.work.job.cut.overrun
    if rule is None or written is None or float(written) >= rule - 1e-9:
        return
    text = at_least(rule, written)
    yield _finding(
        plan,
        "overrun",
        f"The cutter runs only {written} past the edges, less than the {text} that {_standard(plan, 'overrun')} "
        "requires.",
        written.span,
        float(written),
        rule,
        f"Write {text} or more",
        (written, text),
    )


def _ridge(plan: Plan) -> Iterator[Finding]:
    rule, setup, stepover = plan.work.rules.ridge, plan.setups[0], plan.work.job.cut.stepover
    if rule is None or setup.ridge <= rule + 1e-9:
        return
    ridge, most = show_apart(setup.ridge, rule, plan.work.job.stock.size.thickness, 3)
    share = rule / plan.work.machine.tram.tangent / float(plan.work.cutter.diameter)
    text = at_most(share, "%")
    wrote = plan.work.job.cut.wrote("stepover")
    yield _finding(
        plan,
        "ridge",
        f"The lean of the spindle leaves ridges of {ridge} between the rows, more than the "
        f"{most} that {_standard(plan, 'ridge')} allows.",
        plan.work.job.cut.span("stepover"),
        setup.ridge,
        rule,
        f"Write a stepover of {text} or less, or tram the spindle",
        (stepover, text) if wrote and not isinstance(stepover, str) else None,
    )


def _power(plan: Plan) -> Iterator[Finding]:
    work = plan.work
    setup = max(plan.setups, key=lambda setup: setup.power / spindle_power(work.machine, setup.speed))
    whole = spindle_power(work.machine, setup.speed)
    limit = work.rules.power * whole
    if work.rules.power >= 1.0 or setup.power <= limit + 1e-6:
        return
    cut, unit = work.job.cut, work.machine.spindle.power
    used, allowed = show_apart(setup.power / whole, work.rules.power, "%", 2)
    written = cut.feed if isinstance(cut.feed, Quantity) else None
    rate = written if written is not None else feed_unit(work.job.stock.size.thickness)
    text = at_most(setup.feed * limit / setup.power, rate)
    yield _finding(
        plan,
        "power",
        f"The cut needs about {show(setup.power, unit, 3)}, {used} of what the spindle gives "
        f"at {fixed(setup.speed)}rpm; {_standard(plan, 'power')} allows {allowed}.",
        written.span if written is not None else cut.head,
        setup.power / whole,
        work.rules.power,
        f"Feed {text} or less, or write a smaller depth or stepover",
    )


def check_uneven(plan: Plan) -> Iterator[Finding]:
    """Check the rule uneven."""
    rule = plan.work.rules.uneven
    both = {setup.face: setup.removed_mean for setup in plan.setups if not setup.again}
    if rule is None or len(both) < 2 or plan.work.job.after_first is not None:
        return
    if min(both.values()) < 0:
        return  # a plane above the wood is FW604
    apart = abs(both["first"] - both["second"])
    if apart <= rule + 1e-9:
        return
    loses, allowed = show_apart(apart, rule, plan.work.job.stock.size.thickness, 3)
    more = max(both, key=lambda face: both[face])
    yield _finding(
        plan,
        "uneven",
        f"The {more} face loses {loses} more than the other, but {_standard(plan, 'uneven')} allows only {allowed}.",
        plan.work.job.faces.span(more),
        apart,
        rule,
        "Write `first balanced`, so that both faces lose about the same",
    )
