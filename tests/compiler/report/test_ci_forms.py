"""The forms of findings for CI services and editors, each read by another parser or held to its service's rules."""

from __future__ import annotations

import json
import re
import xml.etree.ElementTree as ElementTree
from pathlib import Path
from typing import Any

import jsonschema
import junitparser
import pytest
from compiler.report.test_report_sarif import FINDINGS, TEXTS, at
from compiler.tool.in_process import flatwise
from compiler.tool.test_cli import DEEP, WAIVED, job, noted

from flatwise.core.finding import Finding
from flatwise.report import ci_forms
from flatwise_grammar.nodes import Span

#: a finding over two lines, whose text and path have all that the forms must escape
AWKWARD = Finding(
    "FW001",
    'A line\nbreak, 100%: "木" <&> \x1b[31m \x00 \ufffe ::end::',
    Span("a,b: c%/tray.flat", 0, 28),
    severity="warning",
    help="Mend it, %0A too.",
)
ALL = (*FINDINGS, AWKWARD)
ALL_TEXTS = {**TEXTS, "a,b: c%/tray.flat": "job tray {\n    waive depth\n}\n", "shared/shop.flat": ""}


# -- short -------------------------------------------------------------------------------------------------------


def test_short_is_a_finding_a_line_that_an_editor_reads() -> None:
    lines = ci_forms.short(ALL, ALL_TEXTS).splitlines()
    # errorformat `%f:%l:%c:\ %t%*[a-z]\ %m` of Vim (:help errorformat)
    found = [re.fullmatch(r"(.+):(\d+):(\d+): (error|warning|note) (FW\d{3}) (.+)", line) for line in lines]
    assert lines[0] == "jobs/a table.flat:2:5: error FW702 The rule depth is waived without a reason. Say why."
    assert [match is None for match in found] == [False] * (len(ALL) - 1) + [True]
    assert lines[-1] == "flatwise: warning FW702 Waived again."
    assert not any(ch < " " for line in lines for ch in line)


# -- GitHub ------------------------------------------------------------------------------------------------------


def commands(text: str) -> list[tuple[str, dict[str, str], str]]:
    """Workflow commands read back: `::name property=value,…::data`.

    Source: GitHub Docs, *Workflow commands for GitHub Actions*; how its runner takes them apart is from its published
    code (actions/runner, ActionCommand): the first `::` after the name ends the properties, a comma parts them, the
    first `=` parts name and value, and `%25` is read last.
    """
    found = []
    for line in text.splitlines():
        assert line.startswith("::")
        head, _, data = line[2:].partition("::")
        name, _, properties = head.partition(" ")
        pairs = dict(pair.split("=", 1) for pair in properties.split(","))
        found.append((name, {key: unescaped(value, ":,") for key, value in pairs.items()}, unescaped(data, "")))
    return found


def unescaped(text: str, more: str) -> str:
    for ch in "\r\n" + more + "%":
        text = text.replace(f"%{ord(ch):02X}", ch)
    return text


def test_github_takes_the_place_and_the_text_of_every_finding() -> None:
    found = commands(ci_forms.github(ALL, ALL_TEXTS))
    assert [name for name, _, _ in found] == ["error", "warning", "notice", "error", "warning", "warning"]
    assert found[0][1:] == (
        {"file": "jobs/a table.flat", "line": "2", "endLine": "2", "col": "5", "endColumn": "16", "title": "FW702"},
        "The rule depth is waived without a reason. Say why.",
    )
    # over several lines: no columns
    assert found[4][1] == {"file": "a,b: c%/tray.flat", "line": "1", "endLine": "3", "title": "FW001"}
    assert found[4][2].startswith('A line break, 100%: "木" <&> \\x1b[31m') and found[4][2].endswith(
        "Mend it, %0A too."
    )
    assert found[5][1] == {"title": "FW702"}


# -- GitLab ------------------------------------------------------------------------------------------------------

#: Source: GitLab Docs, *Code Quality*, "Code quality report format": the table of properties, all of them required
REPORT: dict[str, Any] = {
    "type": "array",
    "items": {
        "type": "object",
        "required": ["description", "check_name", "fingerprint", "severity", "location"],
        "properties": {
            "description": {"type": "string", "minLength": 1},
            "check_name": {"type": "string", "pattern": r"^FW\d{3}$"},
            "fingerprint": {"type": "string", "minLength": 1},
            "severity": {"enum": ["info", "minor", "major", "critical", "blocker"]},
            "location": {
                "type": "object",
                "required": ["path", "lines"],
                "properties": {
                    # relative to the repository, without ./ before it
                    "path": {"type": "string", "pattern": r"^(?!\./)."},
                    "lines": {
                        "type": "object",
                        "required": ["begin"],
                        "properties": {"begin": {"type": "integer", "minimum": 1}},
                    },
                },
            },
        },
    },
}


