"""Completion in small texts; `‸` marks the cursor."""

from __future__ import annotations

from pathlib import Path

import pytest
from lsp.marked import demo, marked, view

from flatwise.language.phrase_shape import block_shape
from flatwise.model.kinds import KINDS
from flatwise_lsp.features.completion import complete


def labels(root: Path, text: str) -> list[str]:
    plain, offset = marked(text)
    return [offer.label for offer in complete(view(root, plain), offset)]


@pytest.mark.parametrize(
    ("line", "all_of", "none_of"),
    [
        ("‸", ["machine", "survey", "waive", "after first"], ["job", "diameter"]),
        ("hold { dog ‸ }", ["low_dog"], ["side_cam", "left"]),
        ("hold { dog low_dog ‸ }", ["left", "right", "front", "back"], ["low_dog"]),
        ("hold { dog low_dog left ‸ }", ["at"], []),
        ("hold { dog low_dog left at ‸ }", ["50%"], []),
        ("cut { depth 0.5‸ }", ["0.5mm", "0.5in"], ["0.5rpm"]),
        ("cut { depth 0.5 ‸ }", ["mm", "in", "thou"], ["rpm"]),
        ("cut { speed 14000‸ }", ["14000rpm"], ["14000mm"]),
        ("cut { rows along grain, ‸ }", ["one_way", "edge"], ["across"]),
        ("survey { gap ‸ }", ["front_left", "centre", "corners"], ["ash"]),
        ("survey { gap (12‸ }", ["12mm"], []),
        ("stock { wood ‸ }", ["ash", "mdf", "white_oak", "teak"], ["low_dog"]),
        ("faces { second ‸ }", ["until", "to", "take", "balanced"], []),
        ("waive ‸", ["depth", "survey"], ["unseen"]),
        ("cut { cutter fly_64; depth 1mm; ‸ }", ["stepover"], ["cutter", "depth"]),
        ("# a note ‸", [], ["machine"]),
    ],
)
def test_completion_at_a_cursor(shop: Path, line: str, all_of: list[str], none_of: list[str]) -> None:
    found = labels(shop, demo(line))
    assert [label for label in all_of if label not in found] == []
    assert [label for label in none_of if label in found] == []
    assert found or not all_of


def test_completion_outside_of_blocks(shop: Path) -> None:
    assert {"use", *KINDS} == set(labels(shop, "‸"))
    assert "like" in labels(shop, 'use "../shared/shop.flat"\ncutter small ‸')
    assert "fly_64" in labels(shop, 'use "../shared/shop.flat"\ncutter small like ‸')
    assert labels(shop, 'use "../shared/recipes.flat"\njob bench from ‸')[0] == "glued_top"
    assert '"../shared/shop.flat"' in labels(shop, 'use "‸')


@pytest.mark.parametrize("written", ['use "‸"\n', 'use "../sh‸op.flat"\n'])
def test_a_completed_file_name_leaves_no_extra_quotation_mark(shop: Path, written: str) -> None:
    plain, offset = marked(written)
    offer = next(one for one in complete(view(shop, plain), offset) if one.label == '"../shared/shop.flat"')
    assert plain[: offer.start] + offer.snippet + plain[offer.end :] == 'use "../shared/shop.flat"\n'


def test_completion_in_a_job_from_a_recipe_offers_its_parameters(shop: Path) -> None:
    found = labels(shop, 'use "../shared/recipes.flat"\njob bench from glued_top {\n    length 1m\n    ‸\n}\n')
    assert {"width", "rough", "finish"} <= set(found)
    assert "length" not in found


def test_every_snippet_of_the_model_is_its_example(shop: Path) -> None:
    """Without its tab stops a snippet is the example, which the compiler reads."""
    from flatwise_lsp.features.snippets import phrase_snippet, plain_text

    seen = 0
    waiting = list(dict.fromkeys(KINDS.values()))
    while waiting:
        shape = block_shape(waiting.pop())
        waiting.extend(inner for _, inner in shape.blocks.values())
        for one in shape.words.values():
            assert plain_text(phrase_snippet(one)[0]) == one.example
            seen += 1
    assert seen > 60


def test_offers_have_documentation(shop: Path) -> None:
    plain, offset = marked(demo("cut { ‸ }"))
    offers = {offer.label: offer for offer in complete(view(shop, plain), offset)}
    assert "The maximum depth of one pass" in offers["depth"].documentation
    assert "*Default:* auto" in offers["stepover"].documentation
