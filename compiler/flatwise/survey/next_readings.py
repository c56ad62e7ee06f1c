"""Which readings by calipers and feelers would narrow the forecast most: each is tried at its forecast value."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal, NamedTuple

import numpy as np

from flatwise.core.surface import Array
from flatwise.core.units import NOWHERE, Quantity
from flatwise.model.job import ProbeFile, Reading, Survey
from flatwise.model.stages import Panel, Work
from flatwise.model.words import CORNERS, PLACES, Place, PointFileName
from flatwise.survey.estimate import bound_nodes, fitted_estimate
from flatwise.survey.faces import survey, unseen_sum
from flatwise.survey.forms import fit
from flatwise.survey.readings import SAME_PLACE, gap_points, thickness_points
from flatwise_grammar.nodes import Span

Word = Literal["thickness", "gap"]
WORDS: tuple[Word, ...] = ("thickness", "gap")
#: Readings are worth their time if they narrow the bounds by this much (mm).
WORTH = 0.001
#: stands for the name of a file that is not written yet
_WALK = Span("", 0, 1)


class NextReading(NamedTuple):
    """A reading at one of the nine places that the job does not have.

    `top` and `thickness` are the largest bounds of the top and of the thickness over the face, with this reading and
    those before it (mm).
    """

    word: Word
    place: str
    top: float
    thickness: float


def next_readings(work: Work, probed: Array | None = None) -> tuple[NextReading, ...]:
    """The readings that narrow the forecast, the best first; those that would not narrow it are left out.

    Thickness and gap each have an order in which every reading narrows its own fit most.  From there on, whichever of
    the two narrows the bounds of top and thickness most per reading comes next: one reading alone may narrow nothing
    where six decide a form.  `probed` (n, 3) are points of the top (mm) that will be measured as well.
    """
    block = work.job.survey or Survey()
    if probed is not None and len(probed):
        file = PointFileName("top.csv", _WALK)
        block = block.model_copy(update={"probe": (*block.probe, ProbeFile(file=file))})
        work = work._replace(points={**work.points, _WALK: probed})
    now = survey(_with(work, block))[0]
    orders = {word: _order(work, block, now, word) for word in WORDS}
    both = _by_rate(work, block, _bounds(now), orders)
    if len({each.word for each in both}) < 2:
        return both
    # gaps that came first may be worth nothing beside the thickness, or the other way round
    alone = [_by_rate(work, block, _bounds(now), {word: orders[word]}) for word in WORDS]
    return min((both, *filter(None, alone)), key=lambda way: (round(way[-1].top + way[-1].thickness, 3), len(way)))


def _by_rate(
    work: Work, block: Survey, bounds: tuple[float, float], orders: Mapping[Word, list[Reading]]
) -> tuple[NextReading, ...]:
    """The first readings of the order that narrows most per reading, again and again until nothing is narrowed."""
    rest, found = dict(orders), list[NextReading]()
    while True:
        tried = [_narrows(work, block, bounds, word, readings) for word, readings in rest.items() if readings]
        rate, word, after = max(tried, key=lambda one: one[0], default=(0.0, WORDS[0], []))
        if rate < WORTH:
            return tuple(found)
        taken, rest[word] = rest[word][: len(after)], rest[word][len(after) :]
        found += [NextReading(word, each.place.name, *given) for each, given in zip(taken, after, strict=True)]
        block, bounds = _added(block, word, taken), after[-1]


def _with(work: Work, block: Survey) -> Work:
    return work._replace(job=work.job.model_copy(update={"survey": block}))


def _added(block: Survey, word: Word, readings: list[Reading]) -> Survey:
    return block.model_copy(update={word: (*getattr(block, word), *readings)})


def _bounds(panel: Panel) -> tuple[float, float]:
    """The largest bound of the top and of the thickness (mm)."""
    return panel.bound_upper.highest, panel.bound_thickness.highest


def _narrows(
    work: Work, block: Survey, bounds: tuple[float, float], word: Word, readings: list[Reading]
) -> tuple[float, Word, list[tuple[float, float]]]:
    """(narrowed, word, after): the most that the first readings narrow per reading, and the bounds after each (mm)."""
    after = [
        _bounds(survey(_with(work, _added(block, word, readings[: count + 1])))[0]) for count in range(len(readings))
    ]
    rates = [(sum(bounds) - sum(each)) / count for count, each in enumerate(after, 1)]
    best = int(np.argmax(rates))
    return rates[best], word, after[: best + 1]


def _gaps(work: Work, block: Survey) -> Array:
    """(n, 3) gaps (mm): corners without one touch, as they do as soon as any gap is given."""
    if block.gap:
        return gap_points(work, block)
    return np.array([(PLACES[name][0] * work.length, PLACES[name][1] * work.width, 0.0) for name in CORNERS])


def _order(work: Work, block: Survey, panel: Panel, word: Word) -> list[Reading]:
    """Readings at their forecast value where none is given, each the one that narrows the fit through all most."""
    points = _gaps(work, block) if word == "gap" else thickness_points(work, block)[0]
    left = list[tuple[str, Array]]()
    for name in missing_places(work, block, word):
        x, y = PLACES[name][0] * work.length, PLACES[name][1] * work.width
        low, high = float(panel.lower.at(x, y)), float(panel.upper.at(x, y))
        if word == "thickness" or name not in CORNERS:
            left.append((name, np.array([[x, y, low if word == "gap" else high - low]])))
    ordered = []
    while left:
        tried = [_fit_bound(work, np.concatenate((points, point)), float(block.within)) for _, point in left]
        name, point = left.pop(int(np.argmin(tried)))
        points = np.concatenate((points, point))
        x, y, value = point[0].tolist()
        ordered.append(Reading(place=Place(name, x, y, NOWHERE), value=Quantity(value, "mm")))
    return ordered


def missing_places(work: Work, block: Survey, word: Word) -> list[str]:
    """The named places that have no reading; a gap at the centre is none, because no feeler reaches it."""
    given = gap_points(work, block) if word == "gap" else thickness_points(work, block)[0]
    missing = []
    for name, (across, up) in PLACES.items():
        at = (across * work.length, up * work.width)
        if not (np.abs(given[:, :2] - at) <= SAME_PLACE).all(axis=1).any() and (word, name) != ("gap", "centre"):
            missing.append(name)
    return missing


def _fit_bound(work: Work, points: Array, within: float) -> float:
    """The largest bound over the face of a form through points (mm), to the micrometre: a tie is the first one's."""
    fitted = fit(points, work.length, work.width, work.job.stock.grain)
    estimate = fitted_estimate(fitted, within, float(work.rules.unseen))
    largest = estimate.bound_on(bound_nodes(work.length), bound_nodes(work.width)).max()
    return round(float(largest) + unseen_sum(work, estimate.undecided), 3)
