"""Completion: what may be written at an offset, with its documentation.

Words come from the model, names from the sources, files from the folders below the project's root.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterator
from functools import cache
from typing import NamedTuple

from flatwise.core.finding import Edit
from flatwise.core.units import UNITS, units_of
from flatwise.language import description
from flatwise.language.items import as_written, join_units
from flatwise.language.mismatch import Want
from flatwise.language.phrase_shape import (
    LIKELY,
    Coded,
    Count,
    EdgePlace,
    Fixed,
    Measure,
    Named,
    PanelPlace,
    Quoted,
    Sign,
    WordChoice,
    WordShape,
    block_shape,
)
from flatwise.language.value_reader import EDGE_UNITS
from flatwise.model.kinds import FROM, KINDS, LIKE, TAKES
from flatwise.model.words import ALL_CORNERS, CORNERS, PLACES, ModelBlock, PointFileName
from flatwise_grammar.lines import Lexeme, lexemes
from flatwise_grammar.nodes import Block, Name, Number, NumberWithUnit
from flatwise_lsp.features import documentation
from flatwise_lsp.features.block_snippets import SNIPPETS, job_body, parameter_example, whole_block
from flatwise_lsp.features.declared_names import parameters_of
from flatwise_lsp.features.line_edits import use_line
from flatwise_lsp.features.project_files import files_below
from flatwise_lsp.features.snippets import escape, phrase_snippet, required_lines
from flatwise_lsp.features.unused_names import unused_names
from flatwise_lsp.workspace.cursor import Cursor, cursor_at, header_words, in_point
from flatwise_lsp.workspace.phrase_trace import expected
from flatwise_lsp.workspace.tree_search import block_words, node_at
from flatwise_lsp.workspace.view import View

#: what an offer is, for the editor's icons
KEYWORD, PROPERTY, VALUE, NAME, UNIT, FILE, KIND = "keyword", "property", "value", "name", "unit", "file", "kind"


class Offer(NamedTuple):
    """One completion: `snippet` replaces the text from `start` to `end`, which are the same for all offers.

    `also` are edits elsewhere in the document that belong to it.
    """

    label: str
    sort: str
    snippet: str
    detail: str = ""
    documentation: str = ""
    start: int = 0
    end: int = 0
    also: tuple[Edit, ...] = ()


def complete(view: View, offset: int) -> list[Offer]:
    """Everything that may be written at an offset, the likeliest first."""
    if view.too_long:
        return []
    cursor = cursor_at(view.text.text, offset)
    if cursor.in_comment:
        return []
    end = _end(cursor)
    rest = view.text.text[end : view.text.line_end(view.text.line_of(end))].lstrip()
    # a word that is corrected keeps what follows it
    keeps = bool(rest) and rest[0] not in "};#"
    offers: dict[str, Offer] = {}
    for offer in _offers(view, cursor):
        snippet = escape(offer.label) if keeps and offer.snippet.startswith(f"{offer.label} ") else offer.snippet
        offers.setdefault(offer.label, offer._replace(start=cursor.start, end=end, snippet=snippet))
    return list(offers.values())


def _end(cursor: Cursor) -> int:
    """The end of the replaced text: of the whole word, value or quoted text at the cursor."""
    current = cursor.current
    whole = current is not None and current.type in ("NAME", "BAD_WORD", "STRING", "CODE", "NUMBER", "QUANTITY")
    return current.end if current is not None and whole else cursor.offset


def _offer(label: str, sort: str, detail: str = "", documentation: str = "", snippet: str | None = None) -> Offer:
    return Offer(label, sort, escape(label) if snippet is None else snippet, detail, documentation)


def _offers(view: View, cursor: Cursor) -> Iterator[Offer]:
    if not cursor.headers:
        yield from _top_level_offers(view, cursor)
    elif cursor.model is not None and not cursor.line:
        yield from _word_offers(view, cursor, cursor.model)
    elif cursor.model is not None:
        shape = block_shape(cursor.model).words.get(cursor.line[0].text)
        if shape is not None:
            yield from _phrase_offers(view, cursor, shape)


# -- declarations, lines and blocks


def _top_level_offers(view: View, cursor: Cursor) -> Iterator[Offer]:
    current = cursor.current
    unclosed = current is not None and current.type == "BAD_STRING"
    if cursor.line and cursor.line[0].text == "use":
        yield from _file_offers(view, ".flat")
    elif cursor.line:
        yield from _header_offers(view, cursor)
    elif not unclosed:
        yield _offer("use", KEYWORD, "the declarations of another file", snippet='use "${1:../shared/shop.flat}"')
        for kind, made in KINDS.items():
            snippet, also = _whole_block(view, kind, made)
            offer = _offer(kind, KIND, documentation.about_kind(kind), documentation.kind_page(kind), snippet)
            yield offer._replace(also=also)


def _whole_block(view: View, kind: str, made: type[ModelBlock]) -> tuple[str, tuple[Edit, ...]]:
    if kind in SNIPPETS:
        return whole_block(view, kind)
    body = "".join(f"\n    {line}" for line in required_lines(made, 2))
    return f"{kind} ${{1:name}} {{{body}\n    $0\n}}", ()


def _header_offers(view: View, cursor: Cursor) -> Iterator[Offer]:
    """What may follow in `kind name …`."""
    words = header_words(cursor.line)
    kind = words[0]
    if kind not in KINDS:
        return
    if len(words) == 2:
        yield _offer(LIKE, KEYWORD, f"start from another {kind}", snippet=f"{LIKE} ${{1:{kind}}} {{\n    $0\n}}")
        if kind == "job":
            yield _offer(FROM, KEYWORD, "start from a recipe", snippet=f"{FROM} ${{1:recipe}} {{\n    $0\n}}")
    elif len(words) == 3 and words[2] == LIKE:
        yield from _name_offers(view, kind, besides=words[1])
    elif len(words) == 3 and words[2] == FROM:
        for offer in _name_offers(view, "recipe"):
            recipe = view.meaning.linked.find("recipe", offer.label, view.name)
            yield offer._replace(snippet=f"{offer.label} {job_body(recipe.block)}") if recipe is not None else offer


def _word_offers(view: View, cursor: Cursor, made: type[ModelBlock]) -> Iterator[Offer]:
    """The words and blocks that may begin a line; words that the block has already come last."""
    shape = block_shape(made)
    written = _written(view, cursor)
    if len(cursor.headers) == 1:
        yield from _parameter_offers(view, header_words(cursor.headers[0]), written)
    for word, one in shape.words.items():
        if (word,) in written and not one.repeats:
            continue
        text, _ = phrase_snippet(one)
        sort = PROPERTY if (word,) not in written else VALUE
        detail = " | ".join(description.phrases(one))
        yield _offer(word, sort, detail, documentation.word_page(made, word), f"{word} {text}")
    for key, (_, inner) in shape.blocks.items():
        if key not in written:
            header = " ".join(key)
            page = documentation.block_page(inner)
            yield _offer(header, KIND, description.about(inner), page, f"{header} {{\n    $0\n}}")


def _written(view: View, cursor: Cursor) -> set[tuple[str, ...]]:
    """The words and headers that the innermost block has, except on the cursor's own line."""
    path = node_at(view.tree, cursor.offset)
    if path is None:
        return set()
    block = path.open_blocks[-1]
    if block_words(block) != header_words(cursor.headers[-1]):
        return set()
    return {
        block_words(part) if isinstance(part, Block) else (part.word.text,)
        for part in block.body
        if not part.span.start <= cursor.offset <= part.span.end
    }


