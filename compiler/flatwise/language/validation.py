"""Values put into the model's classes: what pydantic refuses becomes a finding at the value's place."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, TypeVar

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from flatwise.core.finding import Finding
from flatwise.findings import fw107_out_of_bounds
from flatwise.model.words import Model

M = TypeVar("M", bound=Model)


def validated(made: type[M], values: Mapping[str, Any]) -> tuple[M, list[ErrorDetails]]:
    """An instance of a class of the model, and pydantic's errors.

    Refused values are left out of the instance, and what is then missing is None, so that the rest can be checked.
    """
    try:
        return made(**values), []
    except ValidationError as error:
        errors = error.errors(include_url=False)
    refused = {name for each in errors for name in each["loc"][:1]}
    required = {name: None for name, info in made.model_fields.items() if info.is_required()}
    accepted = {name: value for name, value in values.items() if name not in refused}
    return made.model_construct(**{**required, **accepted}), errors


def refusal(error: ErrorDetails, label: str) -> Finding | None:
    """The finding for one of pydantic's errors; `label` is how a message speaks of the line.

    None for an error of a kind that says nothing of its own: of several alternatives, each reports one.
    """
    value, context = error["input"], error.get("ctx", {})
    match error["type"]:
        case "greater_than" | "greater_than_equal" | "less_than" | "less_than_equal" as relation:
            (limit,) = context.values()
            return fw107_out_of_bounds.bound(value, label, relation, limit)
        case "code_form":
            return fw107_out_of_bounds.code(value, label, context["spoken"])
        case "backwards":
            return fw107_out_of_bounds.backwards(value["least"], value["most"], label)
    return None
