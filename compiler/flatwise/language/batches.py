"""Batches: the works of their jobs, which must be able to share one set-up, and the places that a batch implies."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import cast

from flatwise.core.finding import Finding, Findings, has_errors
from flatwise.core.fixes import sure_word
from flatwise.findings import fw103_declared_twice, fw107_out_of_bounds, fw109_set_up
from flatwise.language.block_reader import BodyContext, FindingSink, read_block
from flatwise.language.link import Declaration, Linked
from flatwise.language.works import Models
from flatwise.model.batch import BATCH, Batch
from flatwise.model.bed import BatchWork
from flatwise.model.job import Corner
from flatwise.model.kinds import KINDS
from flatwise.model.stages import Work
from flatwise.model.words import DeclaredName
from flatwise_grammar.nodes import Span

#: the most panels of a batch: each is compared with each
MOST_PANELS = 40


def batch_corners(linked: Linked, models: Models) -> Iterator[tuple[Span, Corner | None]]:
    """Each job of a batch by the span of its name, and where it lies alone if it names no corner.

    With `from` that is the place of the first panel.
    """
    for declaration in linked.declarations:
        batch = models.by_name.get(declaration.at) if declaration.kind == "batch" else None
        if isinstance(batch, Batch) and declaration.path in linked.loaded.asked:
            for name in batch.jobs:
                job = linked.find("job", name, declaration.path)
                if job is not None:
                    yield job.at, batch.start


def ways_to_a_place(linked: Linked, models: Models) -> Mapping[Span, str]:
    """For jobs that have no `corner`, what else would give them a place, as the end of a sentence.

    "" while a batch can't be read, since it may lay them out.
    """
    asked = set(linked.loaded.asked)
    batches = [each for each in linked.declarations if each.kind == "batch" and each.path in asked]
    known = {each.block.head_span for each in linked.declarations}
    strange = [
        block.kind
        for path in asked
        for block in linked.loaded.sources[path].tree.blocks
        if block.head_span not in known
    ]
    unread = any(models.by_name.get(each.at) is None for each in batches)
    if unread or any(sure_word(kind, KINDS) == "batch" or kind == "batch" for kind in strange):
        return {each.at: "" for each in linked.declarations if each.kind == "job"}
    mine = dict(batch_corners(linked, models))
    laying = [each.name for each in batches if getattr(models.by_name.get(each.at), "start", None) is not None]
    return {
        each.at: ", or a line `from` to its batch, which then lays it out"
        if each.at in mine
        else f", or name the job in batch `{laying[0]}`"
        for each in linked.declarations
        if each.kind == "job" and (each.at in mine or laying)
    }


def read_batches(linked: Linked, works: Sequence[Work]) -> tuple[tuple[BatchWork, ...], Findings]:
    """The batches of the files that were asked for, and which of their jobs can't be in one.

    A batch is left out where a job can't be in one or is not sound, or where its own lines have an error.  Findings:
    FW107 for too many jobs, FW103 for one that is listed twice, FW109 for one that can't share the set-up.
    """
    found: list[BatchWork] = []
    findings: list[Finding] = []
    known = {work.span: work for work in works}
    for declaration in linked.declarations:
        if declaration.kind != "batch" or declaration.path not in linked.loaded.asked:
            continue
        sink = FindingSink()
        batch = _batch(linked, declaration, sink)
        jobs = [(name, linked.find("job", name, declaration.path)) for name in batch.jobs or ()]
        mine = [(name, known[job.at]) for name, job in jobs if job is not None and job.at in known]
        unfit = [*_too_many(batch.jobs or ()), *_twice(batch.jobs or ()), *(fw109_set_up.misfits(mine) if mine else ())]
        findings += unfit
        if batch.jobs and len(mine) == len(batch.jobs) and not unfit and not has_errors(sink.found):
            found.append(
                BatchWork(
                    declaration.name,
                    declaration.path,
                    declaration.at,
                    tuple(work for _, work in mine),
                    batch.jobs,
                    float(batch.gap),
                    batch.start,
                )
            )
    return tuple(found), linked.loaded.certain(findings)


def _batch(linked: Linked, declaration: Declaration, sink: FindingSink) -> Batch:
    """The model of a batch; `read` has reported already what is wrong with its lines."""
    context = BodyContext(linked.known, sink, declaration.blanks)
    head = declaration.block.head_span
    model, _ = read_block(BATCH, declaration.body, head, declaration.name, "", context)
    return cast(Batch, model)


def _too_many(names: Sequence[DeclaredName]) -> Iterator[Finding]:
    if len(names) > MOST_PANELS:
        yield fw107_out_of_bounds.beyond(
            f"The batch lists {len(names)} jobs; {MOST_PANELS} are the most in one.",
            names[MOST_PANELS].span,
            "Part it into several batches.",
            value=len(names),
            limit=MOST_PANELS,
        )


def _twice(names: Sequence[DeclaredName]) -> Iterator[Finding]:
    first: dict[str, DeclaredName] = {}
    for name in names:
        earlier = first.setdefault(name, name)
        if earlier is not name:
            yield fw103_declared_twice.job(name, name.span, earlier.span)
