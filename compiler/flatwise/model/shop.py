"""The shop file: machines, cutters, holders, leaves and woods."""

from typing import Annotated, ClassVar, Literal

from pydantic import Field

from flatwise.core.units import Quantity
from flatwise.model.collets import ColletCode, ColletRange
from flatwise.model.words import (
    Acceleration,
    AscendingRange,
    CodeForm,
    CodeWord,
    Coordinate,
    Density,
    Depth,
    Dimension,
    Feed,
    Force,
    Length,
    ModelBlock,
    Phrase,
    Power,
    Pressure,
    QuotedText,
    Rotation,
    Size,
    Time,
    Whole,
    mm,
    word,
)


class Travel(Phrase):
    pattern: ClassVar[str] = "{x} x {y} x {z}"
    x: Size
    y: Size
    z: Size


class FeedLimits(Phrase):
    pattern: ClassVar[str] = "up to {most}[, z up to {down}]"
    most: Feed
    down: Feed | None = None


class Spindle(AscendingRange):
    pattern: ClassVar[str] = "{power}, {least} to {most}"
    power: Power
    least: Rotation
    most: Rotation


class Shoe(Phrase):
    pattern: ClassVar[str] = "{across} across, {above} above edge"
    across: Size
    above: Length


class Lean(Phrase):
    pattern: ClassVar[str] = "{out} in {over}"
    out: Length
    over: Size

    @property
    def tangent(self) -> float:
        """tan of the angle by which the spindle leans."""
        return float(self.out) / float(self.over)


class Park(Phrase):
    pattern: ClassVar[str] = "{x}, {y}"
    x: Coordinate
    y: Coordinate


class Rounded(Phrase):
    pattern: ClassVar[str] = "within {by}"
    by: Annotated[Quantity, Dimension("length"), Field(gt=0.0, le=5.0)]


class Controller(ModelBlock):
    """The units, codes and limits of the machine's controller."""

    kind: ClassVar[str] = "controller"

    units: Literal["mm", "in"] = word("The unit of the program: mm gives G21, in gives G20.", "mm", example="mm")
    offset: Annotated[CodeWord, CodeForm(r"G5[4-9]|G59\.[123]", "G54 to G59.3")] = word(
        "The work offset that the programs use.", CodeWord("G54"), example="G57"
    )
    decimals: Annotated[Whole, Field(ge=1, le=6)] | None = word(
        "The number of decimals of a coordinate.", None, shown="3, or 4 in inches", example="3"
    )
    dwell: Literal["seconds", "milliseconds"] = word(
        "The unit of P in a G4 dwell; the standard says seconds.", "seconds", example="seconds"
    )
    spin_up: Time = word(
        "The time that the spindle needs to reach its speed, and to stop before it parks.",
        Quantity(5.0, "s"),
        example="4s",
    )
    extraction: Annotated[CodeWord, CodeForm("M[78]", "M7 or M8")] | Literal["by hand"] = word(
        "The code that starts the dust collector, or `by hand`: the program then stops and asks for it.",
        "by hand",
        example="M8",
    )
    ending: Annotated[CodeWord, CodeForm("M(2|02|30)", "M2 or M30")] = word(
        "The code that ends a program.", CodeWord("M30"), example="M30"
    )
    corners: Literal["exact"] | Rounded = word(
        "How the machine takes the corners of a cut: `exact` gives G61; `within 1mm` gives G64 in the plane of a pass, "
        "where it may cut each corner by as much.",
        "exact",
        example="within 1mm",
    )
    park: Park | None = word(
        "Where the spindle goes after the last cut, in machine coordinates.",
        None,
        shown="stays where it is",
        example="0mm, 1300mm",
    )
    top: Coordinate | None = word(
        "Machine Z of the top of the travel; programs then start and end there.", None, shown="not used", example="0mm"
    )
    line: Annotated[Whole, Field(ge=40, le=100_000)] = word(
        "The maximum length of a line in characters; the standard says 256.", Whole(256), example="256"
    )
    block_delete: Literal["yes", "no"] = word(
        "Whether passes that cut only air by the forecast are marked with `/` for the machine's block delete switch; "
        "sheet and program say when it may be on.",
        "no",
        example="no",
    )

    @property
    def rounding(self) -> float:
        """How far the machine's path may be from the programmed one at a corner of a cut, mm."""
        return 0.0 if self.corners == "exact" else float(self.corners.by)

    @property
    def places(self) -> int:
        """Decimals of a coordinate."""
        if self.decimals is not None:
            return int(self.decimals)
        return 4 if self.units == "in" else 3

    @property
    def unit(self) -> float:
        """The unit of the program, mm."""
        return 25.4 if self.units == "in" else 1.0

    @property
    def digit(self) -> float:
        """One unit in the last decimal of a coordinate, mm."""
        return self.unit * 10.0**-self.places


