"""The models of a job made one Work: names resolved, rules merged, holders placed, files of points parsed."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Literal, NamedTuple, TypeVar, cast

from flatwise.core.finding import Finding
from flatwise.core.surface import Array
from flatwise.findings import fw004_file, fw102_unknown_name
from flatwise.language.block_reader import FindingSink
from flatwise.language.consistency import check_corners, check_digits
from flatwise.language.link import Declaration, Linked
from flatwise.model import woods
from flatwise.model.job import HeldClamp, HeldDog, Job, ReadingFile
from flatwise.model.shop import Clamp, Cutter, Dog, Gauge, Machine, Shims, Wood
from flatwise.model.shop_rules import Rules, bounded, rules_of
from flatwise.model.stages import Holder, Work
from flatwise.model.standard import Standard
from flatwise.model.words import DeclaredName, EdgePosition, ModelBlock, QuotedText
from flatwise.sources.point_file import read_points
from flatwise_grammar.nodes import Span

M = TypeVar("M", bound=ModelBlock)
Edge = Literal["left", "right", "front", "back"]

#: the direction in which a holder on each edge pushes
INWARD: dict[str, tuple[float, float]] = {
    "left": (1.0, 0.0),
    "right": (-1.0, 0.0),
    "front": (0.0, 1.0),
    "back": (0.0, -1.0),
}


class Models(NamedTuple):
    """The models of all declarations except jobs, by the span of their name; None where one is not sound."""

    linked: Linked
    by_name: Mapping[Span, ModelBlock | None]

    def find(self, made: type[M], name: DeclaredName) -> M | None:
        """The model that a name means in the file where it is written, None where it is missing or not sound."""
        declaration = self.linked.find(made.kind, str(name), name.span.path)
        if declaration is None:
            return cast("M | None", woods.built_in(str(name))) if made.kind == "wood" else None
        return cast("M | None", self.by_name[declaration.at])


def work_of(declaration: Declaration, job: Job, models: Models, sink: FindingSink) -> Work | None:
    """The work of a job, or None where a part of it is not sound, which the findings explain."""
    machine = models.find(Machine, job.machine)
    cutter = models.find(Cutter, job.cut.cutter)
    wood = models.find(Wood, job.stock.wood)
    rules = _rules(job, declaration, models, sink)
    sets = {str(under.set): models.find(Shims, under.set) for under in (job.supports.shims if job.supports else ())}
    walk = job.survey.walk if job.survey is not None else None
    gauge = models.find(Gauge, walk.gauge) if walk is not None else None
    holders = tuple(_holders(job, models))
    points, read = _points(job, models.linked, sink)
    if machine is None or cutter is None or wood is None or rules is None or not read:
        return None
    if walk is not None and gauge is None:
        return None
    if any(holder is None for holder in holders) or any(leaves is None for leaves in sets.values()):
        return None
    unfit = [*check_digits(job, machine, cutter, rules), *check_corners(machine, cutter)]
    for finding in unfit:
        sink.add(finding, declaration.name)
    if unfit:
        return None
    return Work(
        name=declaration.name,
        path=declaration.path,
        span=declaration.at,
        job=job,
        machine=machine,
        cutter=cutter,
        wood=wood,
        rules=rules,
        holders=tuple(holder for holder in holders if holder is not None),
        sets={name: leaves for name, leaves in sets.items() if leaves is not None},
        points=points,
        waivers={waive.rule: waive for waive in job.waive},
        sources=_sources(declaration, models.linked, points),
        gauge=gauge,
    )


def _rules(job: Job, declaration: Declaration, models: Models, sink: FindingSink) -> Rules | None:
    """The rules of a job's standard and of its project's, or None where one of them is missing."""
    required, found = _required(declaration, models, sink)
    own = models.find(Standard, job.standard) if job.standard is not None else required
    if not found or (job.standard is not None and own is None):
        return None
    rules = rules_of(own)
    return rules if required is None or required is own else bounded(rules, rules_of(required))


def _required(declaration: Declaration, models: Models, sink: FindingSink) -> tuple[Standard | None, bool]:
    """The standard that the job's project requires, if any, and whether it could be found."""
    linked = models.linked
    project = linked.loaded.sources[declaration.path].project
    if not project.standard:
        return None, True
    path = linked.loaded.standards.get(project.root, declaration.path)
    if not path:
        return None, False
    span = project.spans.get("standard", declaration.at)
    found = linked.find("standard", project.standard, path)
    if found is None:
        sink.add(fw102_unknown_name.of_project(project.standard, span, path))
        return None, False
    model = models.by_name[found.at]
    return cast(Standard, model), model is not None


