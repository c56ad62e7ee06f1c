"""A comparison as people read it in a terminal and in a review, and as machines do."""

from __future__ import annotations

import json
import re
from collections.abc import Sequence

from flatwise.compare import NONE, Compared
from flatwise.diagnostics import Findings
from flatwise.report.messages import visible

SCHEMA = 1


def lost(findings: Findings) -> str:
    """What kept a file from being read, a line each."""
    return "\n".join(f"{each.code} {each.severity}  {visible(each.message)} {visible(each.help)}" for each in findings)


def text(compared: Sequence[Compared]) -> str:
    """A paragraph a job, a line for each thing that differs; "" where nothing does."""
    return "\n".join(_paragraph(each) for each in compared)


def _paragraph(one: Compared) -> str:
    wide = max(len(change.what) for change in one.changes)
    lines = [f"{one.job}: {one.verdict}"]
    for change in one.changes:
        mark = "" if change.verdict == "changed" else f"   {change.verdict}"
        short = len(change.before) + len(change.after) < 72
        between = " -> " if short else f"\n  {'':{wide}}  -> "
        lines.append(f"  {change.what:{wide}}  {visible(change.before)}{between}{visible(change.after)}{mark}")
    return "\n".join(lines) + "\n"


def markdown(compared: Sequence[Compared]) -> str:
    """A comment for a review: one sentence, then a table for each job; "" where nothing differs."""
    if not compared:
        return ""
    worse = [each.job for each in compared if each.verdict == "worse"]
    count = f"{len(compared)} job{'s' * (len(compared) != 1)}"
    said = f"The work of {count} changes; worse: {', '.join(f'`{job}`' for job in worse) or 'none'}."
    return "\n".join([said, *(_table(each) for each in compared)]) + "\n"


def _table(one: Compared) -> str:
    rows = [f"\n**{_cell(one.job)}** · {one.verdict}", "", "| | before | after | |", "|---|---|---|---|"]
    for change in one.changes:
        mark = "" if change.verdict == "changed" else f"**{change.verdict}**"
        rows.append(f"| {_cell(change.what)} | {_cell(change.before)} | {_cell(change.after)} | {mark} |")
    return "\n".join(rows)


def _cell(words: str) -> str:
    """Words that stay one cell and are not taken for marks, tags, links or mentions."""
    plain = " ".join(visible(words).split())
    # these few begin something; `_` only where it is not inside a word
    return re.sub(r"[<>&|`*\[\]\\@#~]|(?<!\w)_|_(?!\w)", lambda mark: f"&#{ord(mark[0])};", plain)


def as_json(compared: Sequence[Compared]) -> str:
    """One object: schema, worse, and jobs with their changes (what, before, after, verdict); null for none."""
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
                    for change in each.changes
                ],
            }
            for each in compared
        ],
    }
    return json.dumps(data, indent=1) + "\n"
