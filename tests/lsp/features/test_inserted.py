"""What completions insert: examples that fit, snippets that compile, nothing twice, `use` lines for new names."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from lsp.marked import demo, marked, view

from flatwise.core.finding import Edit
from flatwise.core.fixes import edited
from flatwise.language.phrase_shape import WordShape, block_shape
from flatwise.model.kinds import KINDS
from flatwise.model.words import ModelBlock
from flatwise.pipeline import read_works, work_out
from flatwise_grammar.lines import lexemes
from flatwise_grammar.nodes import NumberWithUnit, Span
from flatwise_lsp.features.completion import Offer, complete
from flatwise_lsp.features.snippets import plain_text
from flatwise_lsp.server.conversion import Converter
from flatwise_lsp.workspace.documents import uri_of

USES = 'use "../shared/shop.flat"\n'


def offers(root: Path, text: str) -> dict[str, Offer]:
    plain, offset = marked(text)
    return {offer.label: offer for offer in complete(view(root, plain), offset)}


def inserted(root: Path, text: str, label: str) -> str:
    """The text after a completion, its tab stops replaced by their examples."""
    plain, _ = marked(text)
    offer = offers(root, text)[label]
    place = Span("", offer.start, offer.end)
    return edited(plain, [Edit(place, plain_text(offer.snippet)), *offer.also])


def errors(root: Path, text: str) -> list[str]:
    path = root / "jobs" / "inserted.flat"
    front = read_works([path], {path: text})
    found = [*front.findings, *(one for work in front.works for one in work_out(work)[1])]
    return [f"{one.code}: {one.message}" for one in found if one.severity == "error"]


@pytest.mark.parametrize(
    ("kind", "uses"), [*((kind, USES) for kind in KINDS if kind != "batch"), ("job", ""), ("recipe", "")]
)
def test_a_whole_block_compiles_as_it_is_inserted(shop: Path, kind: str, uses: str) -> None:
    text = inserted(shop, f"{uses}\n‸", kind)
    assert errors(shop, text) == []
    assert text.count("use ") == 1 or kind not in ("job", "recipe")


@pytest.mark.parametrize("recipe", ["glued_top", "plain_top"])
def test_a_job_from_a_recipe_gets_its_parameters(shop: Path, recipe: str) -> None:
    file = "recipes" if recipe == "glued_top" else "sample"
    text = inserted(shop, f'{USES}use "../shared/{file}.flat"\n\njob bench from ‸', recipe)
    left = [one for one in errors(shop, text) if not one.startswith(("FW205", "FW603"))]  # not measured yet
    assert left == []
    assert ("length 1120mm" in text) == (recipe == "glued_top")


def test_parameters_come_first_with_values_of_their_kind(shop: Path) -> None:
    found = offers(shop, 'use "../shared/recipes.flat"\njob bench from glued_top {\n    ‸\n}\n')
    assert list(found)[:4] == ["length", "width", "rough", "finish"]
    assert plain_text(found["finish"].snippet) == "finish 29mm"


def every_word() -> Iterator[tuple[list[str], WordShape]]:
    def below(made: type[ModelBlock], headers: list[str]) -> Iterator[tuple[list[str], WordShape]]:
        shape = block_shape(made)
        for word in shape.words.values():
            yield headers, word
        for key, (_, inner) in shape.blocks.items():
            yield from below(inner, [*headers, " ".join(key)])

    for kind, made in KINDS.items():
        yield from below(made, [f"{kind} name"])


def test_every_number_of_every_word_is_offered_its_unit(shop: Path) -> None:
    tried = 0
    for headers, word in every_word():
        for one in lexemes(word.example, "", 0):
            if not isinstance(one.node, NumberWithUnit):
                continue
            written, unit = one.node.number, one.node.unit
            before = (
                "".join(f"{header} {{\n" for header in headers) + f"{word.word} {word.example[: one.start]}{written}"
            )
            assert f"{written}{unit}" in offers(shop, f"{USES}{before}‸\n"), before
            assert unit in offers(shop, f"{USES}{before} ‸\n"), before
            tried += 1
    assert tried > 60


@pytest.mark.parametrize(
    ("line", "example"),
    [
        ("cut { depth ‸ }", "0.5mm"),
        ("cut { finish ‸ }", "0.2mm"),
        ("stock { size ‸ }", "1120mm"),
        ("stock { size 900mm x ‸ }", "610mm"),
        ("survey { gap front_left ‸ }", "0.42mm"),
        ("faces { second to 30mm +/- ‸ }", "0.3mm"),
    ],
)
def test_the_example_of_a_value_is_that_of_its_own_word(shop: Path, line: str, example: str) -> None:
    assert example in offers(shop, demo(line))


def test_places_that_are_given_are_left_out(shop: Path) -> None:
    found = offers(shop, demo("survey { thickness front 31mm, left 31mm; gap back 0mm; thickness centre 31mm, ‸ }"))
    assert {"right", "back", "front_left", "corners"} <= set(found)
    assert not {"front", "left", "centre"} & set(found)
    assert "front_left" not in offers(shop, demo("supports { shims leaf_set under corners, ‸ }"))


@pytest.mark.parametrize(
    ("line", "label", "after"),
    [
        ("cut { dep‸ 0.5mm }", "depth", "cut { depth 0.5mm }"),
        ("cut { de‸pth 0.5mm }", "stepover", "cut { stepover 0.5mm }"),
        ("sto‸ { wood ash }", "stock", "stock { wood ash }"),
        ("cut { depth 0.5‸mm }", "0.5in", "cut { depth 0.5in }"),
        ("cut { dep‸ }", "depth", "cut { depth 0.5mm }"),
        ("cut { dep‸  # so", "depth", "cut { depth 0.5mm  # so"),
    ],
)
def test_a_corrected_word_keeps_what_follows_it(shop: Path, line: str, label: str, after: str) -> None:
    assert inserted(shop, demo(line), label) == demo(after)


def test_a_name_of_a_file_that_is_not_used_brings_its_use_line(shop: Path) -> None:
    text = "# a job\n\njob bench {\n    machine ‸\n}\n"
    after = inserted(shop, text, "bench_router")
    assert after == '# a job\nuse "../shared/shop.flat"\n\njob bench {\n    machine bench_router\n}\n'
    assert not offers(shop, USES + "job bench {\n    machine ‸\n}\n")["bench_router"].also
    # a file that declares a name once more would not help
    (shop / "shared" / "other.flat").write_text("cutter fly_64 { }\ncutter new_one { }\n")
    assert "new_one" not in offers(shop, USES + "job bench {\n    cut { cutter ‸ }\n}\n")
    (shop / "shared" / "other.flat").write_text("cutter new_one { }\n\n")
    found = offers(shop, USES + "job bench {\n    cut { cutter ‸ }\n}\n")
    assert [edit.text for edit in found["new_one"].also] == ['use "../shared/other.flat"\n']


def test_without_snippets_nothing_of_several_lines_is_inserted(shop: Path) -> None:
    for text in ("‸", f"{USES}job bench from ‸", demo("‸")):
        plain, offset = marked(text)
        seen = view(shop, plain)
        for offer in complete(seen, offset):
            item = Converter("utf-16", uri_of, snippets=False).offer(offer, seen.text, 0)
            assert item.text_edit is not None and "\n" not in item.text_edit.new_text
