"""What the compiler says of one file with everything that it uses, as the editor holds it at one moment.

This is what `flatwise check` does, in steps, so that work for a text that has changed again can stop between them.
Runs in a worker; nothing here knows the protocol.
"""

from __future__ import annotations

import os
from bisect import bisect_left
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from itertools import islice
from pathlib import Path

from flatwise.core.finding import Finding, Findings
from flatwise.language.link import Declaration, Linked, link
from flatwise.model.built import Waived
from flatwise.model.stages import Plan, Work
from flatwise.sources.load import below_root, followed, load
from flatwise.sources.project import shown
from flatwise_lsp.workspace.documents import Snapshot

Stale = Callable[[], bool]

#: files below a folder that are read, and folders that are looked into for them
MOST_FILES = 2000
MOST_FOLDERS = 5000


@dataclass(frozen=True)
class Meaning:
    """The sources as linked: who declares what, and what each file can see."""

    linked: Linked
    findings: Findings
    working: Path

    def file(self, name: str) -> Path:
        """The file that spans call `name`."""
        source = self.linked.loaded.sources.get(name)
        return source.path if source is not None else (self.working / name).resolve()

    def name(self, path: Path) -> str:
        """What spans call a file."""
        return shown(path, self.working)


@dataclass(frozen=True)
class Outcome:
    """One job as far as it could be worked out."""

    work: Work
    plan: Plan | None
    waived: tuple[Waived, ...]


@dataclass(frozen=True)
class Analysis:
    """Everything that is to be said about one file.

    `entry` is the file, `number` the snapshot it was made from, `texts` what its spans count in.  The first half has
    no `late` and no `outcomes`, which come from working the jobs out.
    """

    entry: Path
    number: int
    meaning: Meaning
    findings: Findings
    texts: Mapping[Path, str]
    #: the findings of the second half alone
    late: Findings = ()
    outcomes: Mapping[str, Outcome] = field(default_factory=dict)

    @cached_property
    def touches(self) -> set[Path]:
        """The files that it read or looked for: a change of one of them is a change of this."""
        loaded = self.meaning.linked.loaded
        points = {file.path for file in loaded.points.values() if file.path is not None}
        used = {
            followed(source.path.parent, use.target.text)
            for source in loaded.sources.values()
            for use in source.tree.uses
        }
        return set(self.texts) | points | {path for path in used if path is not None}

    def by_file(self) -> dict[Path, list[Finding]]:
        """The findings by the file that they stand in; those without a place stand in the entry."""
        found: dict[Path, list[Finding]] = {self.entry: []}
        for finding in self.findings:
            path = self.meaning.file(finding.span.path) if finding.span is not None else self.entry
            found.setdefault(path, []).append(finding)
        return found


def meaning_of(paths: list[Path], snapshot: Snapshot, working: Path) -> Meaning:
    """Load and link files (or folders of them)."""
    loaded, load_findings = load(paths, snapshot.overlay, working)
    linked, link_findings = link(loaded)
    return Meaning(linked, load_findings + link_findings, working)


def files_below(root: Path) -> list[Path]:
    """The job files below a folder, hidden folders and the usual heaps left out.

    At most MOST_FILES, and of the first MOST_FOLDERS folders: an editor that knows no project may name a whole home.
    """
    found: list[Path] = []
    for place, folders, files in islice(os.walk(root), MOST_FOLDERS):
        folders[:] = sorted(name for name in folders if not name.startswith(".") and name != "node_modules")
        # a link that leads out of the folder is not followed: nobody named it
        inside = (below_root(Path(place), name, root) for name in sorted(files) if name.endswith(".flat"))
        found.extend(path for path in inside if path is not None)
        if len(found) >= MOST_FILES:
            break
    return found[:MOST_FILES]


class Clean:
    """The texts of declarations that were read before and found sound, so that an edit does not read them anew.

    Only of kinds that name no other declaration and start from none: what is said of those hangs on their own text.
    Only where no job is in the file, since a job needs the models.
    """

    MOST = 5000

    def __init__(self) -> None:
        self._sound: set[str] = set()

    def rest(self, linked: Linked) -> Linked:
        """What has to be read."""
        if not self._sound or any(declaration.kind in ("job", "recipe") for declaration in linked.declarations):
            return linked
        left = tuple(one for one in linked.declarations if not _alone(one) or _text(linked, one) not in self._sound)
        return replace(linked, declarations=left)

    def note(self, linked: Linked, findings: Findings) -> None:
        """Remember what was read without a finding."""
        marked = sorted((one.span.path, one.span.start) for one in findings if one.span is not None)
        if len(self._sound) > self.MOST:
            self._sound.clear()
        for declaration in linked.declarations:
            span = declaration.block.span
            at = bisect_left(marked, (span.path, span.start))
            found = at < len(marked) and marked[at] <= (span.path, span.end)
            if _alone(declaration) and not found:
                self._sound.add(_text(linked, declaration))


def _alone(declaration: Declaration) -> bool:
    return len(declaration.block.head) == 2 and declaration.kind not in ("job", "recipe")


def _text(linked: Linked, declaration: Declaration) -> str:
    span = declaration.block.span
    return linked.loaded.texts[span.path][span.start : span.end]


def analyse(
    path: Path, snapshot: Snapshot, stale: Stale, half: Callable[[Analysis], None], clean: Clean | None = None
) -> Analysis | None:
    """Check one file.  `half` is told what the text means before the jobs are worked out.

    None when `stale` said, between two stages, that nobody waits for it any more.
    """
    from flatwise.language.read import read
    from flatwise.pipeline import work_out

    meaning = meaning_of([path], snapshot, snapshot.working(path))
    if stale():
        return None
    clean = clean or Clean()
    due = clean.rest(meaning.linked)
    works, read_findings = read(due)
    clean.note(due, meaning.findings + read_findings)
    findings = meaning.findings + read_findings
    texts = {meaning.file(name): text for name, text in meaning.linked.loaded.texts.items()}
    if stale():
        return None
    if not works:
        return Analysis(path, snapshot.number, meaning, findings, texts)
    half(Analysis(path, snapshot.number, meaning, findings, texts))
    outcomes: dict[str, Outcome] = {}
    late: Findings = ()
    for work in works:
        plan, more, waived = work_out(work)
        if stale():
            return None
        outcomes[work.name] = Outcome(work, plan, waived)
        late += more
    return Analysis(path, snapshot.number, meaning, findings + late, texts, late, outcomes)
