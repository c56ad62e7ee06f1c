"""What a feature sees: one document at one moment, its meaning, and the result of its last check.

A feature is a function of a `View` and an offset.  It returns plain data with spans; the server converts these to
the protocol.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path

from flatwise.language.link import Declaration
from flatwise.sources.paths import SOURCE_LIMIT
from flatwise.sources.project import root_of
from flatwise_grammar import parse
from flatwise_grammar.nodes import Block, File
from flatwise_lsp.workspace.analysis import Analysis, Meaning
from flatwise_lsp.workspace.document_text import DocumentText
from flatwise_lsp.workspace.earlier_results import BatchOutcome, JobOutcome
from flatwise_lsp.workspace.tree_search import owner_of


@dataclass(frozen=True)
class View:
    """A document as it is now.

    `meaning` is that of this document and the files it uses, `everything` that of all files of the workspace; both
    are computed when first needed.  `analysis` is the last whole check, if it read this very text.  `versions` are
    those of the open documents, which may change before an answer with edits is sent.
    """

    path: Path
    text: DocumentText
    load_meaning: Callable[[], Meaning]
    load_everything: Callable[[], Meaning]
    analysis: Analysis | None
    versions: Mapping[Path, int] = field(default_factory=dict)

    @cached_property
    def meaning(self) -> Meaning:
        return self.load_meaning()

    @cached_property
    def everything(self) -> Meaning:
        return self.load_everything()

    @cached_property
    def name(self) -> str:
        """The name of this document in spans."""
        return self.meaning.name(self.path)

    @cached_property
    def tree(self) -> File:
        source = self.meaning.linked.loaded.sources.get(self.name)
        if source is not None:
            return source.tree
        # a text over the limit is not parsed, so it shows nothing
        return parse(self.text.text if len(self.text.text) <= SOURCE_LIMIT else "", self.name, keep=True)[0]

    @cached_property
    def root(self) -> Path:
        """The root of the document's project."""
        return root_of(self.path.parent, self.meaning.working)

    @property
    def too_long(self) -> bool:
        """Whether the text is over the compiler's limit."""
        return len(self.text.text) > SOURCE_LIMIT

    def known(self, kind: str) -> dict[str, Declaration | None]:
        """The declarations of a kind that this document can see, by name; None for built-in ones."""
        linked = self.meaning.linked
        return {name: linked.find(kind, name, self.name) for name in linked.known(kind, self.name)}

    def outcome_of(self, block: Block) -> JobOutcome | None:
        """A job of this document as it was worked out; None for other blocks."""
        name = owner_of(block)
        if self.analysis is None or block.kind != "job" or name is None:
            return None
        return self.analysis.outcomes.get(name.text)

    def batch_of(self, block: Block) -> BatchOutcome | None:
        """A batch of this document as it was worked out; None for other blocks."""
        name = owner_of(block)
        if self.analysis is None or block.kind != "batch" or name is None:
            return None
        return self.analysis.batches.get(name.text)
