"""The rules that hold for a job: those of its standard and of its project, and the defaults for the rest."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, NamedTuple

from flatwise.model.standard import Standard
from flatwise_grammar.nodes import Span


class Rules(NamedTuple):
    """The limits that hold for a job: its standard's, or the defaults where the standard has none.

    Lengths in mm, power as a share of the spindle's rated power, unseen in mm per mm of side; None: no rule.
    """

    depth: float | None = None
    leave: float | None = None
    clearance: float = 2.0
    overrun: float | None = None
    rock: float = 0.05
    ridge: float | None = None
    power: float = 1.0
    uneven: float | None = None
    sag: float = 0.2
    unseen: float = 0.0005
    survey: bool = False
    #: the name of the standard ("" where the job has none), and where each rule is written
    standard: str = ""
    spans: Mapping[str, Span] = {}
    #: the standard that the project requires, if it is not the job's own, and the rules in which it is stricter
    required: str = ""
    from_required: frozenset[str] = frozenset()

    def of(self, rule: str) -> str:
        """The name of the standard that sets a rule."""
        return self.required if rule in self.from_required else self.standard


#: rules in which the greater value is the stricter; in all others it is the smaller
_AT_LEAST = ("leave", "clearance", "overrun", "unseen", "survey")


def bounded(own: Rules, required: Rules) -> Rules:
    """A job's own rules, each replaced by the project's where that is stricter; the project's defaults ask nothing."""
    stricter: dict[str, Any] = {}
    for rule in required.spans:
        mine, theirs = getattr(own, rule), getattr(required, rule)
        if mine is None or (theirs > mine if rule in _AT_LEAST else theirs < mine):
            stricter[rule] = theirs
    spans = {**own.spans, **{rule: required.spans[rule] for rule in stricter}}
    return own._replace(**stricter, spans=spans, required=required.standard, from_required=frozenset(stricter))


def rules_of(standard: Standard | None) -> Rules:
    """The limits of a standard, with the defaults for the rules that it leaves out."""
    if standard is None:
        return Rules()
    values: dict[str, Any] = {}
    spans: dict[str, Span] = {}
    for rule in Standard.model_fields:
        value = getattr(standard, rule)
        if value is None:
            continue
        spans[rule] = standard.span(rule)
        if rule == "survey":
            values[rule] = True
        else:
            # `unseen` is given per metre of side
            values[rule] = float(value) / 1000.0 if rule == "unseen" else float(value)
    return Rules(**values, standard=standard.name, spans=spans)
