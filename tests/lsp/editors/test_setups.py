"""The set-ups for Kate, Helix and Visual Studio Code: run by the engines of those editors, where they exist outside the
editor, and checked against the rules in their manuals."""

from __future__ import annotations

import html
import json
import re
import shutil
import struct
import subprocess
import tomllib
import xml.etree.ElementTree as ET
import zipfile
from pathlib import Path

import pytest
from compiler.tool.in_process import flatwise as flatwise_here
from lsp.editors.setups import JOB, environment

import flatwise

HERE = Path(__file__).parent
PAINTER = next(filter(None, map(shutil.which, ("kate-syntax-highlighter", "ksyntaxhighlighter6"))), None)


@pytest.fixture
def editors(repository: Path) -> Path:
    return repository / "lsp" / "editors"


# -- Kate --------------------------------------------------------------------------------------------------------


def test_all_contexts_and_styles_of_the_kate_definition_exist(editors: Path) -> None:
    tree = ET.parse(editors / "kate" / "flatwise.xml").getroot()
    contexts = {each.get("name") for each in tree.iter("context")}
    styles = {each.get("name") for each in tree.iter("itemData")}
    used_styles = {each.get("attribute") for each in tree.iter() if each.get("attribute")}
    used_contexts = {
        part
        for each in tree.iter()
        for key in ("context", "lineEndContext", "lineEmptyContext", "fallthroughContext")
        for part in (each.get(key) or "").split("!")
        if part and not part.startswith("#")
    }
    assert used_styles == styles
    assert used_contexts <= contexts and len(contexts - used_contexts) == 1  # the first one


@pytest.mark.skipif(
    PAINTER is None, reason="Kate's highlighter is not installed: apt-get install libkf5syntaxhighlighting-tools"
)
def test_kates_engine_colours_words_comments_and_strings(editors: Path, tmp_path: Path) -> None:
    assert PAINTER is not None
    text = (
        'use "a.flat"\njob demo from plain {\n    stock { size 1.2m x 1 1/8in; wood ash } # 3mm {\n'
        '    controller { offset G59.3; dwell seconds }\n    waive depth because "two # 2mm \\" skims"\n'
        "    gap front_left 0.42mm, # a corner\n\n        back 0.15mm\n    cut { feed 6m/min; stepover 60% }\n}\n"
    )
    (tmp_path / "it.flat").write_text(text)
    folder = tmp_path / "data" / "org.kde.syntax-highlighting" / "syntax"
    folder.mkdir(parents=True)
    shutil.copy(editors / "kate" / "flatwise.xml", folder)
    surroundings = environment(tmp_path) | {"XDG_DATA_HOME": str(tmp_path / "data"), "QT_QPA_PLATFORM": "offscreen"}
    done = subprocess.run(
        [PAINTER, "it.flat"], cwd=tmp_path, env=surroundings, capture_output=True, text=True, timeout=60
    )
    assert done.returncode == 0 and "Definition (Flatwise)" in done.stdout, done.stderr
    assert "flatwise.xml" not in done.stderr  # where the engine reports errors in a definition
    (body,) = re.findall(r"<pre>\n(.*?)</pre>", done.stdout, re.S)
    runs = [
        (html.unescape(shown or plain), style)
        for style, shown, plain in re.findall(r'<span style="([^"]*)">([^<]*)</span>|([^<]+)', body)
    ]
    assert "".join(run for run, _ in runs) == text
    style_of = {run.strip(): style for run, style in runs if style}
    groups = {
        "import": ["use"],
        "string": ['"a.flat"', '"two # 2mm \\" skims"'],
        "block": ["job", "stock", "controller", "cut"],
        "name": ["demo"],
        "field": ["size", "wood", "offset", "dwell", "waive", "gap", "feed", "stepover"],
        "number": ["1.2m", "1 1/8in", "0.42mm", "0.15mm", "6m/min", "60%"],
        "code": ["G59.3"],
        "comment": ["# 3mm {", "# a corner"],
    }
    found = {group: {style_of.get(word) for word in words} for group, words in groups.items()}
    assert all(len(styles) == 1 and None not in styles for styles in found.values()), found
    assert len({style for styles in found.values() for style in styles}) == len(groups)
    # a line continued after a comma begins with a value, and values have no colour
    plain = "".join(run for run, style in runs if not style)
    for word in ("from plain", "ash", "seconds", "because", "front_left", "back"):
        assert word in plain


