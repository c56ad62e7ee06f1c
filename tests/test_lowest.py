"""The lower bounds of `pyproject.toml` are true: with the oldest versions that they allow, the tests below pass."""

from __future__ import annotations

import re
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
#: what looks at each library: grammar and language (lark), settings and summary (pydantic), the arithmetic (numpy), the
#: sheet (jinja2), completion in a shell (argcomplete), the server (pygls)
TESTS = (
    "tests/grammar",
    "tests/test_cases.py",
    "tests/compiler/language",
    "tests/compiler/survey",
    "tests/compiler/seat",
    "tests/compiler/report",
    "tests/compiler/tool/test_cli.py",
    "tests/compiler/tool/test_project.py",
    "tests/compiler/tool/test_shell_completion.py",
    "tests/lsp/server",
)


def lowest() -> list[str]:
    """`lark==1.1.9` for each dependency, the lowest version that it may have."""
    wanted = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]["dependencies"]
    found = [re.fullmatch(r"([\w.-]+)>=([\d.]+)(,<[\d.]+)?", each) for each in wanted]
    return [f"{bound[1]}=={bound[2]}" for bound in found if bound is not None]


def test_every_dependency_has_a_lower_bound() -> None:
    wanted = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]["dependencies"]
    assert len(lowest()) == len(wanted) >= 5


@pytest.mark.nightly
def test_with_the_lowest_versions_the_tests_pass(tmp_path: Path) -> None:
    subprocess.run([sys.executable, "-m", "venv", str(tmp_path)], check=True)
    (tmp_path / "lowest.txt").write_text("\n".join(lowest()), "utf-8")
    python = str(tmp_path / "bin" / "python")
    install = [python, "-m", "pip", "install", "-q", "-e", f"{ROOT}[test]", "-c", str(tmp_path / "lowest.txt")]
    done = subprocess.run(install, capture_output=True, encoding="utf-8", check=False)
    if "No matching distribution" in done.stderr or "NewConnectionError" in done.stderr:
        pytest.skip(f"not all of these versions can be had here: {', '.join(lowest())}")
    assert done.returncode == 0, done.stderr
    run = [python, "-m", "pytest", "-n", "2", *TESTS]
    done = subprocess.run(run, cwd=ROOT, capture_output=True, encoding="utf-8", check=False)
    assert done.returncode == 0, done.stdout[-5000:]
