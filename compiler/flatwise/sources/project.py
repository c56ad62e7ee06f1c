"""The project: the folder that a job's files stay below, and the few settings that hold for all of its jobs."""

from __future__ import annotations

import os
import re
from collections.abc import Mapping
from functools import lru_cache
from pathlib import Path
from typing import Any, NamedTuple

from flatwise.core.finding import Finding, Findings
from flatwise.findings import fw001_text, fw004_file, fw101_unknown_word, fw104_wrong_kind
from flatwise.sources.paths import root_name, shown
from flatwise.sources.plain_file import read_plain_file
from flatwise_grammar.nodes import Span

PROJECT_LIMIT = 1_000_000  # bytes
#: TOML text that has no such line has no table tool.flatwise: most pyproject.toml files need no TOML reader
_TABLE = re.compile(r"""^[ \t]*(?:\[[ \t]*)?["']?tool["']?[ \t]*(?:\.[ \t]*["']?flatwise|[\]=])""", re.MULTILINE)


class Project(NamedTuple):
    """A root and its settings; `file` is the project file as people see it ("" where there is none).

    `text` is the text of that file, and `spans` says where in it each key stands.
    """

    root: Path
    standard: str = ""
    standard_from: str = ""
    out: str = "out"
    strict: bool = False
    file: str = ""
    text: str = ""
    spans: Mapping[str, Span] = {}


@lru_cache(maxsize=256)
def _has_table(pyproject: Path, stamp: int) -> bool:
    """Whether a pyproject.toml has [tool.flatwise]; `stamp` is its time of change, so that an edit is noticed."""
    try:
        text = read_plain_file(pyproject.resolve(), PROJECT_LIMIT).decode("utf-8")
    except (OSError, RuntimeError, UnicodeDecodeError):
        return False
    if not _TABLE.search(text):
        return False
    import tomllib

    try:
        return "flatwise" in tomllib.loads(text).get("tool", {})
    except (tomllib.TOMLDecodeError, AttributeError):
        return "[tool.flatwise]" in text


def root_of(folder: Path, working: Path) -> Path:
    """The project root for a file in `folder` (both resolved).

    The nearest folder upward with flatwise.toml, a pyproject.toml that has [tool.flatwise], or .git; else the
    working folder if `folder` lies below it, else `folder` itself.
    """
    for parent in (folder, *folder.parents):
        if os.path.isfile(parent / "flatwise.toml") or os.path.exists(parent / ".git"):
            return parent
        pyproject = parent / "pyproject.toml"
        if os.path.isfile(pyproject) and _has_table(pyproject, pyproject.stat().st_mtime_ns):
            return parent
    return working if folder.is_relative_to(working) else folder


def read_project(root: Path, working: Path) -> tuple[Project, Findings]:
    """The settings of a project; a project without a project file has the defaults.

    A file that cannot be read or a wrong setting is a finding (FW001, FW004, FW101, FW104), and its default holds.
    """
    for name in ("flatwise.toml", "pyproject.toml"):
        path = root / name
        if not os.path.isfile(path):
            continue
        where = shown(path, working)
        try:
            real = path.resolve()
            if not real.is_relative_to(root.resolve()):
                return Project(root), (fw004_file.outside(where, root_name(root), None),)
            text = read_plain_file(real, PROJECT_LIMIT).decode("utf-8")
        except UnicodeDecodeError as error:
            line = error.object[: error.start].count(b"\n") + 1
            return Project(root), (fw004_file.not_utf8(where, None, error.start, line),)
        except OSError as error:
            return Project(root), (fw004_file.not_allowed(where, None, error.strerror or "no reason given"),)
        if name == "pyproject.toml" and not _TABLE.search(text):
            continue
        return _read_settings(root, where, text, whole=name == "flatwise.toml")
    return Project(root), ()


def _read_settings(root: Path, where: str, text: str, *, whole: bool) -> tuple[Project, Findings]:
    """The project with the settings of its file, which is a `whole` flatwise.toml or a pyproject.toml."""
    import tomllib

    try:
        table: Any = tomllib.loads(text)
    except (ValueError, RecursionError) as error:
        why, span = _refusal(where, text, error)
        finding = fw001_text.project(where, why, span)
        return Project(root, file=where, text=text), (finding,)
    if not whole:
        tool = table.get("tool", {})
        table = tool.get("flatwise", {}) if isinstance(tool, dict) else {}
    if not isinstance(table, dict):
        table = {}
    start = 0 if whole else max(0, text.find("[tool.flatwise]"))
    spans = {key: _key_span(where, text, key, start) for key in table}
    values, findings = _validated(table, where, spans)
    return Project(root, file=where, text=text, spans=spans, **values), findings


def _validated(table: dict[str, Any], where: str, spans: dict[str, Span]) -> tuple[dict[str, Any], Findings]:
    """The settings of a table that are right, and findings for the others."""
    from pydantic import ValidationError

    from flatwise.sources.settings import Settings

    findings: dict[str, Finding] = {}
    try:
        Settings.model_validate(table)
    except ValidationError as refused:
        for error in refused.errors():
            key = str(error["loc"][0])
            if error["type"] == "extra_forbidden":
                finding = fw101_unknown_word.key(key, spans[key], where, tuple(Settings.model_fields))
            else:
                due = "true or false" if error["type"] == "bool_type" else "a text in quotes"
                finding = fw104_wrong_kind.key(key, spans[key], where, due)
            findings[key] = finding
    right = {key: value for key, value in table.items() if key not in findings}
    return right, tuple(findings[key] for key in table if key in findings)


def _key_span(where: str, text: str, key: str, start: int) -> Span:
    """The span of a key: in the first line after `start` that begins with it."""
    at = start
    for line in text[start:].splitlines(keepends=True):
        bare = line.lstrip()
        if bare.startswith((key, f'"{key}"')):
            first = at + len(line) - len(bare)
            return Span(where, first, first + len(key) + (2 if bare.startswith('"') else 0))
        at += len(line)
    return Span(where, start, start)


def _refusal(where: str, text: str, error: ValueError | RecursionError) -> tuple[str, Span]:
    """Why the TOML reader refuses a text, and where; two of its errors are Python's own and name no place."""
    import tomllib

    if isinstance(error, tomllib.TOMLDecodeError):
        return str(error), _error_span(where, text, str(error))
    nested = isinstance(error, RecursionError)
    counted = "[{" if nested else "0123456789"
    lines = text.splitlines(keepends=True)
    worst = max(range(len(lines)), key=lambda number: sum(lines[number].count(each) for each in counted))
    start = sum(map(len, lines[:worst]))
    span = Span(where, start, start + len(lines[worst].rstrip("\n")))
    return ("brackets are nested too deep" if nested else "a number has too many digits"), span


def _error_span(where: str, text: str, message: str) -> Span:
    """The place that the TOML reader names: `(at line 3, column 5)`."""
    found = re.search(r"line (\d+), column (\d+)", message)
    if found is None:
        return Span(where, max(0, len(text) - 1), len(text))
    lines = text.splitlines(keepends=True)
    line, column = int(found[1]), int(found[2])
    at = min(sum(map(len, lines[: line - 1])) + column - 1, max(0, len(text) - 1))
    return Span(where, at, at + 1)