def _holders(job: Job, models: Models) -> Iterator[Holder | None]:
    """Every dog and clamp in its place, None for one whose declaration is not sound."""
    if job.hold is None:
        return
    holders: tuple[HeldDog | HeldClamp, ...] = (*job.hold.dog, *job.hold.clamp)
    for held in holders:
        model = models.find(Dog, held.kind) if isinstance(held, HeldDog) else models.find(Clamp, held.kind)
        for at in held.at:
            yield _holder(job, held.edge, at, model) if model else None


def _box(
    job: Job, edge: Edge, at: EdgePosition, along: float, outward: float
) -> tuple[float, float, float, float, float]:
    """The position along the edge, and the box x0 y0 x1 y1 of what touches the edge from outside, mm."""
    length, width = float(job.stock.size.length), float(job.stock.size.width)
    middle = at.on(width if edge in ("left", "right") else length)
    low, high = middle - along / 2.0, middle + along / 2.0
    if edge == "left":
        return middle, -outward, low, 0.0, high
    if edge == "right":
        return middle, length, low, length + outward, high
    if edge == "front":
        return middle, low, -outward, high, 0.0
    return middle, low, width, high, width + outward


def _holder(job: Job, edge: Edge, at: EdgePosition, model: Dog | Clamp) -> Holder:
    """A dog or clamp in its place."""
    kind: Literal["dog", "clamp"]
    if isinstance(model, Dog):
        kind, wide, deep, force, push_height = "dog", model.across, model.across, 0.0, float(model.height) / 2.0
    else:
        kind, wide, deep = "clamp", model.foot.along, model.foot.outward
        force, push_height = float(model.force), model.push_height
    along, x0, y0, x1, y1 = _box(job, edge, at, float(wide), float(deep))
    height, pushes = float(model.height), INWARD[edge]
    return Holder(kind, model.name, edge, along, str(at), x0, y0, x1, y1, height, pushes, force, push_height, at.span)


def files_of(job: Job) -> Iterator[tuple[QuotedText, str]]:
    """The files of points that a job names, each with the name of its third column."""
    for block in (job.survey, job.after_first, job.after_second):
        for reading in block.thickness if block is not None else ():
            if isinstance(reading, ReadingFile):
                yield reading.file, "t"
    for probe in job.survey.probe if job.survey is not None else ():
        yield probe.file, "z"


def missing_files(job: Job, linked: Linked) -> Iterator[Finding]:
    """FW004 for the files of points that could not be loaded."""
    for text, _ in files_of(job):
        file = linked.loaded.points.get(text.span)
        if file is None:
            yield fw004_file.missing(f'"{text}"', text.span)
        elif file.finding is not None:
            yield file.finding


def _points(job: Job, linked: Linked, sink: FindingSink) -> tuple[dict[Span, Array], bool]:
    done: dict[Span, Array] = {}
    sound = True
    for text, height in files_of(job):
        file = linked.loaded.points.get(text.span)
        if file is None or file.finding is not None:
            sound = False
            continue
        length, width = float(job.stock.size.length), float(job.stock.size.width)
        points, findings = read_points(file.data, str(text), text.span, length, width, height, file.name)
        for finding in findings:
            sink.add(finding, finding.message)
        sound = sound and points is not None
        if points is not None:
            done[text.span] = points
    return done, sound


def _sources(declaration: Declaration, linked: Linked, points: Mapping[Span, Array]) -> tuple[tuple[str, str], ...]:
    """(path from the root, sha256) of the job's file, all that it uses, and its files of points."""
    loaded = linked.loaded
    own = loaded.sources[declaration.path]
    root = own.project.root
    reached = {own.name}
    waiting = [own.name]
    standard = loaded.standards.get(root) if own.project.standard else None
    if standard and standard in loaded.sources:
        waiting.append(standard)
        reached.add(standard)
    while waiting:
        for used, _ in loaded.sources[waiting.pop()].uses:
            if used in loaded.sources and used not in reached:
                reached.add(used)
                waiting.append(used)
    entries = {
        (_relative(loaded.sources[name].path, root), loaded.sources[name].sha256) for name in reached - {own.name}
    }
    for span in points:
        file = loaded.points[span]
        if file.path is not None:
            entries.add((_relative(file.path, root), file.sha256))
    return ((_relative(own.path, root), own.sha256), *sorted(entries))


def _relative(path: Path, root: Path) -> str:
    return path.relative_to(root).as_posix() if path.is_relative_to(root) else path.as_posix()
