"""Every kind of declaration, in the order in which a newcomer meets them, and the words of their headers."""

from __future__ import annotations

from functools import cache
from typing import Any, get_args

from flatwise.model.batch import BATCH
from flatwise.model.job import Job
from flatwise.model.shop import Clamp, Cutter, Dog, Gauge, Machine, Shims, Wood
from flatwise.model.standard import Standard
from flatwise.model.words import ModelBlock, Phrase, PointFileName

#: A recipe is read as the job that it will be.
KINDS: dict[str, type[ModelBlock]] = {
    "job": Job,
    "recipe": Job,
    "batch": BATCH,
    "machine": Machine,
    "cutter": Cutter,
    "dog": Dog,
    "clamp": Clamp,
    "gauge": Gauge,
    "shims": Shims,
    "wood": Wood,
    "standard": Standard,
}

#: `cutter dull_fly like fly_64`, `job hall_bench from glued_top`
LIKE, FROM = "like", "from"
#: the line of a recipe that names its parameters
TAKES = "takes"
#: characters of a job's or batch's name: every system takes so many for a folder, additions of temporary names included
LONGEST_NAME = 200
#: no names for a parameter: these words stand between the values of a phrase
JOINING_WORDS = ("x", "y", "in", "to", "at", LIKE)


@cache
def all_blocks(of: tuple[type[ModelBlock], ...] = tuple(KINDS.values())) -> tuple[type[ModelBlock], ...]:
    """The class of every declaration, or of some, and of every block inside one, each once."""
    found: dict[type[ModelBlock], None] = {}
    waiting = list(of)
    while waiting:
        made = waiting.pop(0)
        if made not in found:
            found[made] = None
            waiting.extend(made.blocks().values())
    return tuple(found)


@cache
def point_file_words() -> frozenset[str]:
    """The words whose lines may name a file of points."""
    fields = (item for made in all_blocks() for item in made.model_fields.items())
    return frozenset(word for word, info in fields if _has_point_file(info.annotation))


def _has_point_file(annotation: Any) -> bool:
    if isinstance(annotation, type) and issubclass(annotation, Phrase):
        return any(info.annotation is PointFileName for info in annotation.model_fields.values())
    return any(_has_point_file(part) for part in get_args(annotation))
