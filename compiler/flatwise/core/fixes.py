"""Ways out of a finding: the word that was meant, a limit rounded to its safe side, and the fix that writes a value."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from functools import lru_cache
from math import ceil, floor

from flatwise.core.finding import Edit, Finding, Fix
from flatwise.core.units import NOWHERE, SPOKEN, UNITS, Quantity, show
from flatwise.core.wording import quoted
from flatwise_grammar.nodes import Span

#: A misspelt name is not compared with more names than this: no shop has so many of a kind, and it would take minutes.
MANY_WORDS = 400
#: Nor with names that have more letters in all.
MANY_LETTERS = 6_000

#: Codes of a line that says nothing as it stands: their fixes only spell what is certainly meant.  Other fixes choose
#: another name, file, rule or number, which a person should see first.
_SPELLING = frozenset(("FW001", "FW002", "FW003", "FW101", "FW104", "FW108"))


def is_safe(finding: Finding) -> bool:
    """Whether a finding's fix may be applied without a person looking at it."""
    return finding.fix is not None and finding.code in _SPELLING


def edited(text: str, edits: Iterable[Edit]) -> str:
    """A text after edits, none of which overlap."""
    for edit in sorted(edits, key=lambda edit: edit.span.start, reverse=True):
        text = text[: edit.span.start] + edit.text + text[edit.span.end :]
    return text


def near_words(word: str, known: Iterable[str]) -> list[str]:
    """At most 3 known words: those spelt like `word`, the closest first, then those that contain all its parts."""
    words = tuple(known)
    many = len(words) > MANY_WORDS or sum(map(len, words)) > MANY_LETTERS
    return [] if many else list(_near(word[:60], words))


@lru_cache(maxsize=4096)
def _near(word: str, words: tuple[str, ...]) -> tuple[str, ...]:
    """The words near to one; kept, since a line of a recipe is misspelt in each job that starts from it."""
    from difflib import get_close_matches

    parts = set(word.split("_"))
    containing = [each for each in words if parts <= set(each.split("_"))]
    return tuple(dict.fromkeys([*get_close_matches(word, words, n=3, cutoff=0.6), *containing]))[:3]


def sure_word(word: str, known: Iterable[str]) -> str:
    """The one word that is certainly meant, or "": spelt much like `word`, with no other nearly as close."""
    from difflib import SequenceMatcher

    near = near_words(word, known)
    likeness = [SequenceMatcher(None, word[:60], each).ratio() for each in near]
    if likeness and likeness[0] >= 0.75 and (len(near) == 1 or likeness[0] - likeness[1] >= 0.1):
        return near[0]
    return ""


def spoken_unit(word: str) -> str:
    """The symbol of a unit that is spelt out, nearly at least (`inches`, `milimeter`), or "" for any other word."""
    plain = word.lower().removesuffix("s")
    return SPOKEN.get(plain, "") or next((SPOKEN[one] for one in near_words(plain, SPOKEN) if len(plain) > 4), "")


def did_you_mean(word: str, span: Span, known: Iterable[str]) -> tuple[str, Fix | None]:
    """Help for a word that is nearly a known one ("Did you mean …?", or ""), and a fix where it is certain which."""
    known = list(known)
    near = near_words(word, known)
    sure = sure_word(word, known)
    if sure:
        return f"Did you mean `{sure}`?", replacing(span, sure)
    return (f"Did you mean {quoted(near)}?" if near else ""), None


def replacing(span: Span, text: str) -> Fix:
    """The fix that writes `text` in place of what stands at a span."""
    return Fix(f"Write `{text}`", (Edit(span, text),))


def at_most(value: float, unit: str | Quantity) -> str:
    """A limit in a unit, rounded down to four digits, so that the figure shown keeps the limit."""
    return _rounded(value, unit, floor, 1e-9)


def at_least(value: float, unit: str | Quantity) -> str:
    """A limit in a unit, rounded up to four digits, so that the figure shown keeps the limit."""
    return _rounded(value, unit, ceil, -1e-9)


def _rounded(value: float, unit: str | Quantity, towards: Callable[[float], int], slack: float) -> str:
    symbol = unit.unit if isinstance(unit, Quantity) else unit
    worth = UNITS[symbol].worth if symbol in UNITS else 1.0
    shown = value / worth
    places = max(0, 4 - len(str(int(abs(shown))))) if abs(shown) >= 1 else 4
    step = 10.0**-places
    return show(towards(shown / step + slack) * step * worth, symbol)


def value_fix(written: Quantity | None, text: str) -> Fix | None:
    """The fix that replaces a value with `text`; None where the value was not written in the job."""
    if written is None or written.span == NOWHERE:
        return None
    return Fix(f"Write {text}", (Edit(written.span, text),))