def _parameter_offers(view: View, header: tuple[str, ...], written: set[tuple[str, ...]]) -> Iterator[Offer]:
    """`takes` in a recipe; in a job from a recipe the parameters of that recipe."""
    if header[0] == "recipe":
        about = "The parameters that a job must give."
        yield _offer(TAKES, PROPERTY, f"{TAKES} name, name …", about, f"{TAKES} ${{1:length, width}}")
    if len(header) == 4 and header[2] == FROM:
        recipe = view.meaning.linked.find("recipe", header[3], view.name)
        for name in parameters_of(recipe.block) if recipe else ():
            if (name.text,) not in written:
                about = f"A parameter of the recipe `{header[3]}`."
                example = parameter_example(recipe.block, name.text) if recipe else ""
                yield _offer(name.text, PROPERTY, "parameter", about, f"{name.text} ${{1:{escape(example)}}}")


# -- phrases


def _phrase_offers(view: View, cursor: Cursor, shape: WordShape) -> Iterator[Offer]:
    current = cursor.current
    if in_point(cursor.line):
        yield from _unit_offers(Measure("length"), _digits(current) if current is not None else "")
        return
    items = cursor.items[1:]
    for want in expected(shape, items):
        yield from _value_offers(view, cursor, shape, want)
    if current is not None and isinstance(current.node, Number | NumberWithUnit):
        # the cursor is right behind a number, which may still get its unit
        for want in expected(shape, (*items, Number(_digits(current), current.node.span))):
            yield from _unit_offers(want, _digits(current))


def _digits(lexeme: Lexeme) -> str:
    found = re.match(r"-?[0-9][0-9./ ]*", lexeme.text)
    return found.group().rstrip() if found else ""


