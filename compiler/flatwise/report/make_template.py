"""Compiles `sheet.html.jinja` to Python and writes it to `sheet_template.py`.

Run it after every change of the template: `python -m flatwise.report.make_template`.  Compiling takes longer than
drawing a whole sheet, so no build does it.
"""

from __future__ import annotations

from hashlib import sha256
from pathlib import Path

from flatwise.report.sheet import environment

HERE = Path(__file__).parent
SOURCE = HERE / "sheet.html.jinja"
MADE = HERE / "sheet_template.py"
_HEAD = '''"""Made by `python -m flatwise.report.make_template` from `sheet.html.jinja`.  Do not edit."""

# ruff: noqa
# fmt: off
# mypy: ignore-errors

JINJA = {version!r}
SHA256 = {digest!r}

'''


def compiled() -> str:
    """The text of `sheet_template.py`: the same for the same template and the same version of Jinja."""
    from jinja2 import __version__

    source = SOURCE.read_text("utf-8")
    # without the environment bound in: the loader supplies its own
    python = environment().compile(source, SOURCE.name, raw=True, defer_init=True)
    return _HEAD.format(version=__version__, digest=sha256(source.encode()).hexdigest()) + python + "\n"


if __name__ == "__main__":
    MADE.write_text(compiled(), "utf-8")
