"""The pages of codes as files, so that an editor can open one by its URI.

A page is written when its code first occurs, into a temporary folder of this server, which is removed at the end.
"""

from __future__ import annotations

import shutil
import tempfile
from pathlib import Path

from flatwise.findings import pages
from flatwise_lsp.workspace.documents import uri_of


class ExplanationFiles:
    """The URIs of pages.  Where no file can be written there are none, and everything else works."""

    def __init__(self) -> None:
        self._folder: Path | None = None
        self._uris: dict[str, str] = {}

    def uri(self, code: str) -> str:
        """The URI of the page of a code, or ""."""
        if code not in self._uris:
            self._uris[code] = self._write(code)
        return self._uris[code]

    def _write(self, code: str) -> str:
        page = pages.page(code)
        if page is None:
            return ""
        try:
            if self._folder is None:
                self._folder = Path(tempfile.mkdtemp(prefix="flatwise-pages-"))
            path = self._folder / f"{code}.md"
            path.write_text(f"# {page.text}", encoding="utf-8")
        except OSError:
            return ""
        return uri_of(path)

    def close(self) -> None:
        """Remove the files."""
        if self._folder is not None:
            shutil.rmtree(self._folder, ignore_errors=True)
            self._folder = None
            self._uris.clear()
