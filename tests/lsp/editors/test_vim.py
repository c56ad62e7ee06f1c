"""Vim itself, with `lsp/editors/vim` on its runtime path and no plugin."""

from __future__ import annotations

import json
import re
import shutil
import subprocess
from pathlib import Path
from typing import Any

import pytest
from lsp.editors.setups import GOES_ON, JOB, TIDY, environment

from flatwise_grammar import format_text

VIM = shutil.which("vim")
pytestmark = pytest.mark.skipif(VIM is None, reason="Vim is not installed: apt-get install vim")

TWO_JOBS = """use "../shared/shop.flat"
use "../shared/sample.flat"

dog low_dog { across 19mm; height 11mm }

job demo from plain_top {
    cut {
        stepovr 60%
    }
}

job plain from plain_top {
    waive depth because "no need"
}
"""


@pytest.fixture(scope="module")
def whole() -> None:
    """Debian's smallest Vim can't evaluate expressions, so it can't load a plugin."""
    assert VIM is not None
    said = subprocess.run([VIM, "--version"], capture_output=True, text=True, timeout=20).stdout
    if not re.search(r"\+eval\b", said) or "+syntax" not in said:
        pytest.skip("this Vim is built without +eval and +syntax: apt-get install vim")


def drive(shop: Path, repository: Path, file: str, *script: str, before: str = "set nocompatible") -> Any:
    """Run lines of Vim script with a file open, and return what they leave in g:seen."""
    assert VIM is not None
    done = shop / "drive.vim"
    lines = [*script, "call writefile([json_encode(g:seen)], $FLATWISE_SEEN)", "qall!"]
    done.write_text("\n".join(lines) + "\n")
    folder = repository / "lsp" / "editors" / "vim"
    setup = f"set nocompatible runtimepath^={folder} | filetype plugin indent on | syntax on"
    ran = subprocess.run(
        [VIM, "-es", "-u", "NONE", "-i", "NONE", "-n", "--cmd", before, "--cmd", setup, "-S", str(done), file],
        cwd=shop, env=environment(shop), stdin=subprocess.DEVNULL, capture_output=True, text=True, timeout=60,
    )  # fmt: skip
    assert (shop / "seen.json").exists(), ran.stdout + ran.stderr
    return json.loads((shop / "seen.json").read_text())


@pytest.mark.usefixtures("whole")
def test_the_file_type_and_its_options_are_set(shop: Path, repository: Path) -> None:
    (shop / "jobs" / "demo.flat").write_text(JOB)
    seen = drive(
        shop, repository, "jobs/demo.flat",
        "let g:seen = [&filetype, &commentstring, &shiftwidth, &expandtab, &formatexpr, &indentexpr]",
    )  # fmt: skip
    assert seen == ["flatwise", "# %s", 4, 1, "flatwise#format()", "flatwise#indent(v:lnum)"]


@pytest.mark.usefixtures("whole")
def test_words_comments_and_strings_are_coloured(shop: Path, repository: Path) -> None:
    text = (
        'use "a.flat"\njob demo from plain {\n    stock { size 1.2m x 1 1/8in; wood ash } # 3mm {\n'
        '    controller { offset G59.3; dwell seconds }\n    waive depth because "two # 2mm \\" skims"\n'
        "    cut { feed 6m/min; stepover 60% }\n    by_2in { a 1 }\n}\n"
    )
    (shop / "it.flat").write_text(text)
    groups = {
        "use": "Use", '"a.flat': "Text", "job": "Header", "demo": "", "stock": "Header", "size": "Field",
        "1.2m": "Number", "x 1": "", "1 1/8in": "Number", "1/8in": "Number", "wood": "Field", "ash": "",
        "# 3mm": "Comment", "3mm": "Comment", "G59.3": "Code", "dwell": "Field", "seconds": "", "waive": "Field",
        "because": "", "# 2mm": "Text", "skims": "Text", "feed": "Field", "6m/min": "Number", "60%": "Number",
        "2in": "Header",
    }  # fmt: skip
    at = {word: (text[: text.index(word)].count("\n") + 1, len(text[: text.index(word)].split("\n")[-1]) + 1)
          for word in groups}  # fmt: skip
    seen = drive(
        shop, repository, "it.flat",
        "let g:seen = {}",
        f"for [word, at] in items(json_decode('{json.dumps({w: list(p) for w, p in at.items()})}'))",
        "  let g:seen[word] = synIDattr(synID(at[0], at[1], 1), 'name')",
        "endfor",
    )  # fmt: skip
    assert seen == {word: f"flatwise{group}" if group else "" for word, group in groups.items()}