def _value_offers(view: View, cursor: Cursor, shape: WordShape, want: Want) -> Iterator[Offer]:
    match want:
        case Fixed():
            yield _offer(" ".join(want.words[0]), KEYWORD)
        case Sign():
            yield _offer(want.text, KEYWORD)
        case WordChoice():
            for choice in want.choices:
                yield _offer(" ".join(choice), VALUE)
        case Named():
            yield from _name_offers(view, want.kind)
        case PanelPlace():
            given = _given_places(view, cursor)
            for name in (place for place in PLACES if place not in given):
                yield _offer(name, VALUE, "place on the panel")
            if not given & {ALL_CORNERS, *CORNERS}:
                yield _offer(ALL_CORNERS, VALUE, "place on the panel", f"The four corners: {', '.join(CORNERS)}.")
            yield _offer("(x, y)", VALUE, "point from the front-left corner", snippet="(${1:120mm}, ${2:45mm})")
        case EdgePlace() if isinstance(cursor.line[-1].node, Number):
            yield from _unit_offers(want, "")
        case EdgePlace():
            yield _offer("50%", VALUE, "share of the edge, from its left or front end", snippet="${1:50}%")
            yield _offer("300mm", VALUE, "distance along the edge, from its left or front end", snippet="${1:300mm}")
        case Measure():
            last = cursor.line[-1]
            if isinstance(last.node, Number):
                yield from _unit_offers(want, "")
            elif cursor.current is None:
                example = _own_example(shape, want.dimension, len(join_units(cursor.items[1:])))
                yield _offer(example, VALUE, description.limits(want), snippet=f"${{1:{escape(example)}}}")
        case Count():
            yield _offer("3", VALUE, description.limits(want) or "whole number", snippet="${1:3}")
        case Coded():
            for code in _codes(want.form.pattern):
                yield _offer(code, VALUE, want.form.spoken)
        case Quoted():
            if issubclass(want.made, PointFileName):
                yield from _file_offers(view, ".csv")
            elif cursor.current is None:
                yield _offer('"…"', VALUE, "text in quotes", snippet='"$1"')


@cache
def _codes(form: str) -> tuple[str, ...]:
    """The codes that match a pattern, found by trying all numbers: they are few."""
    letters = re.match(r"[A-Z]+", form)
    head = letters.group() if letters else ""
    tried = [f"{head}{n}" for n in range(100)] + [f"{head}{n}.{m}" for n in range(50, 100) for m in range(1, 4)]
    return tuple(code for code in tried if re.fullmatch(form, code))


def _own_example(shape: WordShape, dimension: str, at: int) -> str:
    """The value of this dimension in a word's own example: that of the item at an index, else the first."""
    items = join_units([one.node for one in lexemes(shape.example, "", 0) if one.node is not None])
    for item in (*items[at : at + 1], *items):
        if isinstance(item, NumberWithUnit) and item.unit in units_of(dimension):
            return as_written(item)
    return LIKELY[dimension]


def _given_places(view: View, cursor: Cursor) -> set[str]:
    """The places that this line and others of its word name already, `corners` as the four."""
    path = node_at(view.tree, cursor.offset)
    block = path.open_blocks[-1] if path is not None else None
    lines = [line.items for line in block.fields if line.word.text == cursor.line[0].text] if block else []
    current = cursor.current.node if cursor.current is not None else None
    names = {item.text for items in (cursor.items, *lines) for item in items if isinstance(item, Name)}
    if isinstance(current, Name):
        names.discard(current.text)
    return names | set(CORNERS if ALL_CORNERS in names else ())


def _unit_offers(want: Want, digits: str) -> Iterator[Offer]:
    """The units of a quantity or of a position along an edge, with the digits in front of them."""
    if not isinstance(want, Measure | EdgePlace):
        return
    units = want.units if isinstance(want, Measure) else EDGE_UNITS
    for rank, symbol in enumerate(units):
        unit = UNITS[symbol]
        about = f"1{symbol} = {unit.worth:g} {units[0]}" if rank and unit.dimension == UNITS[units[0]].dimension else ""
        yield _offer(f"{digits}{symbol}", f"{UNIT}{rank}", unit.dimension, about)


def _name_offers(view: View, kind: str, besides: str = "") -> Iterator[Offer]:
    for name, declaration in view.known(kind).items():
        if name != besides:
            where = declaration.path if declaration is not None else "built in"
            yield _offer(name, NAME, f"{kind} · {where}", documentation.declaration_page(kind, name, declaration))
    for name, path in unused_names(view).get(kind, {}).items():
        edit = use_line(view, path)
        yield _offer(name, NAME, f"{kind} · adds {edit.text.strip()}")._replace(also=(edit,))


# -- files


def _file_offers(view: View, suffix: str) -> Iterator[Offer]:
    """Files below the project's root, relative to this file."""
    for path in files_below(view.root, suffix):
        if path != view.path:
            relative = os.path.relpath(path, view.path.parent).replace(os.sep, "/")
            yield _offer(f'"{relative}"', FILE)
