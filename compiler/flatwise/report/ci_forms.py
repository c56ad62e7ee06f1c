"""Findings in the forms that CI services read, and one a line for editors and scripts.

Each form keeps to the public documentation of its service; columns count from 1, in characters.
"""

from __future__ import annotations

import json
import re
from collections import Counter
from collections.abc import Callable
from hashlib import sha256
from xml.sax.saxutils import escape, quoteattr

from flatwise.core.finding import Finding, Findings, Severity, failing
from flatwise.report.messages import Sources, Texts, in_order, visible

#: what GitHub calls each severity
_COMMANDS: dict[Severity, str] = {"error": "error", "warning": "warning", "note": "notice"}
#: the severities of GitLab's report that stand for ours; it also has critical and blocker
_SEVERITIES: dict[Severity, str] = {"error": "major", "warning": "minor", "note": "info"}


def _said(finding: Finding) -> str:
    """The message and the help of a finding on one line."""
    return " ".join(f"{finding.message} {finding.help}".split())


def short(findings: Findings, texts: Texts) -> str:
    """`path:line:col: error FW501 text`, one a line; a finding without a place begins with `flatwise:`."""
    sources = Sources(texts)
    return "".join(_short(finding, sources) for finding in in_order(findings))


def _short(finding: Finding, sources: Sources) -> str:
    where = "flatwise"
    if finding.span is not None:
        line, column, _, _ = sources.place(finding.span)
        where = f"{' '.join(finding.span.path.splitlines())}:{line}:{column}"
    return visible(f"{where}: {finding.severity} {finding.code} {_said(finding)}") + "\n"


# -- GitHub ------------------------------------------------------------------------------------------------------


def github(findings: Findings, texts: Texts) -> str:
    """Workflow commands, which the service shows beside the lines of a change.

    Source: GitHub Docs, *Workflow commands for GitHub Actions*: setting a notice, warning or error message.  Its checks
    take columns only where a finding begins and ends on one line (*REST API: check runs*, annotations).
    """
    sources = Sources(texts)
    return "".join(_command(finding, sources) for finding in in_order(findings))


def _command(finding: Finding, sources: Sources) -> str:
    properties: dict[str, object] = {}
    if finding.span is not None:
        line, column, end_line, end_column = sources.place(finding.span)
        properties = {"file": finding.span.path, "line": line, "endLine": end_line}
        if line == end_line:
            properties |= {"col": column, "endColumn": end_column}
    properties["title"] = finding.code
    written = ",".join(f"{name}={_property(str(value))}" for name, value in properties.items())
    return f"::{_COMMANDS[finding.severity]} {written}::{_data(visible(_said(finding)))}\n"


def _data(text: str) -> str:
    return text.replace("%", "%25").replace("\r", "%0D").replace("\n", "%0A")


def _property(text: str) -> str:
    return _data(text).replace(":", "%3A").replace(",", "%2C")


# -- GitLab ------------------------------------------------------------------------------------------------------


def gitlab(findings: Findings, texts: Texts) -> str:
    """A code quality report: a JSON array of findings, each with a fingerprint that a moved line does not change.

    Source: GitLab Docs, *Code Quality*: code quality report format.  A finding without a place is put on the folder.
    """
    sources = Sources(texts)
    seen: Counter[tuple[str, str, str]] = Counter()
    report = []
    for finding in in_order(findings):
        path = finding.span.path if finding.span is not None else "."
        same = (finding.code, path, finding.message)
        seen[same] += 1
        report.append(
            {
                "description": _said(finding),
                "check_name": finding.code,
                "fingerprint": sha256(json.dumps([*same, seen[same]]).encode()).hexdigest(),
                "severity": _SEVERITIES[finding.severity],
                "location": {
                    "path": path,
                    "lines": {"begin": sources.place(finding.span)[0] if finding.span is not None else 1},
                },
            }
        )
    return json.dumps(report, indent=1) + "\n"


# -- JUnit -------------------------------------------------------------------------------------------------------


def junit(findings: Findings, texts: Texts, *, strict: bool) -> str:
    """JUnit XML: a failed test case for each finding that fails the run, and a passed one for each file without any.

    With `strict` warnings fail as well; other findings are the output of a passed test case.  The parts used are those
    that both services read: GitLab Docs, *Unit test reports*, which takes only the first of two cases of one name; and
    the schema junit-10.xsd of Jenkins' xUnit plugin.
    """
    sources = Sources(texts)
    found = in_order(findings)
    bad = failing(found, strict)
    fails = set(bad)
    failed = {finding.span.path for finding in bad if finding.span is not None}
    cases = [_case(path, "no errors", "") for path in texts if path not in failed]
    for finding in found:
        path, line = "flatwise", ""
        if finding.span is not None:
            path, line = finding.span.path, f" line {sources.place(finding.span)[0]}"
        name = f"{finding.code}{line}: {finding.message}"
        if finding in fails:
            kind = f"type={_quoted(finding.code)} message={_quoted(finding.message)}"
            cases.append(_case(path, name, f"<failure {kind}>{_xml(_short(finding, sources))}</failure>"))
        else:
            cases.append(_case(path, name, f"<system-out>{_xml(_short(finding, sources))}</system-out>"))
    counts = f'tests="{len(cases)}" failures="{len(bad)}" errors="0"'
    suite = [f'<testsuites {counts}><testsuite name="flatwise" {counts} skipped="0">', *cases]
    return "\n".join(['<?xml version="1.0" encoding="UTF-8"?>', *suite, "</testsuite></testsuites>\n"])


def _case(path: str, name: str, result: str) -> str:
    return f"<testcase classname={_quoted(path)} name={_quoted(name)}>{result}</testcase>"


def _quoted(text: str) -> str:
    return _xml(text, quoteattr)


def _xml(text: str, escaped: Callable[[str], str] = escape) -> str:
    """A text as XML 1.0 can carry it (2.2, Char), in ASCII, so that any pipe carries it."""
    plain = re.sub("[\ufffe\uffff]", "\ufffd", visible(text))
    return escaped(plain).encode("ascii", "xmlcharrefreplace").decode("ascii")
