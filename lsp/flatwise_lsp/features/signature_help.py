"""Signature help: the phrase of a line, and which of its values comes next."""

from __future__ import annotations

import re
from typing import NamedTuple

from flatwise.language import description
from flatwise.language.mismatch import Want
from flatwise.language.phrase_shape import Fixed, Sign, WordShape, block_shape
from flatwise_lsp.workspace.cursor import cursor_at
from flatwise_lsp.workspace.phrase_trace import expected
from flatwise_lsp.workspace.view import View


class Signature(NamedTuple):
    """A phrase: `label`, its values as (start, end) in the label, the index of the next one, and the word's meaning."""

    label: str
    values: tuple[tuple[int, int], ...]
    active: int | None
    documentation: str


def find_signature(view: View, offset: int) -> Signature | None:
    """The phrase of the line at an offset."""
    if view.too_long:
        return None
    cursor = cursor_at(view.text.text, offset)
    made = cursor.model
    if cursor.in_comment or made is None or not cursor.line:
        return None
    shape = block_shape(made).words.get(cursor.line[0].text)
    if shape is None:
        return None
    label, values = _label(shape)
    wants = expected(shape, cursor.items[1:])
    active = _active(wants, shape.pattern, len(cursor.items) - 1, len(values))
    return Signature(label, values, active, made.model_fields[shape.word].description or "")


def _label(shape: WordShape) -> tuple[str, tuple[tuple[int, int], ...]]:
    """The phrase of a word, and where its values are."""
    label = " | ".join(description.phrases(shape))
    if shape.pattern == "{}":
        found = tuple((one.start(), one.end()) for one in re.finditer(r"‹[^›]*›", label))
        return label, found or ((len(shape.word) + 1, len(label)),)
    values, at = [], 0
    for text, is_value in description.pieces(shape):
        if is_value:
            values.append((at, at + len(text)))
        at += len(text)
    return label, tuple(values)


def _active(wants: tuple[Want, ...], pattern: str, written: int, values: int) -> int | None:
    """The index of the value that comes next behind `written` items; None where only a fixed word may follow."""
    if not wants:
        return None
    fixed = [word for want in wants if isinstance(want, Fixed) for words in want.words for word in words]
    index = 0
    for number, token in enumerate(re.findall(r"\{\w*\}|[^\s\[\]{}]+", pattern)):
        is_value = token.startswith("{")
        if number >= written and (is_value or token in fixed):
            break
        index += is_value
    if index >= values and all(isinstance(want, Fixed | Sign) for want in wants):
        return None
    return min(index, values - 1)
