"""The built-in woods, and how far each figure can be trusted.

Source: *Wood Handbook*, USDA Forest Products Laboratory, FPL-GTR-190 (2010), tables 5-3 and 5-5, at 12 % moisture.
Marks: "read" in a text of the document, "second-hand" in a text that credits it, "memory" recalled and not confirmed.
Density is specific gravity × 1120 kg/m3 (mass at 12 % over volume at 12 %).  The cutting energy of 50 N/mm2 is an
estimate (solid wood at router chips 20 to 80, from memory); that of mdf is rounded from particleboard edge milling,
32.0 to 37.6 N/mm2 (Pałubicki, *Materials* 14:2208, 2021).  `hickory` has the lowest figures of the true hickories
(0.69 to 0.75, 13000 to 15600 MPa); pecan is a wood of its own.
"""

from __future__ import annotations

from functools import cache
from typing import NamedTuple

from flatwise.core.units import Quantity
from flatwise.model.shop import Wood

#: density at 12 % moisture over specific gravity (oven-dry mass, volume at 12 %), kg/m3
AT_TWELVE = 1120.0
CUTTING_ENERGY = 50.0


class Figures(NamedTuple):
    """Specific gravity and modulus of elasticity (MPa), each with its mark."""

    gravity: float
    gravity_mark: str
    modulus: float
    modulus_mark: str


FIGURES: dict[str, Figures] = {
    "white_oak": Figures(0.68, "second-hand", 12300, "second-hand"),
    "red_oak": Figures(0.63, "second-hand", 12500, "second-hand"),
    "white_ash": Figures(0.60, "second-hand", 12000, "second-hand"),
    "sugar_maple": Figures(0.63, "second-hand", 12600, "second-hand"),
    "red_maple": Figures(0.54, "second-hand", 11300, "second-hand"),
    "black_cherry": Figures(0.50, "second-hand", 10300, "second-hand"),
    "black_walnut": Figures(0.55, "second-hand", 11600, "second-hand"),
    "yellow_birch": Figures(0.62, "second-hand", 13900, "second-hand"),
    "american_beech": Figures(0.64, "second-hand", 11900, "second-hand"),
    "yellow_poplar": Figures(0.42, "second-hand", 10900, "second-hand"),
    "hickory": Figures(0.69, "second-hand", 13000, "second-hand"),
    "pecan": Figures(0.66, "second-hand", 11900, "memory"),
    "douglas_fir": Figures(0.48, "second-hand", 13400, "second-hand"),
    "white_pine": Figures(0.35, "second-hand", 8500, "second-hand"),
    "longleaf_pine": Figures(0.59, "second-hand", 13700, "second-hand"),
    "slash_pine": Figures(0.59, "read", 13700, "read"),
    "teak": Figures(0.55, "read", 10700, "read"),
}

#: other names in the trade
ALSO: dict[str, str] = {
    "ash": "white_ash",
    "maple": "sugar_maple",
    "cherry": "black_cherry",
    "walnut": "black_walnut",
    "birch": "yellow_birch",
    "beech": "american_beech",
    "poplar": "yellow_poplar",
}

NAMES: tuple[str, ...] = (*FIGURES, *ALSO, "mdf")


@cache
def built_in(name: str) -> Wood | None:
    """The built-in wood of this name, or None."""
    if name == "mdf":
        return _mdf()
    figures = FIGURES.get(ALSO.get(name, name))
    if figures is None:
        return None
    return Wood(
        density=Quantity(figures.gravity * AT_TWELVE, "kg/m3"),
        modulus=Quantity(figures.modulus, "MPa"),
        cutting_energy=Quantity(CUTTING_ENERGY, "N/mm2"),
    ).placed(name)


def _mdf() -> Wood:
    """Round figures of the trade (no source), equally stiff in both directions of the board.

    Its shear modulus is that of an isotropic material, E/(2·(1 + ν)) with ν = 0.25 (from memory).
    """
    return Wood(
        density=Quantity(750.0, "kg/m3"),
        modulus=Quantity(3000.0, "MPa"),
        cutting_energy=Quantity(35.0, "N/mm2"),
        modulus_across=Quantity(3000.0, "MPa"),
        shear_modulus=Quantity(1200.0, "MPa"),
    ).placed("mdf")
