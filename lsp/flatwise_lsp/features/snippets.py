"""Snippets: text with tab stops, `${1:…}`, that an editor inserts; made from the examples of the model."""

from __future__ import annotations

import re
from collections.abc import Iterator

from flatwise.language.phrase_shape import WordShape, block_shape
from flatwise.model.words import ModelBlock
from flatwise_grammar.lines import lexemes


def escape(text: str) -> str:
    """A text as it is written in a snippet."""
    return re.sub(r"([\\$}])", r"\\\1", text)


def plain_text(snippet: str) -> str:
    """A snippet as plain text, each tab stop replaced by its example."""
    text = re.sub(r"\$\{\d+:((?:\\.|[^\\}])*)\}", r"\1", snippet)
    text = re.sub(r"(?<!\\)\$\d+", "", text)
    return re.sub(r"\\([\\$}])", r"\1", text)


def phrase_snippet(shape: WordShape, first_stop: int = 1) -> tuple[str, int]:
    """The example of a word with a tab stop at each value, and the number of the next tab stop."""
    fixed_words = set(re.sub(r"\{\w*\}|[\[\],]", " ", shape.pattern).split())
    example = shape.example
    made: list[str] = []
    stop, end = first_stop, 0
    for lexeme in lexemes(example, "", 0):
        made.append(example[end : lexeme.start])
        end = lexeme.end
        is_name = lexeme.type == "NAME" and lexeme.text not in fixed_words
        if is_name or lexeme.type in ("QUANTITY", "NUMBER", "CODE", "STRING"):
            made.append(f"${{{stop}:{escape(lexeme.text)}}}")
            stop += 1
        else:
            made.append(escape(lexeme.text))
    return "".join(made) + example[end:], stop


def required_lines(made: type[ModelBlock], first_stop: int) -> Iterator[str]:
    """A snippet for each line that a declaration must have."""
    words, stop = block_shape(made).words, first_stop
    for word in made.required():
        text, stop = phrase_snippet(words[word], stop)
        yield f"{word} {text}"
