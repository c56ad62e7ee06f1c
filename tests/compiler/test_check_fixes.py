"""The fix of a finding, put into the text, mends it: over the failing examples of the pages of a plan's checks."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from test_pages import example

from flatwise import check
from flatwise.diagnostics import Diagnostic
from flatwise.pipeline import read_works, work_out

SHARED = Path(__file__).resolve().parents[2] / "shared"
#: checks whose page shows a mistake with one certain way out
MENDED = ("FW401", "FW402", "FW403", "FW404", "FW405", "FW406", "FW601", "FW701")


def findings(path: Path, text: str) -> list[Diagnostic]:
    path.write_text(text, encoding="utf-8")
    front = read_works([path])
    return [*front.findings, *(one for work in front.works for one in work_out(work)[1])]


@pytest.mark.parametrize("code", MENDED)
def test_a_fix_mends(code: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    shutil.copytree(SHARED, tmp_path / "shared")
    (tmp_path / "jobs").mkdir()
    (tmp_path / "flatwise.toml").touch()
    monkeypatch.chdir(tmp_path)
    path = tmp_path / "jobs" / "example.flat"
    page = check.page(code)
    assert page is not None
    text = example(page.text, "Fails")
    assert text is not None
    (finding,) = [one for one in findings(path, text) if one.code == code]
    assert finding.fix is not None
    mended = text
    for edit in sorted(finding.fix.edits, key=lambda edit: -edit.span.start):
        mended = mended[: edit.span.start] + edit.text + mended[edit.span.end :]
    assert mended != text
    assert [one.code for one in findings(path, mended) if one.severity == "error"] == []
