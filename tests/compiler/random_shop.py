"""A random shop for random jobs, as text: machine, cutter, holders and standard; and the sources of randomness."""

from __future__ import annotations

import random
import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Protocol, TypeVar

T = TypeVar("T")
WALL = Path(__file__).resolve().parents[2] / "shared"


class Chance(Protocol):
    """A source of random choices."""

    def pick(self, options: Sequence[T]) -> T: ...

    def between(self, least: float, most: float) -> float: ...


class Plain:
    """Random choices from a seed."""

    def __init__(self, seed: object) -> None:
        self._random = random.Random(str(seed))

    def pick(self, options: Sequence[T]) -> T:
        return self._random.choice(options)

    def between(self, least: float, most: float) -> float:
        return self._random.uniform(least, most)


@dataclass
class Written:
    """A job as text, with the point files that it names."""

    text: str
    files: dict[str, str]


@dataclass
class Draft:
    """A job in the making.  Lengths in mm, as they read back after rounding in their unit."""

    chance: Chance
    inch: bool
    files: dict[str, str] = field(default_factory=dict)
    length: float = 0.0
    width: float = 0.0
    thick: float = 0.0
    final: float = 0.0
    #: the machine's travel in X and Y
    travel: float = 1500.0

    def maybe(self, share: float) -> bool:
        return self.chance.between(0.0, 1.0) < share

    def mm(self, value: float, *, fine: bool = False) -> tuple[str, float]:
        """A length near `value` as a person would write it, and its exact value in mm."""
        form = self.chance.pick(("in", "in", "64", "thou") if self.inch else ("mm", "mm", "mm", "in"))
        if fine and form == "64":
            form = "in"
        if form == "mm":
            shown = f"{value:.2f}" if fine else f"{value:.1f}"
            return f"{shown}mm", float(shown)
        if form == "thou":
            return f"{value / 0.0254:.0f}thou", round(value / 0.0254) * 0.0254
        if form == "64":
            whole, part = divmod(max(1, round(value / 25.4 * 64)), 64)
            text = f"{whole}in" if not part else f"{whole} {part}/64in" if whole else f"{part}/64in"
            return text, (whole + part / 64) * 25.4
        shown = f"{value / 25.4:.4f}"
        return f"{shown}in", float(shown) * 25.4

    def said(self, value: float, *, fine: bool = False) -> str:
        return self.mm(value, fine=fine)[0]

    def point(self, u: float, v: float) -> str:
        """A place at shares of length and width, kept on the panel after rounding."""
        at = (f"{min(int(u * side * 10) / 10, side):.1f}mm" for u, side in ((u, self.length), (v, self.width)))
        return f"({', '.join(at)})" if 0 < u < 1 and 0 < v < 1 else f"({u * self.length!r}mm, {v * self.width!r}mm)"


def diameter_for(job: Draft) -> float:
    """A cutter diameter, mm, that suits the panel: with few enough rows for a quick plan."""
    least = max(6.0, min(job.length, job.width) / 14)
    between = job.chance.between
    return round(job.chance.pick((between(least, max(least, 30.0)), between(40.0, 100.0), 64.0)), 1)


def machine(job: Draft) -> str:
    pick, between = job.chance.pick, job.chance.between
    units = pick(("mm", "in"))
    controller = [
        f"units {units}",
        f"offset {pick(('G54', 'G55', 'G58', 'G59.1', 'G59.3'))}",
        f"dwell {pick(('seconds', 'milliseconds'))}",
        f"spin_up {pick((0, 2, 4.5, 30))}s",
        f"extraction {pick(('M7', 'M8', 'by hand'))}",
        f"ending {pick(('M2', 'M30', 'M02'))}",
    ]
    if job.maybe(0.5):
        controller.append(f"park {pick((0, 650.25, 1500))}mm, {pick((0, 12.7, 1500))}mm")
    if job.maybe(0.5):
        controller.append(f"top {pick((0, -0.5, 160, 12.7))}mm")
    if job.maybe(0.4):
        # a last digit of more than a tenth of depth, finish or tolerance is refused
        controller.append(f"decimals {pick((2, 3, 4, 5, 6) if units == 'mm' else (4, 3, 4, 5, 6))}")
    if job.maybe(0.3):
        controller.append(f"line {pick((40, 60, 80, 256))}")
    if job.maybe(0.3):
        controller.append("block_delete yes")
    words = [
        "travel 1500mm x 1500mm x 220mm",
        f"feed up to {pick((6, 8, 15))}m/min{pick(('', *(f', z up to {z}m/min' for z in (0.1, 2, 20))))}",
        f"spindle {pick(('1.5kW', '2.2kW', '3hp', '5kW'))}, {pick((3000, 6000))}rpm to {pick((18000, 24000))}rpm",
        f"collet {pick(('ER20', 'ER32', 'ER40', '3mm to 20mm'))}",
        f"nose {between(40, 80):.0f}mm",
        f"tram {pick(('0.01mm in 200mm', '0.02mm in 200mm', '0.0005in in 8in', '0mm in 1m'))}",
        f"controller {{ {'; '.join(controller)} }}",
    ]
    if job.maybe(0.7):
        words.append(f"rapid {pick((5, 12, 20))}m/min")
    if job.maybe(0.7):
        words.append(f"acceleration {pick((100, 500, 2000))}mm/s2")
    if job.maybe(0.6):
        words.append(f"bed flat within {pick((0, 0.05, 0.08, 0.2))}mm")
    if job.maybe(0.5):
        words.append(f"lift {pick((10, 30, 50))}mm")
    if job.maybe(0.4):
        words.append(f"hop {pick((0.5, 3, 12.7))}mm")
    if job.maybe(0.4):
        words.append(f"repeat {pick((0, 0.01, 0.05))}mm")
    if job.maybe(0.3):
        words.append(f"shoe {between(100, 180):.0f}mm across, {pick((3, 4, 8))}mm above edge")
    if job.maybe(0.3):
        words.append("opening 220mm")
    return f"machine router {{ {'; '.join(words)} }}"


