"""A comparison as text for a terminal, as Markdown for a review, and as JSON."""

from __future__ import annotations

import json
import re
from collections.abc import Sequence

from flatwise.core.finding import Findings
from flatwise.report.messages import visible
from flatwise.tool.compare import NONE, Difference, JobComparison, Verdict, is_detail

SCHEMA = 1


def unreadable(findings: Findings) -> str:
    """The findings about files that could not be read, one per line."""
    return "\n".join(f"{each.code} {each.severity}  {visible(each.message)} {visible(each.help)}" for each in findings)


def text(compared: Sequence[JobComparison]) -> str:
    """A paragraph per job, a line for each difference; "" if there is none."""
    return "\n".join(_paragraph(each) for each in compared)


def _paragraph(one: JobComparison) -> str:
    wide = max(len(change.what) for change in one.differences)
    lines = [f"{one.job}: {one.verdict}"]
    for change in one.differences:
        mark = "" if change.verdict == "changed" else f"   {change.verdict}"
        short = len(change.before) + len(change.after) < 72
        between = " -> " if short else f"\n  {'':{wide}}  -> "
        lines.append(f"  {change.what:{wide}}  {visible(change.before)}{between}{visible(change.after)}{mark}")
    return "\n".join(lines) + "\n"


def markdown(compared: Sequence[JobComparison]) -> str:
    """A comment for a review; "" if nothing differs.

    One sentence, then a table for each of a few jobs, or one table with a line for each of many, worse ones first.
    """
    if not compared:
        return ""
    worse = [each.job for each in compared if each.verdict == "worse"]
    changes = f"This changes {len(compared)} job{'s' * (len(compared) != 1)}"
    if len(compared) > MOST_TABLES:
        said = f"{changes}; worse: {len(worse) or 'none'}."
        ranked = sorted(compared, key=lambda each: _WORST_FIRST.index(each.verdict))
        rows = [f"| {_cell(each.job)} | {_mark(each.verdict)} | {_brief(each)} |" for each in ranked[:MOST_LINES]]
        if len(ranked) > MOST_LINES:
            rows += ["", f"{len(ranked) - MOST_LINES} more are not shown; `flatwise compare` in a terminal lists all."]
        return "\n".join([f"{said}\n", "| job | | |", "|---|---|---|", *rows]) + "\n"
    said = f"{changes}; worse: {', '.join(f'`{job}`' for job in worse) or 'none'}."
    return "\n".join([said, *(_table(each) for each in compared)]) + "\n"


MOST_TABLES = 3
MOST_CHANGES_IN_A_LINE = 3
#: a shop's file may change hundreds of jobs, and comments are limited
MOST_LINES = 40
_WORST_FIRST = ("worse", "changed", "better")


def _mark(verdict: Verdict) -> str:
    return "" if verdict == "changed" else f"**{verdict}**"


def _brief(one: JobComparison) -> str:
    """The first few changes in words, the worse ones first."""
    ranked = sorted(one.differences, key=lambda change: change.verdict != "worse")
    said = [_said(change) for change in ranked[:MOST_CHANGES_IN_A_LINE]]
    more = len(ranked) - len(said)
    return "; ".join([*said, *([f"{more} more"] if more else [])])


def _said(change: Difference) -> str:
    what, before, after = (_cell(each) for each in change[:3])
    if change.before == NONE:
        return f"{what}: {after}"
    return f"{what}: none" if change.after == NONE else f"{what} {before} → {after}"


def _table(one: JobComparison) -> str:
    """A table of what matters; a long list of what only follows from it is one line below the table."""
    follows = [change for change in one.differences if is_detail(change.what) and change.verdict == "changed"]
    if len(follows) <= MOST_CHANGES_IN_A_LINE:
        follows = []
    rows = [f"\n**{_cell(one.job)}** · {one.verdict}"]
    shown = [change for change in one.differences if change not in follows]
    if shown:
        rows += ["", "| | before | after | |", "|---|---|---|---|"]
    rows += [
        f"| {_cell(change.what)} | {_cell(change.before)} | {_cell(change.after)} | {_mark(change.verdict)} |"
        for change in shown
    ]
    if follows:
        leaves = sum(change.what.startswith("leaves at ") for change in follows)
        named = [_cell(change.what) for change in follows if not change.what.startswith("leaves at ")]
        if leaves:
            named.append(f"leaves at {leaves} place{'s' * (leaves != 1)}")
        rows += ["", f"Also changed: {'; '.join(named)}."]
    return "\n".join(rows)


def _cell(words: str) -> str:
    """Words that stay in one cell and can't act as markup, tags, links or mentions."""
    plain = " ".join(visible(words).split())
    # the characters that start markup; `_` only outside a word
    return re.sub(r"[<>&|`*\[\]\\@#~]|(?<!\w)_|_(?!\w)", lambda mark: f"&#{ord(mark[0])};", plain)


def as_json(compared: Sequence[JobComparison]) -> str:
    """An object with schema, worse, and jobs with their changes (what, before, after, verdict); null for none."""
    data = {
        "schema": SCHEMA,
        "worse": any(each.verdict == "worse" for each in compared),
        "jobs": [
            {
                "job": each.job,
                "verdict": each.verdict,
                "changes": [
                    {
                        "what": change.what,
                        "before": None if change.before == NONE else change.before,
                        "after": None if change.after == NONE else change.after,
                        "verdict": change.verdict,
                    }
                    for change in each.differences
                ],
            }
            for each in compared
        ],
    }
    return json.dumps(data, indent=1) + "\n"