class Machine(ModelBlock):
    """A CNC router: its reach, its speeds and its accuracy."""

    kind: ClassVar[str] = "machine"

    travel: Travel = word("How far the spindle travels in X, Y and Z.", example="1320mm x 1320mm x 160mm")
    feed: FeedLimits = word(
        "The maximum feed in a cut, and the speed at which Z goes down at feed; default for Z: a quarter of the feed.",
        example="up to 8m/min, z up to 2m/min",
    )
    rapid: Feed | None = word("The speed of rapid moves.", None, shown="the feed", example="12m/min")
    acceleration: Acceleration = word("The acceleration of the axes.", Quantity(250.0, "mm/s2"), example="500mm/s2")
    spindle: Spindle = word("The spindle's rated power and its speed range.", example="2.2kW, 8000rpm to 24000rpm")
    collet: ColletCode | ColletRange = word(
        "The collet, by its code or by the range of shanks that it grips.", example="ER20"
    )
    nose: Size = word("The diameter of the widest turning part above the cutter.", example="63mm")
    shoe: Shoe | None = word(
        "The dust shoe, if it rides with the spindle: its diameter, and its height above the cutting edge.",
        None,
        shown="none",
        example="140mm across, 4mm above edge",
    )
    tram: Lean = word(
        "How far the spindle leans from square, over a length.",
        Lean(out=mm(0.05), over=mm(200.0)),
        example="0.02mm in 200mm",
    )
    bed: Length = word("The flatness of the bed.", mm(0.1), pattern="flat within {}", example="flat within 0.08mm")
    lift: Size = word(
        "The minimum height of moves in the air above the highest obstacle on the bed.", mm(50.0), example="50mm"
    )
    hop: Size = word(
        "The minimum height of moves in the air within a pass, above wood and holders; rapids down end as high above "
        "the wood.",
        mm(3.0),
        example="3mm",
    )
    repeat: Length = word("How closely Z returns to a height.", mm(0.02), example="0.02mm")
    opening: Size | None = word(
        "The distance from the bed to the collet's face with Z at the top.",
        None,
        shown="the Z travel",
        example="160mm",
    )
    controller: Controller = word("The units, codes and limits of its controller.", Controller())

    @property
    def collet_height(self) -> float:
        """Bed to collet face with Z at the top, mm."""
        return float(self.opening if self.opening is not None else self.travel.z)

    @property
    def rapid_feed(self) -> float:
        """Speed of rapid moves, mm/min."""
        return float(self.rapid if self.rapid is not None else self.feed.most)

    @property
    def z_feed(self) -> float:
        """Speed of Z on its way down at feed, mm/min."""
        return float(self.feed.down) if self.feed.down is not None else float(self.feed.most) / 4.0


class SpeedRange(AscendingRange):
    pattern: ClassVar[str] = "{least} to {most}"
    least: Rotation
    most: Rotation


class ChipLoad(AscendingRange):
    pattern: ClassVar[str] = "{least} to {most} [from {source}]"
    least: Depth
    most: Depth
    source: QuotedText | None = None


