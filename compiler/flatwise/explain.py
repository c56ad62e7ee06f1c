"""The pages of the codes, as `flatwise explain` prints them."""

from __future__ import annotations

import difflib
import shutil
import textwrap

from flatwise import check


def listing() -> str:
    """Every code with its title, one a line."""
    pages = (check.page(code) for code in check.codes())
    return "\n".join(f"{page.code}  {page.title}" for page in pages if page is not None)


def unknown(code: str) -> str:
    """What to say of a code that there is not."""
    typed = code.upper().replace("O", "0")
    near = [typed] if typed in check.codes() else difflib.get_close_matches(typed, check.codes(), n=3, cutoff=0.6)
    meant = f" Did you mean {' or '.join(near)}?" if near else ""
    return f"There is no code {code!r}.{meant} `flatwise explain` lists them all."


def page(code: str, *, colour: bool = False, width: int = 0) -> str | None:
    """The page of a code, its paragraphs wrapped to `width` cells (0: the terminal's, at most 92), or None."""
    found = check.page(code)
    if found is None:
        return None
    return wrapped(found.text, width or min(92, shutil.get_terminal_size().columns), colour=colour)


def wrapped(markdown: str, width: int, *, colour: bool = False) -> str:
    """Markdown for a terminal: paragraphs and list items wrapped, headings marked, examples indented as they are."""
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
