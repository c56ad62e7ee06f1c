"""Hover and signature help in small texts; `‸` marks the cursor."""

from __future__ import annotations

from pathlib import Path

import pytest
from lsp.marked import demo, marked, view

from flatwise.report.display import duration
from flatwise.report.other_choices import machine_time
from flatwise.tool import reference
from flatwise_lsp.features import hover, signature_help


def page(root: Path, text: str, *, checked: bool = False) -> str:
    plain, offset = marked(text)
    found = hover.hover(view(root, plain, checked=checked), offset)
    return found.markdown if found is not None else ""


def test_hover_over_a_word_gives_meaning_bounds_and_default(shop: Path) -> None:
    said = page(shop, demo("cut { step‸over 50% }"))
    assert "from row to row" in said
    assert "*Bounds:*" in said
    assert "*Default:* auto" in said


def test_hover_over_a_quantity_gives_the_other_units(shop: Path) -> None:
    """1 in = 25.4 mm exactly (international inch)."""
    said = page(shop, demo("cut { depth 1/4‸in }"))
    assert "6.35mm" in said
    assert "250thou" in said


def test_hover_over_a_cutter_gives_its_values_in_this_job(shop: Path) -> None:
    """Rim speed π·D·n: 64 mm at 14000 rpm is 46.9 m/s."""
    said = page(shop, demo("cut { cutter fly‸_64 }"), checked=True)
    assert "rim speed 46.9m/s" in said
    assert "chip load" in said
    assert "power" in said


def test_hover_over_a_clamp_gives_its_clearance_in_each_setup(shop: Path) -> None:
    said = page(
        shop,
        demo(
            "hold { dog low_dog left at 50%; dog low_dog front at 50%; clamp side_‸cam right at 50%; "
            "clamp side_cam back at 50% }"
        ),
        checked=True,
    )
    assert "first face: the cutter passes" in said
    assert "second face: the cutter passes" in said


def test_hover_over_a_wood_gives_its_source(shop: Path) -> None:
    assert "Wood Handbook" in page(shop, demo("stock { wood te‸ak }"))


def test_hover_over_a_header(shop: Path) -> None:
    assert "already cut to its finished outline" in page(shop, demo("sto‸ck { wood ash }"))


def test_signature_help_marks_the_next_value(shop: Path) -> None:
    plain, offset = marked(demo("stock { size 900mm x ‸ }"))
    found = signature_help.find_signature(view(shop, plain), offset)
    assert found is not None and found.active is not None
    start, end = found.values[found.active]
    assert found.label[start:end] == "‹width›"


@pytest.mark.parametrize(
    ("line", "label", "next_value"),
    [
        ("stock { grain ‸ }", "grain along x|y", "x|y"),
        ("hold { dog low_dog ‸ }", "dog ‹dog› left|right|front|back at ‹position›, …", "left|right|front|back"),
        ("cut { speed ‸ }", "speed ‹speed of rotation› | speed auto", "‹speed of rotation›"),
        ("flip ‸", "flip over long_edge|short_edge", "long_edge|short_edge"),
        ("zero { z ‸ }", "z top|bed [by paper ‹paper›]", "top|bed"),
    ],
)
def test_signature_help_shows_the_phrase_of_the_reference(shop: Path, line: str, label: str, next_value: str) -> None:
    plain, offset = marked(demo(line if "{" in line else f"faces {{ {line} }}"))
    found = signature_help.find_signature(view(shop, plain), offset)
    assert found is not None and found.active is not None and found.label == label
    start, end = found.values[found.active]
    assert label[start:end] == next_value
    assert all(f"`{phrase}`" in reference.page() for phrase in label.split(" | "))


def test_hover_over_a_line_of_cut_says_what_another_would_save(shop: Path) -> None:
    text = demo("cut { depth 0.3mm; overrun 6mm }")
    seen = view(shop, text, checked=True)
    assert seen.analysis is not None
    outcome = seen.analysis.outcomes["demo"]
    (choice,) = outcome.choices("depth")
    assert outcome.plan is not None
    said = (
        f"`depth 0.6mm` would save {duration(choice.saves)} of {duration(machine_time(outcome.plan))} of machine time."
    )
    for part in ("depth", "0.3mm"):
        found = hover.hover(seen, text.index(part) + 1)
        assert found is not None and found.markdown.endswith(f"\n\n{said}")
    for part in ("overrun", "6mm"):
        found = hover.hover(seen, text.index(part) + 1)
        assert found is not None and "save" not in found.markdown
