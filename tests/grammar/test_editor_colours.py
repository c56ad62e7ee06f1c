"""The TextMate grammar that editors use for colours finds the same numbers as the language's own grammar."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

from flatwise_grammar.lines import lexemes

SAMPLES = ("shared/shop.flat", "shared/sample.flat", "jobs/reading_table.flat")


def patterns(node: Any) -> list[str]:
    if isinstance(node, dict):
        own = [value for key, value in node.items() if key in ("match", "begin", "end")]
        return own + [one for value in node.values() for one in patterns(value)]
    return [one for value in node for one in patterns(value)] if isinstance(node, list) else []


def test_all_patterns_compile_and_all_names_exist(repository: Path) -> None:
    grammar = json.loads((repository / "grammar" / "flatwise.tmLanguage.json").read_text(encoding="utf-8"))
    found = patterns(grammar)
    assert len(found) > 10
    for pattern in found:
        re.compile(pattern)
    included = re.findall(r'"include": "#(\w+)"', json.dumps(grammar))
    assert set(included) <= set(grammar["repository"])


def test_the_numbers_of_the_samples_are_the_same(repository: Path) -> None:
    grammar = json.loads((repository / "grammar" / "flatwise.tmLanguage.json").read_text(encoding="utf-8"))
    number = re.compile(grammar["repository"]["quantity"]["match"])
    for name in SAMPLES:
        text = (repository / name).read_text(encoding="utf-8")
        bare = re.sub(r'#.*|"[^"\n]*"', lambda found: " " * len(found.group()), text)
        own = [(one.start, one.text) for one in lexemes(bare, "", 0) if one.type in ("NUMBER", "QUANTITY")]
        assert len(own) > 20
        assert [(found.start(), found.group()) for found in number.finditer(bare)] == own
