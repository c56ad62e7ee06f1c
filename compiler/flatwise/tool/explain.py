"""The pages of the codes for `flatwise explain`."""

from __future__ import annotations

import re
import shutil
import textwrap

from flatwise.core.wording import listed
from flatwise.findings import pages


def listing() -> str:
    """Every code with its title, one per line."""
    every = (pages.page(code) for code in pages.codes())
    return "\n".join(f"{page.code}  {page.title}" for page in every if page is not None)


def unknown(asked: str) -> str:
    """Help for a code that does not exist: the most similar codes, or for a word where it occurs."""
    from difflib import get_close_matches

    from flatwise.tool.arguments import COMMANDS

    every = "`flatwise explain` lists all codes."
    word = re.sub(r"[^a-z0-9]", "", asked.lower())
    if word in COMMANDS:
        return f"{asked!r} is a command, not a code. `flatwise {word} --help` shows its options."
    known = pages.codes()
    if not any(letter.isdigit() for letter in word):
        titled = [code for code in known if len(word) > 2 and _in_title(word, code)]
        found = f"The word occurs in the title of {listed(titled, 'and')}." if titled else every
        return f"There is no code {asked!r}. {found}"
    code = "FW" + word.removeprefix("fw").replace("o", "0")
    near = [each for each in known if each.startswith(code)] or get_close_matches(code, known, n=2)
    return f"There is no code {asked!r}. {f'Did you mean {listed(near)}? ' if near else ''}{every}"


def _in_title(word: str, code: str) -> bool:
    found = pages.page(code)
    return found is not None and re.search(rf"\b{word}", found.title.lower()) is not None


def page(code: str, *, colour: bool = False, width: int = 0) -> str | None:
    """The page of a code, wrapped to `width` characters (0: the terminal's width, at most 92); None if unknown."""
    found = pages.page(code)
    if found is None:
        return None
    return wrapped(found.text, width or min(92, shutil.get_terminal_size().columns), colour=colour)


def wrapped(markdown: str, width: int, *, colour: bool = False) -> str:
    """Markdown for a terminal: paragraphs and list items wrapped, headings bold, examples indented."""
    out: list[str] = []
    block: list[str] = []
    fenced = False

    def close() -> None:
        if block:
            lead = "  " if block[0].startswith(("* ", "- ")) else ""
            out.append(textwrap.fill(" ".join(block), width, subsequent_indent=lead, break_on_hyphens=False))
            block.clear()

    for number, line in enumerate(markdown.splitlines()):
        if line.startswith("```"):
            close()
            fenced = not fenced
        elif fenced:
            out.append(f"    {line}".rstrip())
        elif not line.strip():
            close()
            out.append("")
        elif line.startswith("#") or number == 0:
            close()
            title = line.lstrip("# ")
            out.append(f"\x1b[1m{title}\x1b[0m" if colour else title)
        else:
            if line.startswith(("* ", "- ")):
                close()
            block.append(line.strip())
    close()
    return "\n".join(out) + "\n"
