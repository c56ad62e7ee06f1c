"""Symbols, folding, links and growing selections in small texts; `‸` marks the cursor."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

from lsp.marked import demo, marked, view

from flatwise_lsp.features import file_links, folding, selection, symbols


def test_symbols_folds_and_links(shop: Path) -> None:
    seen = view(shop, demo("survey {\n        within 0.1mm\n        gap front 0mm\n    }"))
    assert [one.name for one in symbols.find_document_symbols(seen)] == ["demo"]
    assert [one.name for one in symbols.find_document_symbols(seen)[0].inner] == ["survey"]
    assert (3, 7, "region") in folding.find_folds(seen)
    assert (0, 1, "imports") in folding.find_folds(seen)
    assert [one.target.name for one in file_links.find_links(seen)] == ["shop.flat", "sample.flat"]
    assert "fly_64" in [one.name for one in symbols.find_workspace_symbols(seen, "fly")]


def test_selections_grow_from_the_item_to_the_file(shop: Path) -> None:
    plain, offset = marked(demo("cut { depth 0.‸5mm }"))
    grown = selection.grow_selection(view(shop, plain), offset)
    assert plain[grown[0].start : grown[0].end] == "0.5mm"
    assert all(inner.start >= outer.start and inner.end <= outer.end for inner, outer in pairwise(grown))
    assert grown[-1].end == len(plain)
