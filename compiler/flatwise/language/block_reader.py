"""Reading a block: its lines, the blocks inside it, and the words that are missing."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from flatwise.core.finding import Finding
from flatwise.core.fixes import near_words
from flatwise.core.wording import capitalised, quoted
from flatwise.findings import fw101_unknown_word, fw103_declared_twice, fw104_wrong_kind, fw105_missing
from flatwise.language.link import holds
from flatwise.language.mismatch import LineContext
from flatwise.language.phrase_reader import read_line, with_recipe_line
from flatwise.language.phrase_shape import BlockShape, block_shape, owners_of
from flatwise.language.validation import refusal, validated
from flatwise.language.value_reader import KnownNames
from flatwise.model.kinds import KINDS
from flatwise.model.words import ModelBlock, at_each_corner
from flatwise_grammar.nodes import Block, Field, Name, Span


@dataclass
class FindingSink:
    """The findings of one run, each place and code once: a fault in a file that many jobs use is one fault."""

    found: list[Finding] = field(default_factory=list)
    seen: set[tuple[str, Span | None, str]] = field(default_factory=set)

    def add(self, finding: Finding, key: str = "") -> None:
        known = (finding.code, finding.span, key)
        if known not in self.seen:
            self.seen.add(known)
            self.found.append(finding)


@dataclass(frozen=True)
class BodyContext:
    """What reading a body needs: the visible names, the parameters without a value, and where findings go.

    `whole` is False for a recipe, in which required words may be missing.  `implied` has values of words that the
    blocks of a kind may leave out.
    """

    known: KnownNames
    findings: FindingSink
    blanks: frozenset[str] = frozenset()
    whole: bool = True
    implied: Mapping[str, Mapping[str, Any]] = field(default_factory=dict)


def read_block(
    made: type[ModelBlock],
    body: tuple[Field | Block, ...],
    head: Span,
    name: str,
    owner: str,
    context: BodyContext,
    defaults: Mapping[str, Any] | None = None,
) -> tuple[ModelBlock, bool]:
    """The model of a block, and whether it is sound: all lines could be read and none is missing.

    `owner` is how a message speaks of the block: "cutter `fly_64`".  `defaults` are values of words that the block
    leaves out (those of a built-in wood).
    """
    reader = _BlockReader(block_shape(made), owner, context)
    for part in body:
        if isinstance(part, Block):
            reader.read_inner(part)
        else:
            reader.read_field(part)
    return reader.finished(name, head, defaults or {})


class _BlockReader:
    """The values of a block so far, and the spans of the words that were written."""

    def __init__(self, shape: BlockShape, owner: str, context: BodyContext) -> None:
        self.shape = shape
        self.owner = owner
        self.context = context
        self.values: dict[str, Any] = {}
        self.spans: dict[str, Span] = {}
        self.sound = True
        #: the words that misspelt ones certainly mean
        self.meant: set[str] = set()

    def add(self, finding: Finding, key: str = "") -> None:
        self.context.findings.add(finding, key)
        self.sound = False

    def add_unknown(self, finding: Finding) -> None:
        """The finding of a word or block that this one does not take; what it certainly means is not missing."""
        self.add(finding)
        if finding.fix is not None:
            self.meant.update(edit.text for edit in finding.fix.edits)

    def read_field(self, part: Field) -> None:
        word = part.word.text
        shape = self.shape.words.get(word)
        if shape is None:
            self.add_unknown(self.unknown_word(part))
            return
        first = self.spans.setdefault(word, part.span)
        if first is not part.span and not shape.repeats:
            self.add(fw103_declared_twice.word(word, self.owner, part.span, first))
            return
        if part.broken or (self.context.blanks and holds(part.items, self.context.blanks)):
            self.sound = False
            return
        value, findings = read_line(LineContext(shape, self.owner, part.span), part.items, self.context.known)
        for finding in findings:
            self.add(finding)
        if value is not None and shape.repeats:
            more = value if isinstance(value, tuple) else at_each_corner(value)
            self.values[word] = (*self.values.get(word, ()), *more)
        elif value is not None:
            self.values[word] = value

    def unknown_word(self, part: Field) -> Finding:
        word, span = part.word.text, part.word.span
        headers = [" ".join(key) for key in self.shape.blocks]
        if any(header.split()[0] == word for header in headers):
            return fw104_wrong_kind.block_expected(word, self.owner, span)
        if word == "pattern" and "rows" in self.shape.words:
            return fw101_unknown_word.former_rows(part, self.owner)
        names = [*self.shape.words, *headers]
        elsewhere = [] if near_words(word, names) else sorted(owners_of(word) - {self.shape.made.kind})
        return fw101_unknown_word.in_block(word, span, self.owner, names, elsewhere[:3])

    def read_inner(self, part: Block) -> None:
        """A block in a block: `stock { … }`, `stock bed { … }`, `after first { … }`."""
        header = tuple(item.text if isinstance(item, Name) else "" for item in part.head)
        found, name = self.shape.blocks.get(header), ""
        if found is None and len(header) == 2:
            found, name = self.shape.blocks.get(header[:1]), header[1]
        if found is None or (name and name not in found[1].names):
            self.add_unknown(self.unknown_block(part, header))
            return
        word, made = found
        first = self.spans.setdefault(word, part.head_span)
        if first is not part.head_span:
            self.add(fw103_declared_twice.word(" ".join(header), self.owner, part.head_span, first))
            return
        owner = f"{' '.join(header)} of {self.owner}"
        defaults = self.context.implied.get(made.kind)
        inner, sound = read_block(made, part.body, part.head_span, name, owner, self.context, defaults)
        self.values[word] = inner
        self.sound = self.sound and sound

    def unknown_block(self, part: Block, header: tuple[str, ...]) -> Finding:
        kind = header[0]
        if kind in self.shape.words:
            return fw104_wrong_kind.line_expected(kind, self.owner, part.head_span, self.shape.words[kind].example)
        same = {" ".join(key): made for key, (_, made) in self.shape.blocks.items() if key[0] == kind}
        if same:
            headers = [*same, *(f"{kind} {name}" for made in same.values() for name in made.names)]
            return Finding(
                "FW101",
                f"{capitalised(self.owner)} takes no block `{' '.join(header).strip()}`.",
                part.head_span,
                help=f"Write {quoted(headers)}.",
            )
        headers = [" ".join(key) for key in self.shape.blocks]
        elsewhere = [k for k, made in KINDS.items() if (kind,) in block_shape(made).blocks and k != "recipe"]
        span = part.head[0].span if part.head else part.head_span
        return fw101_unknown_word.in_block(kind, span, self.owner, headers, elsewhere)

    def finished(self, name: str, head: Span, defaults: Mapping[str, Any]) -> tuple[ModelBlock, bool]:
        """The block made and validated, and whether it is sound."""
        made = self.shape.made
        values = {**made.implied(name, head, self.values), **defaults, **self.values}
        model, errors = validated(made, values)
        absent: list[fw105_missing.Missing] = []
        for error in errors:
            word = str(error["loc"][0])
            if error["type"] != "missing":
                self.sound = False
                finding = refusal(error, f"`{word}` of {self.owner}")
                if finding is not None:
                    self.add(with_recipe_line(finding, self.spans[word]))
            elif self.context.whole and word not in self.spans and word not in self.meant:
                explanation = made.model_fields[word].description or ""
                absent.append(fw105_missing.Missing(word, explanation, self.shape.example(word)))
        if absent:
            self.add(fw105_missing.missing(absent, self.owner, head))
        return model.placed(name, head, self.spans), self.sound
