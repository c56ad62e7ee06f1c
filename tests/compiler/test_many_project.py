"""What a project says for all of its jobs, through the command line: its standard, out folder and strictness."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from compiler.here import flatwise

JOB = """\
use "../shared/shop.flat"
use "../shared/sample.flat"

job tray from open_top {{
    survey {{ twist 0mm; cup 0mm hollow; bow 0mm hollow }}
    {more}
}}
"""
RULES = """\
use "../shared/shop.flat"

standard house like solid_tops { depth at most 0.4mm }
standard loose like house { depth at most 2mm; overrun at least 1mm }
"""
FILES = {
    "flatwise.toml": "{}",
    "pyproject.toml": '[project]\nname = "shop"\n\n[tool.flatwise]\n{}\n[tool.other]\nstandard = 3\n',
}


@pytest.fixture
def house(shop: Path) -> Path:
    """A shop whose recipe names no standard, with the rules of the house in a file of their own."""
    sample = (shop / "shared" / "sample.flat").read_text()
    plain = sample.replace("    standard  solid_tops\n", "").replace("recipe plain_top", "recipe open_top")
    (shop / "shared" / "sample.flat").write_text(plain)
    (shop / "rules").mkdir()
    (shop / "rules" / "house.flat").write_text(RULES)
    (shop / "flatwise.toml").unlink()
    job(shop)
    return shop


def job(shop: Path, more: str = "") -> None:
    (shop / "jobs" / "tray.flat").write_text(JOB.format(more=more))


def settle(shop: Path, file: str, settings: str) -> None:
    (shop / file).write_text(FILES[file].format(settings))


@pytest.mark.parametrize("file", FILES)
def test_the_projects_standard_judges_every_job_that_names_none(house: Path, file: str) -> None:
    settle(house, file, "strict = false\n")
    assert flatwise("check", "jobs", cwd=house).returncode == 0
    settle(house, file, 'standard = "house"\nstandard_from = "rules/house.flat"\n')
    run = flatwise("check", "jobs", cwd=house)
    assert run.returncode == 1 and run.stdout.count("FW701 error") == 1
    assert "The depth of 0.5mm is more than the 0.4mm" in run.stdout and "rules/house.flat:3:" in run.stdout
    job(house, "cut { depth 0.4mm; finish 0.1mm }")
    assert flatwise("check", "jobs", cwd=house).returncode == 0
    # the same from below and from outside
    assert flatwise("check", "tray.flat", cwd=house / "jobs").returncode == 0
    job(house)
    assert flatwise("check", str(house / "jobs"), cwd=house.parent).returncode == 1


def test_it_can_be_waived_and_its_file_is_among_the_sources(house: Path) -> None:
    settle(house, "flatwise.toml", 'standard = "house"\nstandard_from = "rules/house.flat"\n')
    job(house, 'waive depth because "two skims on an offcut"')
    assert flatwise("build", "jobs", cwd=house).returncode == 0
    told = json.loads((house / "out" / "tray" / "summary.json").read_text("utf-8"))
    assert [each["path"] for each in told["sources"]] == [
        "jobs/tray.flat",
        "rules/house.flat",
        "shared/sample.flat",
        "shared/shop.flat",
    ]
    assert told["waived"] == [{"rule": "depth", "because": "two skims on an offcut", "value": 0.5, "limit": 0.4}]


def test_a_job_may_name_another_standard_and_one_standard_may_be_like_another(house: Path) -> None:
    settle(house, "flatwise.toml", 'standard = "house"\nstandard_from = "rules/house.flat"\n')
    path = house / "jobs" / "tray.flat"
    path.write_text('use "../rules/house.flat"\n' + JOB.format(more="standard loose; cut { overrun 2mm; depth 0.9mm }"))
    assert flatwise("check", "jobs", cwd=house).returncode == 0
    # what `loose` does not say is that of `house`, and of `solid_tops` before it: 15mm must be left
    path.write_text(path.read_text().replace("standard loose;", "standard loose; faces { second to 14mm };"))
    run = flatwise("check", "jobs", cwd=house)
    assert "FW602 error" in run.stdout and "15mm" in run.stdout


def test_without_a_file_the_job_must_see_the_standard(house: Path) -> None:
    settle(house, "flatwise.toml", 'standard = "solid_tops"\n')
    assert flatwise("check", "jobs", cwd=house).returncode == 0
    job(house, "cut { depth 0.8mm }")
    assert "FW701" in flatwise("check", "jobs", cwd=house).stdout
    settle(house, "flatwise.toml", 'standard = "house"\n')
    run = flatwise("check", "jobs", cwd=house)
    assert run.returncode == 1 and "FW102 error  flatwise.toml:1:1" in run.stdout


@pytest.mark.parametrize(
    ("settings", "code"),
    [
        ('standard = "hose"\nstandard_from = "rules/house.flat"\n', "FW102"),
        ('standard = "house"\nstandard_from = "rules/gone.flat"\n', "FW004"),
        ('standard = "house"\nstandard_from = "../rules.flat"\n', "FW004"),
        ("standard = 3\n", "FW104"),
        ('strict = "yes"\n', "FW104"),
        ('standards = "house"\n', "FW101"),
        ('standard = "house\n', "FW001"),
    ],
)
def test_a_fault_in_the_settings_is_a_finding_at_its_place_and_nothing_is_written(
    house: Path, settings: str, code: str
) -> None:
    for file in FILES:
        settle(house, file, settings)
        run = flatwise("build", "jobs", cwd=house)
        assert run.returncode == 1 and f"{code} error  {file}:" in run.stdout, run.stdout
        assert not (house / "out").exists()
        (house / file).unlink()


def test_out_and_strict_of_the_project(house: Path) -> None:
    settle(house, "pyproject.toml", 'out = "programs/made"\nstrict = true\nstandard = "solid_tops"\n')
    assert flatwise("build", "jobs", cwd=house).returncode == 0
    assert (house / "programs" / "made" / "tray" / "first.nc").exists()
    job(house, 'waive depth because "not needed"')
    run = flatwise("check", "jobs", cwd=house)
    assert run.returncode == 1 and "FW702 warning" in run.stdout
    assert flatwise("build", "jobs", "--out", "o", cwd=house).returncode == 1 and not (house / "o").exists()


def test_the_hooks_name_commands_that_there_are_and_match_job_files(repository: Path, house: Path) -> None:
    hooks = (repository / ".pre-commit-hooks.yaml").read_text("utf-8")
    entries, patterns = (re.findall(rf"^  {key}: (.+)$", hooks, re.M) for key in ("entry", "files"))
    assert len(entries) == len(patterns) == hooks.count("- id: ") == 2
    for entry, pattern in zip(entries, patterns, strict=True):
        run = flatwise(*entry.split()[1:], "jobs", cwd=house)
        assert run.returncode == 0, run.stdout
        assert re.search(pattern, "jobs/tray.flat") and not re.search(pattern, "jobs/tray.flat.orig")
