"""What the model and the sources say about words, blocks, declarations and woods, in Markdown."""

from __future__ import annotations

from functools import cache

from flatwise.core.units import UNITS, units_of
from flatwise.language import description
from flatwise.language.items import as_written
from flatwise.language.link import Declaration
from flatwise.language.phrase_shape import Count, Measure, block_shape
from flatwise.model import woods
from flatwise.model.kinds import KINDS
from flatwise.model.words import ModelBlock
from flatwise_grammar.nodes import Block, Field

#: the most lines of a declaration that are shown
MOST_LINES = 24
_RELIABILITY = {"read": "read in the source", "memory": "from memory"}


def about_kind(kind: str) -> str:
    """What a kind of declaration is, in a sentence or two."""
    return description.RECIPE if kind == "recipe" else description.about(KINDS[kind])


@cache
def word_page(made: type[ModelBlock], word: str) -> str:
    """A word of a block: how it is written, what it means, its bounds and default."""
    shape = block_shape(made).words[word]
    repeated = " · may be repeated" if shape.repeats else ""
    parts = [
        f"```flat\n{word} {shape.example}\n```",
        made.model_fields[word].description or "",
        f"*Written:* {description.shown(shape)}{repeated}",
    ]
    names_by_bounds: dict[str, dict[str, None]] = {}
    for name, kind in description.holes(shape.group):
        if isinstance(kind, Measure | Count) and (bounds := description.limits(kind)):
            names_by_bounds.setdefault(bounds, {})[name.replace("_", " ")] = None
    for bounds, names in names_by_bounds.items():
        named = " and ".join(filter(None, names))
        parts.append(f"*Bounds:* {named} {bounds}" if named else f"*Bounds:* {bounds}")
    parts.append(f"*Default:* {description.default(made, word)}")
    return "\n\n".join(filter(None, parts))


@cache
def block_page(made: type[ModelBlock]) -> str:
    """A block: what it is, and its words."""
    headers = {name: " ".join(key) for key, (name, _) in block_shape(made).blocks.items()}
    rows = []
    for name, info in made.model_fields.items():
        required = " *(required)*" if name in made.required() else ""
        rows.append(f"- `{headers.get(name, name)}` {info.description or ''}{required}")
    return f"{description.about(made)}\n\n" + "\n".join(rows)


@cache
def kind_page(kind: str) -> str:
    """A kind of declaration."""
    if kind == "recipe":
        return f"{about_kind(kind)}\n\n- `takes` its parameters\n\nIts other words are those of a job."
    return block_page(KINDS[kind])


def declaration_page(kind: str, name: str, declaration: Declaration | None) -> str:
    """A declaration: its lines, those it inherits included, and where it is declared; "" where it is unknown."""
    if declaration is None:
        return wood_page(name) if kind == "wood" else ""
    lines = [f"{kind} {name} {{"]
    for part in declaration.body[:MOST_LINES]:
        if isinstance(part, Field):
            lines.append(f"    {line_text(part)}")
        elif isinstance(part, Block):
            header = " ".join(getattr(item, "text", "") for item in part.head)
            lines.append(f"    {header} {{ … }}")
    lines.append("}")
    page = "```flat\n" + "\n".join(lines) + f"\n```\n\n{about_kind(kind)} Declared in {declaration.path}."
    if kind == "wood" and name in woods.NAMES:
        page += f"\n\nOther values come from the built-in table: {wood_source(name)}"
    return page


def line_text(field: Field) -> str:
    """A line as text, with single blanks."""
    text = field.word.text
    for item in field.items:
        word = as_written(item)
        text += word if word == "," else f" {word}"
    return text


def wood_page(name: str) -> str:
    """A built-in wood: its values and their source; "" for an unknown one."""
    wood = woods.built_in(name)
    if wood is None:
        return ""
    given = {word: getattr(wood, word) for word in type(wood).model_fields}
    rows = "\n".join(
        f"- {word.replace('_', ' ')} {description.value(value)}" for word, value in given.items() if value is not None
    )
    return f"**{name}**, built in\n\n{rows}\n\n{wood_source(name)}"


def wood_source(name: str) -> str:
    """The source of the values of a built-in wood, and how reliable they are."""
    figures = woods.FIGURES.get(woods.ALSO.get(name, name))
    if figures is None:
        return "Round figures for a common board; the cutting energy is rounded from edge milling of particleboard."
    return (
        "Wood Handbook, FPL-GTR-190 (2010), tables 5-3 and 5-5, at 12 % moisture: "
        f"gravity {figures.gravity:g} ({_RELIABILITY.get(figures.gravity_mark, figures.gravity_mark)}), "
        f"modulus {figures.modulus:g}MPa ({_RELIABILITY.get(figures.modulus_mark, figures.modulus_mark)}). "
        "The cutting energy is an estimate."
    )


def in_other_units(value: float, unit: str) -> list[str]:
    """A quantity (`value` in the base unit of its dimension) in the other units in which it is a handy number."""
    found = []
    for symbol in units_of(UNITS[unit].dimension):
        amount = value / UNITS[symbol].worth
        if symbol != unit and (value == 0 or 0.01 <= abs(amount) < 100_000):
            found.append(f"{amount:.6g}{symbol}")
    return found
