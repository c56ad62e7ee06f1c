"""Slips that one code action mends, with nothing else in the file changed."""

from __future__ import annotations

from pathlib import Path

import pytest
from lsp.marked import view
from lsp.slips import SLIPS

from flatwise.core.fixes import edited
from flatwise_lsp.features.code_actions import find_actions, fix_all

#: slips for which no single action is offered
OPEN: set[str] = set()


def texts(repository: Path, there: str, typed: str) -> tuple[str, str]:
    """The job as it should be, and as it was typed."""
    whole = (repository / "jobs" / "lamp_table.flat").read_text(encoding="utf-8")
    if there not in whole:
        whole = whole.replace("overrun   5mm", there)
    assert there in whole
    return whole, whole.replace(there, typed, 1)


def lines(text: str) -> list[str]:
    """The lines of a text without their blanks."""
    return ["".join(line.split()) for line in text.split("\n")]


@pytest.mark.parametrize(("name", "there", "typed"), SLIPS, ids=[slip[0] for slip in SLIPS])
def test_one_action_mends_a_slip_and_changes_nothing_else(
    name: str, there: str, typed: str, shop: Path, repository: Path
) -> None:
    whole, text = texts(repository, there, typed)
    seen = view(shop, text, checked=True)
    made = [edited(text, one.edits) for one in find_actions(seen, 0, len(text)) if one.edits]
    mended = [one for one in made if lines(one) == lines(whole)]
    assert bool(mended) == (name not in OPEN), made
    for one in mended[:1]:
        after = view(shop, one, checked=True).analysis
        assert after is not None and not [each for each in after.findings if each.severity == "error"]
        # the blanks of other lines stay
        assert len(set(one.split("\n")) - set(whole.split("\n"))) <= 1


def test_sixty_slips_of_which_fifty_must_be_mended() -> None:
    assert len({slip[0] for slip in SLIPS}) == 60 and len(OPEN) <= 10


def test_all_that_is_certain_is_fixed_at_once(shop: Path, repository: Path) -> None:
    whole = (repository / "jobs" / "lamp_table.flat").read_text(encoding="utf-8")
    text = whole.replace("460mm x 460mm x 24mm", "460mm × 460mm × 24mm").replace("depth     0.6", "Depth:    0,6")
    text = text.replace("fly_64", "fly_46").replace("auto\n    }\n", "auto\n    }\n    }\n")
    seen = view(shop, text, checked=True)
    edits = fix_all(seen)
    # another name is a choice, which a person makes
    assert lines(edited(text, edits)) == lines(whole.replace("fly_64", "fly_46"))
    assert all(edit.span.start >= text.rindex("\n", 0, text.index("size")) for edit in edits)


def test_one_sort_of_slip_is_mended_in_all_its_places(shop: Path, repository: Path) -> None:
    whole = (repository / "jobs" / "lamp_table.flat").read_text(encoding="utf-8")
    text = whole.replace("depth     ", "depth     = ").replace("finish    ", "finish    = ")
    seen = view(shop, text, checked=True)
    made = {one.title: edited(text, one.edits) for one in find_actions(seen, 0, len(text))}
    assert made["Remove = in all 2 places"] == whole and made["Remove ="] != whole


def test_a_change_that_leaves_the_error_is_not_offered(shop: Path, repository: Path) -> None:
    whole = (repository / "jobs" / "lamp_table.flat").read_text(encoding="utf-8")
    text = whole.replace("depth     0.6mm", "depth     0.6mm 0.7mm 0.8mm")
    made = [one for one in find_actions(view(shop, text, checked=True), 0, len(text)) if one.finding is not None]
    assert [one.title for one in made] == ["Leave out `0.7mm 0.8mm`"]