def cutter(job: Draft, diameter: float) -> str:
    pick = job.chance.pick
    low = pick((0.01, 0.02, 0.04))
    words = [
        f"diameter {diameter}mm",
        f"wings {pick((1, 2, 3, 6))}",
        f"shank {pick((6, 8, 10, 12, 12.7))}mm",
        f"blade {job.chance.between(6, 15):.1f}mm",
        f"stick_out {job.chance.between(30, 60):.1f}mm",
        f"depth up to {pick((0.6, 0.8, 1.2, 3))}mm",
        f"speed {pick((4000, 6000, 8000))}rpm to {pick((12000, 16000, 18000))}rpm",
        f"chip_load {low}mm to {pick((0.2, 0.3, 0.4))}mm",
    ]
    if job.maybe(0.25):
        words.append(f"plunge {pick(('yes', 'no'))}")
    declared = f"{{ {'; '.join(words)} }}"
    if job.maybe(0.2):
        return f"cutter plain_fly {declared}\ncutter fly like plain_fly {{ wings {pick((2, 3, 4))} }}"
    return f"cutter fly {declared}"


def holders(job: Draft) -> str:
    between = job.chance.between
    short = min(job.length, job.width)
    tall = min(job.thick - 7.0, 25.0) if job.maybe(0.95) else job.thick
    across, foot = between(6, min(30, short / 4)), between(15, min(90, short / 3))
    height = between(min(5.0, tall / 2), tall)
    # near mid-thickness if the clamp is tall enough, so that it hardly bows the panel
    pushes = f"; pushes at {min(height, job.thick * between(0.4, 0.5)):.1f}mm" if job.maybe(0.8) else ""
    return (
        f"dog stop {{ across {across:.1f}mm; height {between(5.0, tall):.1f}mm }}\n"
        f"clamp cam {{ foot {foot:.1f}mm x {between(15, 60):.1f}mm; height {height:.1f}mm; "
        f"force {job.chance.pick(('120N', '250N', '450N', '120lbf'))}{pushes} }}"
    )


def standard(job: Draft) -> str:
    pick = job.chance.pick
    rules = {
        "depth at most": pick(("0.6mm", "0.8mm", "0.025in")),
        "leave at least": pick(("8mm", "1/2in")),
        "clearance at least": pick(("0mm", "2mm", "1/16in", "5mm")),
        "overrun at least": pick(("2mm", "4mm")),
        "rock at most": pick(("0.05mm", "2mm", "2mm", "2mm")),
        "ridge at most": pick(("0.03mm", "0.1mm")),
        "power at most": pick(("70%", "100%")),
        "uneven at most": pick(("3mm", "8mm")),
        "sag at most": pick(("0.2mm", "3mm", "5mm", "9mm")),
    }
    lines = [
        f"{rule} {value}" for rule, value in rules.items() if job.maybe(0.9 if rule[:3] in ("roc", "sag") else 0.5)
    ]
    if job.maybe(0.4):
        lines.append(f"unseen {pick(('0.2mm', '0.5mm', '0mm'))} per m")
    if job.maybe(0.3):
        lines.append("survey required")
    return f"standard house {{ {'; '.join(lines)} }}"


def from_the_wall(chance: Chance) -> tuple[str, dict[str, str]]:
    """The `use` lines of the repository's shared files, and the names there that replace those of a random shop.

    All their machines travel at least 1270 mm in X and Y.
    """
    found: dict[str, list[str]] = {}
    files = sorted(WALL.glob("*.flat"))
    for file in files:
        for kind, name in re.findall(
            r"^(machine|cutter|dog|clamp|shims|standard) +(\w+)", file.read_text("utf-8"), re.M
        ):
            found.setdefault(kind, []).append(name)
    own = {"machine": "router", "cutter": "fly", "dog": "stop", "clamp": "cam", "shims": "leaves", "standard": "house"}
    named = {f"{kind} {name}": f"{kind} {chance.pick(found[kind])}" for kind, name in own.items()}
    return "\n".join(f'use "../shared/{file.name}"' for file in files), named
