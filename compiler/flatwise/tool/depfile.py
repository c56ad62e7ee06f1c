"""Which files a build was made from, as rules that Make and tools like it read (`build --depfile FILE`)."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

Rule = tuple[Sequence[str], Sequence[str]]


def rules(made: Iterable[Rule]) -> str:
    """`targets: sources`, a rule for each job, long ones over several lines.

    Each source is also named as a target by itself, so that Make goes on when one is gone and builds anew.  Raises
    ValueError for a path with a line break, which no rule can hold.
    """
    out: list[str] = []
    seen: dict[str, None] = {}
    for targets, sources in made:
        left = " ".join(escaped(target) for target in targets)
        out.append(" \\\n ".join([f"{left}:", *(escaped(source) for source in sources)]))
        seen.update(dict.fromkeys(sources))
    return "\n".join([*out, *(f"{escaped(source)}:" for source in seen)]) + "\n"


def escaped(path: str) -> str:
    """A path as a rule takes it: blanks, `#` and `:` after a backslash, `$` twice (GNU Make manual, 4.2 and 6.2).

    Make takes `a(b)` for a member of an archive however it is written, and builds anew each time.
    """
    if "\n" in path or "\r" in path:
        raise ValueError(f"the path {path!r} has a line break in it")
    # backslashes count only before what is escaped: there each one is doubled
    return re.sub(r"(\\*)([ \t#:])", lambda found: f"{found[1] * 2}\\{found[2]}", path).replace("$", "$$")
