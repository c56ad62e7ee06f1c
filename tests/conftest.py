"""What all tests share: the repository's folders, a shop to work in, and how much of the suite runs."""

from __future__ import annotations

import compileall
import os
import re
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import hypothesis_profile
import pytest

ROOT = Path(__file__).resolve().parent.parent
hypothesis_profile.load()


def pytest_configure(config: pytest.Config) -> None:
    """Select the tests marked `nightly` as well where FLATWISE_NIGHTLY=1 is set."""
    if hypothesis_profile.NIGHTLY and config.option.markexpr == "not nightly":
        config.option.markexpr = ""


def pytest_xdist_auto_num_workers(config: pytest.Config) -> int | None:
    """Run the whole suite on all processors, and tests named on the command line (so the benches too) in one."""
    if config.args_source is not pytest.Config.ArgsSource.TESTPATHS:
        return 0
    if not hypothesis_profile.NIGHTLY:
        # rewriting every assertion takes each worker longer than loading all modules; a failed test shows its locals,
        # and named on the command line it shows the values of its assertion
        os.environ["PYTEST_ADDOPTS"] = f"{os.environ.get('PYTEST_ADDOPTS', '')} --assert=plain --showlocals"
    # the tests start the command line many times: compile it once, also where Python must not write bytecode itself
    for package in ("grammar/flatwise_grammar", "compiler/flatwise", "lsp/flatwise_lsp"):
        compileall.compile_dir(ROOT / package, quiet=2)
    # each worker loads all tests
    compileall.compile_dir(ROOT / "tests", quiet=2, rx=re.compile("node_modules"))
    return None


@pytest.fixture(scope="session")
def repository() -> Path:
    """The folder of the README."""
    return ROOT


@pytest.fixture(scope="session")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The wheel of the repository, made from a copy so that no build leaves anything behind."""
    place = tmp_path_factory.mktemp("wheel")
    source = place / "source"
    source.mkdir()
    for name in ("compiler", "grammar", "lsp"):
        shutil.copytree(ROOT / name, source / name, ignore=shutil.ignore_patterns("__pycache__", "node_modules"))
    for name in ("pyproject.toml", "README.md", "LICENSE"):
        shutil.copy(ROOT / name, source)
    pip = [sys.executable, "-m", "pip", "--disable-pip-version-check", "--quiet", "--retries", "0", "--timeout", "10"]
    command = [*pip, "wheel", "--no-deps", "-w", str(place), str(source)]
    if subprocess.run(command, capture_output=True, check=False, timeout=300).returncode != 0:
        pytest.skip("no wheel can be built here: pip can't fetch the build backend")
    shutil.rmtree(source)
    (made,) = place.glob("*.whl")
    return made


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A project with a copy of shared/ and an empty jobs/, as the working folder."""
    shutil.copytree(ROOT / "shared", tmp_path / "shared")
    (tmp_path / "jobs").mkdir()
    (tmp_path / "flatwise.toml").write_text("")
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.fixture
def codes_of(shop: Path) -> Callable[[str], tuple[set[str], set[str]]]:
    """Check a text as jobs/example.flat and give the codes of its errors, and those of its warnings and notes."""

    def compile_text(text: str) -> tuple[set[str], set[str]]:
        from flatwise.pipeline import read_works, work_out, work_out_batch

        path = shop / "jobs" / "example.flat"
        path.write_text(text, encoding="utf-8")
        front = read_works([path])
        findings = list(front.findings)
        together = {work.name for batch in front.batches for work in batch.works}
        for batch in front.batches:
            findings += work_out_batch(batch)[1]
        for work in front.works:
            findings += work_out(work)[1] if work.name not in together else ()
        errors = {finding.code for finding in findings if finding.severity == "error"}
        return errors, {finding.code for finding in findings} - errors

    return compile_text
