"""Read: the tree against the model of words, and one `Work` for each job, with everything that it names."""

from __future__ import annotations

from collections.abc import Iterator

from flatwise.core.finding import Findings
from flatwise.language.batches import batch_corners, ways_to_a_place
from flatwise.language.block_reader import BodyContext, FindingSink, read_block
from flatwise.language.consistency import check_declaration
from flatwise.language.link import Declaration, Linked
from flatwise.language.works import Models, missing_files, work_of
from flatwise.model import woods
from flatwise.model.job import Corner, Job
from flatwise.model.kinds import KINDS, TAKES
from flatwise.model.stages import Work
from flatwise.model.words import ModelBlock
from flatwise_grammar.nodes import Block


def read(linked: Linked) -> tuple[tuple[Work, ...], Findings]:
    """The works of the files that were asked for, and the findings of everything that was loaded.

    A job of which any part is not sound is left out.
    """
    sink = FindingSink()
    works = tuple(_works(linked, sink))
    return works, linked.loaded.certain(sink.found)


def _works(linked: Linked, sink: FindingSink) -> Iterator[Work]:
    models = Models(linked, {each.at: _model(linked, each, sink) for each in linked.declarations if each.kind != "job"})
    jobs: dict[str, list[Declaration]] = {}
    for declaration in linked.declarations:
        if declaration.kind == "job" and declaration.at not in linked.too_many:
            jobs.setdefault(declaration.path, []).append(declaration)
    corners, ways = dict(batch_corners(linked, models)), ways_to_a_place(linked, models)
    asked, names = set(linked.loaded.asked), set()
    # a job may use a job file that nobody asked for: its findings count, its jobs are not built
    for path in dict.fromkeys((*linked.loaded.asked, *jobs)):
        for declaration in jobs.get(path, ()):
            job = _model(linked, declaration, sink, corners.get(declaration.at), ways.get(declaration.at))
            if not isinstance(job, Job) or (path not in asked and declaration.at not in corners):
                continue
            work = work_of(declaration, job, models, sink)
            if work is not None and work.name not in names:
                names.add(work.name)
                yield work


def _model(
    linked: Linked, declaration: Declaration, sink: FindingSink, corner: Corner | None = None, way: str | None = None
) -> ModelBlock | None:
    """The model of a declaration, or None where it is not sound.

    `corner` is where a job lies that names no place, `way` how else it may get one.
    """
    kind, recipe = declaration.kind, declaration.kind == "recipe"
    whole = not recipe and "*" not in declaration.blanks
    implied = {"zero": {"corner": corner}} if corner is not None else {}
    otherwise = {"zero": {"corner": way}} if way is not None else {}
    context = BodyContext(linked.known, sink, declaration.blanks, whole, implied, otherwise)
    built_in = woods.built_in(declaration.built_in)
    body = declaration.body
    if recipe:
        body = tuple(part for part in body if isinstance(part, Block) or part.word.text != TAKES)
    model, sound = read_block(
        KINDS[kind],
        body,
        declaration.block.head_span,
        declaration.name,
        f"{kind} `{declaration.name}`",
        context,
        dict(built_in) if built_in is not None else {},
    )
    for finding in missing_files(model, linked) if isinstance(model, Job) else ():
        sink.add(finding)
        sound = False
    if declaration.blanks or recipe:
        return None
    for finding in check_declaration(model):
        sink.add(finding, finding.message)
        sound = sound and finding.severity != "error"
    return model if sound else None
