"""What holds a panel, against statics by an outside solver and published friction."""

from __future__ import annotations

from collections.abc import Sequence
from math import cos, pi, sin

import numpy as np
import pytest
from compiler.shop import clamp, dog, holders
from compiler.works import work
from scipy.optimize import linprog

from flatwise.model.stages import Holder
from flatwise.plan.cutting import rim_speed, stall_push
from flatwise.plan.holding import FRICTION, friction, unopposed, weakness

L, W = 900.0, 500.0


def test_friction_is_the_low_end_of_what_is_published() -> None:
    # McMillin et al.: 0.10 to 0.25, oven-dry pine on steel; McKenzie and Karpovich, Wood Science and Technology
    # (1968): air-dry wood on unpolished steel about 0.65 at rest, 0.4 at 4 m/s (both read).  A margin uses the low end.
    assert min(0.10, 0.25, 0.65, 0.4) == FRICTION
    assert friction((clamp("right", 250.0, L, W, force=400.0),), 10.0) == pytest.approx(0.10 * (98.1 + 400.0))


def test_the_push_of_a_stall() -> None:
    # derived: rated power over rim speed; 2200 W at pi x 64 mm x 14000 rpm = 46.91 m/s gives 46.9 N
    assert rim_speed(64.0, 14_000.0) == pytest.approx(46.914, abs=1e-3)
    assert stall_push(work(), 14_000.0) == pytest.approx(2200.0 / 46.914, rel=1e-4)


#: what a load is called, by eighths of a turn from +x
WAYS = (
    "to the right", "to the right and back", "toward the back", "to the left and back",
    "to the left", "to the left and front", "toward the front", "to the right and front",
)  # fmt: skip


def stands(of: tuple[Holder, ...], mass: float, load: float, ways: Sequence[int] = range(8)) -> bool:
    """The same question put to a general linear program (scipy, HiGHS): is there an equilibrium for every load?

    Dogs push with any force >= 0, clamps with just their own, and friction (inscribed in its circle by 16 sides, with
    no moment) takes the rest; loads in 8 directions at 4 corners.
    """
    grip = friction(of, mass)
    dogs = [h for h in of if h.kind == "dog"]
    clamps = [h for h in of if h.kind == "clamp"]

    def at(h: Holder) -> tuple[float, float]:
        return {
            "left": (-L / 2, h.along - W / 2),
            "right": (L / 2, h.along - W / 2),
            "front": (h.along - L / 2, -W / 2),
            "back": (h.along - L / 2, W / 2),
        }[h.edge]

    def wrench(h: Holder) -> list[float]:
        (x, y), (px, py) = at(h), h.pushes
        return [px, py, x * py - y * px]

    sides = [(cos(2 * pi * k / 16), sin(2 * pi * k / 16)) for k in range(16)]
    columns = [wrench(h) for h in dogs] + [[grip * a, grip * b, 0.0] for a, b in sides]
    table = np.array(columns).T
    fixed = sum((np.array(wrench(h)) * h.force for h in clamps), np.zeros(3))
    # the weights of friction's corners add up to one at most
    cap = np.array([[0.0] * len(dogs) + [1.0] * 16])
    for k in ways:
        fx, fy = load * cos(k * pi / 4), load * sin(k * pi / 4)
        for x in (-L / 2, L / 2):
            for y in (-W / 2, W / 2):
                need = -(fixed + np.array([fx, fy, x * fy - y * fx]))
                found = linprog(np.zeros(len(columns)), A_ub=cap, b_ub=[1.0], A_eq=table, b_eq=need, method="highs")
                if found.status != 0:
                    return False
    return True


def test_the_sample_holds_the_stall() -> None:
    assert weakness(holders(L, W), L, W, 10.0, 48.0) is None
    assert stands(holders(L, W), 10.0, 48.0)


