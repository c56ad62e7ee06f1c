"""The walls of the house: which part may know which."""

from __future__ import annotations

import ast
import re
import subprocess
import sys
from collections import Counter
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest
from our_modules import PACKAGES, ROOT, modules, tree


def statements(node: ast.AST) -> Iterator[ast.AST]:
    """Every statement below a node; expressions, which hold no statement, are passed over."""
    for child in ast.iter_child_nodes(node):
        if not isinstance(child, ast.expr):
            yield child
            yield from statements(child)


@cache
def imports(name: str, path: Path) -> set[str]:
    """Every module that a file names in an import, wherever it stands in it."""
    package = name if path.name == "__init__.py" else name.rpartition(".")[0]
    named = set()
    for node in statements(tree(path)):
        if isinstance(node, ast.Import):
            named |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            base = node.module or ""
            if node.level:
                base = ".".join([*package.split(".")[: len(package.split(".")) - node.level + 1], base]).rstrip(".")
            named |= {base} | {f"{base}.{alias.name}" for alias in node.names}
    return named


def users(*forbidden: str, of: tuple[str, ...]) -> list[str]:
    """The files among `of` (module prefixes) that import anything below a forbidden name."""
    return [
        f"{name} imports {target}"
        for name, path in modules()
        if any(name == part or name.startswith(part + ".") for part in of)
        for target in sorted(imports(name, path))
        if any(target == bad or target.startswith(bad + ".") for bad in forbidden)
    ]


def test_the_reading_of_imports_sees_what_is_there() -> None:
    named = imports("flatwise.pipeline", PACKAGES["flatwise"] / "pipeline.py")
    assert {"flatwise.model.stages.Work", "flatwise.verify.verify"} <= named


#: the floors of the house, from the ground up: a part imports what stands below it, never above
FLOORS = (
    "flatwise_grammar",
    "flatwise.core",
    "flatwise.model",
    "flatwise.findings",
    "flatwise.sources",
    "flatwise.language",
    "flatwise.survey",
    "flatwise.seat",
    "flatwise.plan",
    "flatwise.check",
    "flatwise.gcode",
    "flatwise.verify",
    "flatwise.report",
    "flatwise.pipeline",
    "flatwise.fixed_texts",
    "flatwise_lsp.workspace",
    "flatwise_lsp.features",
    "flatwise_lsp.server",
    "flatwise.tool",
    "flatwise.__main__",
)
#: packages whose name alone says nothing of a floor: they hold the version, or nothing
FACES = {"flatwise", "flatwise_lsp"}


def floor(module: str) -> int:
    """The floor on which a module stands; of a name below several parts, the longest part counts."""
    found = [number for number, part in enumerate(FLOORS) if module == part or module.startswith(part + ".")]
    assert found, f"{module} stands on no floor"
    return found[-1]


def test_every_module_stands_on_a_floor_and_imports_only_what_stands_below() -> None:
    ours = {name for name, _ in modules()}
    climbing = [
        f"{name} imports {target}"
        for name, path in modules()
        if name not in FACES
        for target in sorted(imports(name, path) & ours - FACES)
        if floor(target) > floor(name)
    ]
    assert climbing == []


def test_only_the_command_line_starts_the_server() -> None:
    found = {line.split(" imports ")[0] for line in users("flatwise_lsp", of=("flatwise", "flatwise_grammar"))}
    assert found == {"flatwise.tool.cli"}


def test_only_the_server_knows_the_protocol() -> None:
    assert users("pygls", "lsprotocol", of=("flatwise_grammar", "flatwise")) == []


def test_the_verifier_shares_nothing_with_planner_checks_and_writer() -> None:
    assert users("flatwise.plan", "flatwise.check", "flatwise.gcode", of=("flatwise.verify",)) == []
    assert users("flatwise.verify", of=("flatwise.plan", "flatwise.check", "flatwise.gcode")) == []


def reached(start: str) -> set[str]:
    """Every module of ours that a part imports, and that those import, and so on."""
    graph = {name: imports(name, path) for name, path in modules()}
    found: set[str] = set()
    waiting = [name for name in graph if name == start or name.startswith(start + ".")]
    while waiting:
        name = waiting.pop()
        if name in found:
            continue
        found.add(name)
        for target in graph[name]:
            # an import may name a thing in a module
            while target and target not in graph:
                target = target.rpartition(".")[0]
            waiting.extend([target] * bool(target))
    return found


