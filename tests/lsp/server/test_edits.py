"""Random edits, as typing and pasting make them: the server keeps the editor's text, survives, and ends with the
findings of a fresh start.

A nightly run tries twenty times as many; 20,000 were run once.
"""

from __future__ import annotations

import asyncio
import logging
import random
import re
from pathlib import Path

import pytest
from hypothesis_profile import NIGHTLY
from lsprotocol import types as lsp

pytest.importorskip("pytest_lsp", reason="pytest-lsp is not installed: pip install -e '.[test]'")

from lsp.editor import Editor, session

from flatwise_lsp.workspace.typed_word import PAUSE

EDITS = 2000 if NIGHTLY else 60
PIECES = (
    "{",
    "}",
    "\n",
    "\r\n",
    "\r",
    '"',
    "#",
    ";",
    ",",
    " ",
    "    ",
    "0.5mm",
    "1 1/8in",
    "12",
    "job x {\n",
    "depth",
    "cut { ",
    "😀",
    "é",
    "\u2028",
    "\f",
    "\x00",
    "\ud800",
    "\udc00",
    "\ufeff",
    "+/-",
    "(",
    "(1mm, 2mm)",
    "x",
    'use "../shared/shop.flat"',
    "𐐀𐐀",
    "-",
    "%",
    "like",
    "\t",
    "9" * 60,
)


