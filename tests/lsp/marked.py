"""Texts with a cursor mark, and what a feature sees of them."""

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


def marked(text: str, mark: str = "‸") -> tuple[str, int]:
    """A text without its mark, and where that stood (0 where there is none)."""
    return text.replace(mark, "", 1), max(0, text.find(mark))


def demo(line: str) -> str:
    """A job from the plain top with one line or block of its own."""
    return PLAIN % line


def view(root: Path, text: str, name: str = "jobs/example.flat", *, checked: bool = False) -> View:
    """A view of a text as if it were open in a project; `checked` works its jobs out too."""
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
