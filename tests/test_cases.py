"""Whole job files: those in jobs/ compile to proven programs; those in cases/ fail exactly where they say.

A case names its findings in comments, `# expect: FW501, FW502`, at the end of the line where they are.
Every error must be expected, and every expected finding must be found.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from example_jobs import JOBS, example

from flatwise.core.finding import has_errors
from flatwise.pipeline import read_works, work_out, work_out_batch

ROOT = Path(__file__).resolve().parent.parent
CASES = sorted((ROOT / "tests" / "cases").glob("*.flat"))


def line_of(text: str, offset: int) -> int:
    return text.count("\n", 0, offset) + 1


@pytest.mark.parametrize("job", JOBS)
def test_a_job_compiles_to_proven_programs(job: str) -> None:
    front, built = example(job)
    assert not has_errors(front.findings), front.findings
    assert not has_errors(built.findings), [str(finding) for finding in built.findings]
    assert built.plan is not None
    assert set(built.programs) == {f"{setup.face}.nc" for setup in built.plan.setups}
    for proof in built.proofs.values():
        assert proof.collisions == 0
        assert proof.left_above_plane == 0.0


@pytest.mark.parametrize("path", CASES, ids=lambda path: path.stem)
def test_a_case_fails_exactly_where_it_says(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    expected = {
        (number, code)
        for number, line in enumerate(text.splitlines(), 1)
        if (marked := re.search(r"# expect: (.*)", line))
        for code in re.findall(r"FW\d{3}", marked.group(1))
    }
    assert expected, "the case expects nothing"
    front = read_works([path])
    findings = list(front.findings)
    together = {work.name for batch in front.batches for work in batch.works}
    for work in front.works:
        findings += work_out(work)[1] if work.name not in together else ()
    for batch in front.batches:
        findings += work_out_batch(batch)[1]
    found = {
        (line_of(front.texts[finding.span.path], finding.span.start), finding.code)
        for finding in findings
        if finding.span is not None and (finding.severity == "error" or finding.code in {c for _, c in expected})
    }
    assert found == expected