class Buffer:
    """A text as an editor with UTF-16 columns holds it: code units, not Python's characters.

    It shares no code with the server, so that both can't have the same error.
    """

    def __init__(self, text: str) -> None:
        self.data = text.encode("utf-16-le", "surrogatepass")

    @property
    def text(self) -> str:
        return self.data.decode("utf-16-le", "surrogatepass")

    def __len__(self) -> int:
        return len(self.data) // 2

    def unit(self, at: int) -> int:
        return int.from_bytes(self.data[2 * at : 2 * at + 2], "little")

    def splits(self, at: int) -> bool:
        """Whether an offset is inside a pair of surrogates or a CRLF, where no editor puts its cursor."""
        if not 0 < at < len(self):
            return False
        before, after = self.unit(at - 1), self.unit(at)
        return (0xD800 <= before < 0xDC00 and 0xDC00 <= after < 0xE000) or (before == 13 and after == 10)

    def position(self, at: int) -> lsp.Position:
        before = self.data[: 2 * at].decode("utf-16-le", "surrogatepass")
        breaks = list(re.finditer(r"\r\n|\r|\n", before))
        line = len(breaks)
        start = breaks[-1].end() if breaks else 0
        return lsp.Position(line, len(before[start:].encode("utf-16-le", "surrogatepass")) // 2)

    def put(self, start: int, end: int, text: str) -> None:
        self.data = self.data[: 2 * start] + text.encode("utf-16-le", "surrogatepass") + self.data[2 * end :]


def one_edit(dice: random.Random, buffer: Buffer, samples: list[str]) -> lsp.TextDocumentContentChangeEvent:
    """Make an edit in the buffer, and return it as in the protocol."""
    kind = dice.random()
    if kind < 0.02:
        text = dice.choice(samples)
        buffer.put(0, len(buffer), text[: dice.randrange(len(text) + 1)])
        return lsp.TextDocumentContentChangeWholeDocument(buffer.text)
    while True:
        start = dice.randrange(len(buffer) + 1)
        length = 0 if kind < 0.6 else dice.randrange(1, 8) if kind < 0.9 else dice.randrange(200)
        end = min(len(buffer), start + length)
        if not buffer.splits(start) and not buffer.splits(end):
            break
    if kind > 0.97:
        text = dice.choice(samples)
        text = text[dice.randrange(len(text)) :][: dice.randrange(300)]
    else:
        text = "" if 0.6 <= kind < 0.75 else dice.choice(PIECES)
    change = lsp.TextDocumentContentChangePartial(
        lsp.Range(buffer.position(start), buffer.position(end)), joined(buffer, start, end, text)
    )
    return change


def joined(buffer: Buffer, start: int, end: int, text: str) -> str:
    buffer.put(start, end, text)
    return text


async def held(editor: Editor, path: str) -> str:
    """The server's text."""
    answer = await editor.client.protocol.send_request_async("flatwise/text", {"uri": editor.uri(path)})
    return str(answer.text)


async def said(editor: Editor, path: str, version: int) -> list[tuple[object, ...]]:
    found = await editor.findings(path, version)
    return sorted((str(one.code), one.message, str(one.range)) for one in found)


def test_random_edits_keep_both_texts_equal_and_end_as_a_fresh_start(
    shop: Path, repository: Path, capfd: pytest.CaptureFixture[str], caplog: pytest.LogCaptureFixture
) -> None:
    samples = [path.read_text() for path in sorted((repository / "jobs").rglob("*.flat"))]
    table = next(text for text in samples if "stepover" in text)
    dice = random.Random(7)

    async def play() -> None:
        async with session(shop) as editor:
            buffer = Buffer(samples[0])
            editor.open("jobs/one.flat", buffer.text)
            here = editor.document("jobs/one.flat")
            version = 1
            for number in range(1, EDITS + 1):
                version = editor.change("jobs/one.flat", one_edit(dice, buffer, samples))
                if len(buffer) > 20_000:
                    buffer.put(0, len(buffer), samples[1])
                    version = editor.replace("jobs/one.flat", samples[1])
                if number % 10 == 0:
                    at = buffer.position(dice.randrange(len(buffer) + 1))
                    whole = lsp.Range(lsp.Position(0, 0), lsp.Position(10_000, 0))
                    await asyncio.gather(
                        editor.client.text_document_hover_async(lsp.HoverParams(here, at)),
                        editor.client.text_document_completion_async(lsp.CompletionParams(here, at)),
                        editor.client.text_document_signature_help_async(lsp.SignatureHelpParams(here, at)),
                        editor.client.text_document_definition_async(lsp.DefinitionParams(here, at)),
                        editor.client.text_document_document_symbol_async(lsp.DocumentSymbolParams(here)),
                        editor.client.text_document_folding_range_async(lsp.FoldingRangeParams(here)),
                        editor.client.text_document_semantic_tokens_full_async(lsp.SemanticTokensParams(here)),
                        editor.client.text_document_selection_range_async(lsp.SelectionRangeParams(here, [at])),
                        editor.client.text_document_formatting_async(
                            lsp.DocumentFormattingParams(here, lsp.FormattingOptions(4, True))
                        ),
                    )
                if number % 50 == 0 or number == EDITS:
                    assert await held(editor, "jobs/one.flat") == buffer.text
                if number % 200 == 0:
                    whole = lsp.Range(lsp.Position(0, 0), lsp.Position(10_000, 0))
                    await editor.client.text_document_code_action_async(
                        lsp.CodeActionParams(here, whole, lsp.CodeActionContext([]))
                    )
                    await editor.client.text_document_inlay_hint_async(lsp.InlayHintParams(here, whole))
            # a last edit makes a text that compiles but for one finding
            for text in (buffer.text, table.replace("stepover", "stepovr")):
                version = editor.replace("jobs/one.flat", text)
                # until then the line in which was typed shows one error at a time
                await asyncio.sleep(1.2 * PAUSE)
                after = await said(editor, "jobs/one.flat", version)
                editor.close("jobs/one.flat")
                async with session(shop) as fresh:
                    fresh.open("jobs/one.flat", text)
                    assert await said(fresh, "jobs/one.flat", 1) == after
                editor.open("jobs/one.flat", text)
            assert any(code == "FW101" for code, *_ in after)

    asyncio.run(play())
    # an error that the server survived is still an error
    assert [one.getMessage() for one in caplog.records if one.levelno >= logging.ERROR] == []
    log = capfd.readouterr().err
    assert "ERROR" not in log and "Traceback" not in log, log[-4000:]
