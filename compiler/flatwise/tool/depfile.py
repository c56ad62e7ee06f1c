"""The dependencies of a build as rules for Make and similar tools (`build --depfile FILE`)."""

from __future__ import annotations

import os
import re
from collections.abc import Iterable, Sequence

Rule = tuple[Sequence[str], Sequence[str]]


def rules(made: Iterable[Rule]) -> str:
    """`targets: sources`, a rule for each job, long ones over several lines.

    Each source is also a target without dependencies, so that Make rebuilds instead of failing when it is removed.
    Raises ValueError for a path with a line break, which no rule can contain.
    """
    out: list[str] = []
    seen: dict[str, None] = {}
    for targets, sources in made:
        left = " ".join(escaped(target) for target in targets)
        out.append(" \\\n ".join([f"{left}:", *(escaped(source) for source in sources)]))
        seen.update(dict.fromkeys(sources))
    return "\n".join([*out, *(f"{escaped(source)}:" for source in seen)]) + "\n"


def touch(made: Iterable[Rule]) -> None:
    """Set the time of each target that is older than one of its sources.

    A target whose bytes stay as they are keeps its time; Make would build it again and again.
    """
    for targets, sources in made:
        newest = max((os.stat(source).st_mtime_ns for source in sources if os.path.exists(source)), default=0)
        for target in targets:
            if os.stat(target).st_mtime_ns < newest:
                os.utime(target)


def escaped(path: str) -> str:
    """A path as rules need it: blanks, `#` and `:` after a backslash, `$` doubled (GNU Make manual, 4.2 and 6.2).

    Make always takes `a(b)` for a member of an archive, and rebuilds it each time.
    """
    if "\n" in path or "\r" in path:
        raise ValueError(f"the path {path!r} contains a line break")
    # backslashes need doubling only before an escaped character
    return re.sub(r"(\\*)([ \t#:])", lambda found: f"{found[1] * 2}\\{found[2]}", path).replace("$", "$$")
