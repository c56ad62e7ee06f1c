"""The schema that `explain summary` prints holds for every summary, by jsonschema (JSON Schema, draft 2020-12)."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from compiler.gcode.write_plans import built
from compiler.random_build import shop
from compiler.random_jobs import write_job
from compiler.random_shop import Plain
from compiler.tool.in_process import flatwise
from example_jobs import FEW_JOBS, example, example_batch
from hypothesis_profile import NIGHTLY
from jsonschema import Draft202012Validator

from flatwise.core.finding import Finding
from flatwise.report import files
from flatwise.report.summary import summary

#: seeds of random jobs of which most build
SEEDS = range(100) if NIGHTLY else (5, 6, 12)


@pytest.fixture(scope="module")
def schema(tmp_path_factory: pytest.TempPathFactory) -> Draft202012Validator:
    run = flatwise("explain", "summary", cwd=tmp_path_factory.mktemp("schema"))
    assert run.returncode == 0
    Draft202012Validator.check_schema(json.loads(run.stdout))
    return Draft202012Validator(json.loads(run.stdout))


def misfits(schema: Draft202012Validator, summary: Any) -> list[str]:
    """What is wrong with a summary of a job, or with one of a batch."""
    branch = 1 if "batch" in summary else 0
    errors = [error for either in schema.iter_errors(summary) for error in either.context or ()]
    return [f"{error.json_path}: {error.message}" for error in errors if error.schema_path[0] == branch]


def summary_of(job: str) -> Any:
    front, built = example(job)
    return json.loads(files(built, front.texts)["summary.json"])


def test_it_holds_for_notes_and_asks_for_the_key(schema: Draft202012Validator) -> None:
    note = Finding("FW207", "The weight may hide a twist.", None, severity="note")
    told = summary(built(findings=(note,)))
    assert misfits(schema, told) == [] and told["notes"]
    del told["notes"]
    assert misfits(schema, told) == ["$: 'notes' is a required property"]


@pytest.mark.parametrize("job", FEW_JOBS)
def test_it_holds_for_an_example_job(schema: Draft202012Validator, job: str) -> None:
    assert misfits(schema, summary_of(job)) == []


def test_it_holds_for_the_example_batch(schema: Draft202012Validator) -> None:
    batch, built = example_batch()
    told = json.loads(files(built, {})["summary.json"])
    assert misfits(schema, told) == [] and list(schema.iter_errors(told)) == []
    assert [each["job"] for each in told["jobs"]] == [work.name for work in batch.works]
    assert list(schema.iter_errors({**told, "jobs": [{}]}))


def test_it_holds_for_random_jobs(schema: Draft202012Validator, tmp_path: Path) -> None:
    shop(tmp_path)
    for seed in SEEDS:
        written = write_job(Plain(seed))
        folder = tmp_path / f"random_{seed}"
        folder.mkdir()
        for name, text in {"panel.flat": written.text, **written.files}.items():
            (folder / name).write_text(text, encoding="utf-8")
        flatwise("build", folder.name, "--out", f"out/{seed}", cwd=tmp_path)
    found = sorted((tmp_path / "out").rglob("summary.json"))
    assert len(found) >= 3
    for path in found:
        assert misfits(schema, json.loads(path.read_text("utf-8"))) == [], path


def test_it_refuses_what_is_no_summary(schema: Draft202012Validator) -> None:
    summary = summary_of("reading_table")
    for spoiled in (
        {**summary, "extra": 1},
        {key: value for key, value in summary.items() if key != "verified"},
        {**summary, "schema": 2},
        {**summary, "setups": [{**summary["setups"][0], "feed": "fast"}]},
    ):
        # an older pydantic states a constant twice
        assert len({each.partition(":")[0] for each in misfits(schema, spoiled)}) == 1
