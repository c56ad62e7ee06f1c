"""FW109 · jobs that can't share one set-up

A batch is cut by one program a face, with one zero, one spindle start and one speed. So its jobs need the same machine,
the same cutter and the same paper, and Z set on the bed. A job that writes a speed fixes it for all. A job that goes on
`after` a face, or that skims the machine's own board (`stock bed`), is cut by itself. `measure` goes over all
panels in one walk, so the surveys that have a `walk` name one gauge.

## Why it hurts
With another cutter or another zero, every height of the second panel would be wrong, with nobody at the machine to
change it.

## Fails
```flat
job tray_a from plain_top { zero { corner front_left at 100mm, 100mm; z bed } }
job tray_b from plain_top { zero { corner front_left at 100mm, 700mm; z top by paper 0.05mm } }

batch trays { jobs tray_a, tray_b }
```

## Mended
```flat
job tray_a from plain_top { zero { corner front_left at 100mm, 100mm; z bed } }
job tray_b from plain_top { zero { corner front_left at 100mm, 700mm; z bed } }

batch trays { jobs tray_a, tray_b }
```
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from flatwise.core.finding import Finding, Related
from flatwise.model.stages import Work
from flatwise.model.words import DeclaredName
from flatwise_grammar.nodes import Span


def misfits(jobs: Sequence[tuple[DeclaredName, Work]]) -> Iterator[Finding]:
    """One finding for each job of a batch that can't be cut with the first, or in no batch at all."""
    first = jobs[0][1]
    speeds = [work for _, work in jobs if not isinstance(work.job.cut.speed, str)]
    for name, work in jobs:
        found = _in_no_batch(work) or _unlike(work, first) or (_speeds(work, speeds[0]) if work in speeds else None)
        if found is not None:
            message, span, way_out = found
            yield Finding("FW109", message, name.span, related=(Related("written here", span),), help=way_out)


def other_gauge(name: DeclaredName, work: Work, first: Work) -> Finding | None:
    """A job whose walk is with another gauge than that of `first`: one walk has one gauge."""
    if work.gauge is None or first.gauge is None or work.gauge == first.gauge:
        return None
    assert work.job.survey is not None
    message = (
        f"The job `{work.name}` is measured with the gauge `{work.gauge.name}`, but `{first.name}` with "
        f"`{first.gauge.name}`: one walk has one gauge."
    )
    related = (Related("written here", work.job.survey.span("walk")),)
    return Finding("FW109", message, name.span, related=related, help="Name one gauge in both.")


def _in_no_batch(work: Work) -> tuple[str, Span, str] | None:
    """The reason that keeps a job out of every batch: message, place and way out."""
    job, alone = work.job, "Take it out of the batch and build it by itself."
    for word, after in (("after first", job.after_first), ("after second", job.after_second)):
        if after is not None:
            return (
                f"The panel of `{work.name}` is already begun (`{word}`), but a batch starts with uncut panels.",
                after.head,
                alone,
            )
    if job.stock.is_bed:
        return f"The job `{work.name}` skims the machine's own board, on which the panels lie.", job.stock.head, alone
    if job.zero.z.on != "bed":
        message = f"The job `{work.name}` sets Z on its top; all panels of a batch share one zero, on the bed."
        return message, job.zero.span("z"), "Write `z bed` in its `zero`."
    return None


def _unlike(work: Work, first: Work) -> tuple[str, Span, str] | None:
    """In what a job differs from the first one of its batch."""
    job, other = work.job, first.job
    papers = [f"paper {each.zero.z.paper}" if each.zero.z.paper else "no paper" for each in (job, other)]
    pairs = (
        ("machine", f"machine `{job.machine}`", f"`{other.machine}`", work.machine == first.machine, job, "machine"),
        (
            "cutter",
            f"cutter `{job.cut.cutter}`",
            f"`{other.cut.cutter}`",
            work.cutter == first.cutter,
            job.cut,
            "cutter",
        ),
        ("paper", papers[0], papers[1], papers[0] == papers[1], job.zero, "z"),
    )
    for what, ours, theirs, alike, block, word in pairs:
        if not alike or (what != "paper" and ours != f"{what} {theirs}"):
            message = f"The job `{work.name}` uses {ours}, but `{first.name}`, the first of the batch, uses {theirs}."
            return message, block.span(word), f"Use one {what} in both, or take the job out of the batch."
    return None


def _speeds(work: Work, first: Work) -> tuple[str, Span, str] | None:
    """A job with another speed than the first one that writes one."""
    speed, other = work.job.cut.speed, first.job.cut.speed
    if speed == other:
        return None
    message = (
        f"The job `{work.name}` turns the cutter at {speed}, but `{first.name}` at {other}: all panels are cut at one "
        "speed."
    )
    return message, work.job.cut.span("speed"), "Write one speed in both, or `speed auto`."
