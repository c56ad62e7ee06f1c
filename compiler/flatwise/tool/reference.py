"""The reference of the language as one page of Markdown, from the model of words and from exactly.md.

    python -m flatwise.tool.reference compiler/REFERENCE.md

writes it; without a file it goes to standard output.  A test fails while the page in the repository is stale.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from pathlib import Path

from flatwise.core.units import NAME_WITH_ARTICLE, dimension_name, show, units_of
from flatwise.core.wording import quoted
from flatwise.findings import pages
from flatwise.language.description import MOST_WORDS, RECIPE, about, default, holes, limits, shown
from flatwise.language.phrase_shape import Coded, Count, Measure, WordChoice, WordShape, block_shape
from flatwise.model import woods
from flatwise.model.kinds import KINDS
from flatwise.model.words import PLACES, ModelBlock

_HEAD = """\
# The language, word by word

This page is made from the compiler's own model of words (`python -m flatwise.tool.reference compiler/REFERENCE.md`).
[Exactly](#exactly) at the end explains what the phrases don't say.

A file is a list of `use "path"` lines and blocks. A block is `kind name { … }`; it contains lines, each a word with a
short phrase, and other blocks. A new line or `;` ends a line, a line that ends in `,` goes on, `#` starts a comment.

In the phrases below ‹…› is a value, […] is optional, a|b is one of them, and `, …` means a list.
"""

_RECIPE = (
    f"### recipe\n\n{RECIPE}"
    + """ `takes` names the parameters; each may stand
where a value stands. A job made `from` it gives them as lines, and its blocks replace lines of the recipe's blocks.

```flat
use "../shared/shop.flat"

recipe plank {
    takes     length, width, rough, finish
    machine   bench_router
    standard  solid_tops
    stock     { size length x width x rough; wood ash; grain along x }
    hold {
        dog    low_dog   left   at 25%, 75%
        dog    low_dog   front  at 15%, 85%
        clamp  side_cam  right  at 50%
        clamp  side_cam  back   at 20%, 80%
    }
    zero   { corner front_left at 120mm, 120mm; z bed }
    cut    { cutter fly_64 }
    faces  { first until clean; second to finish +/- 0.5mm; flip over long_edge }
}

job long_plank from plank {
    length 900mm; width 280mm; rough 30mm; finish 26mm
    survey { thickness centre 30mm }
}
```
"""
)

_WOODS = """\
Built in. Density is the specific gravity of the table × 1120 kg/m3, modulus that of elasticity, both at 12 % moisture,
from the *Wood Handbook*, USDA Forest Products Laboratory, FPL-GTR-190 (2010). The last column says from which table,
and how far gravity and modulus can be trusted here: read in the book, second-hand, or from memory. The cutting energy
of 50 N/mm2 is an estimate (solid wood at router chips: 20 to 80, from memory); that of mdf is rounded from
particleboard, edge milling, 32.0 to 37.6 N/mm2 (Pałubicki, *Materials* 14:2208, 2021). `hickory` has the lowest figures
of the true hickories (0.69 to 0.75, 13000 to 15600 MPa). `mdf` is equally stiff both ways: its modulus across is that
along, its shear modulus 1200 MPa.
"""


def page() -> str:
    """The whole reference, in Markdown."""
    parts = [_HEAD, "## Values\n", *_values(), "## Blocks\n"]
    for kind, made in KINDS.items():
        if kind == "recipe":
            parts.append(_RECIPE)
            continue
        parts += _block(kind, made, "###")
        if kind == "wood":
            parts += _woods()
    parts += ["## Codes\n", *_codes(), (Path(__file__).parent / "exactly.md").read_text(encoding="utf-8")]
    return "\n".join(parts)


# -- values ------------------------------------------------------------------------------------------------------


def _values() -> Iterator[str]:
    yield "Every quantity has a unit, directly after the number or after a blank; units can be mixed.\n"
    yield "| quantity | units |\n|---|---|"
    for dimension in NAME_WITH_ARTICLE:
        yield f"| {dimension_name(dimension)} | {', '.join(f'`{unit}`' for unit in units_of(dimension))} |"
    yield f"\nPlaces on the panel: {', '.join(f'`{name}`' for name in PLACES)};"
    yield "`center` is `centre`, `corners` all four, and a point is `(120mm, 45mm)` from the front-left corner."
    yield "Along an edge: `25%` or `300mm` from its left or front end.\n"


def _takes(shape: WordShape) -> Iterator[str]:
    """What the phrase does not show about its values: dimension and bounds, a long choice of words, a code's form."""
    values: dict[str, list[str]] = {}
    for name, kind in holes(shape.group):
        if isinstance(kind, Measure | Count):
            what = dimension_name(kind.dimension) if isinstance(kind, Measure) else "whole number"
            bounds = limits(kind)
            text = f"{what} {bounds}" if bounds else what
        elif isinstance(kind, WordChoice) and len(kind.choices) > MOST_WORDS:
            text = quoted([" ".join(choice) for choice in kind.choices])
        elif isinstance(kind, Coded):
            text = f"code {kind.form.spoken}"
        else:
            continue
        names = values.setdefault(text, [])
        if name and name not in names and name != text:
            names.append(name)
    for text, names in values.items():
        yield f"{', '.join(names)}: {text}" if names else text


# -- blocks ------------------------------------------------------------------------------------------------------


def _block(title: str, made: type[ModelBlock], level: str, optional: bool = False) -> Iterator[str]:
    shape = block_shape(made)
    yield f"{level} {title}\n\n{about(made)}{' The block is optional.' if optional else ''}\n"
    for word, line in shape.words.items():
        yield from _word(made, word, line)
    described: dict[type[ModelBlock], str] = {}
    for key, (name, inner) in shape.blocks.items():
        heading = f"{' '.join(key)}, in {title}"
        if inner in described:
            yield f"{level}# {heading}\n\nThe words of {described[inner]}.\n"
            continue
        described[inner] = " ".join(key)
        yield from _block(heading, inner, level + "#", name not in made.required())


def _word(made: type[ModelBlock], word: str, shape: WordShape) -> Iterator[str]:
    info = made.model_fields[word]
    repeats = " May be repeated." if shape.repeats else ""
    yield f"**{word}** · {info.description}{repeats}\n"
    yield f"- phrase: {shown(shape)}"
    taken = list(_takes(shape))
    if taken:
        yield f"- takes: {'; '.join(taken)}"
    yield f"- default: {default(made, word)}"
    yield f"- example: `{word} {shape.example}`\n"


def _woods() -> Iterator[str]:
    second = {name: other for other, name in woods.ALSO.items()}
    yield _WOODS
    yield "| wood | density | modulus | cutting energy | source |\n|---|---|---|---|---|"
    for name in (*woods.FIGURES, "mdf"):
        wood, figures = woods.built_in(name), woods.FIGURES.get(name)
        assert wood is not None
        source = "round figures"
        if figures:
            table = "5-5, gravity of green wood" if name == "teak" else "5-3"
            source = f"table {table}: {figures.gravity_mark}, {figures.modulus_mark}"
        also = f" (`{second[name]}`)" if name in second else ""
        yield (
            f"| `{name}`{also} | {show(float(wood.density), 'kg/m3')} | {show(float(wood.modulus), 'MPa', 5)} | "
            f"{show(float(wood.cutting_energy), 'N/mm2')} | {source} |"
        )
    yield ""


def _codes() -> Iterator[str]:
    yield "`flatwise explain CODE` explains a code.\n"
    yield "| code | meaning |\n|---|---|"
    for code in pages.codes():
        found = pages.page(code)
        yield f"| {code} | {found.title if found else ''} |"
    yield ""


def main(arguments: list[str]) -> int:
    """Write the page to the given file, or to standard output; returns the exit code."""
    if len(arguments) > 1 or arguments[:1] in (["-h"], ["--help"]):
        print("usage: python -m flatwise.tool.reference [FILE]", file=sys.stderr)
        return 2
    if arguments:
        Path(arguments[0]).write_bytes(page().encode("utf-8"))
    else:
        sys.stdout.write(page())
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
