"""FW203 · the panel rocks as supported

A panel that is not flat rests on three points. Pressed with 50 N (about the weight of five kilograms) at a corner or
at the middle of an edge, it tips onto three others, and the pressed place moves by more than the standard's `rock`
allows.

## Why it hurts
The cutter presses on the panel too. A panel that tips under it is cut at one height with the corner up and at
another with the corner down: the face comes out neither flat nor smooth, and a dog or clamp can lose its hold.
Clamps at the edges do not press the panel down, so they do not cure this.

## Fails
```flat
job demo from plain_top {
    survey { gap front_left 0.6mm, front 0.3mm, left 0.3mm, back 0mm, right 0mm }
}
```

## Mended
```flat
job demo from plain_top {
    survey { gap front_left 0.6mm, front 0.3mm, left 0.3mm, back 0mm, right 0mm }
    supports { shims leaf_set under corners, front, left }
}
```
"""

from __future__ import annotations

from flatwise.core.finding import Edit, Finding, Fix, relate
from flatwise.core.units import show, show_apart
from flatwise.core.wording import place_name
from flatwise.model.stages import Rock, Stack, Work
from flatwise_grammar.nodes import Span


def rocks(work: Work, rock: Rock, steadying: tuple[str, Stack, bool] | None) -> Finding:
    """The panel moves at a place by more than the rule.

    `steadying`: the place for leaves, their stack, and whether the panel then lies still.
    """
    limit = float(work.rules.rock)
    supports, size = work.job.supports, work.job.stock.size
    unit = size.thickness
    where = place_name(rock.place)
    held = " as supported" if supports is not None else ""
    fix = None
    if steadying is None and supports is not None and supports.shims:
        help_ = (
            "No stacks of the set at these places hold it still: name other places too, or a set with thinner leaves."
        )
    elif steadying is None:
        help_ = "Put leaves under the corners that do not touch: `shims … under corners` lets the compiler choose them."
    else:
        place, stack, still = steadying
        leaves = " and ".join(show(leaf, unit) for leaf in stack.leaves)
        of = f" (leaves {leaves})" if len(stack.leaves) > 1 else ""
        then = "the panel then lies still" if still else "then check again"
        help_ = f"Put {show(stack.height, unit)}{of} under {place_name(place)}; {then}."
        if still:
            fix = _fix(work, f"shim {show(stack.height, unit, 6)} under {place}")
    moves, allowed = show_apart(rock.move, limit, unit)
    return Finding(
        "FW203",
        f"Pressed with 50N at {where}, the panel{held} moves by {moves}, more than the"
        f" {allowed} allowed; the gap there is {show(rock.gap, unit)}.",
        supports.head if supports is not None else _survey_span(work),
        related=relate("the rule", work.rules.spans.get("rock")),
        help=help_,
        fix=fix,
        rule="rock",
        value=rock.move,
        limit=limit,
    )


def _survey_span(work: Work) -> Span:
    block = work.job.survey
    return work.job.stock.head if block is None else block.span("gap")


def _fix(work: Work, line: str) -> Fix | None:
    """The line as an edit of the job's own text; None where its block stands in a recipe."""
    supports, hold = work.job.supports, work.job.hold
    title = f"Add `{line}`"
    if supports is not None:
        words = [supports.span(word) for word in ("shims", "shim", "aim") if supports.wrote(word)]
        own = [span for span in words if span.path == work.path and span.start > work.span.start]
        if not own or len(own) != len(words):
            return None
        start = min(span.start for span in own)
        return Fix(title, (Edit(Span(work.path, start, start), f"{line}; "),))
    if hold is None or hold.head.path != work.path or hold.head.start <= work.span.start:
        return None
    start = hold.head.start
    return Fix(title, (Edit(Span(work.path, start, start), f"supports {{ {line} }}\n    "),))
