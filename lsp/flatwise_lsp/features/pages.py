"""The pages of the codes as files, so that an editor can open one by its address.

They are written when a code first turns up, into a folder of this server alone, and taken away with it.
"""

from __future__ import annotations

import shutil
import tempfile
from pathlib import Path

from flatwise.findings import pages
from flatwise_lsp.workspace.documents import uri_of


class Pages:
    """The addresses of pages.  Where no file can be written there are none, and nothing else is lost."""

    def __init__(self) -> None:
        self._folder: Path | None = None
        self._uris: dict[str, str] = {}

    def uri(self, code: str) -> str:
        """The address of a code's page, or ""."""
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
        """Take the files away."""
        if self._folder is not None:
            shutil.rmtree(self._folder, ignore_errors=True)
            self._folder = None
            self._uris.clear()
