"""Load: the files that were asked for, the files that they use, and the files of points that they name.

Loading never waits (no pipe or device is opened), never follows a path or a link out of a project's folder, and goes
on with what it can read.
"""

from __future__ import annotations

import os
from collections import deque
from collections.abc import Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import NamedTuple

from flatwise.core.finding import Finding, Findings
from flatwise.findings import fw001_text, fw004_file, fw106_use
from flatwise.sources.paths import (
    POINTS_LIMIT,
    SOURCE_LIMIT,
    below_root,
    folders_below,
    followed,
    near_file,
    root_name,
    shortened,
    shown,
    unreadable,
)
from flatwise.sources.plain_file import read_plain_file
from flatwise.sources.project import Project, read_project, root_of
from flatwise_grammar import parse
from flatwise_grammar.nodes import Block, File, Name, Span, String, in_open_block


class Source(NamedTuple):
    """One file of text: where it is, what it says, and the files that it uses (as spans name them)."""

    path: Path
    name: str
    text: str
    tree: File
    sha256: str
    project: Project
    uses: tuple[tuple[str, Span], ...]


class PointFile(NamedTuple):
    """A file of points as bytes, or the finding that says why it cannot be read; `name` is what spans call it."""

    path: Path | None
    name: str
    data: bytes
    sha256: str
    finding: Finding | None = None


class Loaded(NamedTuple):
    """Everything that was read.

    `sources` by the path that spans carry, in the order of reading; `asked` are those named on the command line;
    `points` by the span of the text that names them; `standards` the source that a project's standard_from names,
    by root.
    """

    sources: Mapping[str, Source]
    asked: tuple[str, ...]
    points: Mapping[Span, PointFile]
    standards: Mapping[Path, str]
    texts: Mapping[str, str]
    #: the sources that use a file which could not be read
    partial: frozenset[str] = frozenset()

    @property
    def files(self) -> set[Path]:
        """The files that were read or looked for: a change in one of them changes what is read."""
        found = {file.path for file in self.points.values()}
        for source in self.sources.values():
            project = source.project
            settings = {"flatwise.toml", "pyproject.toml", project.standard_from or "flatwise.toml"}
            found |= {source.path, *(followed(project.root, name) for name in settings)}
            found |= {followed(source.path.parent, use.target.text) for use in source.tree.uses}
        return {path for path in found if path is not None}

    def certain(self, findings: Iterable[Finding]) -> Findings:
        """The findings without what more text may mend: unknown names that a file which could not be read may declare,
        and words that are missing from a block which is not closed.
        """
        return tuple(each for each in findings if each.span is None or not self._may_mend(each.code, each.span))

    def _may_mend(self, code: str, span: Span) -> bool:
        if code == "FW102":
            return span.path in self.partial
        return code == "FW105" and in_open_block(self.sources[span.path].tree, span.start)


class _Loader:
    def __init__(self, working: Path, overlay: Mapping[Path, str], follow: bool) -> None:
        self.working, self.overlay, self.follow = working, overlay, follow
        self.findings: list[Finding] = []
        self.sources: dict[str, Source] = {}
        self.points: dict[Span, PointFile] = {}
        self.projects: dict[Path, Project] = {}
        self.standards: dict[Path, str] = {}
        self.texts: dict[str, str] = {}
        self.failed: set[Path] = set()
        self.partial: set[str] = set()


def load(
    paths: Sequence[Path],
    overlay: Mapping[Path, str] | None = None,
    working: Path | None = None,
    *,
    follow: bool = True,
) -> tuple[Loaded, Findings]:
    """Read job files (or all `.flat` files below folders) with everything that they name.

    `overlay` has the text of files that an editor holds unsaved; such a file need not exist on the disk.
    `working` is the folder that paths are shown from, by default the working folder.  Without `follow` only the files
    that were asked for are read: no file that they name, and no project file.
    """
    unsaved = {path.resolve(): text for path, text in (overlay or {}).items()}
    loader = _Loader((working or Path.cwd()).resolve(), unsaved, follow)
    asked: list[str] = []
    queue = deque(each for path in paths for each in _asked(loader, path))
    wanted = set(queue)
    while queue:
        path = queue.popleft()
        name = shown(path, loader.working)
        if name in loader.sources or path in loader.failed:
            continue
        source = _source(loader, path, name)
        if source is None:
            loader.failed.add(path)
            continue
        if path in wanted:
            asked.append(name)
        queue.extend(loader.working / used for used, _ in source.uses)
        queue.extend(_standard(loader, source.project))
    partial = {name for name, source in loader.sources.items() if any(u not in loader.sources for u, _ in source.uses)}
    loaded = Loaded(
        loader.sources,
        tuple(asked),
        loader.points,
        loader.standards,
        loader.texts,
        frozenset(partial | loader.partial),
    )
    return loaded, tuple(loader.findings)


