"""Neovim itself, with the set-up in `lsp/editors`, without a screen."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
from pathlib import Path

import pytest
from lsp.editors.setups import JOB, environment


@pytest.mark.skipif(shutil.which("nvim") is None, reason="Neovim is not installed: apt-get install neovim")
def test_neovim_sees_an_error_takes_the_fix_saves_hovers_completes_and_previews(shop: Path, repository: Path) -> None:
    job = shop / "jobs" / "demo.flat"
    job.write_text(JOB)
    seen_file = shop / "seen.json"
    editors = repository / "lsp" / "editors"
    surroundings = {
        **environment(shop),
        "XDG_STATE_HOME": str(shop / "state"),
        "XDG_CACHE_HOME": str(shop / "cache"),
        "XDG_DATA_HOME": str(shop / "data"),
    }
    browser = shop / "bin" / "xdg-open"
    browser.parent.mkdir()
    browser.write_text(f'#!/bin/sh\necho "$1" > "{shop}/opened.new" && mv "{shop}/opened.new" "{shop}/opened"\n')
    browser.chmod(0o755)
    surroundings["PATH"] = f"{browser.parent}{os.pathsep}{surroundings['PATH']}"
    rtp = f"set runtimepath^={editors / 'vim'},{editors / 'neovim'}"
    command = ["nvim", "--headless", "--clean", "-n", "--cmd", rtp, "--cmd", "filetype plugin on", str(job)]
    drive = Path(__file__).with_name("drive.lua")
    done = subprocess.run(
        [*command, "-c", f"luafile {drive}"], env=surroundings, cwd=shop, capture_output=True, text=True, timeout=180
    )
    assert seen_file.exists(), done.stderr
    seen = json.loads(seen_file.read_text())
    assert seen["ok"], (seen, done.stderr)
    assert seen["filetype"] == "flatwise"
    assert seen["before"] == ["FW101"]
    assert seen["line"] == 8
    assert "stepovr" in seen["message"]
    assert "FW101" not in seen["after"]
    assert "rim speed" in seen["hover"]
    assert "stepover" not in seen["offers"] and "finish" in seen["offers"]
    assert "is not a name" in seen["refused"]
    assert (shop / "opened").read_text() == f"{Path(seen['page']).as_uri()}\n"
    assert Path(seen["page"]).is_relative_to((shop / "cache").resolve()) and not Path(seen["page"]).exists()
    assert job.read_text() == JOB.replace("stepovr", "stepover").replace("own_dog", "oak_dog")


@pytest.mark.skipif(shutil.which("nvim") is None, reason="Neovim is not installed: apt-get install neovim")
def test_make_lists_the_findings_where_they_are(shop: Path, repository: Path) -> None:
    """The Vim set-up without a language server: `:compiler flatwise` and `:make %`."""
    job = shop / "jobs" / "demo.flat"
    job.write_text(JOB)
    rtp = f"set runtimepath^={repository / 'lsp' / 'editors' / 'vim'}"
    subprocess.run(
        ["nvim", "--headless", "--clean", "-n", "--cmd", rtp, "--cmd", "filetype plugin on", "jobs/demo.flat",
         "-c", "compiler flatwise", "-c", "silent make %",
         "-c", "call writefile([json_encode(getqflist())], 'seen.json')", "-c", "qall"],
        env=environment(shop), cwd=shop, capture_output=True, timeout=60, check=True,
    )  # fmt: skip
    (found,) = json.loads((shop / "seen.json").read_text())
    assert (found["lnum"], found["col"], found["nr"], found["type"]) == (9, 9, 101, "E")
    assert "stepovr" in found["text"]


@pytest.mark.nightly
@pytest.mark.skipif(shutil.which("nvim") is None, reason="Neovim is not installed: apt-get install neovim")
def test_the_lens_of_a_batch_builds_it(shop: Path, repository: Path) -> None:
    shutil.copy(repository / "jobs" / "tray_batch.flat", shop / "jobs")
    editors = repository / "lsp" / "editors"
    rtp = f"set runtimepath^={editors / 'vim'},{editors / 'neovim'}"
    subprocess.run(
        ["nvim", "--headless", "--clean", "-n", "--cmd", rtp, "--cmd", "filetype plugin on", "jobs/tray_batch.flat",
         "-c", f"luafile {Path(__file__).with_name('lens.lua')}"],
        env=environment(shop), cwd=shop, capture_output=True, timeout=180, check=True,
    )  # fmt: skip
    seen = json.loads((shop / "seen.json").read_text())
    assert seen["offered"][0].startswith("4 panels") and {"Build", "Preview"} <= set(seen["offered"]), seen
    assert seen["message"].startswith("Built.\ntray_batch: 4 panels"), seen
    assert (shop / "out" / "tray_batch" / "second.nc").is_file()
