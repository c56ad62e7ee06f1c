"""The TextMate grammar in the engine of Visual Studio Code agrees with the lexemes of every example."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
from pathlib import Path

import pytest
from lsp.examples import examples

from flatwise_grammar.lines import lexemes
from flatwise_lsp.workspace.document_text import DocumentText

HERE = Path(__file__).parent

#: the scope in the grammar for each type of lexeme
SCOPES = {"NUMBER": "constant.numeric", "QUANTITY": "constant.numeric", "STRING": "string", "COMMENT": "comment"}


@pytest.fixture(scope="module")
def packages(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the packages of package.json: a known one, that of the tests, or one made for this run."""
    if (known := os.environ.get("FLATWISE_NODE_PACKAGES")) and (Path(known) / "node_modules").is_dir():
        return Path(known)
    if (HERE.parent / "node_modules").is_dir():
        return HERE.parent
    if shutil.which("npm") is None:
        pytest.skip("node and npm are not installed: apt-get install nodejs npm")
    folder = tmp_path_factory.mktemp("node")
    shutil.copy(HERE.parent / "package.json", folder)
    done = subprocess.run(
        ["npm", "install", "--no-audit", "--no-fund", "--ignore-scripts", "--no-package-lock"],
        cwd=folder,
        capture_output=True,
        text=True,
        timeout=120,
    )
    if done.returncode:
        pytest.skip("npm could not install vscode-textmate: is there a network?")
    return folder


def test_every_lexeme_of_every_example_has_its_colour(packages: Path, repository: Path) -> None:
    texts = examples(repository)
    assert len(texts) > 60
    grammar = (repository / "grammar" / "flatwise.tmLanguage.json").read_text(encoding="utf-8")
    done = subprocess.run(
        ["node", str(HERE / "colour.cjs"), str(packages)],
        input=json.dumps({"grammar": grammar, "texts": texts}),
        capture_output=True,
        text=True,
        timeout=60,
    )
    assert done.returncode == 0, done.stderr
    coloured = json.loads(done.stdout)
    wrong = []
    counted = dict.fromkeys([*SCOPES, "NAME", "CODE"], 0)
    for name, text in texts.items():
        index = DocumentText(text)
        for piece in lexemes(text, "", 0):
            if piece.type not in counted:
                continue
            line, column = index.position(piece.start, "utf-16")
            scopes = next(token[3] for token in coloured[name] if token[0] == line and token[1] <= column < token[2])
            counted[piece.type] += 1
            inner = " ".join(scopes[1:])
            wanted = SCOPES.get(piece.type)
            if wanted is not None and wanted not in inner:
                wrong.append((name, line + 1, piece.text, inner))
            if wanted is None and any(scope in inner for scope in ("string", "comment", "numeric")):
                wrong.append((name, line + 1, piece.text, inner))
    assert wrong == []
    assert min(counted.values()) > 5


def test_the_first_words_of_blocks_and_lines_have_their_colours(packages: Path, repository: Path) -> None:
    text = 'use "a.flat"\ncutter fly_64 {\n    depth up to 1.2mm; plunge no # deep\n}\n'
    grammar = (repository / "grammar" / "flatwise.tmLanguage.json").read_text(encoding="utf-8")
    done = subprocess.run(
        ["node", str(HERE / "colour.cjs"), str(packages)],
        input=json.dumps({"grammar": grammar, "texts": {"it": text}}),
        capture_output=True,
        text=True,
        timeout=60,
    )
    lines = text.splitlines()
    said = {
        lines[line][start:end].strip(): " ".join(scopes[1:])
        for line, start, end, scopes in json.loads(done.stdout)["it"]
        if line < len(lines)
    }
    assert "keyword" in said["use"]
    assert "storage.type" in said["cutter"]
    assert "entity.name" in said["fly_64"]
    assert "property" in said["depth"] and "property" in said["plunge"]