def _asked(loader: _Loader, path: Path) -> Iterator[Path]:
    """The files that a PATH argument means."""
    try:
        real = path.resolve()
    except (OSError, RuntimeError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        loader.findings.append(fw004_file.not_allowed(shortened(str(path)), None, reason))
        return
    if real in loader.overlay:
        yield real
        return
    name = shown(real, loader.working)
    problem = unreadable(real, name, None, SOURCE_LIMIT, folders=True)
    if problem is not None:
        loader.findings.append(problem)
    elif real.is_dir():
        yield from _readable_below(loader, real, name)
    else:
        yield real


def _readable_below(loader: _Loader, folder: Path, name: str) -> Iterator[Path]:
    """The job files below a folder that can be read; findings for the others, and for a folder without any."""
    before = len(loader.findings)
    found = sorted(_below(loader, folder))
    if not found and len(loader.findings) == before:
        loader.findings.append(fw004_file.nothing_in(name))
    for file in found:
        problem = unreadable(file, shown(file, loader.working), None, SOURCE_LIMIT)
        if problem is None or file in loader.overlay:
            yield file
        else:
            loader.findings.append(problem)


def _below(loader: _Loader, folder: Path) -> Iterator[Path]:
    """All .flat files below a folder, except in hidden folders and behind links to folders.

    Nobody named these files, so a link that leads out of the project's folder is reported and not followed.
    """
    root = root_of(folder, loader.working)
    for place, files in folders_below(folder):
        for name in files:
            if not name.endswith(".flat"):
                continue
            path = below_root(place, name, root)
            if path is not None:
                yield path
            else:
                where = shown(place / name, loader.working)
                loader.findings.append(fw004_file.outside(where, root_name(root), None))


def _source(loader: _Loader, path: Path, name: str) -> Source | None:
    """One file, read and parsed, with what it names where the loader follows that; None where it cannot be read."""
    from hashlib import sha256

    read = _text(loader, path, name)
    if read is None:
        return None
    text, data = read
    loader.texts[name] = text
    tree, flaws = parse(text, name, keep=bool(loader.overlay))
    loader.findings.extend(fw001_text.flaw(flaw) for flaw in flaws)
    uses: tuple[tuple[str, Span], ...] = ()
    if loader.follow:
        project = _project(loader, path.parent)
        before = len(loader.findings)
        uses = tuple(_uses(loader, path, tree, project))
        if len(loader.findings) > before:
            loader.partial.add(name)
        for text_node in (each for block in tree.blocks for each in _point_file_names(block)):
            loader.points[text_node.span] = _points(loader, path, text_node, project)
    else:
        project = Project(root_of(path.parent, loader.working))
    source = Source(path, name, text, tree, sha256(data).hexdigest(), project, uses)
    loader.sources[name] = source
    return source


def _text(loader: _Loader, path: Path, name: str) -> tuple[str, bytes] | None:
    """The text of a file and its bytes, or None and a finding; `unreadable` has found nothing against its path."""
    text = loader.overlay.get(path)
    if text is not None:
        data = text.encode("utf-8", "surrogatepass")
        if len(data) <= SOURCE_LIMIT:
            return text, data
        loader.findings.append(fw004_file.too_large(name, None, len(data), SOURCE_LIMIT))
        return None
    try:
        data = read_plain_file(path, SOURCE_LIMIT)
        return data.decode("utf-8"), data
    except OSError as error:
        loader.findings.append(fw004_file.not_allowed(name, None, error.strerror or "no reason given"))
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        loader.findings.append(fw004_file.not_utf8(name, None, error.start, line))
    return None


def _project(loader: _Loader, folder: Path) -> Project:
    root = root_of(folder, loader.working)
    if root not in loader.projects:
        project, findings = read_project(root, loader.working)
        loader.projects[root] = project
        loader.findings.extend(findings)
        if project.file:
            loader.texts[project.file] = project.text
    return loader.projects[root]


def _uses(loader: _Loader, path: Path, tree: File, project: Project) -> Iterator[tuple[str, Span]]:
    """The files that a file uses, each once; findings for those that cannot be read."""
    seen: set[Path] = set()
    for use in tree.uses:
        target, span = use.target.text, use.target.span
        said = shortened(target)
        if not target.strip() or "\0" in target:
            loader.findings.append(fw106_use.not_found(said, span, "", "can't be the name of a file"))
            continue
        used = below_root(path.parent, target, project.root)
        if used is None:
            loader.findings.append(fw106_use.outside(said, span, root_name(project.root)))
            continue
        if used == path:
            loader.findings.append(fw106_use.itself(said, span))
            continue
        if used in seen:
            continue
        seen.add(used)
        if used not in loader.overlay:
            problem = unreadable(used, said, span, SOURCE_LIMIT)
            if problem is not None and not os.path.exists(used):
                near = near_file(used)
                problem = fw106_use.not_found(said, span, str(Path(target).with_name(near)) if near else "")
            if problem is not None:
                loader.findings.append(problem)
                continue
        yield shown(used, loader.working), span


def _standard(loader: _Loader, project: Project) -> Iterator[Path]:
    """The file that declares the project's standard, once for each project."""
    if not project.standard_from or project.root in loader.standards:
        return
    span = project.spans.get("standard_from")
    loader.standards[project.root] = ""
    path = below_root(project.root, project.standard_from, project.root)
    if path is None:
        loader.findings.append(fw004_file.outside(project.standard_from, root_name(project.root), span))
        return
    problem = unreadable(path, project.standard_from, span, SOURCE_LIMIT)
    if problem is not None and path not in loader.overlay:
        loader.findings.append(problem)
        return
    loader.standards[project.root] = shown(path, loader.working)
    yield path


def _point_file_names(block: Block) -> Iterator[String]:
    """Texts that may name a file of points: on lines that take one, and among the parameters of a recipe."""
    from flatwise.model.job import Job
    from flatwise.model.kinds import FROM, point_file_words

    names_file = point_file_words()
    from_recipe = any(isinstance(item, Name) and item.text == FROM for item in block.head)
    waiting: list[tuple[Block, bool]] = [(block, from_recipe)]
    while waiting:
        inner, parameters = waiting.pop()
        for part in inner.body:
            if isinstance(part, Block):
                waiting.append((part, False))
            elif part.word.text in names_file or (parameters and part.word.text not in Job.model_fields):
                yield from (item for item in part.items if isinstance(item, String))


def _points(loader: _Loader, path: Path, text: String, project: Project) -> PointFile:
    """The file of points that a text in the file `path` names."""
    from hashlib import sha256

    from flatwise.sources.point_file import head

    target, span = text.text, text.span
    said = shortened(target)
    if not target.strip() or "\0" in target:
        return PointFile(None, "", b"", "", fw004_file.missing(f'"{said}"', span))
    found = below_root(path.parent, target, project.root)
    if found is None:
        return PointFile(None, "", b"", "", fw004_file.outside(said, root_name(project.root), span))
    name = shown(found, loader.working)
    problem = unreadable(found, said, span, POINTS_LIMIT)
    if problem is not None:
        return PointFile(found, name, b"", "", problem)
    try:
        data = read_plain_file(found, POINTS_LIMIT)
    except OSError as error:
        return PointFile(found, name, b"", "", fw004_file.not_allowed(said, span, error.strerror or "no reason given"))
    loader.texts.setdefault(name, head(data))
    return PointFile(found, name, data, sha256(data).hexdigest())
