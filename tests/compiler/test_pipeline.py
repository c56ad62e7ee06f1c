"""What the pipeline adds to findings: the job's own place, and whom to tell of a program that fails its proof."""

from __future__ import annotations

from pathlib import Path

import pytest

from flatwise.gcode.write import write
from flatwise.pipeline import build, read_works

ROOT = Path(__file__).resolve().parents[2]


def test_a_finding_about_the_shops_file_stands_at_the_job(tmp_path: Path) -> None:
    (tmp_path / "flatwise.toml").touch()
    for name in ("shop.flat", "sample.flat"):
        (tmp_path / name).write_bytes((ROOT / "shared" / name).read_bytes())
    path = tmp_path / "low.flat"
    # the edge comes down to 230 - 160 - 38 = 32 mm above the bed, and the second face is cut at 29 mm
    path.write_text(
        'use "shop.flat"\nuse "sample.flat"\nmachine high like bench_router { opening 230mm }\n'
        "job low from plain_top { machine high }\n"
    )
    front = read_works([path])
    (work,) = front.works
    findings = {finding.code: finding for finding in build(work).findings}
    for code, line in (("FW302", "stick_out"), ("FW207", "gap")):
        span = findings[code].span
        assert span is not None and Path(span.path).name == "low.flat"
        assert front.texts[span.path][span.start : span.end] == "low"
        second = findings[code].related[0].span
        assert Path(second.path).name in ("shop.flat", "sample.flat")
        assert front.texts[second.path][second.start :].startswith(line)


def test_a_program_that_fails_its_proof_is_a_fault_to_report(monkeypatch: pytest.MonkeyPatch) -> None:
    (work,) = read_works([ROOT / "jobs" / "lamp_table.flat"]).works
    monkeypatch.setattr("flatwise.gcode.write.write", lambda plan, setup: write(plan, setup).replace(b"G1 Z", b"G0 Z"))
    built = build(work)
    assert not built.programs and {each.code for each in built.findings} >= {"FW903"}
    assert {each.help.split(":")[0] for each in built.findings if each.severity == "error"} == {
        "This is a bug in flatwise, and nothing is written"
    }
