"""The tree-sitter grammar for Helix and Neovim, run by the tree-sitter library and by Neovim itself."""

from __future__ import annotations

import ctypes
import json
import shutil
import subprocess
from pathlib import Path

import pytest
from lsp.editors.setups import environment
from lsp.examples import examples
from tree_sitter import Language, Node, Parser, Query, QueryCursor

from flatwise_grammar import parse
from flatwise_grammar.lines import lexemes

#: the node for each type of lexeme
NODES = {"NUMBER": "number", "QUANTITY": "quantity", "NAME": "name", "CODE": "code", "STRING": "string",
         "COMMENT": "comment", "PLUS_MINUS": "tolerance"}  # fmt: skip

#: each kind of colour in the TextMate grammar, and what the two queries call it
COLOURS = {
    "comment": ("comment", "comment"),
    "string": ("string", "string"),
    "constant.numeric": ("constant.numeric", "number"),
    "keyword.other.unit": ("type.builtin", "type"),
    "constant.other.code": ("constant", "constant"),
    "keyword.operator": ("operator", "operator"),
    "keyword.control.import": ("keyword.control.import", "include"),
    "storage.type": ("type", "type"),
    "entity.name.type": ("constructor", "constructor"),
    "variable.other.property": ("variable.other.member", "property"),
    "punctuation.separator": ("punctuation.delimiter", "punctuation.delimiter"),
    "punctuation.section": ("punctuation.bracket", "punctuation.bracket"),
}

QUERIES = ("helix/queries/highlights.scm", "neovim/queries/flatwise/highlights.scm")