@pytest.mark.parametrize("part", ["verify", "gcode"])
def test_proof_and_writer_stand_on_no_stage_not_even_through_others(part: str) -> None:
    stages = ("sources", "language", "survey", "seat", "plan", "check", "gcode", "verify", "report", "pipeline", "tool")
    strange = tuple(f"flatwise.{name}" for name in stages if name != part)
    assert [name for name in sorted(reached(f"flatwise.{part}")) if name.startswith(strange)] == []
    assert {"flatwise.model.stages", "flatwise.model.words", "flatwise_grammar.nodes"} <= reached(f"flatwise.{part}")


#: what only `load` and the command line may do: speak to a terminal, touch the disk, ask for the time
WORLDLY = {"print", "input", "open", "read_text", "read_bytes", "write_text", "write_bytes", "getenv", "now", "time"}


def calls(path: Path) -> set[str]:
    """The names of all that a file calls, without what they hang on."""
    called = (node.func for node in ast.walk(tree(path)) if isinstance(node, ast.Call))
    return {getattr(func, "id", getattr(func, "attr", "")) for func in called}


def test_no_stage_prints_or_touches_the_disk_or_the_clock() -> None:
    names = "core model language survey seat plan check gcode verify pipeline"
    stages = tuple(f"flatwise.{name}" for name in names.split())
    found = {
        name: worldly for name, path in modules() if name.startswith(stages) and (worldly := calls(path) & WORLDLY)
    }
    assert found == {}
    assert {"open"} <= calls(PACKAGES["flatwise"] / "sources" / "plain_file.py")
    assert users("os", "sys", "time", "datetime", "random", "subprocess", of=stages) == []


#: files that a command writes and nobody reads
MADE = {"flatwise_grammar.tables", "flatwise.report.sheet_template", "flatwise.report.form_template"}


@pytest.mark.parametrize("package", PACKAGES)
def test_no_file_is_longer_than_a_sitting(package: str) -> None:
    long = {
        name: lines
        for name, path in modules()
        if name.startswith(package)
        and name not in MADE
        and (lines := len(path.read_text(encoding="utf-8").splitlines())) > 400
    }
    assert long == {}


def test_no_start_waits_for_the_maker_of_the_table() -> None:
    assert {line.split(" imports ")[0] for line in users("lark", of=tuple(PACKAGES))} == {
        "flatwise_grammar.make_tables"
    }
    assert users("flatwise_grammar.make_tables", "flatwise.report.make_template", of=tuple(PACKAGES)) == []


def test_the_proof_and_the_run_time_need_no_reference_library() -> None:
    assert users("scipy", "shapely", "pint", "hypothesis", of=tuple(PACKAGES)) == []


@pytest.mark.parametrize("command", ["format --check jobs shared", "explain FW501", "explain"])
def test_a_command_that_computes_nothing_loads_no_heavy_library(command: str) -> None:
    run = subprocess.run(
        [sys.executable, "-X", "importtime", "-m", "flatwise", *command.split()],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=True,
    )
    loaded = {line.rpartition("|")[2].strip() for line in run.stderr.splitlines() if line.startswith("import time:")}
    assert "flatwise.tool.cli" in loaded
    assert loaded & {"numpy", "pydantic", "pydantic_core", "lark", "jinja2", "pygls", "argcomplete"} == set()


def test_no_two_modules_and_no_two_classes_have_one_name() -> None:
    files = [path for _, path in modules() if path.stem != "__init__"]
    classes = [node.name for path in files for node in tree(path).body if isinstance(node, ast.ClassDef)]
    names = Counter(path.stem for path in files) + Counter(classes)
    assert {name: count for name, count in names.items() if count > 1} == {}


def test_the_files_that_the_page_for_developers_names_are_there() -> None:
    page = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    folders = [
        ROOT,
        *(ROOT / name for name in ("grammar", "tests")),
        *PACKAGES.values(),
        PACKAGES["flatwise_lsp"].parent,
    ]
    named = set(re.findall(r"`([a-z_/]+\.(?:py|md|lark|jinja|toml))`", page))
    assert len(named) > 15
    assert [name for name in sorted(named) if not any((folder / name).exists() for folder in folders)] == []
