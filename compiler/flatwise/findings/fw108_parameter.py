"""FW108 · recipe parameter missing or unknown

A recipe lists its parameters after `takes`. This job leaves one out, or gives one that the recipe does not have.

## Why it hurts
Without its length, or with a size that nothing reads, the job does not describe the panel on the bench.

## Fails
```flat
recipe thick_top {
    takes rough, done
    machine bench_router
    standard solid_tops
    stock { size 900mm x 500mm x rough; wood ash; grain along x }
    survey { thickness centre rough; within 0.05mm; cup 0mm hollow; bow 0mm hollow; twist 0mm }
    hold {
        dog   low_dog  left  at 25%, 75%
        dog   low_dog  front at 15%, 85%
        clamp side_cam right at 50%
        clamp side_cam back  at 20%, 80%
    }
    zero { corner front_left at 120mm, 120mm; z top by paper 0.05mm }
    cut { cutter fly_64 }
    faces { first until clean; second to done; flip over long_edge }
}

job demo from thick_top {
    rough 32mm
}
```

## Mended
```flat
recipe thick_top {
    takes rough, done
    machine bench_router
    standard solid_tops
    stock { size 900mm x 500mm x rough; wood ash; grain along x }
    survey { thickness centre rough; within 0.05mm; cup 0mm hollow; bow 0mm hollow; twist 0mm }
    hold {
        dog   low_dog  left  at 25%, 75%
        dog   low_dog  front at 15%, 85%
        clamp side_cam right at 50%
        clamp side_cam back  at 20%, 80%
    }
    zero { corner front_left at 120mm, 120mm; z top by paper 0.05mm }
    cut { cutter fly_64 }
    faces { first until clean; second to done; flip over long_edge }
}

job demo from thick_top {
    rough 32mm
    done 29mm
}
```
"""

from __future__ import annotations

from collections.abc import Sequence

from flatwise.core.finding import Finding, Related
from flatwise.core.fixes import did_you_mean
from flatwise.core.wording import listed, quoted
from flatwise_grammar.nodes import Span

#: so many missing parameters are named
NAMED = 8


def missing(parameters: Sequence[str], job: str, recipe: str, span: Span, takes: Span) -> Finding:
    """The parameters that the job does not give; `takes` is where the recipe names the first of them."""
    several = len(parameters) > 1
    named = [f"`{each}`" for each in parameters[:NAMED]]
    if len(parameters) > NAMED:
        named.append(f"{len(parameters) - NAMED} more")
    which, what = listed(named, "and"), "parameters" if several else "a parameter"
    add = "a line for each of them" if several else f"a line with {which}"
    return Finding(
        "FW108",
        f"The job `{job}` does not give {which}, {what} of the recipe `{recipe}`.",
        span,
        related=(Related("the recipe takes them here" if several else "the recipe takes it here", takes),),
        help=f"Add {add} and {'the' if several else 'its'} value{'s' * several} to the job.",
    )


def unknown(
    parameter: str, recipe: str, span: Span, takes: Span, known: Sequence[str], words: Sequence[str]
) -> Finding:
    """A line of the job that is neither a parameter of the recipe nor a word of a job."""
    hint, fix = did_you_mean(parameter, span, [*known, *words])
    if not hint:
        hint = f"The recipe takes {quoted(known, 'and')}." if known else "The recipe takes nothing."
    return Finding(
        "FW108",
        f"`{parameter}` is neither a parameter of the recipe `{recipe}` nor a word of a job.",
        span,
        related=(Related("the recipe's parameters", takes),),
        help=hint,
        fix=fix,
    )
