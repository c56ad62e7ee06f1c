"""The SARIF log against the standard's own schema, as an npm package of matchers carries it (2.1.0, rtm.5).

Source: OASIS, *Static Analysis Results Interchange Format (SARIF) Version 2.1.0*; the schema is fetched with `npm
pack`, which runs nothing of the package.  Skipped where npm is missing or can't fetch it.
"""

from __future__ import annotations

import json
import shutil
import subprocess
import tarfile
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from compiler.report.test_report_sarif import FINDINGS, TEXTS
from compiler.tool.in_process import flatwise
from compiler.tool.test_cli import DEEP, JOB, WAIVED, job

from flatwise.core.finding import Finding
from flatwise.findings import pages
from flatwise.report.sarif import sarif

PACKAGE, SCHEMA = "@microsoft/jest-sarif@1.0.0-beta.0", "package/lib/schemas/sarif-2.1.0-rtm.5.json"


@pytest.fixture(scope="module")
def schema(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    if shutil.which("npm") is None:
        pytest.skip("npm is not installed: the standard's schema can't be fetched")
    folder = tmp_path_factory.mktemp("npm")
    try:
        subprocess.run(["npm", "pack", PACKAGE], cwd=folder, capture_output=True, check=True, timeout=60)
    except (subprocess.CalledProcessError, subprocess.TimeoutExpired):
        pytest.skip("npm can't fetch the package that carries the standard's schema")
    (packed,) = folder.glob("*.tgz")
    with tarfile.open(packed) as archive:
        file = archive.extractfile(SCHEMA)
        assert file is not None
        found: dict[str, Any] = json.loads(file.read())
    assert "2.1.0" in found["title"]
    return found


def validated(log: dict[str, Any], schema: dict[str, Any]) -> None:
    kind = jsonschema.validators.validator_for(schema)
    kind.check_schema(schema)
    jsonschema.validate(log, schema, cls=kind, format_checker=kind.FORMAT_CHECKER)


def test_made_up_findings_of_every_form_keep_to_the_schema(schema: dict[str, Any]) -> None:
    for findings in ((), FINDINGS):
        validated(json.loads(sarif(findings, TEXTS)), schema)


def test_every_codes_page_keeps_to_the_schema_as_a_rule(schema: dict[str, Any]) -> None:
    log = json.loads(sarif(tuple(Finding(code, "Said.", None) for code in pages.codes()), {}))
    validated(log, schema)
    assert len(log["runs"][0]["tool"]["driver"]["rules"]) == len(pages.codes())


def test_what_the_commands_print_keeps_to_the_schema(schema: dict[str, Any], shop: Path) -> None:
    for name, more in (("deep", DEEP), ("waived", WAIVED), ("plain", "")):
        job(shop, name, more)
    (shop / "jobs" / "half.flat").write_text('job half {\n stock { size 1 1/8in x }\n wood "木" \U0001f332\n')
    (shop / "jobs" / "named here.flat").write_text(JOB.format(name="named", more="cut { dept 0.4mm }"))
    (shop / "jobs" / "bytes.flat").write_bytes(b"\xff")
    run = flatwise("check", "--message", "sarif", "jobs", "gone.flat", cwd=shop)
    log = json.loads(run.stdout)
    validated(log, schema)
    found = {result["ruleId"] for result in log["runs"][0]["results"]}
    assert {"FW002", "FW004", "FW101", "FW401", "FW703"} <= found
    fixes = [result for result in log["runs"][0]["results"] if "fixes" in result]
    assert fixes, "a misspelt word has a fix"


def test_the_schema_finds_a_fault(schema: dict[str, Any]) -> None:
    log = json.loads(sarif(FINDINGS, TEXTS))
    log["runs"][0]["results"][0]["level"] = "fatal"
    with pytest.raises(jsonschema.ValidationError):
        validated(log, schema)
