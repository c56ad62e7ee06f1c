"""Completion: what may stand at a place, with its documentation.

Every word comes from the model, every name from the sources, every path from the disk below the project's root.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import NamedTuple

from flatwise.core.units import UNITS
from flatwise.language import description as spoken
from flatwise.language.phrase_shape import (
    BlockShape,
    Coded,
    Count,
    EdgePlace,
    Fixed,
    Measure,
    Named,
    PanelPlace,
    PhrasePart,
    Quoted,
    Sign,
    ValueKind,
    WordChoice,
    block_shape,
)
from flatwise.model.kinds import KINDS
from flatwise.model.words import CORNERS, PLACES, ModelBlock
from flatwise_grammar.lines import Lexeme
from flatwise_grammar.nodes import Block, Number, NumberWithUnit
from flatwise_lsp.features import word_pages as words
from flatwise_lsp.features.names import takes_of
from flatwise_lsp.features.phrases import wanted
from flatwise_lsp.workspace.cursor import Place, head_words, open_point, place_at
from flatwise_lsp.workspace.view import View, block_words, spot_at

#: how an editor marks it
KEYWORD, PROPERTY, VALUE, NAME, UNIT, FILE, KIND = "keyword", "property", "value", "name", "unit", "file", "kind"
#: so many files are offered, from folders at most so deep
MOST_FILES = 500
DEEPEST = 8


class Offer(NamedTuple):
    """One completion: `snippet` takes the place of the text from `start` to `end` (tab stops as `${1:…}`)."""

    label: str
    sort: str
    snippet: str
    detail: str = ""
    documentation: str = ""
    #: the same for all offers at a place
    start: int = 0
    end: int = 0


def complete(view: View, offset: int) -> list[Offer]:
    """All that may stand at an offset, the likeliest first."""
    if view.too_long:
        return []
    place = place_at(view.text.text, offset)
    if place.comment:
        return []
    end = _end(place)
    offers = {offer.label: offer._replace(start=place.start, end=end) for offer in _offers(view, place)}
    return list(offers.values())


def _end(place: Place) -> int:
    """A word and a text in quotes are replaced whole, also what of them stands behind the place (the quotation mark
    that an editor closes unasked); anything else only up to it.
    """
    part = place.part
    return part.end if part is not None and part.type in ("NAME", "BAD_WORD", "STRING") else place.offset


def _offer(label: str, sort: str, detail: str = "", documentation: str = "", snippet: str | None = None) -> Offer:
    return Offer(label, sort, words.escaped(label) if snippet is None else snippet, detail, documentation)


def _offers(view: View, place: Place) -> Iterator[Offer]:
    first = place.line[0] if place.line else place.part if place.part and place.part.type == "BAD_STRING" else None
    if not place.headers:
        if first is None:
            yield from _top()
        elif first.text == "use":
            yield from _paths(view, ".flat")
        elif place.line:
            yield from _header(view, place)
        return
    made = place.model
    if made is None:
        return
    if not place.line:
        yield from _words(view, place, made)
        return
    yield from _phrase(view, place, made)


# -- lines and blocks ------------------------------------------------------------------------------------------------


def _top() -> Iterator[Offer]:
    yield _offer("use", KEYWORD, "another file's declarations", snippet='use "${1:../shared/shop.flat}"')
    for kind, made in KINDS.items():
        body = "".join(f"\n    {line}" for line in _required(block_shape(made), made))
        whole = f"{kind} ${{1:name}} {{{body}\n    $0\n}}"
        yield _offer(kind, KIND, words.about_kind(kind), words.kind_page(kind), whole)


def _required(shape: BlockShape, made: type[ModelBlock], first: int = 2) -> list[str]:
    """Lines with tab stops for all that a block must have."""
    lines: list[str] = []
    stop = first
    for word in made.required:
        if word in shape.words:
            text, stop = words.snippet(shape.words[word], stop)
            lines.append(f"{word} {text}")
        else:
            head, inner = words.block_of(shape, word)
            parts = []
            for one in words.least(inner):
                text, stop = words.snippet(one, stop)
                parts.append(f"{one.word} {text}")
            lines.append(f"{head} {{ {'; '.join(parts)} }}")
    return lines


def _words(view: View, place: Place, made: type[ModelBlock]) -> Iterator[Offer]:
    """The words and blocks that may begin a line, those that stand there already last."""
    shape = block_shape(made)
    there = _written(view, place)
    for word, one in shape.words.items():
        if (word,) in there and not one.repeats:
            continue
        text, _ = words.snippet(one, 1)
        sort = PROPERTY if (word,) not in there else VALUE
        detail = " | ".join(spoken.phrases(one))
        yield _offer(word, sort, detail, words.word_page(made, word), f"{word} {text}")
    for key, (_, inner) in shape.blocks.items():
        if key in there:
            continue
        head = " ".join(key)
        yield _offer(head, KIND, spoken.about(inner), words.block_page(inner), f"{head} {{\n    $0\n}}")
    if len(place.headers) == 1:
        yield from _parameters(view, place, there)


def _written(view: View, place: Place) -> set[tuple[str, ...]]:
    """What the innermost block has already, besides the line of the place."""
    spot = spot_at(view.tree, place.offset)
    if spot is None:
        return set()
    block = spot.inner[-1]
    if block_words(block) != head_words(place.headers[-1]):
        return set()
    return {
        block_words(part) if isinstance(part, Block) else (part.word.text,)
        for part in block.body
        if not part.span.start <= place.offset <= part.span.end
    }


def _parameters(view: View, place: Place, there: set[tuple[str, ...]]) -> Iterator[Offer]:
    """The parameters of the recipe that a job is made from; `takes` in a recipe."""
    head = head_words(place.headers[0])
    if head[0] == "recipe":
        about = "The parameters that a job must give."
        yield _offer("takes", PROPERTY, "takes name, name …", about, "takes ${1:length, width}")
    if len(head) == 4 and head[2] == "from":
        recipe = view.meaning.linked.find("recipe", head[3], view.name)
        for name in takes_of(recipe.block) if recipe else ():
            if (name.text,) not in there:
                about = f"A parameter of recipe `{head[3]}`."
                yield _offer(name.text, PROPERTY, "parameter", about, f"{name.text} ${{1:value}}")


def _header(view: View, place: Place) -> Iterator[Offer]:
    """What may follow in `kind name …`."""
    line = head_words(place.line)
    kind = line[0]
    if kind not in KINDS:
        return
    if len(line) == 2:
        yield _offer("like", KEYWORD, f"start from another {kind}", snippet=f"like ${{1:{kind}}} {{\n    $0\n}}")
        if kind == "job":
            yield _offer("from", KEYWORD, "start from a recipe", snippet="from ${1:recipe} {\n    $0\n}")
    elif len(line) == 3 and line[2] in ("like", "from"):
        yield from _names(view, "recipe" if line[2] == "from" else kind, besides=line[1])


# -- phrases ---------------------------------------------------------------------------------------------------------


def _phrase(view: View, place: Place, made: type[ModelBlock]) -> Iterator[Offer]:
    shape = block_shape(made).words.get(place.line[0].text)
    if shape is None:
        return
    if open_point(place.line):
        yield from _units(Measure(words.LENGTH), _digits(place.part) if place.part is not None else "")
        return
    items = place.items[1:]
    part = place.part
    for want in wanted(shape, items):
        yield from _wanted(view, place, want, shape.word)
    if part is not None and isinstance(part.node, Number | NumberWithUnit):
        # the place is right behind a number: what stands there may yet get its unit
        for want in wanted(shape, (*items, Number(_digits(part), part.node.span))):
            if isinstance(want, Measure):
                yield from _units(want, _digits(part))


def _digits(part: Lexeme) -> str:
    found = re.match(r"-?[0-9][0-9./ ]*", part.text)
    return found.group().rstrip() if found else ""


def _wanted(view: View, place: Place, want: PhrasePart | ValueKind, word: str) -> Iterator[Offer]:
    match want:
        case Fixed():
            for choice in want.words[:1]:
                yield _offer(" ".join(choice), KEYWORD)
        case WordChoice():
            for choice in want.choices:
                yield _offer(" ".join(choice), VALUE)
        case Sign():
            yield _offer(want.text, KEYWORD)
        case Named():
            yield from _names(view, want.kind)
        case PanelPlace():
            for name in (*PLACES, "corners"):
                about = f"The four corners: {', '.join(CORNERS)}." if name == "corners" else ""
                yield _offer(name, VALUE, "place on the panel", about)
            yield _offer("(x, y)", VALUE, "point from the front-left corner", snippet="(${1:120mm}, ${2:45mm})")
        case EdgePlace():
            yield _offer("50%", VALUE, "share of the edge, from its left or front end", snippet="${1:50}%")
            yield _offer("300mm", VALUE, "length along the edge, from its left or front end", snippet="${1:300mm}")
        case Measure():
            if place.line and isinstance(place.line[-1].node, Number) and place.line[-1].node is not place.line[0].node:
                yield from _units(want, "")
            elif place.part is None:
                example = words.likely(want)
                yield _offer(example, VALUE, spoken.limits(want.of), snippet=f"${{1:{example}}}")
        case Count():
            yield _offer("3", VALUE, spoken.limits(want.of) or "whole number", snippet="${1:3}")
        case Coded():
            for code in words.codes(want.shaped.form):
                yield _offer(code, VALUE, want.shaped.spoken)
        case Quoted():
            if word in ("probe", "thickness"):
                yield from _paths(view, ".csv")
            elif place.part is None:
                yield _offer('"…"', VALUE, "text in quotes", snippet='"$1"')
        case _:
            pass


def _units(want: Measure, digits: str) -> Iterator[Offer]:
    """The units of a dimension, behind the digits that stand there."""
    for rank, symbol in enumerate(want.units):
        about = f"1{symbol} = {UNITS[symbol].worth:g} {want.units[0]}" if rank else ""
        yield _offer(f"{digits}{symbol}", f"{UNIT}{rank}", want.of.dimension, about)


def _names(view: View, kind: str, besides: str = "") -> Iterator[Offer]:
    for name, declaration in view.known(kind).items():
        if name != besides:
            where = declaration.path if declaration is not None else "built in"
            yield _offer(name, NAME, f"{kind} · {where}", words.declaration_page(kind, name, declaration))


# -- files -----------------------------------------------------------------------------------------------------------


def _paths(view: View, suffix: str) -> Iterator[Offer]:
    """Files below the project's root, as they are written from this file."""
    for path in _below(view.root, suffix):
        if path != view.path:
            shown = os.path.relpath(path, view.path.parent).replace(os.sep, "/")
            yield _offer(f'"{shown}"', FILE)


def _below(root: Path, suffix: str) -> Iterable[Path]:
    found: list[Path] = []
    for place, folders, files in os.walk(root):
        folders[:] = sorted(name for name in folders if name[0] != "." and name not in ("node_modules", "out"))
        found.extend(Path(place) / name for name in sorted(files) if name.endswith(suffix))
        if len(found) > MOST_FILES or place.count(os.sep) - str(root).count(os.sep) > DEEPEST:
            folders.clear()
    return found[:MOST_FILES]
