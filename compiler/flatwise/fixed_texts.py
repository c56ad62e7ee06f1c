"""The texts of job files after their safe fixes, which are applied until none is left."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Mapping, Sequence
from pathlib import Path
from typing import NamedTuple

from flatwise.core.finding import Edit, Finding
from flatwise.core.fixes import edited, is_safe
from flatwise.pipeline import Front, read_works

#: a mended text may show what it had hidden; it never needs more rounds in practice
_ROUNDS = 20


class FixedTexts(NamedTuple):
    """The projects as read before and after all fixes; for each changed file its new text and the number of fixes."""

    first: Front
    front: Front
    texts: Mapping[str, str]
    applied: Mapping[str, int]


def fixed_texts(paths: Sequence[Path], overlay: Mapping[Path, str], below: Collection[Path]) -> FixedTexts:
    """The texts of the files below some paths after their safe fixes; `overlay` has the unsaved texts of an editor."""
    first = front = read_works(paths, overlay)
    own = {name for name in front.projects if any(Path(name).resolve().is_relative_to(root) for root in below)}
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
                texts[name] = edited(front.texts[name], edits)
                applied[name] += len({each.fix for each in fixes if each.fix and each.fix.edits[0].span.path == name})
        front = read_works(paths, {**overlay, **{Path(name).resolve(): text for name, text in texts.items()}})
    return FixedTexts(first, front, texts, dict(applied))


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
