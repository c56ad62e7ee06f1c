"""Load: the files that were asked for, all that they use, and the point files that they name.

This is the only stage that touches the disk.  It promises never to wait (no pipe or device is opened), never to
follow a path or a link out of a project's folder, and to go on with what can be read.
"""

from __future__ import annotations

import os
import stat
from collections import deque
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import islice
from pathlib import Path

from flatwise.core.finding import Finding, Findings
from flatwise.core.fixes import MANY_WORDS, near_words
from flatwise.findings import fw001_text, fw004_file, fw106_use
from flatwise.sources.plain_file import contents
from flatwise.sources.project import Project, called, read_project, root_of, shown
from flatwise_grammar import parse
from flatwise_grammar.nodes import Block, File, Name, Span, String

SOURCE_LIMIT = 1_000_000
POINTS_LIMIT = 64_000_000


@dataclass(frozen=True)
class Source:
    """One file of text: where it is, what it says, and the files that it uses (as spans name them)."""

    path: Path
    name: str
    text: str
    tree: File
    sha256: str
    project: Project
    uses: tuple[tuple[str, Span], ...]


@dataclass(frozen=True)
class PointFile:
    """A file of points as bytes, or the finding that says why there are none."""

    path: Path | None
    data: bytes
    sha256: str
    finding: Finding | None = None


@dataclass(frozen=True)
class Loaded:
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
    #: the sources of which a used file could not be had
    partial: frozenset[str] = frozenset()

    def told(self, findings: Iterable[Finding]) -> Findings:
        """The findings that are certain: no unknown name where a used file is missing that may declare it."""
        return tuple(
            each for each in findings if each.code != "FW102" or not each.span or each.span.path not in self.partial
        )


@dataclass
class _Loader:
    working: Path
    overlay: Mapping[Path, str]
    findings: list[Finding] = field(default_factory=list)
    sources: dict[str, Source] = field(default_factory=dict)
    points: dict[Span, PointFile] = field(default_factory=dict)
    projects: dict[Path, Project] = field(default_factory=dict)
    standards: dict[Path, str] = field(default_factory=dict)
    texts: dict[str, str] = field(default_factory=dict)
    failed: set[Path] = field(default_factory=set)
    partial: set[str] = field(default_factory=set)


def load(
    paths: Sequence[Path], overlay: Mapping[Path, str] | None = None, working: Path | None = None
) -> tuple[Loaded, Findings]:
    """Read job files (or all `.flat` files below folders) with everything that they name.

    `overlay` has the text of files that an editor holds unsaved; such a file need not exist on the disk.
    `working` is the folder that paths are shown from, the working folder unless said.
    """
    loader = _Loader(
        (working or Path.cwd()).resolve(), {path.resolve(): text for path, text in (overlay or {}).items()}
    )
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
        loader.findings.append(fw004_file.not_allowed(_clipped(str(path)), None, reason))
        return
    if real in loader.overlay:
        yield real
        return
    name = shown(real, loader.working)
    problem = unreadable(real, name, None, SOURCE_LIMIT, folders=True)
    if problem is not None:
        loader.findings.append(problem)
    elif real.is_dir():
        before = len(loader.findings)
        found = sorted(_below(loader, real))
        if not found and len(loader.findings) == before:
            loader.findings.append(fw004_file.nothing_in(name))
        for file in found:
            problem = unreadable(file, shown(file, loader.working), None, SOURCE_LIMIT)
            if problem is None or file in loader.overlay:
                yield file
            else:
                loader.findings.append(problem)
    else:
        yield real


def _below(loader: _Loader, folder: Path) -> Iterator[Path]:
    """All .flat files below a folder; hidden folders and links to folders are passed over.

    Nobody named a file that is found so: a link that leads out of the project's folder is told and not followed.
    """
    root = root_of(folder, loader.working)
    for place, folders, files in os.walk(folder):
        folders[:] = sorted(name for name in folders if not name.startswith("."))
        for name in sorted(files):
            if not name.endswith(".flat"):
                continue
            path = below_root(Path(place), name, root)
            if path is not None:
                yield path
            else:
                where = shown(Path(place) / name, loader.working)
                loader.findings.append(fw004_file.outside(where, called(root), None))


def unreadable(path: Path, name: str, span: Span | None, limit: int, *, folders: bool = False) -> Finding | None:
    """Why a file cannot be read, judged without opening it; None where nothing speaks against it."""
    try:
        status = os.stat(path)
    except (FileNotFoundError, NotADirectoryError):
        near = _near(path, folders=folders)
        return fw004_file.missing(name, span, str(Path(name).with_name(near)) if near else "")
    except (OSError, ValueError) as error:
        return fw004_file.not_allowed(_clipped(name), span, getattr(error, "strerror", None) or str(error))
    if stat.S_ISDIR(status.st_mode):
        return None if folders else fw004_file.folder(name, span)
    if not stat.S_ISREG(status.st_mode):
        return fw004_file.not_regular(name, span)
    if status.st_size > limit:
        return fw004_file.too_large(name, span, status.st_size, limit)
    return None


def _clipped(name: str) -> str:
    """A name that a message can hold."""
    name = name.replace("\0", "\\0")
    return name if len(name) <= 120 else name[:60] + "…" + name[-59:]


