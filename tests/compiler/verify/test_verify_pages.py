"""The programs on the pages of FW901 to FW904 do what the pages say."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from flatwise.findings import pages
from flatwise.verify import verify

JOB = """
use "../shared/shop.flat"
use "../shared/sample.flat"

job example from plain_top {
}
"""


@pytest.mark.parametrize("code", ["FW901", "FW902", "FW903", "FW904"])
def test_the_failing_program_fails_and_the_mended_one_does_not(code: str, shop: Path) -> None:
    from flatwise.gcode.write import write
    from flatwise.pipeline import read_works, work_out

    path = shop / "jobs" / "example.flat"
    path.write_text(JOB, encoding="utf-8")
    plan, _, _ = work_out(read_works([path]).works[0])
    page = pages.page(code)
    assert plan is not None and page is not None
    setup = plan.setups[0]
    failing, *rest = re.findall(r"```nc\n(.*?)```", page.text, re.S)
    # the program of a page is short, so it may leave wood as well
    given = {finding.code for finding in verify(failing.encode("ascii"), plan, setup)[1]}
    assert code in given
    mended = rest[0].encode("ascii") if rest else write(plan, setup)
    proof, findings = verify(mended, plan, setup)
    assert code not in {finding.code for finding in findings}
    assert proof.program_moves > 0
