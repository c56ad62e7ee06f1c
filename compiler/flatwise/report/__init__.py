"""Texts for people and programs: findings, the sheet for the machine, and summary.json."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from flatwise.model.built import Built, BuiltBatch


def files(built: Built | BuiltBatch, texts: Mapping[str, str], named: Callable[[str], str] = str) -> dict[str, bytes]:
    """Every file of the folder of a job or batch by name.

    `texts` are the texts of the sources by the path that spans carry; `named` turns such a path into one from the
    project's root.  Raises ValueError without a plan.
    """
    from flatwise.model.built import BuiltBatch
    from flatwise.report import summary

    if isinstance(built, BuiltBatch):
        from flatwise.report.batch_sheet import batch_sheet

        page, found = batch_sheet(built), summary.batch_summary(built, texts, named)
    else:
        from flatwise.report.sheet import sheet

        page, found = sheet(built), summary.summary(built, texts, named)
    return {
        **built.programs,
        "sheet.html": page.encode("utf-8", "backslashreplace"),
        "summary.json": summary.as_bytes(found),
    }
