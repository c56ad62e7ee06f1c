"""One panel: what it is, how it lies, what holds it, what cuts it and what must be left."""

from collections.abc import Mapping
from typing import Annotated, Any, ClassVar, Literal

from pydantic import Field

from flatwise.core.units import Quantity
from flatwise.model.words import (
    AlongEdge,
    Coordinate,
    DeclaredName,
    Depth,
    Dimension,
    Feed,
    Length,
    ModelBlock,
    Phrase,
    Place,
    PointFileName,
    QuotedText,
    Refers,
    Rotation,
    Size,
    Whole,
    mm,
    word,
)
from flatwise_grammar.nodes import Span

Edge = Literal["left", "right", "front", "back"]

#: uncertainty of a reading where the job gives none
WITHIN = mm(0.1)
#: the name of a stock that is the machine's spoilboard, and what it is made of unless the job says
BED = "bed"
BED_WOOD = "mdf"


class PanelSize(Phrase):
    pattern: ClassVar[str] = "{length} x {width} x {thickness}"
    length: Size
    width: Size
    thickness: Size


class GlueLines(Phrase):
    pattern: ClassVar[str] = "{axis} {at}"
    axis: Literal["x", "y"]
    at: tuple[Coordinate, ...]


class Stock(ModelBlock):
    """The panel, already cut to its finished outline; `stock bed` is the machine's own spoilboard."""

    kind: ClassVar[str] = "stock"
    names: ClassVar[tuple[str, ...]] = (BED,)

    size: PanelSize = word("The length, the width and the nominal thickness.", example="1120mm x 610mm x 31.5mm")
    wood: Annotated[DeclaredName, Refers("wood")] = word("The wood.", example="ash")
    grain: Literal["x", "y"] = word("The axis along which the grain runs.", pattern="along {}", example="along x")
    glue_lines: GlueLines | None = word("Where the boards meet.", None, shown="none given", example="y 122mm, 244mm")

    @classmethod
    def implied(cls, name: str, head: Span, values: Mapping[str, Any]) -> dict[str, Any]:
        return {"wood": DeclaredName(BED_WOOD, head)} if name == BED else {}

    @property
    def is_bed(self) -> bool:
        """Whether this is the spoilboard (`stock bed`)."""
        return self.name == BED


class Reading(Phrase):
    pattern: ClassVar[str] = "{place} {value}"
    place: Place
    value: Annotated[Quantity, Dimension("length"), Field(ge=-1_000.0, le=1_000.0)]


class ReadingFile(Phrase):
    pattern: ClassVar[str] = "{file}"
    file: PointFileName


class Step(Phrase):
    pattern: ClassVar[str] = "[{face}] {height} [{way}] at {axis} {line} [{way}]"
    face: Literal["under", "through"] | None = None
    height: Length
    way: Literal["lower"] | None = None
    axis: Literal["x", "y"]
    line: Coordinate

    @property
    def rise(self) -> float:
        """mm by which the boards beyond the line stand higher (negative: lower)."""
        return -float(self.height) if self.way else float(self.height)


class ProbeFile(Phrase):
    pattern: ClassVar[str] = "[{face}] {file}"
    face: Literal["under"] | None = None
    file: PointFileName


class Arch(Phrase):
    pattern: ClassVar[str] = "{height} {way}"
    height: Length
    way: Literal["hollow", "crown"]

    @property
    def rise(self) -> float:
        """mm by which the middle stands above the edges (hollow: negative)."""
        return -float(self.height) if self.way == "hollow" else float(self.height)


class Twist(Phrase):
    pattern: ClassVar[str] = "{height} [{way}]"
    height: Length
    way: Literal["other way"] | None = None


class WalkGrid(Phrase):
    pattern: ClassVar[str] = "{gauge} [at {nx} x {ny}]"
    gauge: Annotated[DeclaredName, Refers("gauge")]
    nx: Annotated[Whole, Field(ge=2, le=50)] = Whole(5)
    ny: Annotated[Whole, Field(ge=2, le=50)] = Whole(3)


