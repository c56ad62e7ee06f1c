"""What is said to somebody who names a code, a command or an option that there is not."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import pytest
from compiler.tool.in_process import flatwise

from flatwise.findings import pages
from flatwise.tool import explain
from flatwise.tool.arguments import COMMANDS


@pytest.mark.parametrize(
    ("code", "meant"),
    [
        ("FW905", ["FW904", "FW903"]),
        ("FW208", ["FW207", "FW206"]),
        ("501", ["FW501"]),
        ("fw5o1", ["FW501"]),
        ("FW 501:", ["FW501"]),
        ("FW51", ["FW501", "FW901"]),  # one digit is missing
        ("FW5011", ["FW501", "FW901"]),  # one is too many
        ("FW9", ["FW901", "FW902", "FW903", "FW904"]),  # every code that begins so
    ],
)
def test_similar_codes_are_offered(tmp_path: Path, code: str, meant: list[str]) -> None:
    run = flatwise("explain", code, cwd=tmp_path)
    assert run.returncode == 1 and run.stderr == ""
    assert re.findall(r"FW\d{3}\b", run.stdout.replace(repr(code), "")) == meant


def test_one_or_two_codes_that_exist_are_offered_for_any_number() -> None:
    for number in range(1000):
        code = f"FW{number:03}"
        if code not in pages.codes():
            offered = re.findall(r"FW\d{3}", explain.unknown(code).replace(repr(code), ""))
            assert set(offered) <= set(pages.codes()) and 1 <= len(offered) <= 2


@pytest.mark.parametrize(
    ("word", "said"),
    [
        ("clamp", "There is no code 'clamp'. The word occurs in the title of FW304, FW501 and FW502."),
        ("build", "'build' is a command, not a code. `flatwise build --help` shows its options."),
        ("flow", "There is no code 'flow'. `flatwise explain` lists all codes."),
        ("", "There is no code ''. `flatwise explain` lists all codes."),
        ("[(", "There is no code '[('. `flatwise explain` lists all codes."),
    ],
)
def test_a_word_is_no_code_and_leads_on(tmp_path: Path, word: str, said: str) -> None:
    run = flatwise("explain", word, cwd=tmp_path)
    assert run.returncode == 1 and run.stdout == f"{said}\n"


@pytest.mark.parametrize("arguments", ["explain FW501", "explain", "explain FW9", "format --check jobs", "--help"])
def test_small_commands_load_neither_numpy_nor_pydantic(repository: Path, arguments: str) -> None:
    code = (
        "import sys; from flatwise.tool import cli\n"
        f"try: cli.main({arguments.split()!r})\n"
        "except SystemExit: pass\n"
        "print(sorted({'numpy', 'pydantic'} & set(sys.modules)), file=sys.stderr)"
    )
    run = subprocess.run([sys.executable, "-c", code], cwd=repository, capture_output=True, encoding="utf-8")
    assert (run.returncode, run.stderr) == (0, "[]\n")


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["chek", "a"], "There is no command chek. Did you mean `flatwise check`?"),
        (["FW501"], "There is no command FW501. `flatwise explain FW501` explains the code."),
        (["shared"], "There is no command shared. Put a command before the path, such as `flatwise check shared`."),
        (["qqq"], f"There is no command qqq. The commands are {', '.join(COMMANDS)}."),
        (["check", "--mesage", "json", "a"], "`flatwise check` has no option --mesage. Did you mean --message?"),
        (["build", "a", "--ou=b"], "`flatwise build` has no option --ou=b. Did you mean --out?"),
        (["check", "a", "-x"], "`flatwise check` has no option -x. `flatwise check --help` shows its arguments."),
        (
            ["explain", "FW501", "FW502"],
            "`flatwise explain` does not take FW502 as well. `flatwise explain --help` shows its arguments.",
        ),
    ],
)
def test_wrong_use_is_one_sentence_and_the_way_out(shop: Path, arguments: list[str], said: str) -> None:
    run = flatwise(*arguments, cwd=shop)
    assert (run.returncode, run.stdout, run.stderr) == (2, "", f"flatwise: {said}\n")


def test_a_folder_that_is_misspelt_is_offered(shop: Path) -> None:
    assert "Did you mean shared?" in flatwise("check", "shard", cwd=shop).stdout
    (shop / "jobs" / "a.flat").write_text('use "../shard"\n')
    assert "Did you mean" not in flatwise("check", "jobs", cwd=shop).stdout  # `use` takes no folder
