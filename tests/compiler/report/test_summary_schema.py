"""The schema that `explain summary` prints holds for every summary, by jsonschema (JSON Schema, draft 2020-12)."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from compiler.random_build import shop
from compiler.random_jobs import write_job
from compiler.random_shop import Plain
from compiler.tool.here import flatwise
from jsonschema import Draft202012Validator

JOBS = Path(__file__).resolve().parents[3] / "jobs"
#: seeds of random jobs that compile
SEEDS = range(12)


@pytest.fixture(scope="module")
def schema(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    run = flatwise("explain", "summary", cwd=tmp_path_factory.mktemp("schema"))
    assert run.returncode == 0
    found: dict[str, Any] = json.loads(run.stdout)
    Draft202012Validator.check_schema(found)
    return found


def misfits(schema: dict[str, Any], summary: Any) -> Iterator[str]:
    for error in Draft202012Validator(schema).iter_errors(summary):
        yield f"{error.json_path}: {error.message}"


def test_it_holds_for_the_example_jobs_and_for_random_ones(schema: dict[str, Any], tmp_path: Path) -> None:
    jobs = shop(tmp_path)
    for seed in SEEDS:
        written = write_job(Plain(seed))
        (tmp_path / f"random{seed}").mkdir()
        (tmp_path / f"random{seed}" / "panel.flat").write_text(written.text, encoding="utf-8")
        for name, rows in written.files.items():
            (tmp_path / f"random{seed}" / name).write_text(rows, encoding="utf-8")
        flatwise("build", f"random{seed}", "--out", f"out/random{seed}", cwd=tmp_path)
    for path in sorted(JOBS.iterdir()):
        (jobs / path.name).write_bytes(path.read_bytes())
    flatwise("build", "jobs", cwd=tmp_path)
    found = sorted((tmp_path / "out").rglob("summary.json"))
    assert len(found) >= len(list(JOBS.glob("*.flat"))) + 3
    for path in found:
        assert list(misfits(schema, json.loads(path.read_text("utf-8")))) == [], path


def test_it_refuses_what_is_no_summary(schema: dict[str, Any], tmp_path: Path) -> None:
    shop(tmp_path)
    (tmp_path / "jobs" / "lamp_table.flat").write_bytes((JOBS / "lamp_table.flat").read_bytes())
    assert flatwise("build", "jobs", cwd=tmp_path).returncode == 0
    summary = json.loads((tmp_path / "out" / "lamp_table" / "summary.json").read_text("utf-8"))
    assert list(misfits(schema, summary)) == []
    for spoiled in (
        {**summary, "extra": 1},
        {key: value for key, value in summary.items() if key != "verified"},
        {**summary, "schema": 2},
        {**summary, "setups": [{**summary["setups"][0], "feed": "fast"}]},
    ):
        assert len(list(misfits(schema, spoiled))) == 1
