"""The template made ahead is that of `sheet.html.jinja` as it stands, and renders the same page."""

from __future__ import annotations

from hashlib import sha256

import jinja2
import pytest
from example_jobs import example

from flatwise.report import sheet, sheet_template
from flatwise.report.make_template import MADE, SOURCE, compiled

STALE = "the template has changed: run python -m flatwise.report.make_template"


def test_it_is_made_from_the_template_as_it_stands() -> None:
    assert sha256(SOURCE.read_bytes()).hexdigest() == sheet_template.SHA256, STALE
    # another version of Jinja writes other Python for the same template
    assert jinja2.__version__ != sheet_template.JINJA or MADE.read_text("utf-8") == compiled(), STALE


def test_it_renders_what_the_template_renders(monkeypatch: pytest.MonkeyPatch) -> None:
    _, built = example("lamp_table")
    made_ahead = sheet.sheet(built)
    template, style_and_script = sheet.environment().from_string(SOURCE.read_text("utf-8")), sheet._template()[1:]
    monkeypatch.setattr(sheet, "_template", lambda: (template, *style_and_script))
    assert sheet.sheet(built) == made_ahead
