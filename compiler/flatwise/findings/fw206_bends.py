"""FW206 · the panel bends

Between its supports the panel sags under the cutter's push of 50 N by more than the standard's `sag`, its own weight
makes it sag that much (a warning), or clamps that push away from the middle of its thickness bow it. These are
estimates from the modulus of the wood.

## Why it hurts
Wood that is pushed down escapes the cutter and springs back behind it. A panel that is bowed by its clamps is cut
flat, and bows the other way when they are released.

## Fails
```flat
job demo from plain_top {
    stock    { size 1000mm x 500mm x 20mm }
    survey {
        thickness  front_left 20mm, front_right 20mm, back_left 20mm, back_right 20mm
        thickness  centre 20mm, front 20mm, back 20mm, left 20mm, right 20mm
        gap        front 0.8mm, back 0.8mm, left 0mm, right 0mm
    }
    faces { second to 17mm +/- 0.5mm }
}
```

## Mended
```flat
job demo from plain_top {
    stock    { size 1000mm x 500mm x 20mm }
    survey {
        thickness  front_left 20mm, front_right 20mm, back_left 20mm, back_right 20mm
        thickness  centre 20mm, front 20mm, back 20mm, left 20mm, right 20mm
        gap        front 0.8mm, back 0.8mm, left 0mm, right 0mm
    }
    supports { shims leaf_set under front, centre, back }
    faces { second to 17mm +/- 0.5mm }
}
```
"""

from __future__ import annotations

from flatwise.core.finding import Finding, Related, relate
from flatwise.core.units import show, show_apart
from flatwise.core.wording import place_name
from flatwise.model.stages import Holder, Work
from flatwise.model.words import PLACES
from flatwise_grammar.nodes import Span


def pushed(work: Work, sag: float, limit: float, at: tuple[float, float], gap: float) -> Finding:
    """The middle of a bay, at (x, y) mm, sags by `sag` mm under 50 N over a gap of `gap` mm."""
    unit = work.job.stock.size.thickness
    sags, allowed = _about(work, sag, limit)
    return Finding(
        "FW206",
        f"Under the cutter's push of 50N, the panel sags by about {sags} at {_where(work, at)}, more than the {allowed}"
        " allowed.",
        _span(work),
        related=_rule(work),
        help=f"Put leaves of about {show(gap, unit, 2)} under {_where(work, at, as_written=True)}.",
        rule="sag",
        value=sag,
        limit=limit,
    )


def heavy(work: Work, sag: float, limit: float, at: tuple[float, float]) -> Finding:
    """The panel's own weight bends it by `sag` mm more than when it was surveyed."""
    sags, allowed = _about(work, sag, limit)
    return Finding(
        "FW206",
        f"On these supports, the panel sags under its own weight by about {sags} at {_where(work, at)}, which the"
        f" survey does not show; {allowed} is allowed under the cutter.",
        _span(work),
        "warning",
        help=f"Put leaves under {_where(work, at, as_written=True)} as well.",
    )


def bowed(work: Work, bow: float, limit: float, clamp: Holder, middle: float) -> Finding:
    """The clamps of one direction bow the panel by `bow` mm; `middle` is half its thickness, mm."""
    unit = work.job.stock.size.thickness
    push, centre = show_apart(clamp.push_height, middle, unit, 3)
    bows, allowed = _about(work, bow, limit)
    return Finding(
        "FW206",
        f"The clamps on the {clamp.edge} edge push at {push}, but the middle of the thickness is at {centre}: they bow"
        f" the panel by about {bows}, more than the {allowed} allowed.",
        clamp.span,
        related=_rule(work),
        help="Use clamps that push closer to the middle of the thickness, or fewer or weaker clamps.",
        rule="sag",
        value=bow,
        limit=limit,
    )


def _about(work: Work, amount: float, limit: float) -> tuple[str, str]:
    """An estimate, roughly, and its limit; both with enough digits to tell them apart."""
    unit = work.job.stock.size.thickness
    return show_apart(amount, limit, unit, 2)[0], show_apart(amount, limit, unit)[1]


def _rule(work: Work) -> tuple[Related, ...]:
    return relate("the rule", work.rules.spans.get("sag"))


def _span(work: Work) -> Span:
    return work.job.supports.head if work.job.supports is not None else work.job.stock.head


def _where(work: Work, at: tuple[float, float], as_written: bool = False) -> str:
    for name, (across, up) in PLACES.items():
        if abs(across * work.length - at[0]) < 1.0 and abs(up * work.width - at[1]) < 1.0:
            return name if as_written else place_name(name)
    return place_name("", *at, work.job.stock.size.length)
