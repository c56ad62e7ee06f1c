"""The shop file's standards: the shop's rules."""

from typing import ClassVar, Literal

from flatwise.model.words import Depth, Length, ModelBlock, Share, Size, word


class Standard(ModelBlock):
    """A shop's rules.  A job that breaks one does not compile, unless it waives the rule and says why."""

    kind: ClassVar[str] = "standard"

    depth: Depth | None = word(
        "The maximum depth of a pass.", None, pattern="at most {}", shown="the cutter's", example="at most 0.6mm"
    )
    leave: Size | None = word(
        "The minimum thickness that must remain.",
        None,
        pattern="at least {}",
        shown="no rule",
        example="at least 15mm",
    )
    clearance: Length | None = word(
        "The minimum distance from the cutter to a clamp or dog, over it or beside it.",
        None,
        pattern="at least {}",
        shown="2mm",
        example="at least 2mm",
    )
    overrun: Length | None = word(
        "The minimum distance that the cutter goes past each edge.",
        None,
        pattern="at least {}",
        shown="no rule",
        example="at least 4mm",
    )
    rock: Length | None = word(
        "How far a corner may move when it is pressed.",
        None,
        pattern="at most {}",
        shown="0.05mm",
        example="at most 0.05mm",
    )
    ridge: Length | None = word(
        "The maximum step between rows.", None, pattern="at most {}", shown="no rule", example="at most 0.03mm"
    )
    power: Share | None = word(
        "The maximum share of the spindle's power.", None, pattern="at most {}", shown="100%", example="at most 70%"
    )
    uneven: Length | None = word(
        "The maximum difference between what the two faces lose.",
        None,
        pattern="at most {}",
        shown="no rule",
        example="at most 3mm",
    )
    sag: Length | None = word(
        "How far the panel may bend under the cutter or a clamp.",
        None,
        pattern="at most {}",
        shown="0.2mm",
        example="at most 0.2mm",
    )
    unseen: Length | None = word(
        "The uncertainty of a shape that no reading shows, for each metre of side.",
        None,
        pattern="{} per m",
        shown="0.5mm per m",
        example="0.5mm per m",
    )
    survey: Literal["required"] | None = word(
        "Whether a job must have readings.", None, shown="not required", example="required"
    )