def test_the_keys_for_kates_client_are_known_to_it(editors: Path) -> None:
    """The known keys are those in the source of Kate 22.12."""
    (server,) = json.loads((editors / "kate" / "servers.json").read_text())["servers"].values()
    known = {"command", "commandDebug", "documentLanguageId", "highlightingModeRegex", "initializationOptions", "path",
             "root", "rootIndicationFileNames", "rootIndicationFilePatterns", "settings", "url", "use",
             "useWorkspace"}  # fmt: skip
    assert set(server) <= known
    assert server["command"] == ["flatwise", "serve"]
    name = ET.parse(editors / "kate" / "flatwise.xml").getroot().get("name")
    assert name is not None and re.search(server["highlightingModeRegex"], name)
    assert "flatwise.toml" in server["rootIndicationFileNames"]


# -- Helix -------------------------------------------------------------------------------------------------------


def test_the_keys_for_helix_are_known_to_it(editors: Path) -> None:
    """The known keys are those in the chapter Languages of Helix's book (23.10 and later)."""
    told = tomllib.loads((editors / "helix" / "languages.toml").read_text())
    assert set(told) == {"language", "language-server", "grammar"}
    (grammar,) = told["grammar"]
    assert grammar == {"name": told["language"][0]["name"], "source": {"path": "…/tree-sitter"}}
    (language,) = told["language"]
    known = {"name", "language-id", "scope", "injection-regex", "file-types", "shebangs", "roots", "auto-format",
             "diagnostic-severity", "comment-token", "comment-tokens", "block-comment-tokens", "indent",
             "language-servers", "grammar", "formatter", "soft-wrap", "text-width", "rulers", "path-completion",
             "workspace-lsp-roots", "persistent-diagnostic-sources"}  # fmt: skip
    assert set(language) <= known
    assert {"name", "scope", "file-types"} <= set(language)  # Helix does not start without these
    assert language["file-types"] == ["flat"]
    assert set(language["indent"]) == {"tab-width", "unit"}
    assert len(language["indent"]["unit"]) == language["indent"]["tab-width"]
    assert set(language["language-servers"]) == set(told["language-server"])
    for server in told["language-server"].values():
        assert set(server) <= {"command", "args", "config", "timeout", "environment", "required-root-patterns"}
        assert [server["command"], *server["args"]] == ["flatwise", "serve"]


# -- Visual Studio Code ------------------------------------------------------------------------------------------


def test_the_extension_manifest_is_complete(editors: Path, repository: Path) -> None:
    """The fields that a manifest must have, and every file that it names, in the folder or copied into it."""
    folder = editors / "vscode"
    manifest = json.loads((folder / "package.json").read_text())
    assert re.fullmatch(r"[a-z0-9][a-z0-9-]*", manifest["name"])
    assert manifest["version"] == flatwise.__version__
    assert f"flatwise-{flatwise.__version__}.vsix" in (editors / "README.md").read_text()
    assert manifest["publisher"] and re.fullmatch(r"\^1\.\d+\.\d+", manifest["engines"]["vscode"])
    contributes = manifest["contributes"]
    (language,), (grammar,) = contributes["languages"], contributes["grammars"]
    assert language["id"] == grammar["language"] == "flatwise" and language["extensions"] == [".flat"]
    source = repository / "grammar" / Path(grammar["path"]).name
    assert grammar["scopeName"] == json.loads(source.read_text())["scopeName"]
    assert f'"grammar/{source.name}"' in (folder / "bundle.js").read_text()
    (snippets,) = contributes["snippets"]
    for named in (language["configuration"], snippets["path"], manifest["icon"], "README.md"):
        assert (folder / named).is_file()
    picture = (folder / manifest["icon"]).read_bytes()
    assert picture.startswith(b"\x89PNG") and struct.unpack(">II", picture[16:24]) == (128, 128)
    setting = contributes["configuration"]["properties"]["flatwise.command"]
    assert setting["scope"] == "machine" and setting["default"] == "flatwise"
    brackets = json.loads((folder / "language-configuration.json").read_text())
    assert brackets["comments"] == {"lineComment": "#"}
    for pattern in brackets["indentationRules"].values():
        re.compile(pattern)
    words = re.findall(brackets["wordPattern"], "dog low_dog left at 25%, 1.5mm")
    assert words == ["dog", "low_dog", "left", "at", "25%", "1.5mm"]