@pytest.mark.usefixtures("whole")
def test_make_lists_errors_and_warnings_with_their_help(shop: Path, repository: Path) -> None:
    (shop / "jobs" / "two.flat").write_text(TWO_JOBS)
    seen = drive(
        shop, repository, "jobs/two.flat",
        "compiler flatwise", "silent make! %",
        "let g:seen = map(getqflist(), {_, each -> extend(each, {'file': bufname(each.bufnr)})})",
    )  # fmt: skip
    assert [(one["nr"], one["type"], one["lnum"], one["col"]) for one in seen] == [
        (103, "E", 4, 5), (101, "E", 8, 9), (702, "W", 13, 11),
    ]  # fmt: skip
    assert {one["file"] for one in seen} == {"jobs/two.flat"}
    twice, unknown, waived = (one["text"].strip().split("\n") for one in seen)
    assert unknown == ["Cut of job `demo` takes no `stepovr`.", "Did you mean `stepover`?"]
    assert len(twice) == 3 and twice[1].startswith("the first one  (shared/shop.flat:")
    assert len(waived) == 2


@pytest.mark.usefixtures("whole")
def test_make_lists_a_file_that_cannot_be_read(shop: Path, repository: Path) -> None:
    (shop / "jobs" / "demo.flat").write_bytes(b'use "\xff"\n')
    seen = drive(
        shop, repository, "jobs/demo.flat",
        "compiler flatwise", "silent make! jobs/demo.flat", "let g:seen = getqflist()",
    )  # fmt: skip
    (found,) = [one for one in seen if one["valid"]]
    assert (found["nr"], found["type"]) == (4, "E") and "UTF-8" in found["text"]


@pytest.mark.usefixtures("whole")
def test_gq_formats_the_whole_file_and_keeps_the_cursor(shop: Path, repository: Path) -> None:
    (shop / "jobs" / "demo.flat").write_text(JOB.replace("stepovr", "stepover") + "\n\n\n")
    seen = drive(
        shop, repository, "jobs/demo.flat",
        "call search('own_dog front')", "normal! gqq", "let g:seen = [getline('.'), getline(1, '$')]", "write",
    )  # fmt: skip
    assert seen[0] == "        dog    own_dog   front  at 15%, 85%"
    assert "\n".join(seen[1]) + "\n" == TIDY == (shop / "jobs" / "demo.flat").read_text()


@pytest.mark.usefixtures("whole")
def test_gq_does_not_change_the_text_where_flatwise_is_missing(shop: Path, repository: Path) -> None:
    (shop / "jobs" / "demo.flat").write_text(JOB)
    seen = drive(
        shop, repository, "jobs/demo.flat",
        "let $PATH = '/usr/bin:/bin'", "normal! gggqG", "let g:seen = [getline(1, '$'), execute('messages')]",
    )  # fmt: skip
    assert "\n".join(seen[0]) + "\n" == JOB
    assert "flatwise format:" in seen[1] and "not found" in seen[1]


@pytest.mark.usefixtures("whole")
def test_indentation_is_the_formatters(shop: Path, repository: Path) -> None:
    """Every example job, and lines continued after a comma, after their indentation is removed."""
    texts = [format_text(job.read_text()) for job in sorted((repository / "jobs").glob("*.flat"))]
    texts = [*texts, format_text(GOES_ON)]
    assert len(texts) > 10
    files = []
    for number, text in enumerate(texts):
        files.append(f"jobs/it{number}.flat")
        (shop / files[-1]).write_text("".join(line.lstrip(" ") for line in text.splitlines(keepends=True)))
    drive(
        shop, repository, files[0],
        f"for file in {json.dumps(files)}", "  execute 'edit' file", "  silent normal! gg=G", "  write", "endfor",
        "let g:seen = 1",
    )  # fmt: skip
    for file, text in zip(files, texts, strict=True):
        assert (shop / file).read_text() == text


@pytest.mark.usefixtures("whole")
def test_enter_after_a_brace_indents(shop: Path, repository: Path) -> None:
    (shop / "it.flat").write_text("")
    seen = drive(
        shop, repository, "it.flat", 'execute "normal! icut {\\<CR>depth 0.5mm\\<CR>}"', "let g:seen = getline(1, '$')"
    )
    assert seen == ["cut {", "    depth 0.5mm", "}"]


@pytest.mark.usefixtures("whole")
def test_the_server_is_registered_with_a_plugin_for_servers(shop: Path, repository: Path) -> None:
    """With a stand-in for vim-lsp that exists when Vim starts and whose functions are loaded when called."""
    for file, function in {
        "autoload/lsp.vim": "lsp#register_server(server) abort\n  let g:server = a:server",
        "autoload/lsp/utils.vim": "lsp#utils#path_to_uri(path) abort\n  return 'file://' . a:path",
    }.items():
        (shop / "plugin" / file).parent.mkdir(parents=True, exist_ok=True)
        (shop / "plugin" / file).write_text(f"function! {function}\nendfunction\n")
    (shop / "jobs" / "demo.flat").write_text(JOB)
    seen = drive(
        shop, repository, "jobs/demo.flat",
        "let g:seen = [g:server.name, g:server.cmd(0), g:server.root_uri(0), g:server.allowlist]",
        before=f"let g:lsp_loaded = 1 | set runtimepath^={shop / 'plugin'}",
    )  # fmt: skip
    assert seen == ["flatwise", ["flatwise", "serve"], f"file://{shop}", ["flatwise"]]
