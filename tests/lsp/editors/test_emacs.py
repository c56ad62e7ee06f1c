"""Emacs itself, with the mode in `lsp/editors` and eglot, in a terminal and without one."""

from __future__ import annotations

import json
import shlex
import shutil
import subprocess
from pathlib import Path
from typing import Any

import pytest
from lsp.editors.setups import GOES_ON, JOB, TIDY, environment

from flatwise_grammar import format_text

HERE = Path(__file__).parent
EMACS = shutil.which("emacs")
pytestmark = pytest.mark.skipif(EMACS is None, reason="Emacs is not installed: apt-get install emacs-nox elpa-eglot")


@pytest.fixture
def mode(repository: Path) -> Path:
    return repository / "lsp" / "editors" / "emacs" / "flatwise-mode.el"


def batch(*arguments: str | Path, cwd: Path) -> str:
    """Run Emacs without a screen, and return its output."""
    assert EMACS is not None
    done = subprocess.run(
        [EMACS, "--batch", "-Q", *map(str, arguments)], cwd=cwd, capture_output=True, text=True, timeout=60
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


def test_the_mode_compiles_without_a_warning(mode: Path, tmp_path: Path) -> None:
    shutil.copy(mode, tmp_path)
    batch("--eval", "(setq byte-compile-error-on-warn t)", "-f", "batch-byte-compile", mode.name, cwd=tmp_path)
    assert (tmp_path / "flatwise-mode.elc").exists()


def faces(mode: Path, folder: Path, text: str) -> list[tuple[str, str]]:
    """The stretches of a text in one face, with the name of the face."""
    (folder / "it.flat").write_text(text)
    show = """(let ((runs nil))
      (with-current-buffer (find-file-noselect "it.flat")
        (font-lock-ensure)
        (let ((at (point-min)))
          (while (< at (point-max))
            (let ((next (next-single-property-change at 'face nil (point-max))))
              (push (vector (buffer-substring-no-properties at next) (format "%s" (get-text-property at 'face))) runs)
              (setq at next)))))
      (princ (json-encode (vconcat (nreverse runs)))))"""
    said = json.loads(batch("-l", mode, "--eval", "(require 'json)", "--eval", show, cwd=folder))
    return [(run.strip(), face.removeprefix("font-lock-").removesuffix("-face")) for run, face in said]


def test_words_comments_and_strings_are_coloured(mode: Path, tmp_path: Path) -> None:
    text = (
        'use "a.flat"\njob demo from plain {\n    stock { size 1.2m x 3/4in; wood ash } # 3mm {\n'
        '    controller { offset G59.3; dwell seconds }\n    waive depth because "two # 2mm \\" skims"\n'
        "    cut { feed 6m/min; stepover 60% }\n}\n"
    )
    seen = faces(mode, tmp_path, text)
    for run in [
        ("use", "keyword"), ('"a.flat"', "string"), ("job", "keyword"), ("demo", "type"), ("stock", "keyword"),
        ("size", "variable-name"), ("1.2m", "constant"), ("3/4in", "constant"), ("wood", "variable-name"),
        ("3mm {", "comment"), ("G59.3", "builtin"), ("dwell", "variable-name"),
        ('"two # 2mm \\" skims"', "string"), ("6m/min", "constant"), ("60%", "constant"),
    ]:  # fmt: skip
        assert run in seen, (run, seen)
    plain = " ".join(run for run, face in seen if face == "nil")
    assert "seconds" in plain and "ash" in plain and "because" in plain


def test_indentation_is_the_formatters(mode: Path, repository: Path, tmp_path: Path) -> None:
    """Every example job, and lines continued after a comma, after their indentation is removed."""
    texts = {job.name: format_text(job.read_text()) for job in sorted((repository / "jobs").glob("*.flat"))}
    assert len(texts) >= 10
    texts["goes_on.flat"] = format_text(GOES_ON)
    for name, text in texts.items():
        (tmp_path / name).write_text("".join(line.lstrip(" ") for line in text.splitlines(keepends=True)))
    names = " ".join(json.dumps(name) for name in texts)
    indent = "(with-current-buffer (find-file-noselect name) (indent-region (point-min) (point-max)) (save-buffer))"
    batch("-l", mode, "--eval", f"(dolist (name '({names})) {indent})", cwd=tmp_path)
    for name, text in texts.items():
        assert (tmp_path / name).read_text() == text, name


def test_a_line_is_commented_out_and_back(mode: Path, tmp_path: Path) -> None:
    (tmp_path / "it.flat").write_text("cut {\n    depth 0.5mm\n}\n")
    there = (
        '(with-current-buffer (find-file-noselect "it.flat") (goto-char 10) (comment-line 1) (princ (buffer-string))'
    )
    back = " (goto-char 10) (comment-line 1) (princ (buffer-string)))"
    said = batch("-l", mode, "--eval", there + back, cwd=tmp_path)
    assert said == "cut {\n    # depth 0.5mm\n}\ncut {\n    depth 0.5mm\n}\n"


@pytest.mark.nightly
def test_emacs_sees_an_error_takes_the_fix_formats_saves_hovers_completes_renames_and_previews(
    mode: Path, shop: Path
) -> None:
    assert EMACS is not None
    if subprocess.run([EMACS, "--batch", "--eval", "(require 'eglot)"], capture_output=True, timeout=60).returncode:
        pytest.skip("eglot is not installed: apt-get install elpa-eglot")
    if shutil.which("script") is None:
        pytest.skip("Emacs needs a terminal, and script is not installed: apt-get install bsdutils")
    job = shop / "jobs" / "demo.flat"
    job.write_text(JOB)
    surroundings = environment(shop) | {"HOME": str(shop), "TERM": "xterm"}
    command = [EMACS, "-nw", "--no-splash", "-l", str(mode), "-l", str(HERE / "drive.el"), "demo.flat"]
    seen = _driven(command, job, surroundings)
    assert seen["ok"] is True, seen
    assert seen["mode"] == "flatwise-mode"
    (before,) = seen["before"]
    assert "stepovr" in before
    assert seen["line"] == 9
    assert seen["saved"] == TIDY
    assert "rim speed" in seen["hover"]
    assert seen["completed"].split()[0] == "finish"
    assert job.read_text() == TIDY.replace("own_dog", "oak_dog")
    assert seen["browsed"].startswith("file://") and "/previews/" in seen["browsed"]


def _driven(command: list[str], job: Path, surroundings: dict[str, str]) -> dict[str, Any]:
    """Run Emacs in a terminal until it ends by itself, and return what drive.el noted."""
    shop = job.parents[1]
    (shop / "seen.json").unlink(missing_ok=True)
    with (
        (shop / "screen").open("wb") as screen,
        # a terminal without keystrokes: the pipe stays open and empty
        subprocess.Popen(
            ["script", "--quiet", "--command", shlex.join(command), "/dev/null"],
            cwd=job.parent, env=surroundings, stdin=subprocess.PIPE, stdout=screen, stderr=screen,
        ) as emacs,
    ):  # fmt: skip
        try:
            emacs.wait(180)
        finally:
            emacs.terminate()
    assert (shop / "seen.json").exists(), (shop / "screen").read_text(errors="replace")[-2000:]
    seen: dict[str, Any] = json.loads((shop / "seen.json").read_text())
    return seen