@pytest.fixture(scope="module")
def library(repository: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The compiled grammar, in a folder that Neovim can have on its path."""
    compiler = shutil.which("cc")
    if compiler is None:
        pytest.skip("there is no C compiler: apt-get install gcc")
    source = repository / "lsp" / "editors" / "tree-sitter" / "src"
    made = tmp_path_factory.mktemp("grammar") / "parser" / "flatwise.so"
    made.parent.mkdir()
    subprocess.run([compiler, "-shared", "-fPIC", f"-I{source}", "-o", made, source / "parser.c"], check=True)
    return made


@pytest.fixture(scope="module")
def language(library: Path) -> Language:
    make = ctypes.CDLL(str(library)).tree_sitter_flatwise
    make.restype = ctypes.c_void_p
    capsule = ctypes.pythonapi.PyCapsule_New
    capsule.restype, capsule.argtypes = ctypes.py_object, (ctypes.c_void_p, ctypes.c_char_p, ctypes.c_void_p)
    return Language(capsule(make(), b"tree_sitter.Language", None))


def test_every_file_without_a_flaw_parses_and_every_lexeme_is_its_node(language: Language, repository: Path) -> None:
    parser, counted = Parser(language), dict.fromkeys(NODES, 0)
    for name, text in examples(repository).items():
        if parse(text, name)[1]:
            assert name.split("/")[0] not in ("jobs", "shared")
            continue
        root = parser.parse(text.encode()).root_node
        assert not root.has_error, name
        for piece in lexemes(text, "", 0):
            if piece.type in NODES:
                start, end = len(text[: piece.start].encode()), len(text[: piece.end].encode())
                found = root.named_descendant_for_byte_range(start, end)
                assert found is not None
                assert (found.type, found.start_byte, found.end_byte) == (NODES[piece.type], start, end), (name, piece)
                counted[piece.type] += 1
    assert min(counted.values()) > 5


@pytest.mark.parametrize(("query", "column"), [(QUERIES[0], 0), (QUERIES[1], 1)])
def test_the_colours_are_of_the_kinds_of_the_textmate_grammar(
    language: Language, repository: Path, query: str, column: int
) -> None:
    text = (
        'use "a.flat"\ncutter fly like other {\n    depth up to 1.2mm, # deep\n        2.2 kW\n    at (1mm, 2)\n'
        "    offset G59.3; to 29mm +/- 0.3mm\n    stock { size 70% }\n}\n"
    )
    wanted = {
        "keyword.control.import": ["use"],
        "string": ['"a.flat"'],
        "storage.type": ["cutter", "stock"],
        "entity.name.type": ["fly"],
        "variable.other.property": ["depth", "at", "offset", "to", "size"],
        "constant.numeric": ["1.2", "2.2", "1", "2", "29", "0.3", "70"],
        "keyword.other.unit": ["mm", "kW", "%"],
        "comment": ["# deep"],
        "constant.other.code": ["G59.3"],
        "keyword.operator": ["+/-"],
        "punctuation.separator": [",", ";"],
        "punctuation.section": ["{", "}", "(", ")"],
    }
    assert wanted.keys() == COLOURS.keys()
    textmate = (repository / "grammar" / "flatwise.tmLanguage.json").read_text(encoding="utf-8")
    assert all(f'"{kind}' in textmate for kind in COLOURS)
    source = (repository / "lsp" / "editors" / query).read_text(encoding="utf-8")
    captures = QueryCursor(Query(language, source)).captures(Parser(language).parse(text.encode()).root_node)
    expected: dict[str, set[str]] = {}
    for kind, words in wanted.items():
        expected.setdefault(COLOURS[kind][column], set()).update(words)
    assert {name: {_text(node) for node in nodes} for name, nodes in captures.items()} == expected
    places = [(node.start_byte, node.end_byte) for nodes in captures.values() for node in nodes]
    assert len(places) == len(set(places))  # so that no editor's order of patterns matters


def _text(node: Node) -> str:
    return (node.text or b"").decode()


@pytest.mark.skipif(shutil.which("tree-sitter") is None, reason="the generator tree-sitter is not installed")
def test_the_parser_is_made_from_the_grammar(repository: Path, tmp_path: Path) -> None:
    folder = repository / "lsp" / "editors" / "tree-sitter"
    shutil.copy(folder / "grammar.js", tmp_path)
    subprocess.run(["tree-sitter", "generate", "--abi", "14"], cwd=tmp_path, check=True, timeout=60)
    assert (tmp_path / "src" / "parser.c").read_text() == (folder / "src" / "parser.c").read_text()


@pytest.mark.skipif(shutil.which("nvim") is None, reason="Neovim is not installed: apt-get install neovim")
def test_neovim_colours_by_the_compiled_grammar(library: Path, repository: Path, tmp_path: Path) -> None:
    (tmp_path / "it.flat").write_text('use "a.flat"\njob demo { cut { depth 0.5mm } }\n')
    editors = repository / "lsp" / "editors"
    rtp = f"set runtimepath^={editors / 'vim'},{editors / 'neovim'},{library.parents[1]}"
    said = (
        "local query = (vim.treesitter.query.get or vim.treesitter.get_query)('flatwise', 'highlights') "
        "local tree = vim.treesitter.get_parser(0, 'flatwise'):parse()[1] local seen = {} "
        "for id, node in query:iter_captures(tree:root(), 0, 0, -1) do "
        "local line, column = node:range() table.insert(seen, { query.captures[id], line, column }) end "
        "local on = vim.treesitter.highlighter.active[vim.api.nvim_get_current_buf()] ~= nil "
        "vim.fn.writefile({ vim.fn.json_encode({ on = on, seen = seen }) }, 'seen.json')"
    )
    done = subprocess.run(
        ["nvim", "--headless", "--clean", "-n", "--cmd", rtp, "--cmd", "filetype plugin on", "it.flat",
         "-c", f"lua {said}", "-c", "qall!"],
        env=environment(tmp_path), cwd=tmp_path, capture_output=True, text=True, timeout=60,
    )  # fmt: skip
    found = json.loads((tmp_path / "seen.json").read_text()) if (tmp_path / "seen.json").exists() else done.stderr
    assert found["on"]
    for mark in (["include", 0, 0], ["type", 1, 0], ["constructor", 1, 4], ["property", 1, 17], ["number", 1, 23]):
        assert mark in found["seen"], found
