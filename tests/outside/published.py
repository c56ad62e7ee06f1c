"""Tables as published, typed once, each figure with how far it can be trusted.

"read": read in a text of the document; "second-hand": read in a text that credits it; "memory": recalled, to be
confirmed before anything rests on it alone.
"""

from __future__ import annotations

from typing import NamedTuple

#: the marks, the most trusted first
MARKS = ("read", "second-hand", "memory")
READ, SECOND_HAND, MEMORY = MARKS


class WoodFigures(NamedTuple):
    """Specific gravity (mass at 12 % moisture content over volume at 12 %, ÷ 1.12) and modulus of elasticity, MPa."""

    gravity: float
    gravity_mark: str
    modulus: float
    modulus_mark: str


# Wood Handbook, USDA Forest Products Laboratory, FPL-GTR-190 (2010): table 5-3 at 12 % moisture content;
# teak from table 5-5, whose gravity is of green wood
WOODS = {
    "white oak": WoodFigures(0.68, SECOND_HAND, 12300, SECOND_HAND),
    "northern red oak": WoodFigures(0.63, SECOND_HAND, 12500, SECOND_HAND),
    "white ash": WoodFigures(0.60, SECOND_HAND, 12000, SECOND_HAND),
    "sugar maple": WoodFigures(0.63, SECOND_HAND, 12600, SECOND_HAND),
    "red maple": WoodFigures(0.54, SECOND_HAND, 11300, SECOND_HAND),
    "black cherry": WoodFigures(0.50, SECOND_HAND, 10300, SECOND_HAND),
    "black walnut": WoodFigures(0.55, SECOND_HAND, 11600, SECOND_HAND),
    "yellow birch": WoodFigures(0.62, SECOND_HAND, 13900, SECOND_HAND),
    "American beech": WoodFigures(0.64, SECOND_HAND, 11900, SECOND_HAND),
    "yellow-poplar": WoodFigures(0.42, SECOND_HAND, 10900, SECOND_HAND),
    "true hickories, lowest": WoodFigures(0.69, SECOND_HAND, 13000, SECOND_HAND),
    "pecan hickory": WoodFigures(0.66, SECOND_HAND, 11900, MEMORY),
    "Douglas-fir, coast": WoodFigures(0.48, SECOND_HAND, 13400, SECOND_HAND),
    "eastern white pine": WoodFigures(0.35, SECOND_HAND, 8500, SECOND_HAND),
    "longleaf pine": WoodFigures(0.59, SECOND_HAND, 13700, SECOND_HAND),
    "slash pine": WoodFigures(0.59, READ, 13700, READ),
    "teak": WoodFigures(0.55, READ, 10700, READ),
}

# Coefficients of friction of wood: the lowest and the highest of each, and their mark.
FRICTION = {
    # at rest, and at 4 m/s: McKenzie and Karpovich, Wood Science and Technology (1968)
    "air-dry wood on unpolished steel": (0.4, 0.65, READ),
    # McMillin et al.
    "oven-dry pine on steel": (0.10, 0.25, READ),
    # sliding, and at rest
    "pine on pine": (0.08, 0.12, SECOND_HAND),
}

# DIN 6499 / ISO 15488, second-hand; some lists differ at the small end.  Shanks in mm.
COLLETS = {"ER11": (0.5, 7), "ER16": (0.5, 10), "ER20": (1, 13), "ER25": (1, 16), "ER32": (2, 20), "ER40": (3, 26)}
