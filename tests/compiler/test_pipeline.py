"""Findings are placed in the job's own file, with a place in another file as related information."""

from __future__ import annotations

from pathlib import Path

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
