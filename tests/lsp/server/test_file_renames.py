"""Renaming files and following a `use` line, over the protocol."""

from __future__ import annotations

from pathlib import Path

import pytest
from lsprotocol import types as lsp

pytest.importorskip("pytest_lsp", reason="pytest-lsp is not installed: pip install -e '.[test]'")

from lsp.editor import Editor, played
from lsp.marked import demo


def test_an_editor_renames_a_folder_and_follows_a_use_line(shop: Path) -> None:
    saved = demo("cut { depth 0.5mm }")
    (shop / "jobs" / "closed.flat").write_text(saved)

    async def play(editor: Editor) -> None:
        assert editor.capabilities is not None and editor.capabilities.workspace is not None
        operations = editor.capabilities.workspace.file_operations
        assert operations is not None and operations.will_rename is not None
        assert {str(one.pattern.glob) for one in operations.will_rename.filters} == {"**/*.{flat,csv}", "**/*"}

        editor.open("jobs/open.flat", "# unsaved\n" + saved)
        found = await editor.client.text_document_definition_async(
            lsp.DefinitionParams(editor.document("jobs/open.flat"), lsp.Position(1, 10))
        )
        assert isinstance(found, lsp.Location) and found.uri == editor.uri("shared/shop.flat")
        assert found.range.start == found.range.end == lsp.Position(0, 0)

        renaming = lsp.FileRename(editor.uri("shared"), editor.uri("library"))
        edit = await editor.client.workspace_will_rename_files_async(lsp.RenameFilesParams([renaming]))
        assert edit is not None
        made = {
            one.text_document.uri: one for one in edit.document_changes or [] if isinstance(one, lsp.TextDocumentEdit)
        }
        lines = {
            name: [(one.range.start.line, one.new_text) for one in made[editor.uri(name)].edits]  # type: ignore[union-attr]
            for name in ("jobs/open.flat", "jobs/closed.flat")
        }
        assert lines["jobs/open.flat"] == [(1, '"../library/shop.flat"'), (2, '"../library/sample.flat"')]
        assert lines["jobs/closed.flat"] == [(0, '"../library/shop.flat"'), (1, '"../library/sample.flat"')]
        assert made[editor.uri("jobs/open.flat")].text_document.version == 1

        elsewhere = lsp.FileRename("untitled:one", editor.uri("two.flat"))
        assert await editor.client.workspace_will_rename_files_async(lsp.RenameFilesParams([elsewhere])) is None

    played(shop, play)