class Survey(ModelBlock):
    """Readings of the panel as it lies free on the bed: calipers, feeler gauges, a rule or a probe."""

    kind: ClassVar[str] = "survey"

    thickness: tuple[Reading | ReadingFile, ...] = word(
        "The thickness at places, by calipers, or a file of x,y,t.",
        listed=True,
        example="front_left 31.6mm, centre 31.2mm",
    )
    gap: tuple[Reading, ...] = word(
        "The gap that a feeler gauge finds under the edge of the free panel; corners not listed touch the bed.",
        listed=True,
        example="back_right 0.42mm, back 0.16mm",
    )
    step: tuple[Step, ...] = word(
        "A step at a glue line: the boards beyond it stand higher (or `lower`), on the top face, `under` or `through`.",
        repeats=True,
        example="0.30mm at y 244mm",
    )
    probe: tuple[ProbeFile, ...] = word(
        "A file headed `x mm,y mm,z mm` (or `in`): heights of the top, or of the lower face turned up (`under`).",
        repeats=True,
        example='"top.csv"',
    )
    cup: Arch | None = word(
        "Across the grain: the height of the middle above the edges.", None, shown="none", example="0.8mm hollow"
    )
    bow: Arch | None = word(
        "Along the grain: the height of the middle above the ends.", None, shown="none", example="1mm crown"
    )
    twist: Twist | None = word(
        "The gap under one corner while the other three touch.", None, shown="none", example="0.6mm"
    )
    walk: WalkGrid | None = word(
        "The gauge and the grid of points, along x and along y, that `flatwise measure` visits; 5 x 3 unless given.",
        None,
        shown="no walk",
        example="dial_10 at 5 x 3",
    )
    within: Length = word("The uncertainty of every reading.", WITHIN, example="0.05mm")


class ShimPlaces(Phrase):
    pattern: ClassVar[str] = "{set} under {places}"
    set: Annotated[DeclaredName, Refers("shims")]
    places: tuple[Place, ...]


class SetShim(Phrase):
    pattern: ClassVar[str] = "{height} under {place}"
    height: Annotated[Quantity, Dimension("length"), Field(gt=0.0, le=100.0)]
    place: Place


class Supports(ModelBlock):
    """Leaves and shims between the panel and the bed."""

    kind: ClassVar[str] = "supports"

    shims: tuple[ShimPlaces, ...] = word(
        "Places where the compiler may put leaves of a set.", repeats=True, example="leaf_set under corners, centre"
    )
    shim: tuple[SetShim, ...] = word("A shim set by hand.", repeats=True, example="0.40mm under back_right")
    aim: Literal["enough", "least_removal", "natural"] = word(
        "What the leaves are for: `enough` is the fewest that do, `least_removal` loses the least wood, `natural` only "
        "stops the rock.",
        "enough",
        example="least_removal",
    )


class HeldDog(Phrase):
    pattern: ClassVar[str] = "{kind} {edge} at {at}"
    kind: Annotated[DeclaredName, Refers("dog")]
    edge: Edge
    at: tuple[AlongEdge, ...]


class HeldClamp(Phrase):
    pattern: ClassVar[str] = "{kind} {edge} at {at}"
    kind: Annotated[DeclaredName, Refers("clamp")]
    edge: Edge
    at: tuple[AlongEdge, ...]


class Hold(ModelBlock):
    """Dogs and clamps that hold the panel, in the same places for both faces."""

    kind: ClassVar[str] = "hold"

    dog: tuple[HeldDog, ...] = word(
        "Dogs that touch an edge, measured from its left or front end.",
        repeats=True,
        example="low_dog left at 25%, 75%",
    )
    clamp: tuple[HeldClamp, ...] = word("Clamps that push on an edge.", repeats=True, example="side_cam right at 50%")


class Corner(Phrase):
    pattern: ClassVar[str] = "{corner} at {x}, {y}"
    corner: Literal["front_left", "front_right", "back_left", "back_right"]
    x: Coordinate
    y: Coordinate


class ZeroZ(Phrase):
    pattern: ClassVar[str] = "{on} [by paper {paper}]"
    on: Literal["top", "bed"]
    paper: Annotated[Quantity, Dimension("length"), Field(ge=0.0, le=5.0)] | None = None


class Zero(ModelBlock):
    """Where the work offset sits, and how its height is set."""

    kind: ClassVar[str] = "zero"

    corner: Corner = word(
        "The corner of the panel that lies at these machine coordinates.", example="front_left at 90mm, 120mm"
    )
    z: ZeroZ = word("What the cutter touches to set the height.", example="top by paper 0.05mm")


class RowsLine(Phrase):
    pattern: ClassVar[str] = "{direction} grain [, {one_way} [{way}]] [, {edge} first]"
    direction: Literal["along", "across"]
    one_way: Literal["one_way"] | None = None
    way: Literal["climb", "conventional"] | None = None
    edge: Literal["edge"] | None = None