def test_gitlab_gets_the_report_that_it_documents() -> None:
    for findings in ((), ALL, (*ALL, *ALL)):
        report = json.loads(ci_forms.gitlab(findings, ALL_TEXTS))
        jsonschema.validate(report, REPORT)
        assert len({each["fingerprint"] for each in report}) == len(report) == len(set(findings))
    assert [each["severity"] for each in report] == ["major", "minor", "info", "major", "minor", "minor"]


def test_a_fingerprint_stays_when_lines_move_and_twins_have_two() -> None:
    moved = {path: text and "# a comment\n" + text for path, text in TEXTS.items()}
    two = tuple(Finding("FW703", "Waived.", at(part)) for part in ("job", "depth 5mm"))
    lower = tuple(
        Finding("FW703", "Waived.", Span(f.span.path, f.span.start + 12, f.span.end + 12)) for f in two if f.span
    )
    before, after = (json.loads(ci_forms.gitlab(*given)) for given in ((two, TEXTS), (lower, moved)))
    assert [each["fingerprint"] for each in before] == [each["fingerprint"] for each in after]
    assert before[0]["fingerprint"] != before[1]["fingerprint"]
    assert [each["location"]["lines"]["begin"] for each in after] == [2, 4]


# -- JUnit -------------------------------------------------------------------------------------------------------

#: Source: junit-10.xsd of Jenkins' xUnit plugin: the attributes that it requires, and those that it allows of ours
ATTRIBUTES = {
    "testsuites": ("", "name time tests failures errors"),
    "testsuite": ("name tests failures errors", "time skipped timestamp hostname id package file log url group"),
    "testcase": ("name", "time classname group"),
    "failure": ("", "type message"),
    "system-out": ("", ""),
}


@pytest.mark.parametrize(("strict", "failures"), [(False, 2), (True, 5)])
def test_junit_has_what_both_services_read(strict: bool, failures: int) -> None:
    text = ci_forms.junit(ALL, ALL_TEXTS, strict=strict)
    root = ElementTree.fromstring(text)
    for element in root.iter():
        required, allowed = (words.split() for words in ATTRIBUTES[element.tag])
        assert set(required) <= set(element.attrib) <= {*required, *allowed}
    (suite,) = junitparser.JUnitXml.fromstring(text)
    cases = list(suite)
    failed = [result for case in cases for result in case.result if isinstance(result, junitparser.Failure)]
    assert (suite.tests, suite.failures, suite.errors) == (len(cases), failures, 0) and len(failed) == failures
    # GitLab leaves out the second of two cases with one class and name
    assert len({(case.classname, case.name) for case in cases}) == len(cases) == len(ALL) + len(ALL_TEXTS) - 1 - strict
    assert ("shared/shop.flat", "no errors") in {(case.classname, case.name) for case in cases}
    (one,) = (case for case in cases if case.classname == "a,b: c%/tray.flat" and case.name != "no errors")
    assert one.name == 'FW001 line 1: A line\nbreak, 100%: "木" <&> \\x1b[31m \\x00 \ufffd ::end::'


def test_junit_of_nothing_is_sound() -> None:
    (suite,) = junitparser.JUnitXml.fromstring(ci_forms.junit((), {}, strict=False))
    assert (suite.tests, suite.failures) == (0, 0)


# -- the command line --------------------------------------------------------------------------------------------


def test_every_form_comes_from_the_command_line_alone_and_notes_when_asked_for(shop: Path) -> None:
    job(shop, "deep", DEEP)
    job(shop, "waived", WAIVED)
    noted(shop)
    for notes in ([], ["--notes"]):
        outputs = {
            form: flatwise("check", "--message", form, *notes, "jobs", "gone.flat", cwd=shop)
            for form in ("short", "github", "gitlab", "junit")
        }
        assert {run.returncode for run in outputs.values()} == {1}
        lines = outputs["short"].stdout.splitlines()
        assert any(line.startswith("jobs/deep.flat:4:") and ": error FW401 " in line for line in lines)
        assert any(" note FW207 " in line for line in lines) == bool(notes)
        report = json.loads(outputs["gitlab"].stdout)
        jsonschema.validate(report, REPORT)
        assert len(report) == len(lines) == len(commands(outputs["github"].stdout))
        (suite,) = junitparser.JUnitXml.fromstring(outputs["junit"].stdout)
        assert suite.failures == sum(": error " in line for line in lines) > 2
