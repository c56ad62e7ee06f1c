"""What a stage has to say about a job: findings with a code, a place and a way out.

A finding is data.  Nothing here prints; `report.messages` draws findings for people and machines.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from flatwise_grammar.nodes import Span

Severity = Literal["error", "warning"]


@dataclass(frozen=True)
class Related:
    """A second place that matters, and why."""

    message: str
    span: Span


def relate(message: str, span: Span | None) -> tuple[Related, ...]:
    """The second place of a finding, or none where it has no text."""
    return (Related(message, span),) if span is not None else ()


@dataclass(frozen=True)
class Edit:
    """Put `text` where `span` is."""

    span: Span
    text: str


@dataclass(frozen=True)
class Fix:
    """A change an editor may apply unasked: only where it is certain."""

    title: str
    edits: tuple[Edit, ...]


@dataclass(frozen=True)
class Finding:
    """One finding.

    `message` is one sentence that stands alone, names the numbers and the place, and reads well aloud.
    `help` is the way out.  `span` is None only for findings about something that has no text (a job
    that does not exist, say).
    """

    code: str
    message: str
    span: Span | None
    severity: Severity = "error"
    related: tuple[Related, ...] = ()
    help: str = ""
    fix: Fix | None = None
    #: the rule of a standard that is broken, which a job can waive; with the value found and the limit
    rule: str = ""
    value: float | None = None
    limit: float | None = None


Findings = tuple[Finding, ...]


def has_errors(findings: Findings | list[Finding]) -> bool:
    """Whether any finding stops the build."""
    return any(finding.severity == "error" for finding in findings)
