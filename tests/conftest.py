"""What every test may lean on: the repository's own folders and a way to run a job text."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

import hypothesis_profile
import pytest

ROOT = Path(__file__).resolve().parent.parent
hypothesis_profile.load()


def pytest_configure(config: pytest.Config) -> None:
    """FLATWISE_NIGHTLY=1 runs the tests marked `nightly` as well."""
    if hypothesis_profile.NIGHTLY and config.option.markexpr == "not nightly":
        config.option.markexpr = ""


def pytest_xdist_auto_num_workers(config: pytest.Config) -> int | None:
    """The whole suite runs on all processors; tests named on the command line (and so the benches) run in one."""
    return None if config.args_source is pytest.Config.ArgsSource.TESTPATHS else 0


@pytest.fixture(scope="session")
def repository() -> Path:
    """The folder that holds the README."""
    return ROOT


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A project root with a copy of shared/ and an empty jobs/, and the working folder in it."""
    shutil.copytree(ROOT / "shared", tmp_path / "shared")
    (tmp_path / "jobs").mkdir()
    (tmp_path / "flatwise.toml").write_text("")
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.fixture
def codes_of(shop: Path) -> Callable[[str], tuple[set[str], set[str]]]:
    """Compile a text as jobs/example.flat: the codes of its errors and of its warnings."""

    def compile_text(text: str) -> tuple[set[str], set[str]]:
        from flatwise.pipeline import read_works, work_out

        path = shop / "jobs" / "example.flat"
        path.write_text(text, encoding="utf-8")
        front = read_works([path])
        findings = list(front.findings)
        for work in front.works:
            findings += work_out(work)[1]
        errors = {finding.code for finding in findings if finding.severity == "error"}
        return errors, {finding.code for finding in findings} - errors

    return compile_text
