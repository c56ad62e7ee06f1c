"""The keys of a project file."""

from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field

NonEmpty = Annotated[str, Field(min_length=1)]


class Settings(BaseModel):
    """The settings in flatwise.toml, or in the table tool.flatwise of pyproject.toml."""

    model_config = ConfigDict(extra="forbid", strict=True)

    standard: NonEmpty = ""
    standard_from: NonEmpty = ""
    out: NonEmpty = "out"
    strict: bool = False
