"""What people and programs read: findings, the sheet for the machine, and summary.json."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from flatwise.model.built import Built, BuiltBatch


def files(built: Built, texts: Mapping[str, str], named: Callable[[str], str] = str) -> dict[str, bytes]:
    """Every file of a job's folder by name.

    `texts` are the texts of the sources by the path that spans carry; `named` turns such a path into one from the
    project's root.  Raises ValueError for a job without a plan.
    """
    from flatwise.report.sheet import sheet
    from flatwise.report.summary import as_bytes, summary

    return {
        **built.programs,
        "sheet.html": sheet(built).encode("utf-8", "backslashreplace"),
        "summary.json": as_bytes(summary(built, texts, named)),
    }


def batch_files(built: BuiltBatch, texts: Mapping[str, str], named: Callable[[str], str] = str) -> dict[str, bytes]:
    """The same for a batch."""
    from flatwise.report.batch_sheet import batch_sheet
    from flatwise.report.summary import as_bytes, batch_summary

    return {
        **built.programs,
        "sheet.html": batch_sheet(built).encode("utf-8", "backslashreplace"),
        "summary.json": as_bytes(batch_summary(built, texts, named)),
    }
