"""What the server remembers between checks changes nothing of what it says."""

from __future__ import annotations

import random
from pathlib import Path

from lsp.marked import demo

from flatwise_grammar.nodes import Span
from flatwise_lsp.workspace.analysis import Analysis, Clean, analyse
from flatwise_lsp.workspace.documents import Document, Snapshot, uri_of
from flatwise_lsp.workspace.shifted_findings import Shift, carried
from flatwise_lsp.workspace.text import Text


def checked(root: Path, text: str, clean: Clean | None = None, halves: list[Analysis] | None = None) -> Analysis:
    path = root.resolve() / "jobs" / "one.flat"
    snapshot = Snapshot(1, {path: Document(uri_of(path), path, 1, Text(text))}, (root.resolve(),))
    found = analyse(path, snapshot, lambda: False, (halves if halves is not None else []).append, clean)
    assert found is not None
    return found


def test_declarations_known_to_be_sound_are_left_out_and_nothing_else_changes(shop: Path) -> None:
    """Against a check that remembers nothing, over edits that break, mend, move, copy and rename declarations."""
    dice = random.Random(3)
    text = (shop / "shared" / "shop.flat").read_text() + "cutter other like fly_64 { diameter 50mm }\n"
    pieces = [
        "mm",
        "5mm",
        "x",
        "}",
        "\n",
        "cutter",
        "fly_64",
        "dog low_dog { across 19mm; height 11mm }\n",
        "0",
        "in",
        "",
    ]
    clean = Clean()
    seen = set()
    for number in range(150):
        at = dice.randrange(len(text))
        text = text[:at] + dice.choice(pieces) + text[at + dice.randrange(3) :]
        if number % 12 == 11:
            text = (shop / "shared" / "shop.flat").read_text()
        found = checked(shop, text, clean).findings
        assert found == checked(shop, text).findings
        seen |= {one.code for one in found}
    assert len(seen) > 4


def test_what_the_jobs_came_to_is_carried_over_an_edit_elsewhere(shop: Path) -> None:
    """While the job is worked out anew the breach of the rule stays, moved with its line; an edit of it drops it."""
    text = demo("cut { depth 0.8mm }")
    before = checked(shop, text)
    assert "FW701" in [one.code for one in before.late]
    halves: list[Analysis] = []
    later = "# a line above\n" + text
    whole = checked(shop, later, halves=halves)
    (half,) = halves
    assert "FW701" not in [one.code for one in half.findings]
    assert set(carried(before, half).findings) == set(whole.findings)
    halves.clear()
    checked(shop, text.replace("0.8mm", "0.9mm"), halves=halves)
    assert "FW701" not in [one.code for one in carried(before, halves[0]).findings]


def test_a_shift_moves_what_stands_behind_an_edit() -> None:
    shift = Shift("one two three", "one 2 three")
    assert shift.span(Span("", 0, 3)) == Span("", 0, 3)
    assert shift.span(Span("", 4, 7)) is None
    assert shift.span(Span("", 8, 13)) == Span("", 6, 11)
