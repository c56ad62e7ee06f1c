"""Small things of English that messages share: lists in a sentence, and how a sentence begins."""

from __future__ import annotations

from collections.abc import Sequence


def listed(words: Sequence[str], joint: str = "or") -> str:
    """`a, b or c`, of at least one."""
    return f"{', '.join(words[:-1])} {joint} {words[-1]}" if len(words) > 1 else words[0]


def quoted(words: Sequence[str], joint: str = "or") -> str:
    """The same in backticks, as words of the language stand in a message."""
    return listed([f"`{word}`" for word in words], joint)


def sentence(text: str) -> str:
    """The text with a capital first, the rest as it is: names and units keep their letters."""
    return text[:1].upper() + text[1:]
