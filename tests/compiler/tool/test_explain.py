"""What is said to somebody who names a code, a command or an option that there is not."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from compiler.tool.here import flatwise

from flatwise.findings import pages
from flatwise.tool import explain
from flatwise.tool.arguments import COMMANDS


@pytest.mark.parametrize(
    ("code", "meant"),
    [
        ("FW905", ["FW904"]),  # the nearest of its hundred, not three of them
        ("FW208", ["FW207"]),
        ("501", ["FW501"]),
        ("fw5o1", ["FW501"]),
        ("FWl01", ["FW101"]),
        ("FW 501:", ["FW501"]),
        ("FW510", ["FW501"]),  # two digits changed places
        ("FW51", ["FW501"]),  # one is missing
        ("FW5011", ["FW501"]),  # one is too many
        ("FW0501", ["FW501"]),
        ("FW9", ["FW901", "FW904"]),  # the first and the last that begin so
    ],
)
def test_the_nearest_code_is_offered(tmp_path: Path, code: str, meant: list[str]) -> None:
    run = flatwise("explain", code, cwd=tmp_path)
    assert run.returncode == 1 and run.stderr == ""
    assert re.findall(r"FW\d{3}\b", run.stdout.replace(repr(code), "")) == meant


def test_one_or_two_are_offered_for_any_number_and_each_is_a_code() -> None:
    for number in range(1000):
        code = f"FW{number:03}"
        if code in pages.codes():
            continue
        said = explain.unknown(code).replace(repr(code), "")
        offered = re.findall(r"FW\d{3}", said)
        assert set(offered) <= set(pages.codes()) and len(offered) <= 2
        assert offered or "none near it" in said


@pytest.mark.parametrize(
    ("word", "said"),
    [
        ("clamp", "The word stands in the title of FW304, FW501 and FW502."),
        ("build", "It is a command: `flatwise build --help` says what it takes."),
        ("flow", "`flatwise explain` lists them all."),
        ("", "`flatwise explain` lists them all."),
        ("[(", "`flatwise explain` lists them all."),
    ],
)
def test_a_word_is_no_code_and_leads_on(tmp_path: Path, word: str, said: str) -> None:
    run = flatwise("explain", word, cwd=tmp_path)
    assert run.returncode == 1 and run.stdout == f"There is no code {word!r}. {said}\n"


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["chek", "a"], "There is no command chek. Did you mean `flatwise check`?"),
        (["FW501"], "There is no command FW501. `flatwise explain FW501` prints the page of a code."),
        (["shared"], "There is no command shared. Say what to do with it, such as `flatwise check shared`."),
        (["qqq"], f"There is no command qqq. The commands are {', '.join(COMMANDS)}."),
        (["check", "--mesage", "json", "a"], "`flatwise check` has no option --mesage. Did you mean --message?"),
        (["build", "a", "--ou=b"], "`flatwise build` has no option --ou=b. Did you mean --out?"),
        (["check", "a", "-x"], "`flatwise check` has no option -x. `flatwise check --help` says what it takes."),
        (
            ["explain", "FW501", "FW502"],
            "FW502 is one word too many for `flatwise explain`. `flatwise explain --help` says what it takes.",
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
