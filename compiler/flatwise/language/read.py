"""Read: the tree against the model of words, and from there the works, each with everything that it names."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from flatwise.core.finding import Findings
from flatwise.language import consistency
from flatwise.language.block import BodyContext, FindingSink, read_block
from flatwise.language.link import Declaration, Linked
from flatwise.language.packed import Packed
from flatwise.language.works import Models, missing_files, work_of
from flatwise.model import woods
from flatwise.model.job import Job
from flatwise.model.kinds import KINDS
from flatwise.model.stages import Work
from flatwise.model.words import ModelBlock
from flatwise_grammar.nodes import Block


def read(linked: Linked) -> tuple[Sequence[Work], Findings]:
    """The works of the files that were asked for, and what is wrong in anything that was loaded.

    A job of which any part is not sound is left out.
    """
    sink = FindingSink()
    works = Packed(_works(linked, sink))
    return works, linked.loaded.told(sink.found)


def _works(linked: Linked, sink: FindingSink) -> Iterator[Work]:
    """Each work whose parts are all sound: once all that is no job is read, each job is, and let go of, in its turn."""
    models = Models(linked, {each.at: _model(linked, each, sink) for each in linked.declarations if each.kind != "job"})
    jobs: dict[str, list[Declaration]] = {}
    for declaration in linked.declarations:
        if declaration.kind == "job":
            jobs.setdefault(declaration.path, []).append(declaration)
    asked, names = set(linked.loaded.asked), set()
    # what a job uses may be a job file that nobody asked for: it is read for what is wrong with it
    for path in dict.fromkeys((*linked.loaded.asked, *jobs)):
        for declaration in jobs.get(path, ()):
            job = _model(linked, declaration, sink)
            if not isinstance(job, Job) or path not in asked:
                continue
            work = work_of(declaration, job, models, sink)
            if work is not None and work.name not in names:
                names.add(work.name)
                yield work


def _model(linked: Linked, declaration: Declaration, sink: FindingSink) -> ModelBlock | None:
    """The model of a declaration, or None where it is not sound."""
    kind = declaration.kind
    base = None
    if kind == "wood":
        built_in = woods.built_in(declaration.built_in)
        if built_in is not None:
            base = {name: getattr(built_in, name) for name in type(built_in).model_fields}
    reading = BodyContext(
        linked.known, sink, declaration.blanks, whole=kind != "recipe" and "*" not in declaration.blanks
    )
    owner = f"{kind} `{declaration.name}`"
    body = declaration.body
    if kind == "recipe":
        body = tuple(part for part in body if isinstance(part, Block) or part.word.text != "takes")
    model, sound = read_block(KINDS[kind], body, declaration.block.head_span, declaration.name, owner, reading, base)
    for finding in missing_files(model, linked) if isinstance(model, Job) else ():
        sink.add(finding)
        sound = False
    if declaration.blanks or kind == "recipe":
        return None
    for finding in consistency.judge(model):
        sink.add(finding, finding.message)
        sound = sound and finding.severity != "error"
    return model if sound else None
