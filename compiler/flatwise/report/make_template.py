"""Compiles each template `NAME.html.jinja` to Python and writes it to `NAME_template.py`.

Run it after every change of a template: `python -m flatwise.report.make_template`.  Compiling takes longer than
drawing a whole sheet, so no build does it.
"""

from __future__ import annotations

from hashlib import sha256
from pathlib import Path

from flatwise.report.page import environment

HERE = Path(__file__).parent
TEMPLATES = ("sheet", "form")
_HEAD = '''"""Made by `python -m flatwise.report.make_template` from `{name}.html.jinja`.  Do not edit."""

# ruff: noqa
# fmt: off
# mypy: ignore-errors

JINJA = {version!r}
SHA256 = {digest!r}

'''


def source(name: str) -> Path:
    return HERE / f"{name}.html.jinja"


def made(name: str) -> Path:
    return HERE / f"{name}_template.py"


def compiled(name: str) -> str:
    """The text of `NAME_template.py`: the same for the same template and the same version of Jinja."""
    from jinja2 import __version__

    text = source(name).read_text("utf-8")
    # without the environment bound in: the loader supplies its own
    python = environment().compile(text, source(name).name, raw=True, defer_init=True)
    return _HEAD.format(name=name, version=__version__, digest=sha256(text.encode()).hexdigest()) + python + "\n"


if __name__ == "__main__":
    for each in TEMPLATES:
        made(each).write_text(compiled(each), "utf-8")
