"""The project: the folder that a job's files stay below, and the few settings that hold for all of its jobs."""

from __future__ import annotations

import os
import re
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path
from typing import Any

from flatwise.core.finding import Finding, Findings
from flatwise.findings import fw001_text, fw004_file, fw101_unknown_word, fw104_wrong_kind
from flatwise.sources.plain_file import contents
from flatwise_grammar.nodes import Span

PROJECT_LIMIT = 1_000_000  # bytes
KEYS = ("standard", "standard_from", "out", "strict")
#: A line without which no TOML text has a table tool.flatwise: most pyproject.toml need not be read for it.
_TABLE = re.compile(r"""^[ \t]*(?:\[[ \t]*)?["']?tool["']?[ \t]*(?:\.[ \t]*["']?flatwise|[\]=])""", re.MULTILINE)


@dataclass(frozen=True)
class Project:
    """A root and its settings; `file` is the project file ("" where there is none), as shown to people.

    `text` is what stands in it, and `spans` says where in it each key does.
    """

    root: Path
    standard: str = ""
    standard_from: str = ""
    out: str = "out"
    strict: bool = False
    file: str = ""
    text: str = ""
    spans: dict[str, Span] = field(default_factory=dict)


def shown(path: Path, working: Path) -> str:
    """A path as people see it: relative to the working folder where it lies below it, else whole."""
    return str(path.relative_to(working)) if path.is_relative_to(working) else str(path)


def called(root: Path) -> str:
    """A project's folder by its own name: where it stands on this computer is no matter of the project."""
    return root.name or str(root)


@lru_cache(maxsize=256)
def _has_table(pyproject: Path, stamp: int) -> bool:
    """Whether a pyproject.toml has [tool.flatwise]; `stamp` is its time of change, so that an edit is seen."""
    try:
        text = contents(pyproject.resolve(), PROJECT_LIMIT).decode("utf-8")
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

    What can't be read or is no setting is a finding (FW001, FW004, FW101, FW104), and its default holds.
    """
    for name in ("flatwise.toml", "pyproject.toml"):
        path = root / name
        if not os.path.isfile(path):
            continue
        where = shown(path, working)
        try:
            real = path.resolve()
            if not real.is_relative_to(root.resolve()):
                return Project(root), (fw004_file.outside(where, called(root), None),)
            text = contents(real, PROJECT_LIMIT).decode("utf-8")
        except UnicodeDecodeError as error:
            line = error.object[: error.start].count(b"\n") + 1
            return Project(root), (fw004_file.not_utf8(where, None, error.start, line),)
        except OSError as error:
            return Project(root), (fw004_file.not_allowed(where, None, error.strerror or "no reason given"),)
        if name == "pyproject.toml" and not _TABLE.search(text):
            continue
        return _settings(root, where, text, whole=name == "flatwise.toml")
    return Project(root), ()


def _settings(root: Path, where: str, text: str, *, whole: bool) -> tuple[Project, Findings]:
    import tomllib

    try:
        table: Any = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        finding = fw001_text.project(where, str(error), _error_span(where, text, str(error)))
        return Project(root, file=where, text=text), (finding,)
    if not whole:
        tool = table.get("tool", {})
        table = tool.get("flatwise", {}) if isinstance(tool, dict) else {}
    if not isinstance(table, dict):
        table = {}
    start = 0 if whole else max(0, text.find("[tool.flatwise]"))
    findings: list[Finding] = []
    values: dict[str, Any] = {}
    spans: dict[str, Span] = {}
    for key, value in table.items():
        spans[key] = span = _key_span(where, text, key, start)
        if key not in KEYS:
            findings.append(fw101_unknown_word.key(key, span, where, KEYS))
        elif key == "strict" and not isinstance(value, bool):
            findings.append(fw104_wrong_kind.key(key, span, where, "true or false"))
        elif key != "strict" and not (isinstance(value, str) and value):
            findings.append(fw104_wrong_kind.key(key, span, where, "a text in quotes"))
        else:
            values[key] = value
    return Project(root, file=where, text=text, spans=spans, **values), tuple(findings)


def _key_span(where: str, text: str, key: str, start: int) -> Span:
    """The key's place: the line of the table that begins with it."""
    at = start
    for line in text[start:].splitlines(keepends=True):
        bare = line.lstrip()
        if bare.startswith((key, f'"{key}"')):
            first = at + len(line) - len(bare)
            return Span(where, first, first + len(key) + (2 if bare.startswith('"') else 0))
        at += len(line)
    return Span(where, start, start)


def _error_span(where: str, text: str, message: str) -> Span:
    """The place that the TOML reader names: `(at line 3, column 5)`."""
    found = re.search(r"line (\d+), column (\d+)", message)
    if found is None:
        return Span(where, max(0, len(text) - 1), len(text))
    lines = text.splitlines(keepends=True)
    line, column = int(found[1]), int(found[2])
    at = min(sum(map(len, lines[: line - 1])) + column - 1, max(0, len(text) - 1))
    return Span(where, at, at + 1)
