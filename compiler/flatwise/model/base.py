"""What a class of the model is: named values with types, bounds, defaults and an explanation, frozen once made.

The classes are pydantic's, so that a block made in code (a test, an editor's feature, a tool of one's own) is held
to the same types and bounds as one from a job file.  Reading a file judges each value where it stands, with a
message for the person at the machine, and then makes the block with `model_construct`: nothing is judged twice,
and pydantic's validators are only built when somebody asks for them (`defer_build`), so that a start stays quick.
"""

from typing import Any, NamedTuple

from pydantic import BaseModel, ConfigDict
from pydantic.fields import FieldInfo


class Model(BaseModel):
    """Base of all classes of the model: keyword arguments in, frozen, equal when all values are equal."""

    model_config = ConfigDict(
        frozen=True, arbitrary_types_allowed=True, extra="forbid", defer_build=True, protected_namespaces=()
    )


class Said(NamedTuple):
    """What the model says of a word beside its type: see `flatwise.model.words.word`."""

    pattern: str = "{}"
    example: str = ""
    repeats: bool = False
    shown: str = ""


def said(info: FieldInfo) -> Said:
    """What was declared with `word` for a field."""
    extra: Any = info.json_schema_extra
    return Said(**extra) if isinstance(extra, dict) else Said()
