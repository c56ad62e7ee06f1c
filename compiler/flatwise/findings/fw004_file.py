"""FW004 · file unreadable

A named file does not exist, is a folder, a pipe or a device, is not UTF-8 text, lies outside the project's folder, or
is larger than the limit (1 MB for a job file, 64 MB for a file of points).

## Why it hurts
A panel whose file has not been read can't be checked.

## Fails
```sh
flatwise check jobs/no_such_table.flat
```

## Mended
```sh
flatwise check jobs/reading_table.flat
```
"""

from __future__ import annotations

from flatwise.core.finding import Finding
from flatwise_grammar.nodes import Span


def missing(path: str, span: Span | None, near: str = "") -> Finding:
    hint = f"Did you mean {near}?" if near else "Check the name and the folder."
    return Finding("FW004", f"There is no file {path}.", span, help=hint)


def folder(path: str, span: Span | None) -> Finding:
    return Finding("FW004", f"{path} is a folder, not a file.", span, help="Name a file in it.")


def not_regular(path: str, span: Span | None) -> Finding:
    return Finding(
        "FW004",
        f"{path} is a pipe, a socket or a device, not a regular file.",
        span,
        help="Save the text as a file and name that.",
    )


def not_allowed(path: str, span: Span | None, reason: str) -> Finding:
    return Finding("FW004", f"{path} can't be read: {reason}.", span, help="Check the file's permissions and the disk.")


def not_utf8(path: str, span: Span | None, at: int, line: int) -> Finding:
    return Finding(
        "FW004",
        f"{path} is not UTF-8 text: byte {at + 1}, on line {line}, is invalid.",
        span,
        help="Save the file as UTF-8.",
    )


def too_large(path: str, span: Span | None, size: int, limit: int) -> Finding:
    return Finding(
        "FW004",
        f"{path} has {size:,} bytes; the limit is {limit:,}.",
        span,
        help="Split it, or leave out what the job does not need.",
    )


def nothing_in(path: str) -> Finding:
    return Finding(
        "FW004",
        f"There is no .flat file in the folder {path}.",
        None,
        help="Name a job file, or a folder that contains some.",
    )


def outside(path: str, root: str, span: Span | None) -> Finding:
    return Finding(
        "FW004",
        f'"{path}" lies outside the project\'s folder {root}.',
        span,
        help="Move the file into the project's folder, so that the project gives the same program on every computer.",
    )
