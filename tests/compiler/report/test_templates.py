"""The templates made ahead are those of the `.html.jinja` files as they stand, and render the same pages."""

from __future__ import annotations

from hashlib import sha256
from importlib import import_module

import jinja2
import pytest
from example_jobs import example

from flatwise.report import page, sheet
from flatwise.report.make_template import TEMPLATES, compiled, made, source

STALE = "the template has changed: run python -m flatwise.report.make_template"


@pytest.mark.parametrize("name", TEMPLATES)
def test_it_is_made_from_the_template_as_it_stands(name: str) -> None:
    module = import_module(f"flatwise.report.{name}_template")
    assert sha256(source(name).read_bytes()).hexdigest() == module.SHA256, STALE
    # another version of Jinja writes other Python for the same template
    assert jinja2.__version__ != module.JINJA or made(name).read_text("utf-8") == compiled(name), STALE


def test_it_renders_what_the_template_renders(monkeypatch: pytest.MonkeyPatch) -> None:
    _, built = example("lamp_table")
    made_ahead = sheet.sheet(built)
    template = page.environment().from_string(source("sheet").read_text("utf-8"))
    whole = page._parts
    monkeypatch.setattr(page, "_parts", lambda *given: (template, *whole(*given)[1:]))
    assert sheet.sheet(built) == made_ahead
