"""The jobs and batches of one file, and what their results depend on."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping

from flatwise.language.link import Linked
from flatwise_grammar.nodes import Block, Name
from flatwise_lsp.workspace.tree_search import base_of


class FileJobs:
    """The jobs and batches of one file, and what their results depend on.

    The result of a job depends on the text of its own block, on the files of points that this names, and on
    `context`: the rest of its file except other jobs and batches, the other files, and the settings of the project.
    The results of a batch and of its jobs depend on each other's blocks.
    """

    def __init__(self, linked: Linked, name: str) -> None:
        loaded, source = linked.loaded, linked.loaded.sources[name]
        self._source, self._points = source, loaded.points
        mine = (one for one in linked.declarations if one.kind in ("job", "batch") and one.path == name)
        jobs = [one for one in mine if one.at not in linked.too_many]
        counts = Counter(one.name for one in jobs)
        # other jobs depend on a job that they start from, as on any other declaration
        bases = {base[1].text for one in jobs if (base := base_of(one.block)) is not None}
        self.alone = {one.name: one.block for one in jobs if counts[one.name] == 1 and one.name not in bases}
        own = {block.span for block in self.alone.values()}
        #: the blocks on which a job or batch depends, its own among them, by its name
        self.blocks = {
            one: {each: self.alone[each] for each in names}
            for one, names in _together(self.alone).items()
            if all(each in self.alone for each in names)
        }
        self._shared = [block for block in source.tree.blocks if block.span not in own]
        self.context = (
            [self._text(block) for block in self._shared],
            [self._hashes(block) for block in self._shared],
            [used for used, _ in source.uses],
            [(one.name, one.text, one.project) for one in loaded.sources.values() if one is not source],
            [file.sha256 for span, file in loaded.points.items() if span.path != name],
            source.project,
            loaded.standards,
        )

    def own(self, blocks: Iterable[Block]) -> list[tuple[str, list[str]]]:
        """What the result of one job or batch depends on besides the context."""
        return [(self._text(block), self._hashes(block)) for block in blocks]

    def starts(self, blocks: Iterable[Block]) -> list[int]:
        """Where some jobs and the declarations of the file begin."""
        return [one.span.start for one in (*blocks, *self._shared)]

    def _text(self, block: Block) -> str:
        return self._source.text[block.span.start : block.span.end]

    def _hashes(self, block: Block) -> list[str]:
        """The hashes of the files of points that a block names."""
        start, end = block.span.start, block.span.end
        path = block.span.path
        return [file.sha256 for at, file in self._points.items() if at.path == path and start <= at.start < end]


def _together(blocks: Mapping[str, Block]) -> dict[str, list[str]]:
    """The jobs and batches on which each one depends, itself among them: what a batch lists belongs together."""
    groups = {name: {name} for name in blocks}
    for name, block in blocks.items():
        if block.kind == "batch":
            lines = (line for line in block.fields if line.word.text == "jobs")
            listed = [one.text for line in lines for one in line.items if isinstance(one, Name)]
            joined = set[str]().union(*(groups.get(one, {one}) for one in (name, *listed)))
            groups.update(dict.fromkeys(joined, joined))
    return {name: sorted(groups[name]) for name in blocks}
