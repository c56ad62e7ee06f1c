"""How soon an editor gets an answer: latency through the protocol, server on one core.

    pytest tests/bench/test_lsp_bench.py --benchmark-only -s

The server checks at once, but reports only when no key has come for QUIET (20 ms); the limits are for the time on top
of that.  `first` is the first report on a version (where working the jobs out takes longer than QUIET: syntax, meaning,
and the findings of the last check that still apply), `settled` the last, with the job worked out again.

For comparison, where npm can install it: the YAML language server with a JSON schema made from the same model, on the
same job as YAML, set up to check and to answer without delay.
"""

from __future__ import annotations

import asyncio
import json
import os
import shutil
import statistics
import subprocess
import sys
import time
from collections.abc import Awaitable, Callable
from pathlib import Path
from typing import Any

import pytest

pytest.importorskip("pytest_lsp", reason="pytest-lsp is not installed: pip install -e '.[test]'")

from bench.pace import slower
from lsp.editor import Editor, session
from lsprotocol import types as lsp

from flatwise_lsp.workspace.analysis import analyse
from flatwise_lsp.workspace.checking import QUIET
from flatwise_lsp.workspace.document_text import DocumentText
from flatwise_lsp.workspace.documents import Document, Snapshot, uri_of
from flatwise_lsp.workspace.earlier_results import EarlierResults

EDITS = 200
PIN = "import os, sys; hasattr(os, 'sched_setaffinity') and os.sched_setaffinity(0, {min(os.sched_getaffinity(0))}); "
PINNED = [sys.executable, "-c", PIN + "from flatwise.tool.cli import main; sys.exit(main(['serve']))"]


def spread(times: list[float]) -> tuple[float, float]:
    """Median and 95th percentile, ms."""
    ordered = sorted(times)
    return statistics.median(ordered) * 1e3, ordered[min(len(ordered) - 1, round(0.95 * len(ordered)))] * 1e3


def shown(name: str, times: list[float]) -> str:
    median, high = spread(times)
    return f"{name:<34} median {median:7.1f} ms   p95 {high:7.1f} ms   ({len(times)} times)"


def job_of_150_lines(repository: Path) -> str:
    """The reading table with readings of its whole face, 150 lines in all."""
    text = next((repository / "jobs").rglob("reading_table.flat")).read_text(encoding="utf-8")
    lines = text.splitlines()
    at = next(number for number, line in enumerate(lines) if "thickness" in line and "front_left" in line)
    readings = []
    for number in range(150 - len(lines)):
        if number % 3 == 2:
            readings.append(f"        # row {number // 3 + 1} of the readings, by calipers and straightedge")
            continue
        x, y = 40 + number * 11, 30 + (number * 97) % 540
        height = 31.2 + 0.4 * ((x - 560) / 560) ** 2 + 0.15 * (y - 305) / 305 + (0.3 if y > 244 else 0)
        readings.append(f"        thickness  ({x}mm, {y}mm) {height:.2f}mm")
    return "\n".join([*lines[: at + 1], *readings, *lines[at + 1 :]]) + "\n"


