"""Printing: findings in the form that was asked for, lines for people, and what stops the tool."""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Mapping
from typing import TYPE_CHECKING, TextIO

if TYPE_CHECKING:
    from flatwise.core.finding import Findings


def show(findings: Findings, texts: Mapping[str, str], given: argparse.Namespace, strict: bool) -> None:
    """Print the findings: with --quiet those that fail the run, notes only with --notes; json and sarif have all."""
    from flatwise.core.finding import failing, without_notes
    from flatwise.report import messages

    form = given.message
    if form in ("json", "sarif"):
        from flatwise.report.sarif import sarif

        sys.stdout.write(messages.json_lines(findings, texts) if form == "json" else sarif(findings, texts))
        return
    if given.quiet:
        findings = failing(findings, strict)
    elif not given.notes:
        findings = without_notes(findings)
    if form == "text":
        if findings:
            say(messages.text(findings, texts, colour=coloured(sys.stdout)), escaped=True)
        return
    from flatwise.report import ci_forms

    forms = {"short": ci_forms.short, "github": ci_forms.github, "gitlab": ci_forms.gitlab}
    shown = ci_forms.junit(findings, texts, strict=strict) if form == "junit" else forms[form](findings, texts)
    sys.stdout.write(shown)


def sums_up(given: argparse.Namespace) -> bool:
    """Whether a person reads what is printed, and wants more than the findings."""
    return given.message == "text" and not given.quiet


def tally(findings: Findings, given: argparse.Namespace) -> str:
    """`1 error, 2 notes (--notes shows them)`."""
    from flatwise.report import messages

    notes = sum(finding.severity == "note" for finding in dict.fromkeys(findings))
    hidden = bool(notes) and not given.notes
    return messages.tally(findings) + f" (--notes shows {'it' if notes == 1 else 'them'})" * hidden


def coloured(stream: TextIO) -> bool:
    """Colour only in a terminal, and not against the user's wish (no-color.org's variable)."""
    return stream.isatty() and not os.environ.get("NO_COLOR") and os.environ.get("TERM") != "dumb"


def say(text: str, stream: TextIO | None = None, *, escaped: bool = False) -> None:
    """Print a text that ends with one line break, to standard output unless another stream is named.

    A path in it can't control the terminal; a text with colours is `escaped` already.
    """
    from flatwise.report.messages import visible

    text = text.rstrip("\n")
    print(text if escaped else visible(text), file=stream)


def complain(text: str) -> None:
    """Print what stops the tool."""
    say(text, sys.stderr)