@pytest.mark.parametrize("seed", range(12))
def test_against_an_equilibrium_by_linear_programming(seed: int) -> None:
    rng = np.random.default_rng(seed)
    found: list[Holder] = [dog("left", float(y), L, W) for y in rng.uniform(20, W - 20, rng.integers(1, 3))]
    found += [dog("front", float(x), L, W) for x in rng.uniform(20, L - 20, rng.integers(1, 3))]
    found.append(clamp("right", float(rng.uniform(60, W - 60)), L, W, force=float(rng.uniform(100, 600))))
    found.append(clamp("back", float(rng.uniform(60, L - 60)), L, W, force=float(rng.uniform(100, 600))))
    held, mass = tuple(found), 10.0
    # the load at which the project's own judgement turns, and the solver's answer either side of it
    low, high = 0.0, 2000.0
    for _ in range(30):
        middle = (low + high) / 2
        low, high = (middle, high) if weakness(held, L, W, mass, middle) is None else (low, middle)
    if low > 1.0:
        # the solver's friction is a little smaller (16 sides inscribed, no moment), so it is asked at half the load
        assert stands(held, mass, 0.5 * low)
    # friction's own moment is what the solver leaves out: at most grip times a quarter of the shorter side
    spare = friction(held, mass) * min(L, W) / 4.0
    assert not stands(held, mass, high * 1.02 + spare / (min(L, W) / 2.0))


@pytest.mark.parametrize("seed", range(40))
def test_dogs_alone_without_friction_are_the_solvers_answer_itself(seed: int) -> None:
    rng = np.random.default_rng(seed)
    found: list[Holder] = []
    for edge, side, most in (("left", W, 3), ("right", W, 3), ("front", L, 3), ("back", L, 3)):
        count = rng.integers(seed % 5 != 0, most)
        found += [dog(edge, float(at), L, W) for at in rng.uniform(20, side - 20, count)]
    held = tuple(found)
    weak = weakness(held, L, W, 0.0, 100.0)
    assert (weak is None) == stands(held, 0.0, 100.0)
    if weak is not None:
        way = WAYS.index(weak.direction)
        assert not stands(held, 0.0, 100.0, [way])
        # it slides where an edge that it is pushed toward has no dog, else it turns
        there = {one.edge for one in held}
        bare = [edge for edge in ("right", "left", "back", "front") if edge in weak.direction and edge not in there]
        assert weak.turning == (not bare)


def test_a_panel_seen_in_a_mirror_is_held_as_well_and_fails_the_mirrored_way() -> None:
    mirror = {"left": "right", "right": "left", "front": "front", "back": "back"}
    turns = 0
    for seed in range(60):
        rng = np.random.default_rng(seed)
        spots = [(edge, float(rng.uniform(20, side - 20))) for edge, side in (("left", W), ("front", L), ("front", L))]
        held = [dog(edge, at, L, W) for edge, at in spots]
        seen = [dog(mirror[edge], at if edge == "left" else L - at, L, W) for edge, at in spots]
        for edge, side in (("right", W), ("back", L)):
            at, force = float(rng.uniform(60, side - 60)), float(rng.uniform(200, 900))
            held.append(clamp(edge, at, L, W, force=force))
            seen.append(clamp(mirror[edge], at if edge == "right" else L - at, L, W, force=force))
        load = float(rng.uniform(20, 120))
        weak, other = weakness(held, L, W, 10.0, load), weakness(seen, L, W, 10.0, load)
        assert (weak is None) == (other is None)
        if weak is not None and other is not None:
            turns += weak.turning
            words = [mirror.get(word, word) for word in weak.direction.split()]
            assert other.direction == " ".join(words) and other.turning == weak.turning
            assert (other.needs, other.has) == (pytest.approx(weak.needs), pytest.approx(weak.has))
    assert turns >= 10


def test_a_clamp_without_a_dog_opposite() -> None:
    lone = clamp("back", 300.0, L, W)
    assert unopposed((dog("left", 100.0, L, W), lone)) == (lone,)
    assert unopposed(holders(L, W)) == ()


def test_directions_and_what_stands_there() -> None:
    weak = weakness((dog("left", 250.0, L, W), dog("front", 450.0, L, W)), L, W, 10.0, 60.0)
    assert weak is not None and not weak.turning
    assert weak.direction == "to the right"
    assert weak.has == pytest.approx(0.10 * 98.1)
