"""The pages of the codes, as `flatwise explain` prints them."""

from __future__ import annotations

import re
import shutil
import textwrap

from flatwise.core.wording import listed
from flatwise.findings import pages


def listing() -> str:
    """Every code with its title, one a line."""
    every = (pages.page(code) for code in pages.codes())
    return "\n".join(f"{page.code}  {page.title}" for page in every if page is not None)


def unknown(code: str) -> str:
    """What to say of a code that there is not: the nearest one or two by their digits, or the codes of a word."""
    way = "`flatwise explain` lists them all."
    digits = _digits(code)
    if digits is None:
        return f"There is no code {code!r}. {_of_word(code) or way}"
    near = _near(digits)
    if len(near) > 2:
        return f"There is no code {code!r}. Those that begin so are {near[0]} to {near[-1]}; {way}"
    if not near:
        return f"There is no code {code!r}, and none near it; {way}"
    return f"There is no code {code!r}. Did you mean {listed(near)}? {way}"


def _digits(code: str) -> str | None:
    """The digits of what is meant as a code, letters that are taken for digits among them; None for a word."""
    bare = re.sub(r"[^A-Z0-9]", "", code.upper())
    found = re.fullmatch(r"[FW]{0,2}([0-9OIL]{1,5})", bare)
    return found[1].translate(str.maketrans("OIL", "011")) if found and re.search("[0-9]", bare) else None


def _near(digits: str) -> list[str]:
    """The codes that these digits may mean: what begins with them, else the nearest of those of the same hundred."""
    known = {code[2:]: code for code in pages.codes()}
    exact = digits.lstrip("0").zfill(3) if len(digits) > 3 else digits
    if exact in known:
        return [known[exact]]
    if len(digits) < 3 and (begin := [code for each, code in known.items() if each.startswith(digits)]):
        return begin
    # digits that changed places, or of which one is missing or too many, are slips of the hand
    swapped = [known[each] for each in known if sorted(each) == sorted(digits) and each[0] == digits[0]]
    slips = [
        known[each]
        for each in known
        for long, short in ((digits, each), (each, digits))
        if len(long) == len(short) + 1 and any(long[:at] + long[at + 1 :] == short for at in range(len(long)))
    ]
    if swapped or slips:
        return (swapped or list(dict.fromkeys(slips)))[:2]
    hundred = [each for each in known if each[0] == digits[0]]
    if len(digits) != 3 or not hundred:
        return []
    least = min(abs(int(each) - int(digits)) for each in hundred)
    return [known[each] for each in hundred if abs(int(each) - int(digits)) == least]


def _of_word(word: str) -> str:
    """For somebody who asks for a word: the codes whose titles have it, or the help of a command; "" for neither."""
    from flatwise.tool.arguments import COMMANDS

    bare = word.strip().lower()
    if bare in COMMANDS:
        return f"It is a command: `flatwise {bare} --help` says what it takes."
    every = [page for page in map(pages.page, pages.codes()) if page is not None]
    if len(bare) > 2:
        told = [page.code for page in every if re.search(rf"\b{re.escape(bare)}", page.title.lower())]
        if told:
            return f"The word stands in the title of {listed(told, 'and')}."
    return ""


def page(code: str, *, colour: bool = False, width: int = 0) -> str | None:
    """The page of a code, its paragraphs wrapped to `width` cells (0: the terminal's, at most 92), or None."""
    found = pages.page(code)
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
