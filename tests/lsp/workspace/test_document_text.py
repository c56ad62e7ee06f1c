"""Lines, columns and edits in the protocol's terms.

Source: Language Server Protocol specification 3.17, sections "Text Documents" and "Position" (its example: in
`a𐐀b` the character b begins at offset 3 in utf-16), and the codecs of Python's standard library.
"""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis_profile import examples

from flatwise_lsp.workspace.document_text import DocumentText, Encoding, Position, Range, TextChange, code_units

ENCODINGS: tuple[Encoding, ...] = ("utf-8", "utf-16", "utf-32")
texts = st.text(st.sampled_from('ab x{}#"\r\n\t\f\u2028é√𐐀\U0001f600\ud800\udc00'), max_size=40)


def test_the_example_of_the_specification() -> None:
    text = DocumentText("a𐐀b")
    assert text.offset(Position(0, 3), "utf-16") == 2
    assert text.position(2, "utf-16") == Position(0, 3)
    assert text.position(2, "utf-8") == Position(0, 5)
    assert text.position(2, "utf-32") == Position(0, 2)


def test_only_the_three_line_breaks_of_the_protocol_end_lines() -> None:
    text = DocumentText("a\fb\u2028c\x85d\ne\r\nf\rg")
    assert [text.line(number) for number in range(len(text.starts))] == ["a\fb\u2028c\x85d", "e", "f", "g"]


def test_a_column_beyond_the_end_of_a_line_is_its_end() -> None:
    text = DocumentText("ab\r\ncd")
    assert text.offset(Position(0, 99), "utf-16") == 2
    assert text.offset(Position(9, 0), "utf-16") == 6


@pytest.mark.parametrize(
    ("encoding", "codec", "size"), [("utf-8", "utf-8", 1), ("utf-16", "utf-16-le", 2), ("utf-32", "utf-32-le", 4)]
)
@given(text=texts)
@examples(30)
def test_code_units_are_those_of_the_codec(encoding: Encoding, codec: str, size: int, text: str) -> None:
    assert code_units(text, encoding) == len("".join(text).encode(codec, "surrogatepass")) // size


@given(text=texts, data=st.data())
@examples(75)
def test_offsets_survive_conversion_to_positions_and_back(text: str, data: st.DataObject) -> None:
    index = DocumentText(text)
    encoding = data.draw(st.sampled_from(ENCODINGS))
    offset = data.draw(st.integers(0, len(text)))
    inside_break = text[offset - 1 : offset + 1] == "\r\n" and offset > 0
    back = index.offset(index.position(offset, encoding), encoding)
    assert back == (offset - 1 if inside_break else offset)


@given(text=texts, put=texts, data=st.data())
@examples(75)
def test_an_edit_gives_the_text_of_an_editor_that_works_in_code_units(text: str, put: str, data: st.DataObject) -> None:
    """The same edit on lists of code units, in which an editor holds its text."""
    encoding = data.draw(st.sampled_from(ENCODINGS))
    lines = re.split(r"(?<=\n)|(?<=\r)(?!\n)", text)
    places = []
    for _ in range(2):
        line = data.draw(st.integers(0, len(lines) - 1))
        body = re.sub(r"(\r\n|\r|\n)$", "", lines[line])
        before = body[: data.draw(st.integers(0, len(body)))]
        places.append((line, before))
    places.sort(key=lambda place: (place[0], len(place[1])))
    (l1, b1), (l2, b2) = places
    expected = "".join(lines[:l1]) + b1 + put + lines[l2][len(b2) :] + "".join(lines[l2 + 1 :])
    span = Range(Position(l1, code_units(b1, encoding)), Position(l2, code_units(b2, encoding)))
    assert DocumentText(text).edited(TextChange(span, put), encoding).text == expected


def test_the_ends_of_a_reversed_range_are_swapped() -> None:
    backward = Range(Position(0, 2), Position(0, 1))
    assert DocumentText("abc").edited(TextChange(backward, "x"), "utf-16").text == "axc"
