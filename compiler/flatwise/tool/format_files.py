"""`flatwise format`: files in place, or with --check, --diff and `-` only what would change, or the text."""

from __future__ import annotations

import argparse
import sys
from difflib import unified_diff
from pathlib import Path

from flatwise.core.fixes import edited
from flatwise.findings.fw101_unknown_word import former_rows
from flatwise.report import messages
from flatwise.sources.load import Source
from flatwise.tool.arguments import STANDARD_INPUT
from flatwise.tool.console import coloured, say
from flatwise_grammar.nodes import Block, Field, Name


def format_files(given: argparse.Namespace) -> bool:
    """Whether the run found anything: flawed texts, or with --check or --diff, texts that would change."""
    from flatwise.sources.load import load
    from flatwise.sources.plain_file import put_all
    from flatwise.tool.standard_input import with_input
    from flatwise_grammar import format_text

    paths, overlay, undecoded = with_input([Path(each) for each in given.path], given.as_path)
    loaded, found = load(paths, overlay, follow=False)
    if given.upgrade:
        from flatwise.pipeline import read_works

        # headers of files of points that 1.0 took are only reported
        found = read_works(paths, overlay).findings
    # only errors of the text itself: a missing `use` does not matter here
    findings = undecoded + tuple(each for each in found if each.code < "FW1")
    only_look = given.check or given.diff
    to_output = STANDARD_INPUT in given.path and not only_look
    changed = False
    for name in loaded.asked:
        source = loaded.sources[name]
        tidy = format_text(upgraded(source) if given.upgrade else source.text)
        if to_output:
            _write_exactly(tidy)
        elif tidy != source.text:
            changed = True
            if not only_look:
                put_all({source.path: tidy.encode("utf-8")})
            if given.diff:
                _write_exactly(diff(source.text, tidy, name))
            elif not given.quiet:
                say(f"{name}: {'would be reformatted' if only_look else 'reformatted'}.")
    if findings:
        # what reads a text or a diff on standard output must not find them in it
        stream = sys.stderr if to_output or given.diff else sys.stdout
        say(messages.text(findings, loaded.texts, colour=coloured(stream)), stream, escaped=True)
    return bool(findings) or (only_look and changed)


def upgraded(source: Source) -> str:
    """The text of a job file of 1.0 with `rows` in the place of `pattern`, `raster` and `perimeter`."""
    cuts = (inner for block in source.tree.blocks for inner in (block, *block.body) if isinstance(inner, Block))
    lines = (part for cut in cuts if _word(cut) == "cut" for part in cut.body if isinstance(part, Field))
    fixes = (former_rows(line, "cut").fix for line in lines if line.word.text == "pattern")
    return edited(source.text, [edit for fix in fixes if fix is not None for edit in fix.edits])


def _word(block: Block) -> str:
    first = next(iter(block.head), None)
    return first.text if isinstance(first, Name) else ""


def diff(before: str, after: str, name: str) -> str:
    """The changes from one text to another as a unified diff (POSIX, diff, Diff -u Output Format)."""
    # a tab ends a name with blanks in it
    name = messages.visible(name) + "\t" * (" " in name)
    lines = unified_diff(_lines(before), _lines(after), name, name)
    return "".join(line if line.endswith("\n") else f"{line}\n\\ No newline at end of file\n" for line in lines)


def _lines(text: str) -> list[str]:
    """The lines of a text with their ends; only a line feed ends one."""
    *whole, last = text.split("\n")
    return [f"{line}\n" for line in whole] + [last] * bool(last)


def _write_exactly(text: str) -> None:
    """Write to standard output without any change of line ends or letters."""
    sys.stdout.flush()
    sys.stdout.buffer.write(text.encode("utf-8"))
    sys.stdout.buffer.flush()