def _near(path: Path, *, folders: bool = False) -> str:
    """The file (or folder) beside `path` that is spelt like it, or ""."""
    try:
        names = (
            entry.name
            for entry in os.scandir(path.parent)
            if entry.name.endswith(path.suffix or ".flat") or (folders and not path.suffix and entry.is_dir())
        )
        # one more than are ever compared: a folder of thousands is not read to its end for each name that is wrong
        found = near_words(path.name, islice(names, MANY_WORDS + 1))
    except OSError:
        return ""
    return found[0] if found else ""


def _source(loader: _Loader, path: Path, name: str) -> Source | None:
    """Read, parse and follow one file; its path has been found fit by whoever named it."""
    from hashlib import sha256

    text = loader.overlay.get(path)
    if text is None:
        try:
            data = contents(path, SOURCE_LIMIT)
        except OSError as error:
            loader.findings.append(fw004_file.not_allowed(name, None, error.strerror or "no reason given"))
            return None
        try:
            text = data.decode("utf-8")
        except UnicodeDecodeError as error:
            line = data[: error.start].count(b"\n") + 1
            loader.findings.append(fw004_file.not_utf8(name, None, error.start, line))
            return None
    else:
        data = text.encode("utf-8", "surrogatepass")
        if len(data) > SOURCE_LIMIT:
            loader.findings.append(fw004_file.too_large(name, None, len(data), SOURCE_LIMIT))
            return None
    loader.texts[name] = text
    tree, flaws = parse(text, name, keep=bool(loader.overlay))
    loader.findings.extend(fw001_text.flaw(flaw) for flaw in flaws)
    project = _project(loader, path.parent)
    told = len(loader.findings)
    uses = tuple(_uses(loader, path, tree, project))
    if len(loader.findings) > told:
        loader.partial.add(name)
    for block in tree.blocks:
        for each in _point_names(block):
            loader.points[each.span] = _points(path, each, project)
    source = Source(path, name, text, tree, sha256(data).hexdigest(), project, uses)
    loader.sources[name] = source
    return source


def _project(loader: _Loader, folder: Path) -> Project:
    root = root_of(folder, loader.working)
    if root not in loader.projects:
        project, findings = read_project(root, loader.working)
        loader.projects[root] = project
        loader.findings.extend(findings)
        if project.file:
            loader.texts[project.file] = project.text
    return loader.projects[root]


def followed(folder: Path, target: str) -> Path | None:
    """A path as it stands in a text of `folder`, links followed; None where they run in a circle or it is none."""
    try:
        return (folder / target).resolve()
    except (OSError, RuntimeError, ValueError):
        return None


def below_root(folder: Path, target: str, root: Path) -> Path | None:
    """As `followed`; None too where it leads out of the root."""
    path = followed(folder, target)
    return path if path is not None and path.is_relative_to(root) else None


def _uses(loader: _Loader, path: Path, tree: File, project: Project) -> Iterator[tuple[str, Span]]:
    seen: set[Path] = set()
    for use in tree.uses:
        target, span = use.target.text, use.target.span
        said = _clipped(target)
        if not target.strip() or "\0" in target:
            loader.findings.append(fw106_use.not_found(said, span, "", "can't be the name of a file"))
            continue
        used = below_root(path.parent, target, project.root)
        if used is None:
            loader.findings.append(fw106_use.outside(said, span, called(project.root)))
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
                near = _near(used)
                problem = fw106_use.not_found(said, span, str(Path(target).with_name(near)) if near else "")
            if problem is not None:
                loader.findings.append(problem)
                continue
        yield shown(used, loader.working), span


def _standard(loader: _Loader, project: Project) -> Iterator[Path]:
    """The file that the project's standard is from, once for each project."""
    if not project.standard_from or project.root in loader.standards:
        return
    span = project.spans.get("standard_from")
    loader.standards[project.root] = ""
    path = below_root(project.root, project.standard_from, project.root)
    if path is None:
        loader.findings.append(fw004_file.outside(project.standard_from, called(project.root), span))
        return
    problem = unreadable(path, project.standard_from, span, SOURCE_LIMIT)
    if problem is not None and path not in loader.overlay:
        loader.findings.append(problem)
        return
    loader.standards[project.root] = shown(path, loader.working)
    yield path


def _point_names(block: Block) -> Iterator[String]:
    """Texts that may name a file of points: of `probe` and `thickness`, and what a job gives to a recipe."""
    given = any(isinstance(item, Name) and item.text == "from" for item in block.head)
    waiting: list[tuple[Block, bool]] = [(block, given)]
    while waiting:
        inner, given = waiting.pop()
        for part in inner.body:
            if isinstance(part, Block):
                waiting.append((part, False))
            elif part.word.text in ("probe", "thickness") or (given and part.word.text != "waive"):
                yield from (item for item in part.items if isinstance(item, String))


def _points(path: Path, text: String, project: Project) -> PointFile:
    from hashlib import sha256

    target, span = text.text, text.span
    said = _clipped(target)
    if not target.strip() or "\0" in target:
        return PointFile(None, b"", "", fw004_file.missing(f'"{said}"', span))
    found = below_root(path.parent, target, project.root)
    if found is None:
        return PointFile(None, b"", "", fw004_file.outside(said, called(project.root), span))
    problem = unreadable(found, said, span, POINTS_LIMIT)
    if problem is not None:
        return PointFile(found, b"", "", problem)
    try:
        data = contents(found, POINTS_LIMIT)
    except OSError as error:
        return PointFile(found, b"", "", fw004_file.not_allowed(said, span, error.strerror or "no reason given"))
    return PointFile(found, data, sha256(data).hexdigest())
