"""Wording that messages share: lists in a sentence, and the start of a sentence."""

from __future__ import annotations

import re
from collections.abc import Sequence

from flatwise.core.units import Quantity, show


def listed(words: Sequence[str], joint: str = "or") -> str:
    """`a, b or c`, of at least one word."""
    return f"{', '.join(words[:-1])} {joint} {words[-1]}" if len(words) > 1 else words[0]


def quoted(words: Sequence[str], joint: str = "or") -> str:
    """The same with each word in backticks, as words of the language are written in a message."""
    return listed([f"`{word}`" for word in words], joint)


def capitalised(text: str) -> str:
    """The text with its first letter in upper case; the rest is unchanged, so that names and units stay as they are."""
    return text[:1].upper() + text[1:]


def place_name(name: str, x: float = 0.0, y: float = 0.0, unit: str | Quantity = "mm") -> str:
    """A place of the panel: `the front left corner`, `the middle of the back edge`, `(120mm, 45mm)`."""
    if not name:
        return f"({show(x, unit)}, {show(y, unit)})"
    if name == "centre":
        return "the centre"
    if "_" in name:
        return f"the {name.replace('_', ' ')} corner"
    return f"the middle of the {name} edge"


def shape_text(shape: str, height: str, value: float) -> str:
    """A shape with its height as text, and its way as the survey writes it: `twist 0.4mm other way`, `cup 1mm hollow`.

    `value` is the signed height; a shape whose text is 0 has no way.
    """
    ways = ("", " other way") if shape == "twist" else (" crown", " hollow")
    return f"{shape} {height}{ways[value < 0] if re.search('[1-9]', height) else ''}"
