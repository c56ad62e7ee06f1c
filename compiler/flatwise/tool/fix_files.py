"""`flatwise check --fix`: apply the safe fixes of findings to the files that were named."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from pathlib import Path

from flatwise.core.finding import Edit, Finding
from flatwise.core.fixes import is_safe
from flatwise.pipeline import Front, read_works

#: a mended text may show what it had hidden; it never needs more rounds in practice
_ROUNDS = 20


class Changed(Exception):
    """A file was changed by someone else; nothing was written."""


def fix_files(paths: Sequence[Path]) -> tuple[Front, Mapping[str, int]]:
    """Fix the job files named, or below the folders named, and give what is read then, and the fixes in each file.

    Files that they use are left alone.  Raises Changed, or OSError where a file can't be written; each file is replaced
    in one step.
    """
    first = front = read_works(paths)
    roots = [path.resolve() for path in paths]
    own = {name for name in front.projects if any(Path(name).resolve().is_relative_to(root) for root in roots)}
    texts: dict[str, str] = {}
    applied: Counter[str] = Counter()
    seen: set[tuple[str, str, str]] = set()
    for _ in range(_ROUNDS):
        fixes = _compatible([finding for finding in front.findings if _fixes_only(finding, own)])
        told = {(finding.code, finding.message, finding.span.path) for finding in fixes if finding.span is not None}
        # a finding that outlives its fix, or comes back, is not fixed again
        if not fixes or told & seen:
            break
        seen |= told
        for name in own:
            edits = [edit for each in fixes if each.fix for edit in each.fix.edits if edit.span.path == name]
            if edits:
                texts[name] = _edited(front.texts[name], edits)
                applied[name] += len({each.fix for each in fixes if each.fix and each.fix.edits[0].span.path == name})
        front = read_works(paths, {Path(name): text for name, text in texts.items()})
    _write({name: (first.texts[name], text) for name, text in texts.items()})
    return front, dict(applied)


def _fixes_only(finding: Finding, files: set[str]) -> bool:
    """Whether the finding has a safe fix that edits these files alone."""
    fix = finding.fix
    return is_safe(finding) and fix is not None and all(edit.span.path in files for edit in fix.edits)


def _compatible(findings: Sequence[Finding]) -> list[Finding]:
    """The findings whose fixes can be applied together: of two that edit one place, the first."""
    taken: list[Edit] = []
    chosen = []
    for finding in findings:
        edits = finding.fix.edits if finding.fix is not None else ()
        if not any(_meet(edit, other) for edit in edits for other in taken):
            taken += edits
            chosen.append(finding)
    return chosen


def _meet(one: Edit, other: Edit) -> bool:
    if one.span.path != other.span.path:
        return False
    return one.span.start == other.span.start or (one.span.start < other.span.end and other.span.start < one.span.end)


def _edited(text: str, edits: Sequence[Edit]) -> str:
    for edit in sorted(edits, key=lambda edit: edit.span.start, reverse=True):
        text = text[: edit.span.start] + edit.text + text[edit.span.end :]
    return text


def _write(texts: Mapping[str, tuple[str, str]]) -> None:
    """Replace files, each given by its name, the text that was read and the new one, unless any has changed since."""
    from flatwise.tool.outputs import put

    for name, (old, _) in texts.items():
        if Path(name).read_bytes() != old.encode("utf-8"):
            raise Changed(f"{name} was changed while it was being fixed, so nothing was written. Run it again.")
    for name, (_, new) in texts.items():
        put(Path(name).resolve(), new.encode("utf-8"))
