"""The preview of a sheet while its job is typed: marked as not for the machine, without programs, loading itself again.

It is a page and its state, a script beside it with the same name, which the page loads every second.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from hashlib import sha256
from typing import TYPE_CHECKING

from flatwise.report.page import printable

if TYPE_CHECKING:
    from flatwise.model.built import Built, BuiltBatch

_VERSION = 'data-version=""'


def preview(built: Built | BuiltBatch | None, name: str) -> tuple[str, str]:
    """The page of a job or batch as HTML, and its version: equal sheets have the same one.

    Without `built` the page has no sheet yet.
    """
    from flatwise.model.built import BuiltBatch
    from flatwise.report.batch_sheet import batch_sheet
    from flatwise.report.sheet import sheet, sheet_page

    if built is None:
        text = sheet_page({"title": name, "plan": None, "batch": None}, preview=True)
    else:
        text = batch_sheet(built, preview=True) if isinstance(built, BuiltBatch) else sheet(built, preview=True)
    version = sha256(text.encode("utf-8", "backslashreplace")).hexdigest()[:16]
    # the first one is that of the page itself: no text of a job comes before it
    return text.replace(_VERSION, f'{_VERSION[:-1]}{version}"', 1), version


def state(version: str, said: str, errors: Sequence[str]) -> str:
    """The script beside the page: the version that the page must have, its errors, and what its bar says of them."""
    from flatwise.report.sheet import FOLLOWS

    bar = {"version": version, "said": printable(said or FOLLOWS), "errors": [printable(error) for error in errors]}
    return f"flatwisePreview({json.dumps(bar)});\n"
