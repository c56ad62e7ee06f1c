"""Findings: what a stage reports about a job, each with a code, a place and a way out.

A finding is data.  Nothing here prints; `report.messages` writes findings for people and for programs.
"""

from __future__ import annotations

from typing import Literal, NamedTuple

from flatwise_grammar.nodes import Span

#: an error stops the build, a warning fails a strict run, a note does neither
Severity = Literal["error", "warning", "note"]


class Related(NamedTuple):
    """A second place that matters, and why it does."""

    message: str
    span: Span


def relate(message: str, span: Span | None) -> tuple[Related, ...]:
    """The second place of a finding, or none where it has no text."""
    return (Related(message, span),) if span is not None else ()


class Edit(NamedTuple):
    """Replace what is at `span` with `text`."""

    span: Span
    text: str


class Fix(NamedTuple):
    """A change that an editor may apply without asking; there is one only where it is certain."""

    title: str
    edits: tuple[Edit, ...]


class Finding(NamedTuple):
    """One finding.

    `message` is one sentence that can be understood alone and names the numbers and the place.  `help` is the way out.
    `span` is None only where a finding has no text to point at, such as a job that does not exist.
    """

    code: str
    message: str
    span: Span | None
    severity: Severity = "error"
    related: tuple[Related, ...] = ()
    help: str = ""
    fix: Fix | None = None
    #: the rule of a standard that is broken and that a job can waive, with the value found and the limit
    rule: str = ""
    value: float | None = None
    limit: float | None = None


Findings = tuple[Finding, ...]


def has_errors(findings: Findings | list[Finding]) -> bool:
    """Whether any finding stops the build."""
    return any(finding.severity == "error" for finding in findings)


def without_notes(findings: Findings) -> Findings:
    """The errors and warnings: what a strict run fails for."""
    return tuple(finding for finding in findings if finding.severity != "note")


def failing(findings: Findings, strict: bool) -> Findings:
    """The findings that fail a run: its errors, and with `strict` its warnings."""
    return tuple(each for each in findings if each.severity == "error" or (strict and each.severity == "warning"))