@pytest.fixture(scope="module")
def extension(repository: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder after `npm install`, as in the README, in a copy of the files that it needs."""
    if shutil.which("npm") is None:
        pytest.skip("node and npm are not installed: apt-get install nodejs npm")
    root = tmp_path_factory.mktemp("repository")
    folder = root / "lsp" / "editors" / "vscode"
    away = shutil.ignore_patterns("node_modules", "*.vsix", "package-lock.json", "LICENSE", "*.tmLanguage.json", "dist")
    shutil.copytree(repository / "lsp" / "editors" / "vscode", folder, ignore=away)
    (root / "grammar").mkdir()
    shutil.copy(repository / "grammar" / "flatwise.tmLanguage.json", root / "grammar")
    shutil.copy(repository / "LICENSE", root)
    install = ["npm", "install", "--no-audit", "--no-fund", "--no-package-lock"]
    done = subprocess.run(install, cwd=folder, capture_output=True, text=True, timeout=180)
    if done.returncode:
        assert "network" in done.stderr or "ENOTFOUND" in done.stderr, done.stderr
        pytest.skip("npm could not install vscode-languageclient: is there a network?")
    return folder


def test_the_problem_matcher_reads_the_short_form(editors: Path, repository: Path) -> None:
    manifest = json.loads((editors / "vscode" / "package.json").read_text())
    (matcher,) = manifest["contributes"]["problemMatchers"]
    pattern = matcher["pattern"]
    assert f'"problemMatcher": "${matcher["name"]}"' in (editors / "vscode" / "README.md").read_text()
    path = "tests/cases/waived_depth.flat"
    ran = flatwise_here("check", "--message", "short", "--notes", path, cwd=repository)
    found = [re.fullmatch(pattern["regexp"], line) for line in ran.stdout.splitlines()]
    parts = {tuple(one[pattern[key]] for key in ("file", "line", "column", "severity", "code")) for one in found if one}
    assert parts == {(path, "5", "5", "note", "FW207"), (path, "6", "20", "warning", "FW703")}


def test_the_snippets_compile_as_they_are_inserted(editors: Path, shop: Path) -> None:
    made = json.loads((editors / "vscode" / "snippets.json").read_text())
    inserted = {
        one["prefix"]: re.sub(r"\$\{\d+(?::([^}]*)|\|(\w+)[^}]*)\}", r"\1\2", "\n".join(one["body"]))
        for one in made.values()
    }
    assert "$" not in "".join(inserted.values())
    uses = 'use "../shared/shop.flat"\nuse "../shared/sample.flat"\n'
    job = "job {} from plain_top {{\nstock {{ size 400mm x 300mm x 32mm }}\nzero {{ z bed }}\n{}\n}}\n".format
    texts = [job("one", inserted[prefix]) for prefix in ("after", "marks", "waive")]
    for text in (*texts, job("one", "") + job("two", "") + inserted["batch"]):
        ran = flatwise_here("check", "-", "--as", "jobs/it.flat", cwd=shop, given=(uses + text).encode())
        assert ran.returncode == 0, (text, ran.stdout)


@pytest.mark.nightly
def test_the_package_has_every_file_and_no_other(extension: Path, repository: Path) -> None:
    """`npm run package`, as in the README."""
    manifest = json.loads((extension / "package.json").read_text())
    done = subprocess.run(["npm", "run", "package"], cwd=extension, capture_output=True, text=True, timeout=300)
    assert done.returncode == 0, done.stderr
    with zipfile.ZipFile(extension / f"flatwise-{flatwise.__version__}.vsix") as package:
        held = {name.removeprefix("extension/"): package.read(name) for name in package.namelist()}
    named = {
        str(Path(contributed["path"]))
        for key in ("grammars", "snippets")
        for contributed in manifest["contributes"][key]
    }
    assert held.keys() == {
        "[Content_Types].xml", "extension.vsixmanifest", "package.json", "readme.md", "LICENSE.txt", "icon.png",
        "language-configuration.json", "dist/extension.js", "dist/licences.txt", *named,
    }  # fmt: skip
    assert f'Version="{flatwise.__version__}"' in held["extension.vsixmanifest"].decode()
    assert held["flatwise.tmLanguage.json"] == (repository / "grammar" / "flatwise.tmLanguage.json").read_bytes()
    assert "vscode-languageclient 9" in held["dist/licences.txt"].decode()
    assert sum(map(len, held.values())) < 500_000


@pytest.mark.parametrize("how", ["once", pytest.param("again", marks=pytest.mark.nightly)])
def test_the_extension_starts_the_server_and_shows_what_it_finds(extension: Path, shop: Path, how: str) -> None:
    job = shop / "jobs" / "demo.flat"
    job.write_text(JOB)
    command = shutil.which("flatwise", path=environment(shop)["PATH"])
    assert command is not None
    done = subprocess.run(
        ["node", str(HERE / "vscode.cjs"), str(extension), command, str(job), how],
        env={**environment(shop), "XDG_CACHE_HOME": str(shop / "cache")},
        capture_output=True,
        text=True,
        timeout=180,
    )
    assert done.returncode == 0, done.stderr
    (found,) = json.loads(done.stdout)
    assert (found["code"], found["line"], found["severity"]) == ("FW101", 8, 0)
    assert "stepovr" in found["message"]
    # the palette's command has no arguments: the job at the cursor
    assert f"opened {shop.resolve()}/cache/flatwise/previews/" in done.stderr
