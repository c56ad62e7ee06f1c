"""The model in words for people: pages for hover and completion, snippets of phrases, bounds and defaults."""

from __future__ import annotations

import re
from functools import cache

from flatwise.core.units import UNITS, units_of
from flatwise.language.description import RECIPE, about, default, holes, limits, shown, value
from flatwise.language.link import Declaration
from flatwise.language.phrase_shape import (
    LIKELY,
    BlockShape,
    Count,
    Measure,
    WordShape,
    block_shape,
)
from flatwise.model import woods
from flatwise.model.kinds import KINDS
from flatwise.model.words import ModelBlock, Of
from flatwise_grammar.lines import lexemes
from flatwise_grammar.nodes import Block, Field

LENGTH = Of("length", least=-100_000.0, most=100_000.0)


def block_of(shape: BlockShape, name: str) -> tuple[str, type[ModelBlock]]:
    """The header and the model of the block that a field of the model stands for."""
    return next((" ".join(key), made) for key, (field, made) in shape.blocks.items() if field == name)


def least(made: type[ModelBlock]) -> tuple[WordShape, ...]:
    """The words of the shortest block that shows how one is written: those it must have, or else its first."""
    words = block_shape(made).words
    return tuple(words[word] for word in made.required or tuple(words)[:1])


def escaped(text: str) -> str:
    """A text as it stands in a snippet."""
    return re.sub(r"([\\$}])", r"\\\1", text)


def about_kind(kind: str) -> str:
    """What a kind of declaration is."""
    return RECIPE if kind == "recipe" else about(KINDS[kind])


def snippet(shape: WordShape, stop: int) -> tuple[str, int]:
    """A word's example with a tab stop at each value, and the next free number of a stop."""
    joints = set(re.sub(r"\{\w*\}|[\[\],]", " ", shape.pattern).split())
    example = shape.example
    out: list[str] = []
    at = 0
    for piece in lexemes(example, "", 0):
        out.append(example[at : piece.start])
        at = piece.end
        value = piece.type in ("QUANTITY", "NUMBER", "CODE", "STRING") or (
            piece.type == "NAME" and piece.text not in joints
        )
        text = escaped(piece.text)
        if value:
            out.append(f"${{{stop}:{text}}}")
            stop += 1
        else:
            out.append(text)
    return "".join(out) + example[at:], stop


@cache
def codes(form: str) -> tuple[str, ...]:
    """The codes that a form allows: tried one by one, since they are few."""
    letters = re.match(r"[A-Z]+", form)
    head = letters.group() if letters else ""
    tried = [f"{head}{n}" for n in range(100)] + [f"{head}{n}.{m}" for n in range(50, 100) for m in range(1, 4)]
    return tuple(code for code in tried if re.fullmatch(form, code))


def likely(kind: Measure) -> str:
    """A likely value of a dimension."""
    return LIKELY[kind.of.dimension]


# -- pages -----------------------------------------------------------------------------------------------------------


@cache
def word_page(made: type[ModelBlock], word: str) -> str:
    """A word of a block: how it is written, what it means, its bounds and default."""
    shape = block_shape(made).words[word]
    info = made.model_fields[word]
    lines = [f"```flat\n{word} {shape.example}\n```", info.description or ""]
    several = " · may stand on several lines" if shape.repeats else ""
    lines.append(f"*Written:* {shown(shape)}{several}")
    bounded: dict[str, list[str]] = {}
    for name, kind in holes(shape.group):
        if isinstance(kind, Measure | Count) and (bounds := limits(kind.of)):
            names = bounded.setdefault(bounds, [])
            if name not in names:
                names.append(name)
    for bounds, names in bounded.items():
        who = " and ".join(name.replace("_", " ") for name in names if name)
        lines.append(f"*Bounds:* {who + ' ' if who else ''}{bounds}")
    lines.append(f"*Default:* {default(made, word)}")
    return "\n\n".join(line for line in lines if line)


@cache
def block_page(made: type[ModelBlock]) -> str:
    """A block: what it is, and its words."""
    shape = block_shape(made)
    rows = []
    for name, info in made.model_fields.items():
        must = " *(must be given)*" if name in made.required else ""
        head = name if name in shape.words else block_of(shape, name)[0]
        rows.append(f"- `{head}` {info.description or ''}{must}")
    return f"{about(made)}\n\n" + "\n".join(rows)


@cache
def kind_page(kind: str) -> str:
    """A kind of declaration."""
    if kind == "recipe":
        return f"{about_kind(kind)}\n\n- `takes` its parameters\n\nElse it has the words of a job."
    return block_page(KINDS[kind])


def declaration_page(kind: str, name: str, declaration: Declaration | None) -> str:
    """A declaration in short: its lines as they count after `like` and `from`, and where it stands."""
    if declaration is None:
        return wood_page(name) if kind == "wood" else ""
    lines = [f"{kind} {name} {{"]
    for part in declaration.body[:24]:
        if isinstance(part, Field):
            lines.append(f"    {line_text(part)}")
        elif isinstance(part, Block):
            head = " ".join(getattr(item, "text", "") for item in part.head)
            lines.append(f"    {head} {{ … }}")
    lines.append("}")
    page = "```flat\n" + "\n".join(lines) + f"\n```\n\n{about_kind(kind)} Declared in {declaration.path}."
    if kind == "wood" and name in woods.NAMES:
        page += f"\n\nWhat it leaves out comes from the built-in table: {wood_source(name)}"
    return page


def line_text(part: Field) -> str:
    """A line as text, in the plainest layout."""
    from flatwise.language.items import spoken

    text = part.word.text
    for item in part.items:
        said = spoken(item)
        text += said if said == "," else f" {said}"
    return text


def wood_page(name: str) -> str:
    """A built-in wood: its figures and where they are from."""
    wood = woods.built_in(name)
    if wood is None:
        return ""
    given = {word: getattr(wood, word) for word in type(wood).model_fields}
    figures = "\n".join(f"- {word.replace('_', ' ')} {value(one)}" for word, one in given.items() if one is not None)
    return f"**{name}**, built in\n\n{figures}\n\n{wood_source(name)}"


def wood_source(name: str) -> str:
    """Where the figures of a built-in wood are from, and how far they can be trusted."""
    figures = woods.FIGURES.get(woods.ALSO.get(name, name))
    if figures is None:
        return "Round figures for a common board; the cutting energy is rounded from edge milling of particleboard."
    return (
        "Wood Handbook, FPL-GTR-190 (2010), tables 5-3 and 5-5, at 12 % moisture: "
        f"gravity {figures.gravity:g} ({_mark(figures.gravity_mark)}), "
        f"modulus {figures.modulus:g}MPa ({_mark(figures.modulus_mark)}). The cutting energy is an estimate."
    )


def _mark(mark: str) -> str:
    return {"read": "read there", "second-hand": "second-hand", "memory": "from memory"}.get(mark, mark)


def in_other_units(value: float, unit: str) -> list[str]:
    """A quantity in the other units of its dimension, those that read well."""
    found = []
    for symbol in units_of(UNITS[unit].dimension):
        if symbol == unit:
            continue
        amount = value / UNITS[symbol].worth
        if value == 0 or 0.01 <= abs(amount) < 100_000:
            found.append(f"{amount:.6g}{symbol}")
    return found
