"""All texts in the language that the repository contains, for tests that run over every one."""

from __future__ import annotations

from pathlib import Path

from example_jobs import page_examples

from flatwise.findings import pages


def examples(repository: Path) -> dict[str, str]:
    """Every job file of the repository, and both examples of every page."""
    found = {
        str(path.relative_to(repository)): path.read_text(encoding="utf-8")
        for folder in ("jobs", "shared", "tests/cases")
        for path in sorted((repository / folder).rglob("*.flat"))
    }
    for code in pages.codes():
        page = pages.page(code)
        for number, text in enumerate(page_examples(page.text if page else "")):
            found[f"{code} {number}"] = text
    return found