def declarations(lines: int) -> str:
    """A file of that many lines of cutters."""
    one = (
        "cutter fly_{i} {{\n    diameter   {d}mm\n    wings      3\n    shank      12mm\n    blade      9mm\n"
        "    stick_out  38mm\n    depth      up to 1.2mm\n    speed      10000rpm to 16000rpm\n"
        '    chip_load  0.10mm to 0.30mm from "chart in the leaflet"\n}}\n\n'
    )
    return "".join(one.format(i=number, d=40 + number % 50) for number in range(lines // 11 + 1))


async def told(editor: Editor, path: str, change: Callable[[int], int], wait: float) -> tuple[list[float], list[float]]:
    """Edit EDITS times; for each the time to the first and to the last report on its version, in s."""
    first, last = [], []
    for number in range(EDITS):
        mark, start = len(editor.told), time.perf_counter()
        version = change(number)
        times: list[float] = []
        while (left := start + wait - time.perf_counter()) > 0:
            editor.news.clear()
            try:
                await asyncio.wait_for(editor.news.wait(), left if not times else min(left, 0.25))
            except TimeoutError:
                if times:
                    break
                continue
            now = time.perf_counter()
            for one in editor.told[mark:]:
                # from a server that names no version, its next report counts
                if one.uri == editor.uri(path) and one.version in (version, None):
                    times.append(now - start)
            mark = len(editor.told)
        assert times, f"no report on version {version}"
        first.append(times[0])
        last.append(times[-1])
    return first, last


async def asked(ask: Callable[[], Awaitable[Any]], times: int = EDITS) -> list[float]:
    taken = []
    for _ in range(times):
        start = time.perf_counter()
        assert await ask() is not None
        taken.append(time.perf_counter() - start)
    return taken


def typing(editor: Editor, path: str, text: str, needle: str, values: list[str]) -> Callable[[int], int]:
    """An edit that replaces `needle` with one value after another."""
    before = text[: text.index(needle)]
    line, column = before.count("\n"), len(before) - before.rfind("\n") - 1
    now = [needle]

    def change(number: int) -> int:
        new = values[number % len(values)]
        end = lsp.Position(line, column + len(now[0]))
        now[0] = new
        return editor.change(
            path, lsp.TextDocumentContentChangePartial(lsp.Range(lsp.Position(line, column), end), new)
        )

    return change


#: what a user changes in a job: the line's beginning, the line, its first number and the step from edit to edit
AT_WORK = (
    ("depth ", "        depth     {:.3f}mm                       # at most, per pass", 0.4, 0.001),
    ("clamp  side_cam  right", "        clamp  side_cam  right  at {:.1f}mm", 250.0, 0.5),
    ("thickness  (", "        thickness  (40mm, 30mm) {:.4f}mm", 31.6, 0.0005),
    ("overrun ", "        overrun   {:.3f}mm", 5.5, 0.005),
    ("second ", "        second  to {:.3f}mm +/- 0.3mm               # or: until clean", 29.0, 0.001),
)


def at_work(editor: Editor, path: str, text: str) -> Callable[[int], int]:
    """Edits of all kinds in turn; no text occurs twice."""
    lines = text.split("\n")

    def change(number: int) -> int:
        begins, form, first, step = AT_WORK[number % len(AT_WORK)]
        at = next(place for place, line in enumerate(lines) if line.lstrip().startswith(begins))
        old, lines[at] = lines[at], form.format(first + number * step)
        where = lsp.Range(lsp.Position(at, 0), lsp.Position(at, len(old)))
        return editor.change(path, lsp.TextDocumentContentChangePartial(where, lines[at]))

    return change


def measured(benchmark: Any, results: dict[str, list[float]]) -> None:
    """Store the times with pytest-benchmark, and print them."""
    benchmark.extra_info.update({name: spread(times) for name, times in results.items()})
    print()
    for name, times in results.items():
        print(shown(name, times))
    benchmark.pedantic(lambda: None)


async def flatwise_session(
    shop: Path, text: str, needle: str, values: list[str] | None, wait: float
) -> dict[str, list[float]]:
    """Edits as a user makes them, or `needle` replaced with one value after another; then requests at that place."""
    (shop / "jobs" / "one.flat").write_text(text)
    async with session(shop, command=PINNED) as editor:
        editor.open("jobs/one.flat")
        await editor.findings("jobs/one.flat", 1)
        path = "jobs/one.flat"
        change = typing(editor, path, text, needle, values) if values else at_work(editor, path, text)
        first, last = await told(editor, path, change, wait)
        here = editor.document(path)
        line = text[: text.index(needle)].count("\n")
        at = lsp.Position(line, len(text.splitlines()[line]) - len(text.splitlines()[line].lstrip()) + 1)
        client = editor.client
        return {
            "didChange to first word": first,
            "didChange to settled": last,
            "completion": await asked(lambda: client.text_document_completion_async(lsp.CompletionParams(here, at))),
            "hover": await asked(lambda: client.text_document_hover_async(lsp.HoverParams(here, at))),
        }


def test_a_job_of_150_lines_with_a_shop_file(benchmark: Any, shop: Path, repository: Path) -> None:
    text = job_of_150_lines(repository)
    assert text.count("\n") == 150
    results = asyncio.run(flatwise_session(shop, text, "0.5mm                         # at most", None, 1.0))
    measured(benchmark, results)
    for told_of in ("didChange to first word", "didChange to settled"):
        median, high = spread(results[told_of])
        assert median - QUIET * 1e3 <= 15 * slower(), told_of
        assert high - QUIET * 1e3 <= 40 * slower(), told_of
    assert spread(results["completion"])[1] <= 15 * slower()
    assert spread(results["hover"])[1] <= 15 * slower()


def test_5000_lines_of_declarations(benchmark: Any, shop: Path) -> None:
    text = declarations(5000)
    results = asyncio.run(flatwise_session(shop, text, "54mm", ["7mm", "71mm", "0.0.1mm", "72mm"], 5.0))
    measured(benchmark, results)
    assert spread(results["didChange to settled"])[1] - QUIET * 1e3 <= 120 * slower()
    assert spread(results["completion"])[1] <= 15 * slower()
    assert spread(results["hover"])[1] <= 15 * slower()


def test_an_edit_in_a_file_of_30_jobs(benchmark: Any, shop: Path) -> None:
    """An edit of one job, beside the same in a file with that job alone, and beside a check without memory."""
    root = shop.resolve()

    def text(jobs: int, edit: int) -> str:
        each = "\njob top_{0} from plain_top {{\n    cut {{ depth 0.{1}mm; finish 0.2mm }}\n}}\n"
        uses = 'use "../shared/shop.flat"\nuse "../shared/sample.flat"\n'
        return uses + "".join(each.format(job, 300 + edit if job == 0 else 400 + job) for job in range(jobs))

    def check(jobs: int, edit: int, earlier: EarlierResults) -> float:
        path = root / "jobs" / f"{jobs}.flat"
        document = Document(uri_of(path), path, edit, DocumentText(text(jobs, edit)))
        start = time.perf_counter()
        found = analyse(path, Snapshot(edit, {path: document}, (root,)), lambda: False, lambda half: None, earlier)
        took = time.perf_counter() - start
        assert found is not None and len(found.outcomes) == jobs
        return took

    memory = {jobs: EarlierResults() for jobs in (1, 30)}
    results: dict[str, list[float]] = {"30 jobs, edited": [], "1 job, edited": [], "30 jobs, no memory": []}
    for edit in range(20):
        many, one = check(30, edit, memory[30]), check(1, edit, memory[1])
        if edit:
            results["30 jobs, edited"].append(many)
            results["1 job, edited"].append(one)
        if edit % 4 == 0:
            results["30 jobs, no memory"].append(check(30, edit, EarlierResults()))
    measured(benchmark, results)
    least = {name: min(times) for name, times in results.items()}
    assert least["30 jobs, edited"] <= 4 * least["1 job, edited"]
    assert least["30 jobs, edited"] <= least["30 jobs, no memory"] / 8


# -- the YAML language server ------------------------------------------------------------------------------------------


def schema() -> dict[str, Any]:
    """The model as a JSON schema, as far as that can express it: words, required ones, meanings, forms of numbers."""
    from flatwise.language.phrase_shape import block_shape
    from flatwise.model.kinds import KINDS

    def of_block(made: Any) -> dict[str, Any]:
        shape = block_shape(made)
        properties: dict[str, Any] = {}
        for word, one in shape.words.items():
            info = made.model_fields[word]
            entry: dict[str, Any] = {"type": "string", "description": info.description, "examples": [one.example]}
            if one.pattern == "{}" and one.example[:1].isdigit():
                entry["pattern"] = r"^[0-9][0-9./ ]*(%|[A-Za-z]+[0-9]?(/[A-Za-z]+[0-9]?)?)(, .*)?$|^[a-z0-9_ ]+$"
            properties[word] = {"anyOf": [entry, {"type": "array", "items": entry}]} if one.repeats else entry
        for key, (_, inner) in shape.blocks.items():
            properties["_".join(key)] = of_block(inner)
        required = [word for word in made.required() if word in properties]
        return {
            "type": "object",
            "description": made.__doc__,
            "properties": properties,
            "required": required,
            "additionalProperties": False,
        }

    kinds = {kind: {"type": "object", "additionalProperties": of_block(made)} for kind, made in KINDS.items()}
    return {
        "$schema": "http://json-schema.org/draft-07/schema#",
        "type": "object",
        "properties": kinds,
        "additionalProperties": False,
    }


def as_yaml(text: str) -> str:
    """A job file as YAML of the same content: blocks become mappings, lines that repeat become lists."""
    from flatwise_grammar import parse
    from flatwise_grammar.nodes import Block
    from flatwise_lsp.features.documentation import line_text

    lines: list[str] = []

    def put(parts: Any, depth: int) -> None:
        pad = "  " * depth
        words: dict[str, list[str]] = {}
        for part in parts:
            if isinstance(part, Block):
                lines.append(f"{pad}{'_'.join(item.text for item in part.head)}:")
                put(part.body, depth + 1)
            else:
                words.setdefault(part.word.text, []).append(line_text(part).removeprefix(part.word.text).strip())
        for word, values in words.items():
            if len(values) == 1:
                lines.append(f"{pad}{word}: {json.dumps(values[0])}")
            else:
                lines.append(f"{pad}{word}:")
                lines.extend(f"{pad}  - {json.dumps(value)}" for value in values)

    for block in parse(text)[0].blocks:
        lines.append(f"{block.kind}:")
        lines.append(f"  {block.head[1].text}:")  # type: ignore[union-attr]
        put(block.body, 2)
    return "\n".join(lines) + "\n"


@pytest.fixture(scope="module")
def yaml_server(tmp_path_factory: pytest.TempPathFactory) -> list[str]:
    known = os.environ.get("FLATWISE_NODE_PACKAGES")
    folder = Path(known) if known else tmp_path_factory.mktemp("node")
    if not (folder / "node_modules" / "yaml-language-server").is_dir():
        if shutil.which("npm") is None:
            pytest.skip("node and npm are not installed: apt-get install nodejs npm")
        done = subprocess.run(
            [
                "npm",
                "install",
                "--no-audit",
                "--no-fund",
                "--ignore-scripts",
                "--no-package-lock",
                "yaml-language-server",
            ],
            cwd=folder,
            capture_output=True,
            timeout=180,
        )
        if done.returncode:
            pytest.skip("npm could not install yaml-language-server: is there a network?")
    node = ["node", str(folder / "node_modules" / "yaml-language-server" / "bin" / "yaml-language-server"), "--stdio"]
    taskset = shutil.which("taskset")
    return [taskset, "-c", str(min(os.sched_getaffinity(0))), *node] if taskset else node


async def yaml_session(shop: Path, command: list[str], text: str) -> dict[str, list[float]]:
    (shop / "schema.json").write_text(json.dumps(schema()))
    (shop / "jobs" / "one.yaml").write_text(text)
    settings = {
        "schemas": {(shop / "schema.json").as_uri(): "*.yaml"},
        "validate": True,
        "hover": True,
        "completion": True,
        "schemaStore": {"enable": False},
        "format": {"enable": False},
    }

    def pulled(abilities: lsp.ClientCapabilities) -> None:
        if abilities.text_document is not None:
            abilities.text_document.diagnostic = None

    async with session(shop, command=command, change=pulled) as editor:
        editor.client.set_configuration({"yaml": settings})
        editor.client.workspace_did_change_configuration(lsp.DidChangeConfigurationParams({"yaml": settings}))
        item = lsp.TextDocumentItem(editor.uri("jobs/one.yaml"), "yaml", 1, text)
        editor.versions[editor.uri("jobs/one.yaml")] = 1
        editor.client.text_document_did_open(lsp.DidOpenTextDocumentParams(item))
        await editor.findings("jobs/one.yaml")
        # a word that the schema does not know, and one that it knows, by turns
        change = typing(editor, "jobs/one.yaml", text, "stepover", ["stepovr", "stepover"])
        first, last = await told(editor, "jobs/one.yaml", change, 2.0)
        assert any(one.diagnostics for one in editor.told), "the schema was never applied"
        here = editor.document("jobs/one.yaml")
        before = text[: text.index("stepover")]
        at = lsp.Position(before.count("\n"), len(before) - before.rfind("\n") + 1)
        client = editor.client
        return {
            "didChange to first word": first,
            "didChange to settled": last,
            "completion": await asked(
                lambda: client.text_document_completion_async(lsp.CompletionParams(here, at)), 100
            ),
            "hover": await asked(lambda: client.text_document_hover_async(lsp.HoverParams(here, at)), 100),
        }


def test_ahead_of_yaml_with_a_schema(benchmark: Any, shop: Path, repository: Path, yaml_server: list[str]) -> None:
    """In one run, with the same content and edits: whole times, including each server's own delay."""
    text = job_of_150_lines(repository)
    theirs = asyncio.run(yaml_session(shop, yaml_server, as_yaml(text)))
    ours = asyncio.run(flatwise_session(shop, text, "stepover", ["stepovr ", "stepover"], 1.0))
    measured(
        benchmark,
        {
            **{f"flatwise: {name}": times for name, times in ours.items()},
            **{f"yaml: {name}": times for name, times in theirs.items()},
        },
    )
    for name in ours:
        assert spread(ours[name])[0] < spread(theirs[name])[0], name