class Cutter(ModelBlock):
    """A surfacing cutter as it hangs on the wall."""

    kind: ClassVar[str] = "cutter"

    diameter: Size = word("The diameter of the circle that the wings cut.", example="64mm")
    wings: Annotated[Whole, Field(ge=1, le=40)] = word("The number of wings that cut in one turn.", example="3")
    shank: Size = word("The diameter that the collet grips.", example="12mm")
    blade: Size = word("The height of the cutting edge.", example="9mm")
    stick_out: Size = word("The distance from the collet's face to the edge.", example="38mm")
    depth: Depth = word("The maximum depth of one pass.", pattern="up to {}", example="up to 1.2mm")
    speed: SpeedRange = word("The speed range marked on the tool.", example="10000rpm to 16000rpm")
    chip_load: ChipLoad = word(
        "The thickness of the chip that a wing may take, and the source of these figures.",
        example='0.10mm to 0.30mm from "chart in the cutter\'s leaflet"',
    )
    plunge: Literal["yes", "no"] = word("Whether it can go straight down into wood.", "no", example="no")
    corner: Length = word("The radius or chamfer at the corners of its wings.", Quantity(0.0, "mm"), example="0.5mm")


class Dog(ModelBlock):
    """A round stop that touches the edge of the panel."""

    kind: ClassVar[str] = "dog"

    across: Size = word("Its diameter.", example="19mm")
    height: Size = word("Its height above the bed.", example="11mm")


class Foot(Phrase):
    pattern: ClassVar[str] = "{along} x {outward}"
    along: Size
    outward: Size


class Clamp(ModelBlock):
    """A low clamp that pushes the panel sideways, toward the dogs."""

    kind: ClassVar[str] = "clamp"

    foot: Foot = word("The size of its foot: along the edge x outward from it.", example="70mm x 32mm")
    height: Size = word("Its height above the bed.", example="13mm")
    force: Force = word("The force of its push.", example="450N")
    pushes: Length | None = word(
        "The height above the bed at which it pushes.",
        None,
        pattern="at {}",
        shown="half its height",
        example="at 8mm",
    )

    @property
    def push_height(self) -> float:
        """mm above the bed."""
        return float(self.pushes) if self.pushes is not None else float(self.height) / 2.0


class Gauge(ModelBlock):
    """A dial gauge in the collet, for `flatwise measure`."""

    kind: ClassVar[str] = "gauge"

    reach: Size = word("The distance from the collet's face to the tip at rest.", example="60mm")
    travel: Size = word("How far the tip can be pressed in.", example="10mm")
    across: Size = word("The diameter of its widest part.", example="58mm")


class Leaf(Phrase):
    pattern: ClassVar[str] = "[{owned} x] {thickness}"
    owned: Annotated[Whole, Field(ge=1, le=100)] | None = None
    thickness: Annotated[Quantity, Dimension("length"), Field(gt=0.0, le=50.0)]


class Shims(ModelBlock):
    """A set of leaves to put under a panel."""

    kind: ClassVar[str] = "shims"

    count: Annotated[Whole, Field(ge=1, le=100)] | None = word(
        "How many leaves of each thickness there are.", None, shown="any number", example="4"
    )
    leaves: tuple[Leaf, ...] = word(
        "The thicknesses in the set; `2 x` says how many there are of one.", example="0.05mm, 2 x 0.10mm, 0.20mm"
    )
    stack: Annotated[Whole, Field(ge=1, le=6)] = word(
        "The maximum number of leaves in one stack.", Whole(3), pattern="up to {}", example="up to 3"
    )


class Wood(ModelBlock):
    """A wood: its density, its stiffness and its cutting energy."""

    kind: ClassVar[str] = "wood"

    density: Density = word("The density at the moisture that it has in the shop.", example="670kg/m3")
    modulus: Pressure = word("The modulus of elasticity along the grain.", example="12000MPa")
    cutting_energy: Pressure = word(
        "The work that turns a volume of it into chips; an estimate.", Quantity(50.0, "N/mm2"), example="45N/mm2"
    )
    modulus_across: Pressure | None = word(
        "The modulus of elasticity across the grain.", None, shown="modulus / 15", example="800MPa"
    )
    shear_modulus: Pressure | None = word("The shear modulus.", None, shown="modulus / 14", example="860MPa")

    @property
    def across(self) -> float:
        """Modulus of elasticity across the grain, MPa (E/15 unless given)."""
        return float(self.modulus_across) if self.modulus_across is not None else float(self.modulus) / 15.0

    @property
    def shear(self) -> float:
        """Shear modulus, MPa (E/14 unless given)."""
        return float(self.shear_modulus) if self.shear_modulus is not None else float(self.modulus) / 14.0