class Cut(ModelBlock):
    """The cutter and how it moves over the face."""

    kind: ClassVar[str] = "cut"

    cutter: Annotated[DeclaredName, Refers("cutter")] = word("The cutter.", example="fly_64")
    rows: RowsLine = word("How the rows run.", RowsLine(direction="along"), example="along grain")
    rough: Literal["auto", "same"] = word(
        "The passes before the last: the quickest rows or rounds, or the `same` rows.", "auto", example="same"
    )
    stepover: Annotated[Quantity, Dimension("ratio"), Field(gt=0.0, le=10.0)] | Literal["auto"] = word(
        "The maximum distance from row to row, as a share of the diameter; `auto` is the widest allowed.",
        "auto",
        example="65%",
    )
    depth: Depth | None = word(
        "The maximum depth of one pass.",
        None,
        shown="the least that cutter, standard and power allow",
        example="0.5mm",
    )
    finish: Depth | None = word("The depth of a last light pass.", None, shown="no such pass", example="0.2mm")
    overrun: Length | None = word(
        "How far the rim of the cutter passes each edge.", None, shown="the standard's, else 3mm", example="6mm"
    )
    speed: Rotation | Literal["auto"] = word(
        "The spindle's speed; `auto` is the lowest with the fastest feed.", "auto", example="14000rpm"
    )
    feed: Feed | Literal["auto"] = word("The feed in the cut.", "auto", example="auto")
    skip_air: Literal["yes", "no"] = word("Whether a pass skips places where no wood stands.", "yes", example="yes")


class UntilClean(Phrase):
    pattern: ClassVar[str] = "{until} clean"
    until: Literal["until"]


class FirstTo(Phrase):
    pattern: ClassVar[str] = "to {height}"
    height: Size


class SecondTo(Phrase):
    pattern: ClassVar[str] = "to {thickness} [+/- {within}]"
    thickness: Size
    within: Length | None = None


class Take(Phrase):
    pattern: ClassVar[str] = "take {depth}"
    depth: Depth


class Balanced(Phrase):
    pattern: ClassVar[str] = "{balanced}"
    balanced: Literal["balanced"]


class Flip(Phrase):
    pattern: ClassVar[str] = "over {edge}"
    edge: Literal["long_edge", "short_edge"]


class Faces(ModelBlock):
    """How much to take off each face, and the thickness to leave."""

    kind: ClassVar[str] = "faces"

    first: UntilClean | FirstTo | Take | Balanced | None = word(
        "The first face: until clean, to a height above the bed, a depth below its highest point, or balanced.",
        None,
        shown="not cut",
        example="until clean",
    )
    second: UntilClean | SecondTo | Take | Balanced | None = word(
        "The second face: until clean, or the thickness that remains.",
        None,
        shown="not cut",
        example="to 29mm +/- 0.3mm",
    )
    flip: Flip | None = word(
        "The edge over which the panel is turned.", None, shown="not turned", example="over long_edge"
    )


class After(ModelBlock):
    """Readings taken after a face was cut; the compiler goes on from there."""

    kind: ClassVar[str] = "after"

    thickness: tuple[Reading | ReadingFile, ...] = word(
        "The thickness at places, measured after the cut.",
        listed=True,
        example="front_left 30.42mm, centre 30.40mm",
    )
    marks: Literal["left"] | None = word(
        "Pencil marks are still there: one more skim.", None, shown="no marks left", example="left"
    )
    within: Length | None = word("The uncertainty of these readings.", None, shown="the survey's", example="0.05mm")

    def uncertainty(self, survey: Survey | None) -> Quantity:
        """The uncertainty of these readings, mm: as written here, else as in the survey."""
        if self.within is not None:
            return self.within
        return survey.within if survey is not None else WITHIN


class Waive(Phrase):
    pattern: ClassVar[str] = "{rule} [because {reason}]"
    rule: Literal["depth", "leave", "clearance", "overrun", "rock", "ridge", "power", "uneven", "sag", "survey"]
    reason: QuotedText | None = None


class Job(ModelBlock):
    """One panel, from how it lies to what is left."""

    kind: ClassVar[str] = "job"

    machine: Annotated[DeclaredName, Refers("machine")] = word("The machine.", example="bench_router")
    standard: Annotated[DeclaredName, Refers("standard")] | None = word(
        "The shop's rules.", None, shown="the project's", example="solid_tops"
    )
    waive: tuple[Waive, ...] = word(
        "A rule of the standard that the job may break, with the reason.",
        repeats=True,
        example='depth because "two skims on an offcut, tried 3 March"',
    )
    stock: Stock = word("The panel.")
    survey: Survey | None = word("The readings.", None)
    supports: Supports | None = word("The leaves under the panel.", None)
    hold: Hold | None = word("The dogs and clamps.")
    zero: Zero = word("Where zero is.")
    cut: Cut = word("The cutting.")
    faces: Faces = word("The cut of each face.")
    after_first: After | None = word("Measured after the first face.", None)
    after_second: After | None = word("Measured after the second face.", None)

    @classmethod
    def implied(cls, name: str, head: Span, values: Mapping[str, Any]) -> dict[str, Any]:
        stock = values.get("stock")
        return {"hold": None} if isinstance(stock, Stock) and stock.is_bed else {}
