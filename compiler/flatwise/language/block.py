"""Reading a block: its lines by their words, its inner blocks, and what is missing."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any

from flatwise.core.finding import Finding
from flatwise.core.fixes import near_words
from flatwise.core.wording import capitalised, quoted
from flatwise.findings import fw101_unknown_word, fw103_declared_twice, fw104_wrong_kind, fw105_missing
from flatwise.language.items import spread
from flatwise.language.link import holds
from flatwise.language.mismatch import LineContext
from flatwise.language.phrase import KnownNames, read_line
from flatwise.language.phrase_shape import BlockShape, block_shape, owners_of
from flatwise.model.job import Stock
from flatwise.model.kinds import KINDS
from flatwise.model.words import DeclaredName, ModelBlock, placed_block
from flatwise_grammar.nodes import Block, Field, Name, Span

#: what a spoilboard is made of unless the job says
BED_WOOD = "mdf"


@dataclass
class FindingSink:
    """Findings of one run, each place and code once: a fault in a file that many jobs use is one fault."""

    found: list[Finding] = field(default_factory=list)
    seen: set[tuple[str, Span | None, str]] = field(default_factory=set)

    def add(self, finding: Finding, key: str = "") -> None:
        known = (finding.code, finding.span, key)
        if known not in self.seen:
            self.seen.add(known)
            self.found.append(finding)


@dataclass(frozen=True)
class BodyContext:
    """How a body is read: the names that can be seen, parameters without a value, and where findings go.

    `whole` is False for a recipe, which need not have everything.
    """

    known: KnownNames
    findings: FindingSink
    blanks: frozenset[str] = frozenset()
    whole: bool = True


def read_block(
    made: type[ModelBlock],
    body: tuple[Field | Block, ...],
    head: Span,
    name: str,
    owner: str,
    reading: BodyContext,
    base: dict[str, Any] | None = None,
) -> tuple[ModelBlock, bool]:
    """The model of a block, and whether it is sound: all lines read, nothing missing.

    `owner` is how a message speaks of the block: "cutter `fly_64`".  `base` has values that hold where the body
    gives none (a built-in wood).
    """
    shape = block_shape(made)
    values: dict[str, Any] = dict(shape.defaults)
    bed = name == "bed" if made is Stock else _has_bed(body)
    if bed and made is Stock:
        base = {"wood": DeclaredName(BED_WOOD, head)}
    if base:
        values.update(base)
    spans: dict[str, Span] = {}
    sound = True
    for part in body:
        if isinstance(part, Block):
            sound &= _inner(shape, part, owner, reading, values, spans)
        else:
            sound &= _line(shape, part, owner, reading, values, spans)
    if reading.whole:
        for word in made.required:
            if word not in spans and not (base and word in base) and not (bed and word == "hold"):
                sound = False
                _missing(shape, word, owner, head, reading)
    return placed_block(made, values, name, head, spans), sound


def _has_bed(body: tuple[Field | Block, ...]) -> bool:
    """Whether a body is that of a job over the spoilboard: nothing lies on it, so nothing holds it."""
    return any(isinstance(part, Block) and _words(part) == ("stock", "bed") for part in body)


def _words(block: Block) -> tuple[str, ...]:
    return tuple(item.text if isinstance(item, Name) else "" for item in block.head)


def _line(
    shape: BlockShape, part: Field, owner: str, reading: BodyContext, values: dict[str, Any], spans: dict[str, Span]
) -> bool:
    word = part.word.text
    found = shape.words.get(word)
    if found is None:
        reading.findings.add(_unknown(shape, part, owner))
        return False
    first = spans.setdefault(word, part.span)
    if first is not part.span and not found.repeats:
        reading.findings.add(fw103_declared_twice.word(word, owner, part.span, first))
        return False
    if part.broken or (reading.blanks and holds(part.items, reading.blanks)):
        return False
    value, wrong = read_line(LineContext(found, owner, part.span), part.items, reading.known)
    for finding in wrong:
        reading.findings.add(finding)
    if value is not None:
        if not found.repeats:
            values[word] = value
        elif isinstance(value, tuple) and not hasattr(value, "_fields"):
            values[word] = (*values[word], *value)
        else:
            values[word] = (*values[word], *spread(value))
    return not wrong


def _unknown(shape: BlockShape, part: Field, owner: str) -> Finding:
    word, span = part.word.text, part.word.span
    if any(key[0] == word for key in shape.blocks):
        return fw104_wrong_kind.block_expected(word, owner, span)
    names = [*shape.words, *(" ".join(key) for key in shape.blocks)]
    elsewhere = [] if near_words(word, names) else sorted(owners_of(word) - {shape.made.kind})
    return fw101_unknown_word.in_block(word, span, owner, names, elsewhere[:3])


def _inner(
    shape: BlockShape, part: Block, owner: str, reading: BodyContext, values: dict[str, Any], spans: dict[str, Span]
) -> bool:
    """A block in a block: `stock { … }`, `stock bed { … }`, `after first { … }`."""
    head = _words(part)
    word, name = shape.blocks.get(head), ""
    if word is None and head == ("stock", "bed"):
        word, name = shape.blocks.get(("stock",)), "bed"
    if word is None:
        reading.findings.add(_unknown_block(shape, part, head, owner))
        return False
    field_name, made = word
    first = spans.setdefault(field_name, part.head_span)
    if first is not part.head_span:
        reading.findings.add(fw103_declared_twice.word(" ".join(head), owner, part.head_span, first))
        return False
    within = f"{' '.join(head)} of {owner}"
    block, sound = read_block(made, part.body, part.head_span, name, within, reading)
    values[field_name] = block
    return sound


def _unknown_block(shape: BlockShape, part: Block, head: tuple[str, ...], owner: str) -> Finding:
    kind = head[0]
    if kind in shape.words:
        return fw104_wrong_kind.line_expected(kind, owner, part.head_span, shape.words[kind].example)
    same = [" ".join(key) for key in shape.blocks if key[0] == kind]
    if same:
        written = " ".join(head)
        if kind == "stock":
            same.append("stock bed")
        return Finding(
            "FW101",
            f"{capitalised(owner)} takes no block `{written.strip()}`.",
            part.head_span,
            help=f"Write {quoted(same)}.",
        )
    names = [" ".join(key) for key in shape.blocks]
    elsewhere: Iterable[str] = [k for k, cls in KINDS.items() if (kind,) in block_shape(cls).blocks and k != "recipe"]
    span = part.head[0].span if part.head else part.head_span
    return fw101_unknown_word.in_block(kind, span, owner, names, list(elsewhere))


def _missing(shape: BlockShape, word: str, owner: str, head: Span, reading: BodyContext) -> None:
    info = shape.made.model_fields[word]
    found = shape.words.get(word)
    if found is not None:
        example = f"{word} {found.example}"
    else:
        inner = next(made for name, made in shape.blocks.values() if name == word)
        words = block_shape(inner).words
        lines = "; ".join(f"{name} {words[name].example}" for name in inner.required or tuple(words)[:1])
        example = f"{word} {{ {lines} }}"
    reading.findings.add(fw105_missing.missing(word, owner, head, info.description or "", example), word)
