"""Everything that hangs on the shop's wall works in a job, in both systems of units."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from math import pi
from pathlib import Path

import pytest
from hypothesis_profile import NIGHTLY

from flatwise.language.block_reader import FindingSink
from flatwise.language.link import link
from flatwise.language.read import _model
from flatwise.model.shop import Clamp, Cutter, Dog, Shims
from flatwise.sources.load import load

Compile = Callable[[str], tuple[set[str], set[str]]]
SHARED = Path(__file__).resolve().parents[3] / "shared"
USES = "".join(f'use "../shared/{path.name}"\n' for path in sorted(SHARED.glob("*.flat")))
#: coarse leaves leave more open than a top may rock
USES += "standard easy like solid_tops { rock at most 0.3mm }\n"
USED = {
    "cutter": "cut {{ cutter {0}; speed auto; depth 0.3mm; finish 0.1mm; stepover 40% }}",
    "dog": "hold {{ dog {0} left at 25%, 75%; dog {0} front at 15%, 85% }}",
    "clamp": "hold {{ clamp {0} right at 30%, 70%; clamp {0} back at 15%, 50%, 85% }}",
    "shims": "standard easy; supports {{ shims {0} under corners, front, back, left, right }}",
    "standard": "standard {0}; cut {{ depth 0.3mm; finish 0.1mm }}; "
    "faces {{ first balanced; second to 30.3mm +/- 0.5mm }}",
}


def declared() -> Iterator[tuple[str, str]]:
    linked, _ = link(load([SHARED])[0])
    for each in linked.declarations:
        if each.kind in USED:
            yield each.kind, each.name


@pytest.mark.parametrize(("kind", "name"), list(declared())[:: 1 if NIGHTLY else 3])
def test_it_can_be_used(kind: str, name: str, codes_of: Compile) -> None:
    inch = "inch" in name
    machine = "machine long_router; zero { corner front_left at 5in, 5in }; " if inch and kind == "cutter" else ""
    errors, _ = codes_of(f"{USES}job demo from plain_top {{ {machine}{USED[kind].format(name)} }}")
    assert errors == set()


def test_figures_of_both_systems_are_there_and_sane() -> None:
    """Small and large, two and three wings, with and without plunge; rims at or below 60 m/s.

    60 m/s at the rim is common practice for brazed and clamped blades, no source; the tool's own mark counts.
    """
    linked, findings = link(load([SHARED])[0])
    assert not findings
    sink = FindingSink()
    models = [
        _model(linked, each, sink) for each in linked.declarations if each.kind in ("cutter", "dog", "clamp", "shims")
    ]
    assert not sink.found
    cutters = [model for model in models if isinstance(model, Cutter)]
    for unit in ("mm", "in"):
        mine = [cutter for cutter in cutters if cutter.diameter.unit == unit]
        assert {int(cutter.wings) for cutter in mine} == {2, 3} and {cutter.plunge for cutter in mine} == {"yes", "no"}
        assert min(cutter.diameter for cutter in mine) < 33 and max(cutter.diameter for cutter in mine) > 76
        for kind, field in ((Dog, "height"), (Clamp, "height")):
            assert sum(isinstance(model, kind) and getattr(model, field).unit == unit for model in models) >= 2
        assert sum(isinstance(model, Shims) and model.leaves[0].thickness.unit == unit for model in models) >= 2
    assert all(pi * cutter.diameter * cutter.speed.most / 60_000 <= 60.0 for cutter in cutters)
