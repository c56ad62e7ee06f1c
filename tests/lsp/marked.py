"""Texts with a cursor mark, and the views that features get of them."""

from __future__ import annotations

from pathlib import Path

from flatwise_lsp.workspace.analysis import analyse, load_meaning
from flatwise_lsp.workspace.document_text import DocumentText
from flatwise_lsp.workspace.documents import Document, Snapshot, uri_of
from flatwise_lsp.workspace.view import View

PLAIN = """use "../shared/shop.flat"
use "../shared/sample.flat"

job demo from plain_top {
    %s
}
"""

JOB_FROM_RECIPE = """use "../shared/shop.flat"
use "../shared/recipes.flat"

cutter small like fly_64 { diameter 50mm }

job one from glued_top {
    length 900mm; width 300mm; rough 30mm; finish 25mm
    cut { cutter sm‸all }
}
"""


def marked(text: str, mark: str = "‸") -> tuple[str, int]:
    """A text without its mark, and the offset of the mark (0 where there is none)."""
    return text.replace(mark, "", 1), max(0, text.find(mark))


def demo(line: str) -> str:
    """A job from the recipe plain_top with one more line or block."""
    return PLAIN % line


def view(root: Path, text: str, name: str = "jobs/example.flat", *, checked: bool = False) -> View:
    """A view of a text as if it were open in a project; with `checked` its jobs are worked out."""
    root = root.resolve()
    path = root / name
    snapshot = Snapshot(1, {path: Document(uri_of(path), path, 1, DocumentText(text))}, (root,))
    files = sorted(one.resolve() for one in root.rglob("*.flat"))
    analysis = analyse(path, snapshot, lambda: False, lambda half: None) if checked else None
    return View(
        path,
        DocumentText(text),
        lambda: load_meaning([path], snapshot, root),
        lambda: load_meaning([*files, *([] if path in files else [path])], snapshot, root),
        analysis,
    )
