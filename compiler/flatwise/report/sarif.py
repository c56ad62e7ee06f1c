"""Findings as a log for other tools: OASIS *Static Analysis Results Interchange Format (SARIF)* 2.1.0."""

from __future__ import annotations

import json
from pathlib import PurePath
from typing import Any
from urllib.parse import quote

from flatwise import __version__
from flatwise.core.finding import Finding, Findings, Fix
from flatwise.findings import pages
from flatwise.report.messages import Sources, Texts, in_order
from flatwise_grammar.nodes import Span

#: the standard's own schema, with its approved errata
SCHEMA = "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json"


def sarif(findings: Findings, texts: Texts) -> str:
    """One log with one run, and the rules that were broken with their pages.

    Columns count characters (`columnKind` unicodeCodePoints), lines and columns from 1.  The tool has no
    `informationUri`: it must be the address of a page about flatwise (3.19.17), and there is none.
    """
    sources = Sources(texts)
    found = in_order(findings)
    codes = sorted({finding.code for finding in found})
    run = {
        "tool": {"driver": {"name": "flatwise", "version": __version__, "rules": [_rule(code) for code in codes]}},
        "columnKind": "unicodeCodePoints",
        "results": [_result(finding, codes.index(finding.code), sources) for finding in found],
    }
    return json.dumps({"$schema": SCHEMA, "version": "2.1.0", "runs": [run]}, indent=1) + "\n"


def _rule(code: str) -> dict[str, Any]:
    page = pages.page(code)
    if page is None:
        return {"id": code}
    # the page without its title
    text = page.text.partition("\n")[2].strip()
    return {"id": code, "shortDescription": {"text": page.title}, "help": {"text": text, "markdown": text}}


def _result(finding: Finding, rule: int, sources: Sources) -> dict[str, Any]:
    result: dict[str, Any] = {
        "ruleId": finding.code,
        "ruleIndex": rule,
        "level": finding.severity,
        "message": {"text": f"{finding.message} {finding.help}".strip()},
        "locations": [] if finding.span is None else [_location(finding.span, sources)],
    }
    if finding.related:
        result["relatedLocations"] = [
            {"id": number, **_location(other.span, sources), "message": {"text": other.message}}
            for number, other in enumerate(finding.related)
        ]
    if finding.fix is not None:
        result["fixes"] = [_fix(finding.fix, sources)]
    return result


def _location(span: Span, sources: Sources) -> dict[str, Any]:
    place: dict[str, Any] = {"artifactLocation": _artifact(span.path)}
    if sources.lines(span.path) is not None:
        place["region"] = _region(span, sources)
    return {"physicalLocation": place}


def _region(span: Span, sources: Sources) -> dict[str, int]:
    line, column, end_line, end_column = sources.place(span)
    return {"startLine": line, "startColumn": column, "endLine": end_line, "endColumn": end_column}


def _artifact(path: str) -> dict[str, str]:
    whole = PurePath(path)
    return {"uri": whole.as_uri() if whole.is_absolute() else quote(whole.as_posix())}


def _fix(fix: Fix, sources: Sources) -> dict[str, Any]:
    paths = dict.fromkeys(edit.span.path for edit in fix.edits)
    return {
        "description": {"text": fix.title},
        "artifactChanges": [
            {
                "artifactLocation": _artifact(path),
                "replacements": [
                    {"deletedRegion": _region(edit.span, sources), "insertedContent": {"text": edit.text}}
                    for edit in fix.edits
                    if edit.span.path == path
                ],
            }
            for path in paths
        ],
    }
