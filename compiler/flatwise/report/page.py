"""Parts of every page: a template compiled ahead, style and script in the file, and text that can't steer the page."""

from __future__ import annotations

import re
from base64 import b64encode
from functools import lru_cache
from hashlib import sha256
from importlib.resources import files as resources
from types import ModuleType
from typing import TYPE_CHECKING, Any

from flatwise.core.units import fixed
from flatwise.report.messages import visible

if TYPE_CHECKING:
    from jinja2 import Environment, Template

#: characters that HTML forbids, and those that set the direction of writing
_CONTROLS = re.compile(r"[\0-\x08\x0b-\x1f\x7f-\x9f\u200e\u200f\u202a-\u202e\u2066-\u2069\ud800-\udfff]")


def page(made: ModuleType, styles: tuple[str, ...], scripts: tuple[str, ...], **values: Any) -> str:
    """One self-contained HTML page: a template that `make_template` made, style sheets, scripts, and what it shows."""
    from markupsafe import Markup

    template, style, script = _parts(made, styles, scripts)
    text: str = template.render(
        **values,
        # the compiler's own text; everything from a job is escaped by the template or by the pen
        style=Markup(style),
        script=Markup(script),
        # the one script that the page lets run
        script_hash=b64encode(sha256(script.encode()).digest()).decode(),
    )
    # no text of a job may contain control characters or change the direction of writing
    return printable(text) + "\n"


def printable(text: str) -> str:
    """The text with the codes of characters that could steer a page instead of these."""
    return _CONTROLS.sub(lambda found: visible(found.group()), text)


def environment() -> Environment:
    """How the templates are compiled and rendered: whatever comes from a job is escaped."""
    from jinja2 import Environment, StrictUndefined

    made = Environment(autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True)
    made.filters["fixed"] = fixed
    return made


@lru_cache(maxsize=3)
def _parts(made: ModuleType, styles: tuple[str, ...], scripts: tuple[str, ...]) -> tuple[Template, str, str]:
    """The template, the style and the script of a page; read once a process."""
    from jinja2 import Template

    folder = resources(__package__)
    style, script = ("".join(folder.joinpath(name).read_text("utf-8") for name in names) for names in (styles, scripts))
    template = Template.from_module_dict(environment(), vars(made), {})
    return template, style, script
