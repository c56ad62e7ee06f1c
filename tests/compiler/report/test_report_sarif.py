"""The SARIF log against the parts of the standard that it uses.

Source: OASIS, *Static Analysis Results Interchange Format (SARIF) Version 2.1.0* (2020), sections 3.13 sarifLog,
3.14 run, 3.19 toolComponent, 3.27 result, 3.28 location, 3.30 region, 3.49 reportingDescriptor, 3.55 fix; the
rules below are from memory.
"""

from __future__ import annotations

import json
from typing import Any

import jsonschema

from flatwise.core.finding import Edit, Finding, Fix, Related
from flatwise.report.sarif import sarif
from flatwise_grammar.nodes import Span


def shape(required: str, **properties: Any) -> dict[str, Any]:
    """An object with these properties and no others."""
    return {
        "type": "object",
        "required": required.split(),
        "properties": properties,
        "additionalProperties": False,
    }


def many(items: dict[str, Any], least: int = 0) -> dict[str, Any]:
    return {"type": "array", "items": items, "minItems": least}


TEXT = {"type": "string", "minLength": 1}
COUNT = {"type": "integer", "minimum": 1}
INDEX = {"type": "integer", "minimum": 0}
MESSAGE = shape("text", text=TEXT, markdown=TEXT)
ARTIFACT = shape("uri", uri={"type": "string", "format": "uri-reference", "pattern": r"^[!-~]+$"})
REGION = shape("startLine", startLine=COUNT, startColumn=COUNT, endLine=COUNT, endColumn=COUNT)
PLACE = shape("artifactLocation", artifactLocation=ARTIFACT, region=REGION)
LOCATION = shape("physicalLocation", id=INDEX, physicalLocation=PLACE, message=MESSAGE)
REPLACEMENT = shape("deletedRegion", deletedRegion=REGION, insertedContent=shape("text", text={"type": "string"}))
CHANGE = shape("artifactLocation replacements", artifactLocation=ARTIFACT, replacements=many(REPLACEMENT, 1))
RESULT = shape(
    "message ruleId level",
    ruleId=TEXT,
    ruleIndex=INDEX,
    level={"enum": ["none", "note", "warning", "error"]},
    message=MESSAGE,
    locations=many(LOCATION),
    relatedLocations=many(LOCATION),
    fixes=many(shape("artifactChanges", description=MESSAGE, artifactChanges=many(CHANGE, 1)), 1),
)
RULE = shape("id", id=TEXT, shortDescription=MESSAGE, help=MESSAGE)
RUN = shape(
    "tool results columnKind",
    tool=shape("driver", driver=shape("name", name=TEXT, version=TEXT, rules=many(RULE))),
    columnKind={"enum": ["utf16CodeUnits", "unicodeCodePoints"]},
    results=many(RESULT),
)
LOG = shape(
    "version runs", version={"const": "2.1.0"}, runs=many(RUN), **{"$schema": {"type": "string", "format": "uri"}}
)

JOB = "job tray {\n    waive depth\n    # 木 \U0001f332 depth 5mm\n}\n"
TEXTS = {"jobs/a table.flat": JOB}


def at(part: str) -> Span:
    start = JOB.index(part)
    return Span("jobs/a table.flat", start, start + len(part))


FINDINGS = (
    Finding(
        "FW702",
        "The rule depth is waived without a reason.",
        at("waive depth"),
        related=(Related("the job begins here", at("job tray")),),
        help="Say why.",
        fix=Fix("write 1mm", (Edit(at("5mm"), "1mm"), Edit(at("waive depth"), ""))),
    ),
    Finding("FW703", "Waived.", at("5mm"), severity="warning"),
    Finding("FW702", "Waived again.", None, severity="warning"),
    Finding("FW207", "Worth knowing.", at("5mm"), severity="note"),
    Finding("FW901", "A program without its text.", Span("/tmp/x y/first.nc", 3, 4)),
)


def test_the_log_has_the_form_of_the_standard() -> None:
    for findings in ((), FINDINGS):
        jsonschema.validate(json.loads(sarif(findings, TEXTS)), LOG)


def test_it_names_the_standards_schema_and_no_address_that_does_not_exist() -> None:
    text = sarif(FINDINGS, TEXTS)
    # the schema of the standard with its errata (OASIS, 28 August 2023)
    assert json.loads(text)["$schema"].startswith("https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/")
    assert text.count("://") == 2 and '"uri": "file:///tmp/x%20y/first.nc"' in text and "informationUri" not in text


def test_only_rules_that_fired_stand_in_it_and_results_point_at_them() -> None:
    run = json.loads(sarif(FINDINGS, TEXTS))["runs"][0]
    rules = [rule["id"] for rule in run["tool"]["driver"]["rules"]]
    assert rules == ["FW207", "FW702", "FW703", "FW901"]
    assert all(rules[result["ruleIndex"]] == result["ruleId"] for result in run["results"])
    levels = {(result["ruleId"], result["level"]) for result in run["results"]}
    assert {("FW207", "note"), ("FW703", "warning"), ("FW901", "error")} <= levels
    assert "## Why it hurts" in run["tool"]["driver"]["rules"][0]["help"]["markdown"]


def test_places_count_characters_and_names_are_escaped() -> None:
    results = json.loads(sarif(FINDINGS, TEXTS))["runs"][0]["results"]
    first = results[0]["locations"][0]["physicalLocation"]
    assert first["artifactLocation"]["uri"] == "jobs/a%20table.flat"
    assert first["region"] == {"startLine": 2, "startColumn": 5, "endLine": 2, "endColumn": 16}
    # `    # 木 🌲 depth ` are 16 characters, whatever they take in UTF-16
    second = results[1]["locations"][0]["physicalLocation"]["region"]
    assert (second["startLine"], second["startColumn"], second["endColumn"]) == (3, 17, 20)
    assert results[3]["locations"][0]["physicalLocation"] == {"artifactLocation": {"uri": "file:///tmp/x%20y/first.nc"}}


def test_a_fix_says_what_goes_and_what_comes() -> None:
    fix = json.loads(sarif(FINDINGS, TEXTS))["runs"][0]["results"][0]["fixes"][0]
    assert fix["description"]["text"] == "write 1mm"
    (change,) = fix["artifactChanges"]
    assert [each["insertedContent"]["text"] for each in change["replacements"]] == ["1mm", ""]
