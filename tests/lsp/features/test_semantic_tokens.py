"""Semantic tokens and their deltas."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

from lsp.marked import JOB_FROM_RECIPE, demo, view

from flatwise_lsp.features import semantic_tokens


def test_tokens_are_in_order_and_have_the_types_of_the_words(shop: Path) -> None:
    seen = view(shop, JOB_FROM_RECIPE.replace("‸", ""))
    made = semantic_tokens.find_tokens(seen)
    assert all(one.end <= other.start for one, other in pairwise(made))
    said = {seen.text.text[one.start : one.end]: one.type for one in made}
    assert said["use"] == "keyword"
    assert said["small"] == "variable"
    assert said["length"] == "parameter"
    assert said["50mm"] == "number"


def test_a_delta_turns_the_old_tokens_into_the_new_ones(shop: Path) -> None:
    first = view(shop, demo("cut { depth 0.5mm }"))
    second = view(shop, demo("cut { depth 0.5mm; finish 0.1mm }"))
    old = semantic_tokens.encode(semantic_tokens.find_tokens(first), first.text, "utf-16")
    new = semantic_tokens.encode(semantic_tokens.find_tokens(second), second.text, "utf-16")
    edit = semantic_tokens.find_edit(old, new)
    assert edit is not None
    assert old[: edit.start] + edit.data + old[edit.start + edit.deleted :] == new
    assert len(edit.data) < len(new)
