"""Every kind of declaration, in the order in which a newcomer meets them."""

from __future__ import annotations

from flatwise.model.job import Job
from flatwise.model.shop import Clamp, Cutter, Dog, Machine, Shims, Standard, Wood
from flatwise.model.words import ModelBlock

#: A recipe is read as the job that it will be.
KINDS: dict[str, type[ModelBlock]] = {
    "job": Job,
    "recipe": Job,
    "machine": Machine,
    "cutter": Cutter,
    "dog": Dog,
    "clamp": Clamp,
    "shims": Shims,
    "wood": Wood,
    "standard": Standard,
}
