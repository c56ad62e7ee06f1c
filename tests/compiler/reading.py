"""Helpers of the reading tests: a text as jobs/example.flat in a project of its own, read to works."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from flatwise.core.finding import Finding
from flatwise.pipeline import Front, read_works

Read = Callable[[str], Front]

USES = 'use "../shared/shop.flat"\nuse "../shared/sample.flat"\n'


def read_text(shop: Path, text: str, name: str = "example.flat") -> Front:
    """Read a text as a file in jobs/ of a project; it uses the two shared files unless it names others."""
    path = shop / "jobs" / name
    path.write_text(text if text.startswith("use") else USES + text, encoding="utf-8")
    return read_works([path])


def codes(front: Front) -> list[str]:
    return [finding.code for finding in front.findings]


def only(front: Front) -> Finding:
    """The only finding."""
    assert len(front.findings) == 1, [f"{f.code} {f.message}" for f in front.findings]
    return front.findings[0]


def under(front: Front, finding: Finding) -> str:
    """The text that a finding underlines."""
    assert finding.span is not None
    return front.texts[finding.span.path][finding.span.start : finding.span.end]


def mended(front: Front, finding: Finding) -> str:
    """The text of the finding's file with its fix applied."""
    assert finding.fix is not None and finding.span is not None
    text = front.texts[finding.span.path]
    for edit in sorted(finding.fix.edits, key=lambda edit: -edit.span.start):
        text = text[: edit.span.start] + edit.text + text[edit.span.end :]
    return text
