"""`check --fix`: safe fixes alone, whole files, and never over what someone else wrote."""

from __future__ import annotations

import tempfile
from pathlib import Path

import pytest
from compiler.tool.in_process import flatwise
from compiler.tool.test_cli import JOB, job

from flatwise import fixed_texts
from flatwise.core.finding import Edit, Finding, Fix
from flatwise.core.fixes import edited, is_safe
from flatwise_grammar.nodes import Span

SLIPS = "cut { dpeth 0.4mm; speed 12000RPM; stepover 60,5% }; zreo { z bed }"
MENDED = "cut { depth 0.4mm; speed 12000rpm; stepover 60.5% }; zero { z bed }"


def test_spelling_is_mended_and_the_rest_is_reported(shop: Path) -> None:
    path = job(shop, more=SLIPS)
    path.write_bytes(path.read_bytes().replace(b"\n", b"\r\n") + "# 木\n".encode())
    path.chmod(0o640)
    before = path.read_bytes()
    run = flatwise("check", "--fix", "jobs", cwd=shop)
    assert path.read_bytes() == before.replace(SLIPS.encode(), MENDED.encode())
    assert run.returncode == 0, run.stdout
    assert run.stdout == "jobs/tray.flat: 4 fixes applied.\n1 job checked, no problems.\n"
    assert path.stat().st_mode & 0o777 == 0o640 and [each.name for each in path.parent.iterdir()] == ["tray.flat"]
    again = flatwise("check", "--fix", "jobs", cwd=shop)
    assert again.stdout == "1 job checked, no problems.\n"


def test_a_number_a_rule_or_a_name_is_left_for_a_person(shop: Path) -> None:
    more = "cut { cutter fly_46; depth 5mm }"
    path = job(shop, more=more)
    assert flatwise("check", "--message", "json", "jobs", cwd=shop).stdout.count('"fix": {') == 1
    run = flatwise("check", "--fix", "jobs", cwd=shop)
    assert run.returncode == 1 and "FW102 error" in run.stdout and more in path.read_text()
    path = job(shop, more="cut { depth 5mm }")
    run = flatwise("check", "--fix", "-q", "jobs", cwd=shop)
    assert run.returncode == 1 and "FW401 error" in run.stdout and "depth 5mm" in path.read_text()


def test_only_files_that_were_named_are_changed(shop: Path) -> None:
    path = shop / "shared" / "shop.flat"
    spoiled = path.read_text().replace("stick_out", "stick_uot", 1)
    path.write_text(spoiled)
    job(shop, more=SLIPS)
    run = flatwise("check", "--fix", "jobs", cwd=shop)
    assert run.returncode == 1 and "stick_uot" in run.stdout and path.read_text() == spoiled
    run = flatwise("check", "--fix", "jobs", "shared", cwd=shop)
    assert run.returncode == 0 and "stick_uot" not in path.read_text(), run.stdout


def test_nothing_is_written_if_a_file_changed_meanwhile(shop: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    first, second = job(shop, "shelf", SLIPS), job(shop, "tray", SLIPS)
    before = first.read_bytes()
    real, calls = fixed_texts.read_works, []

    def edited_meanwhile(*given: object) -> object:
        calls.append(given)
        if len(calls) == 2:
            second.write_text(JOB.format(name="tray", more="# by hand\n"))
        return real(*given)  # type: ignore[arg-type]

    monkeypatch.setattr(fixed_texts, "read_works", edited_meanwhile)
    run = flatwise("check", "--fix", "jobs", cwd=shop)
    assert run.returncode == 2 and "jobs/tray.flat was changed while it was being fixed" in run.stderr
    assert first.read_bytes() == before and "# by hand" in second.read_text()


def test_a_file_that_may_not_be_written_stays_whole(shop: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = job(shop, more=SLIPS)
    before = path.read_bytes()

    def full(self: Path, target: Path) -> None:
        raise OSError(28, "No space left on device", str(target))

    monkeypatch.setattr(Path, "replace", full)
    run = flatwise("check", "--fix", "jobs", cwd=shop)
    assert run.returncode == 2 and "the disk is full" in run.stderr
    assert path.read_bytes() == before and [each.name for each in path.parent.iterdir()] == ["tray.flat"]


def test_of_two_fixes_at_one_place_the_first_is_applied() -> None:
    def fixing(start: int, end: int) -> Finding:
        span = Span("a.flat", start, end)
        return Finding("FW101", f"{start} to {end}", span, fix=Fix("Write it", (Edit(span, "x"),)))

    found = [fixing(0, 4), fixing(2, 6), fixing(4, 8), fixing(4, 4), fixing(9, 9), fixing(9, 9)]
    chosen = fixed_texts._compatible(found)
    assert [each.message for each in chosen] == ["0 to 4", "4 to 8", "9 to 9"]
    assert edited("abcdefghij", [edit for each in chosen if each.fix for edit in each.fix.edits]) == "xxixj"


def test_a_finding_without_a_fix_is_not_safe() -> None:
    assert not is_safe(Finding("FW101", "unknown", None))


def test_of_several_files_none_is_replaced_if_one_cannot_be_written(
    shop: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    paths = [job(shop, "shelf", SLIPS), job(shop, "tray", SLIPS)]
    before = [path.read_bytes() for path in paths]
    real, made = tempfile.mkstemp, []

    def full(**given: object) -> tuple[int, str]:
        made.append(given)
        if len(made) == 2:
            raise OSError(28, "No space left on device", "tray.flat")
        return real(**given)  # type: ignore[call-overload, no-any-return]

    monkeypatch.setattr(tempfile, "mkstemp", full)
    run = flatwise("check", "--fix", "jobs", cwd=shop)
    assert run.returncode == 2 and "the disk is full" in run.stderr and len(made) == 2
    assert [path.read_bytes() for path in paths] == before
    assert sorted(each.name for each in paths[0].parent.iterdir()) == ["shelf.flat", "tray.flat"]
