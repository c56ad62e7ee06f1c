"""What a project says for all of its jobs, through the command line: its standard, out folder and strictness."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from compiler.tool.in_process import flatwise
from hypothesis import given
from hypothesis import strategies as st
from hypothesis_profile import examples

from flatwise.model.shop_rules import Rules, bounded
from flatwise.model.standard import Standard
from flatwise_grammar.nodes import Span
from flatwise_lsp.workspace.analysis import analyse
from flatwise_lsp.workspace.document_text import DocumentText
from flatwise_lsp.workspace.documents import Document, Snapshot, uri_of

ROOT = Path(__file__).resolve().parents[3]

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


HOUSE = 'standard = "house"\nstandard_from = "rules/house.flat"\n'
#: a job that names a standard of its own, which is looser than the house's in depth, stricter in overrun
NAMES = 'use "../rules/house.flat"\n'


def test_a_standard_may_be_like_another(house: Path) -> None:
    path = house / "jobs" / "tray.flat"
    path.write_text(NAMES + JOB.format(more="standard loose; cut { overrun 2mm; depth 0.9mm }"))
    settle(house, "flatwise.toml", "")
    assert flatwise("check", "jobs", cwd=house).returncode == 0
    # what `loose` does not say is that of `house`, and of `solid_tops` before it: 15mm must be left
    path.write_text(path.read_text().replace("standard loose;", "standard loose; faces { second to 14mm };"))
    run = flatwise("check", "jobs", cwd=house)
    assert "FW602 error" in run.stdout and "the standard loose requires" in run.stdout and "15mm" in run.stdout


def test_the_projects_standard_holds_for_a_job_that_names_another(house: Path) -> None:
    settle(house, "flatwise.toml", HOUSE)
    path = house / "jobs" / "tray.flat"
    path.write_text(NAMES + JOB.format(more="standard loose; cut { overrun 2mm; depth 0.9mm; finish 0.1mm }"))
    run = flatwise("check", "jobs", cwd=house)
    assert run.returncode == 1 and run.stdout.count("FW701 error") == 2
    said = " ".join(run.stdout.split())
    assert "more than the 0.4mm that the project's standard house allows in one pass." in said
    assert "only 2mm past the edges, less than the 4mm that the project's standard house requires." in said
    assert "the rule depth of house" in said and "rules/house.flat:3:" in said
    thin = "standard thin like loose { leave at least 10mm }\n"
    more = "standard thin; cut { depth 0.4mm; finish 0.1mm }; faces { second to 14mm }"
    path.write_text(NAMES + thin + JOB.format(more=more))
    said = " ".join(flatwise("check", "jobs", cwd=house).stdout.split())
    assert "Only 14mm would be left, less than the 15mm that the standard house requires." in said


def test_a_jobs_own_standard_may_be_stricter_and_is_then_the_one_that_is_named(house: Path) -> None:
    settle(house, "flatwise.toml", HOUSE)
    path = house / "jobs" / "tray.flat"
    path.write_text(
        NAMES
        + "standard strict { depth at most 0.2mm; clearance at least 5mm }\n"
        + JOB.format(more="standard strict; cut { depth 0.3mm; finish 0.1mm }")
    )
    said = " ".join(flatwise("check", "jobs", cwd=house).stdout.split())
    assert "more than the 0.2mm that the standard allows" in said and "the rule depth of strict" in said
    assert "1 error" in said
    # of what `strict` is silent the house's rules hold: a survey, and 15mm to be left
    path.write_text(path.read_text().replace("depth 0.3mm", "depth 0.2mm").replace("{ twist", "{ } # {"))
    assert flatwise("check", "jobs", cwd=house).returncode == 0
    path.write_text(path.read_text().replace("standard strict;", "standard strict; faces { second to 14mm };"))
    assert "FW602 error" in flatwise("check", "jobs", cwd=house).stdout


def test_a_rule_of_the_project_is_waived_with_a_reason_and_told(house: Path) -> None:
    settle(house, "flatwise.toml", HOUSE)
    path = house / "jobs" / "tray.flat"
    more = 'standard loose; waive depth because "tried on an offcut"; cut { depth 0.9mm; finish 0.1mm }'
    path.write_text(NAMES + JOB.format(more=more))
    run = flatwise("build", "jobs", cwd=house)
    assert run.returncode == 0 and "FW703 warning" in run.stdout, run.stdout
    told = json.loads((house / "out" / "tray" / "summary.json").read_text("utf-8"))
    assert told["waived"] == [{"rule": "depth", "because": "tried on an offcut", "value": 0.9, "limit": 0.4}]
    path.write_text(path.read_text().replace('because "tried on an offcut"', ""))
    assert "FW702 error" in flatwise("check", "jobs", cwd=house).stdout


def test_a_required_standard_that_a_job_can_not_see_is_missed_even_where_it_names_another(house: Path) -> None:
    settle(house, "flatwise.toml", 'standard = "house"\n')
    job(house, "standard solid_tops")
    run = flatwise("build", "jobs", cwd=house)
    assert run.returncode == 1 and "FW102 error  flatwise.toml:1:1" in run.stdout and not (house / "out").exists()


def test_the_bed_is_skimmed_by_the_required_rules_too(house: Path) -> None:
    settle(house, "flatwise.toml", HOUSE)
    bed = (ROOT / "jobs" / "spoilboard.flat").read_text().replace("job spoilboard", "job tray")
    (house / "jobs" / "tray.flat").write_text(bed)
    assert flatwise("check", "jobs", cwd=house).returncode == 0
    (house / "jobs" / "tray.flat").write_text(bed.replace("depth     0.4mm", "depth     0.5mm"))
    assert "FW701 error" in flatwise("check", "jobs", cwd=house).stdout


def test_an_editor_shows_the_same(house: Path) -> None:
    settle(house, "flatwise.toml", HOUSE)
    path = (house / "jobs" / "tray.flat").resolve()
    text = NAMES + JOB.format(more="standard loose; cut { depth 0.9mm; finish 0.1mm }")
    snapshot = Snapshot(1, {path: Document(uri_of(path), path, 1, DocumentText(text))}, (house.resolve(),))
    found = analyse(path, snapshot, lambda: False, lambda half: None)
    assert found is not None
    broken = [finding for finding in found.findings if finding.code == "FW701"]
    assert len(broken) == 1 and "the project's standard house" in broken[0].message


FIGURES = st.builds(
    lambda values, survey: {**{rule: value for rule, value in values.items() if value is not None}, **survey},
    st.fixed_dictionaries(
        {rule: st.none() | st.floats(0.01, 5.0) for rule in Standard.model_fields if rule != "survey"}
    ),
    st.sampled_from([{}, {"survey": True}]),
)


def rules(name: str, figures: dict[str, float]) -> Rules:
    return Rules(**figures, standard=name, spans={rule: Span(name, 0, 1) for rule in figures})


@examples(30)
@given(FIGURES, FIGURES)
def test_requiring_never_loosens_a_rule_and_asks_nothing_where_it_is_silent(
    own: dict[str, float], required: dict[str, float]
) -> None:
    """Of a random pair: each rule is one of the two, never looser than either, and says whose it is."""
    mine, both = rules("mine", own), bounded(rules("mine", own), rules("house", required))
    for rule in Standard.model_fields:
        figure, before = getattr(both, rule), getattr(mine, rule)
        sign = 1.0 if rule in ("leave", "clearance", "overrun", "unseen", "survey") else -1.0
        if rule not in required:
            assert figure == before and both.of(rule) == "mine"
            continue
        assert sign * figure >= sign * required[rule]
        assert before is None or sign * figure >= sign * before
        assert figure == (required[rule] if both.of(rule) == "house" else before)
        assert rule not in both.spans or both.spans[rule].path == both.of(rule)
    assert bounded(both, rules("house", required)).from_required == frozenset()


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
