"""Times of parsing and formatting.  Run with: pytest tests/bench --benchmark-only"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from flatwise_grammar import format_text, parse
from flatwise_grammar.blocks import read_chunk


@pytest.fixture
def shop_text(repository: Path) -> str:
    return (repository / "shared" / "shop.flat").read_text(encoding="utf-8")


def test_parsing_a_shop_file(benchmark, shop_text) -> None:  # type: ignore[no-untyped-def]
    chunk = benchmark(read_chunk, shop_text, "", 0)
    assert len(chunk.blocks) == 8


def test_parsing_after_an_edit(benchmark, shop_text) -> None:  # type: ignore[no-untyped-def]
    versions = iter(range(10_000_000))

    def edit() -> tuple[object, object]:
        return parse(shop_text.replace("lift          50mm", f"lift          {next(versions)}mm"), keep=True)

    file, flaws = benchmark(edit)
    assert flaws == () and len(file.blocks) == 8


def test_formatting_a_shop_file(benchmark, shop_text) -> None:  # type: ignore[no-untyped-def]
    assert benchmark(format_text, shop_text) == shop_text


def test_first_use_in_a_new_process(benchmark) -> None:  # type: ignore[no-untyped-def]
    program = "import flatwise_grammar; flatwise_grammar.parse('a { b 1 }')"
    benchmark.pedantic(subprocess.run, args=([sys.executable, "-c", program],), kwargs={"check": True}, rounds=5)
