"""Collets: which shanks they grip."""

from typing import Annotated, ClassVar

from flatwise.model.words import AscendingRange, CodeForm, CodeWord, Phrase, Size

#: Clamping ranges in mm: DIN 6499 / ISO 15488 (second-hand; lists differ at the small end).
COLLETS: dict[str, tuple[float, float]] = {
    "ER11": (0.5, 7.0),
    "ER16": (0.5, 10.0),
    "ER20": (1.0, 13.0),
    "ER25": (1.0, 16.0),
    "ER32": (2.0, 20.0),
    "ER40": (3.0, 26.0),
}


class ColletCode(Phrase):
    pattern: ClassVar[str] = "{code}"
    code: Annotated[CodeWord, CodeForm("ER(11|16|20|25|32|40)", "ER11, ER16, ER20, ER25, ER32 or ER40")]

    @property
    def range(self) -> tuple[float, float]:
        """The smallest and the largest shank that it grips, mm."""
        return COLLETS[self.code]


class ColletRange(AscendingRange):
    pattern: ClassVar[str] = "{least} to {most}"
    least: Size
    most: Size

    @property
    def range(self) -> tuple[float, float]:
        """The smallest and the largest shank that it grips, mm."""
        return (float(self.least), float(self.most))
