"""Random batches of two to six jobs, as texts that use `shared/shop.flat`."""

from __future__ import annotations

import random

#: the machine of all jobs of a batch: exact, with rounded corners, in inches
CONTROLLERS = ("units mm", "corners within 0.6mm", "units in; decimals 4")


def write_batch(seed: int) -> str:
    """A job file with a batch: panels of several sizes and woods, laid out or each at a corner of its own."""
    rng = random.Random(seed)
    count = rng.randint(2, 6)
    laid = rng.random() < 0.75
    paper = rng.choice(["", " by paper 0.05mm"])
    jobs, x, y, deepest = [], 130, 130, 0
    for number in range(count):
        length, width = rng.randrange(180, 520, 5), rng.randrange(150, 420, 5)
        thick = rng.choice([20, 22, 22, 24, 27])
        if x + length > 1200:
            x, y, deepest = 130, y + deepest + rng.randint(90, 220), 0
        place = f"corner front_left at {x}mm, {y}mm; " if not laid or rng.random() < 0.2 else ""
        x, deepest = x + length + rng.randint(90, 220), max(deepest, width)
        jobs.append(_job(rng, number, length, width, thick, f"{place}z bed{paper}"))
    corner = rng.choice(["front_left", "front_left", "back_right", "front_right", "back_left"])
    at = f"{80 if corner.endswith('left') else 1240}mm, {80 if corner.startswith('front') else 1240}mm"
    lines = f"; gap {rng.choice([0, 20, 40, 80])}mm; from {corner} at {at}" if laid else ""
    names = ", ".join(f"panel_{number}" for number in range(count))
    machine = f"machine own_router like bench_router {{ controller {{ {rng.choice(CONTROLLERS)} }} }}"
    return "\n".join(['use "../shared/shop.flat"', machine, *jobs, f"batch random_bed {{ jobs {names}{lines} }}\n"])


def _job(rng: random.Random, number: int, length: int, width: int, thick: int, zero: str) -> str:
    places = ("front_left", "front", "front_right", "left", "centre", "right", "back_left", "back", "back_right")
    readings = ", ".join(f"{place} {thick + rng.uniform(0.0, 0.3):.2f}mm" for place in places)
    gaps = ", ".join(f"{place} {rng.choice([0, 0, 0.05])}mm" for place in ("front", "back", "left", "right"))
    rows = rng.choice(["along grain", "across grain", "along grain, one_way climb", "along grain, edge first"])
    second = f"second to {thick - 3}mm +/- 0.5mm; flip over {rng.choice(['long', 'short'])}_edge"
    second *= rng.random() < 0.8
    wood, grain = rng.choice(["ash", "cherry", "white_oak"]), rng.choice("xy")
    first = rng.choice(["until clean", "take 0.9mm"])
    leaves = "supports { shims leaf_set under corners, front, back, left, right, centre }" * (rng.random() < 0.5)
    return f"""job panel_{number} {{
    machine own_router
    standard solid_tops
    stock {{ size {length}mm x {width}mm x {thick}mm; wood {wood}; grain along {grain} }}
    survey {{ thickness {readings}; gap {gaps}; twist 0mm; cup 0mm crown; bow 0mm crown; within 0.05mm }}
    {leaves}
    hold {{
        dog low_dog left at 20%, 80%
        dog low_dog front at 20%, 80%
        clamp side_cam right at {rng.randint(40, 60)}%
        clamp side_cam back at {rng.randint(40, 60)}%
    }}
    zero {{ {zero} }}
    cut {{ cutter fly_64; rows {rows}; finish 0.2mm }}
    faces {{ first {first}; {second} }}
}}
"""
