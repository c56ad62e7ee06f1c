"""Reading a block: its lines, the blocks inside it, and the words that are missing."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import Any, NamedTuple

from flatwise.core.finding import Finding, Fix
from flatwise.core.fixes import replacing, sure_word
from flatwise.core.wording import capitalised, quoted
from flatwise.findings import fw101_unknown_word, fw103_declared_twice, fw104_wrong_kind, fw105_missing
from flatwise.language.description import holes
from flatwise.language.items import as_written, join_units
from flatwise.language.link import holds
from flatwise.language.mismatch import LineContext
from flatwise.language.phrase_reader import read_line, stop, with_recipe_line
from flatwise.language.phrase_shape import (
    BlockShape,
    Either,
    Hole,
    Measure,
    Named,
    WordShape,
    block_shape,
    owners_of,
    relatives,
)
from flatwise.language.validation import refusal, validated
from flatwise.language.value_reader import KnownNames
from flatwise.model.kinds import KINDS, all_blocks
from flatwise.model.words import ModelBlock, at_each_corner
from flatwise_grammar.nodes import Block, Field, Item, Mark, Name, NumberWithUnit, Span


class FindingSink:
    """The findings of one run, each place and code once: a fault in a file that many jobs use is one fault."""

    def __init__(self) -> None:
        self.seen: dict[tuple[str, Span | None, str], Finding] = {}

    @property
    def found(self) -> list[Finding]:
        return list(self.seen.values())

    def add(self, finding: Finding, key: str = "") -> None:
        self.seen.setdefault((finding.code, finding.span, key), finding)


class BodyContext(NamedTuple):
    """What reading a body needs: the visible names, the parameters without a value, and where findings go.

    `whole` is False for a recipe, in which required words may be missing.  `implied` has values of words that the
    blocks of a kind may leave out.  `otherwise` has, for words of blocks that are missing, another way out to report;
    where that is "", nothing is reported, since it is not known yet whether they are needed.
    """

    known: KnownNames
    findings: FindingSink
    blanks: frozenset[str] = frozenset()
    whole: bool = True
    implied: Mapping[str, Mapping[str, Any]] = {}
    otherwise: Mapping[str, Mapping[str, str]] = {}


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
    # not those that it inherits, which a line of its own would replace
    own = {
        part.word.text
        for part in body
        if isinstance(part, Field) and part.span.path == head.path and part.span.start >= head.start
    }
    reader = _BlockReader(block_shape(made), own, owner, context)
    for part in body:
        if isinstance(part, Block):
            reader.read_inner(part)
        else:
            reader.read_field(part)
    return reader.finished(name, head, defaults or {})


def _line(word: str, items: tuple[Item, ...]) -> str:
    """A line with another word, as it would be written."""
    return " ".join([word, *map(as_written, items)]).replace(" ,", ",")


def _belongs(word: str, owners: Collection[str]) -> str:
    """Where a word or a block stands that another block does not take; "" where nobody knows it."""
    if owners:
        return f"`{word}` belongs in {quoted(sorted(owners)[:3])}."
    if word not in KINDS:
        return ""
    for made in all_blocks():
        for name, shape in block_shape(made).words.items():
            if any(kind == Named(word) for _, kind in holes(shape.group)):
                example = f"`{name} {shape.example}`"
                return f"Declare the {word} outside of other blocks; `{name}` of {made.kind} names it: {example}."
    return f"Write the {word} outside of other blocks."


class _BlockReader:
    """The values of a block so far, and the spans of the words that were written."""

    def __init__(self, shape: BlockShape, written: set[str], owner: str, context: BodyContext) -> None:
        self.shape = shape
        #: the words of its own lines, read or not
        self.written = written
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
            self.meant.update(edit.text.partition(" ")[0] for edit in finding.fix.edits)

    def read_field(self, part: Field) -> None:
        word = part.word.text
        shape = self.shape.words.get(word)
        if shape is None:
            # what a line of a recipe may mean is found out once, not in each job that starts from it
            known = self.context.findings.seen.get(("FW101", part.word.span, ""))
            self.add_unknown(known or self.unknown_word(part))
            return
        first = self.spans.setdefault(word, part.span)
        if first is not part.span and not shape.repeats:
            self.add(fw103_declared_twice.word(word, self.owner, part.span, first))
            return
        if part.broken or (self.context.blanks and holds(part.items, self.context.blanks)):
            self.sound = False
            return
        if word == "rows" and fw101_unknown_word.has_former_words(part):
            self.add(fw101_unknown_word.former_rows(part, self.owner))
            return
        value, findings = read_line(LineContext(shape, self.owner, part.span), part.items, self.context.known)
        for finding in findings:
            self.add(finding if finding.fix is not None else self.better(finding, part, shape))
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
        sure = sure_word(word, names)
        if sure:
            finding = fw101_unknown_word.in_block(word, span, self.owner, names)
            wrong = self.repeated(sure) and not self.reads(sure, join_units(part.items), part.span)
            return finding._replace(fix=None) if wrong else finding
        owners = owners_of(word) - {self.shape.made.kind}
        at_home = owners & relatives(self.shape.made.kind)
        way, fix = self.in_other_words(part)
        way = way or ("" if at_home else self.alike(part)) or _belongs(word, owners)
        return fw101_unknown_word.in_block(word, span, self.owner, names, way, fix)

    # -- what was meant

    def reads(self, word: str, items: tuple[Item, ...], span: Span) -> bool:
        """Whether the line of a word can be read with these items."""
        line = LineContext(self.shape.words[word], self.owner, span)
        return stop(line, items, self.context.known) is None

    def repeated(self, word: str) -> bool:
        """Whether another line of this word would be one too many."""
        return word in self.written and word in self.shape.words and not self.shape.words[word].repeats

    def in_other_words(self, part: Field) -> tuple[str, Fix | None]:
        """A word in two (`step over`), or the value of the only line that takes it, without its word (`enough`)."""
        items, word, words = join_units(part.items), part.word, self.shape.words
        after = items[0] if items else None
        if isinstance(after, Name) and part.span.start <= after.span.start < part.span.end:
            for joined in (f"{word.text}_{after.text}", f"{word.text}{after.text}"):
                if joined in words:
                    return f"Write `{joined}`.", replacing(word.span.to(after.span), joined)
        alone = [each for each in words if not self.repeated(each) and self.reads(each, (word, *items), part.span)]
        if len(alone) != 1:
            return "", None
        text = f"{alone[0]} {word.text}"
        return f"Write `{text}`.", replacing(word.span, text)

    def alike(self, part: Field) -> str:
        """The only word whose line can be read as this one: one that is missing, or one with a phrase of its own."""
        items, required = join_units(part.items), self.shape.made.required()
        found = [
            each
            for each, shape in self.shape.words.items()
            if not self.repeated(each)
            and (each in required or shape.pattern != "{}")
            and self.reads(each, items, part.span)
        ]
        return f"Did you mean `{found[0]}`? Write `{_line(found[0], items)}`." if len(found) == 1 else ""

    def better(self, finding: Finding, part: Field, shape: WordShape) -> Finding:
        """The finding of a line, with what its other words tell about it."""
        items = join_units(part.items)
        at, here = next(((at, item) for at, item in enumerate(items) if item.span == finding.span), (-1, None))
        label = f"`{shape.word}` of {self.owner}"
        if at > 0 and isinstance(here, Name) and here.text in self.shape.words:
            whole = LineContext(shape, self.owner, part.span).has(*items)
            certain = whole and not self.repeated(here.text) and self.reads(shape.word, items[:at], part.span)
            return fw104_wrong_kind.line_of_its_own(label, here, self.shape.example(here.text), certain=certain)
        if at > 0 and isinstance(here, Mark) and here.text == "+/-" and "within" in self.shape.words:
            how = f"The uncertainty of all readings has a line of its own: `{self.shape.example('within')}`."
            return finding._replace(help=how)
        if at == 0 and finding.code == "FW104":
            other = self.other_word(shape, items, part.span)
            if other:
                return finding._replace(help=f"Write `{_line(other, items)}`.")
        return finding

    def other_word(self, shape: WordShape, items: tuple[Item, ...], span: Span) -> str:
        """The word that was probably meant where its line can be read and that of `shape` can't.

        It is spelt nearly alike, as `shim` and `shims`, or it is the only one that takes such a quantity.
        """
        others = [word for word in self.shape.words if word != shape.word and self.reads(word, items, span)]
        first = shape.group.parts[0]
        kind = first.kind if isinstance(first, Hole) else None
        bare = any(isinstance(one, Measure) for one in (kind.kinds if isinstance(kind, Either) else (kind,)))
        if bare and len(items) == 1 and isinstance(items[0], NumberWithUnit) and len(others) == 1:
            return others[0]
        return sure_word(shape.word, others)

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
        owners = {k for k, made in KINDS.items() if (kind,) in block_shape(made).blocks and k != "recipe"}
        span = part.head[0].span if part.head else part.head_span
        return fw101_unknown_word.in_block(kind, span, self.owner, headers, _belongs(kind, owners))

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
                otherwise = self.context.otherwise.get(made.kind, {}).get(word)
                self.sound = False
                if otherwise != "":
                    absent.append(fw105_missing.Missing(word, explanation, self.shape.example(word), otherwise or ""))
        if absent:
            self.add(fw105_missing.missing(absent, self.owner, head))
        return model.placed(name, head, self.spans), self.sound
