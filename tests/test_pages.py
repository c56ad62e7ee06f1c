"""Every code has a page, and its examples do what the page says."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from example_jobs import page_examples

from flatwise.findings import pages

Compile = Callable[[str], tuple[set[str], set[str]]]

ALL = """
FW001 FW002 FW003 FW004 FW101 FW102 FW103 FW104 FW105 FW106 FW107 FW108 FW109 FW201 FW202 FW203 FW204 FW205 FW206 FW207
FW301 FW302 FW303 FW304 FW401 FW402 FW403 FW404 FW405 FW406 FW407 FW501 FW502 FW503 FW504 FW601 FW602 FW603 FW604
FW701 FW702 FW703 FW901 FW902 FW903 FW904
""".split()  # noqa: SIM905


def section(text: str, title: str) -> str:
    """The text below a heading, to the next one."""
    found = re.search(rf"^## {title}\n(.*?)(?=^## |\Z)", text, re.S | re.M)
    return found.group(1) if found else ""


def test_every_code_has_one_file_and_every_file_a_code() -> None:
    assert list(pages.codes()) == ALL


@pytest.mark.parametrize("code", ALL)
def test_a_page_says_what_why_and_how(code: str) -> None:
    page = pages.page(code)
    assert page is not None
    assert page.text.startswith(f"{code} · ") and page.title
    for title in ("Why it hurts", "Fails", "Mended"):
        assert "```" in section(page.text, title) or len(section(page.text, title).strip()) > 40, title


@pytest.mark.parametrize("code", ALL)
def test_the_failing_example_fails_and_the_mended_one_does_not(code: str, codes_of: Compile) -> None:
    page = pages.page(code)
    assert page is not None
    failing, mended = (page_examples(section(page.text, title)) for title in ("Fails", "Mended"))
    if not failing:
        # its example is a program or a command; the tests of proof and loading cover it
        assert code in {"FW004", "FW901", "FW902", "FW903", "FW904"}
        return
    for fails, holds in zip(failing, mended, strict=True):
        errors, warnings = codes_of(fails)
        assert code in errors | warnings
        errors, warnings = codes_of(holds)
        assert not errors
        assert code not in warnings
