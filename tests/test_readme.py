"""Run the README's commands: each `$ …` line must print what the README shows.

`UPDATE_README=1 pytest tests/test_readme.py` writes the output into the README.
"""

from __future__ import annotations

import os
import re
import shlex
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from compiler.tool.in_process import flatwise

ROOT = Path(__file__).resolve().parent.parent
BLOCK = re.compile(r"```console\n(.*?)```", re.S)
#: the jobs of the CI example: one that changes, one with warnings, and one of several faces
CI_JOBS = ("lamp_table", "study_shelf", "spoilboard")


def copy_of_the_project(to: Path) -> Path:
    for name in ("jobs", "shared", "tests/cases"):
        shutil.copytree(ROOT / name, to / name)
    (to / "flatwise.toml").write_text("")
    return to


def run(block: str, folder: Path) -> str:
    """The block with the present output of its commands."""
    shown = []
    for command in [line[2:] for line in block.splitlines() if line.startswith("$ ")]:
        if command.startswith("flatwise "):
            done = flatwise(*shlex.split(command)[1:], cwd=folder)
        else:
            done = subprocess.run(["bash", "-c", command], cwd=folder, capture_output=True, text=True, check=False)
        shown.append(f"$ {command}\n{done.stdout}{done.stderr}")
    return "".join(shown)


def test_the_tour_shows_the_output_of_its_commands(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "100")
    project = copy_of_the_project(tmp_path)
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    blocks = BLOCK.findall(readme)
    assert len(blocks) >= 5
    new = readme
    for block in blocks:
        printed = run(block, project)
        assert str(tmp_path) not in printed
        new = new.replace(f"```console\n{block}```", f"```console\n{printed}```")
    if os.environ.get("UPDATE_README"):
        (ROOT / "README.md").write_text(new, encoding="utf-8")
    assert new == readme or os.environ.get("UPDATE_README")


@pytest.mark.nightly
def test_the_steps_of_the_ci_job_do_what_they_say(tmp_path: Path) -> None:
    """All but the installation, which test_wheel.py covers; the base is one change older than the working files."""
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    (job,) = re.findall(r"```yaml\n(.*?)```", readme, re.S)
    steps = re.findall(r"^  - run: (.+)$", job, re.M)
    assert steps.pop(0).endswith('.venv/bin/pip install "$FLATWISE"') and len(steps) >= 4
    (settings,) = re.findall(r"```toml\n(.*?)```", readme, re.S)
    project = copy_of_the_project(tmp_path)
    for path in (project / "jobs").iterdir():
        if path.stem not in CI_JOBS:
            path.unlink()
    (project / "flatwise.toml").write_text(settings)
    (project / ".gitignore").write_text(".venv\n")
    (project / ".venv" / "bin").mkdir(parents=True)
    (project / ".venv" / "bin" / "flatwise").symlink_to(Path(sys.executable).parent / "flatwise")
    git = "git -c user.name=shop -c user.email=shop@example.invalid -c init.defaultBranch=main"
    base = f"{git} init -q . && {git} add . && {git} commit -qm one && git update-ref refs/remotes/origin/main HEAD"
    assert subprocess.run(["bash", "-c", base], cwd=project, check=False).returncode == 0
    path = project / "jobs" / "lamp_table.flat"
    path.write_text(path.read_text(encoding="utf-8").replace("stepover  auto", "stepover  50%"), encoding="utf-8")
    for step in steps:
        done = subprocess.run(["bash", "-c", step], cwd=project, capture_output=True, text=True, check=False)
        assert done.returncode == 0, (step, done.stdout, done.stderr)
    assert sorted(path.parent.name for path in (project / "out").glob("*/summary.json")) == sorted(CI_JOBS)
    assert '"version": "2.1.0"' in (project / "findings.sarif").read_text(encoding="utf-8")
    review = (project / "review.md").read_text(encoding="utf-8")
    assert review.startswith("This changes 1 job; worse: `lamp_table`.") and "| machine time |" in review


def test_ci_runs_the_test_command() -> None:
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    job, tests = re.findall(r"```sh\n(.*?)\n```", readme, re.S)
    assert job.startswith(tests.split("&&\n.venv")[0]) and job.endswith("flatwise build jobs/reading_table.flat")
    steps = (ROOT / ".ci" / "run").read_text(encoding="utf-8").splitlines()[-3:]
    # the last three commands of CI are those of the README, one on each line
    assert [step.replace(" --quiet", "") for step in steps[1:]] == tests.replace(" &&", "").splitlines()[-2:]
    assert steps[0] == "python3 -m venv .venv" and steps[0] in tests


def test_every_link_leads_to_a_file() -> None:
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    links = re.findall(r"\]\(([^)#]+)\)", readme)
    assert links
    assert [link for link in links if not (ROOT / link).exists()] == []
