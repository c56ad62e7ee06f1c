"""summary.json, the result of a build for other programs.

The models are its schema, which `flatwise explain summary` prints.  Lengths are in mm, times in s, feeds in mm/min and
power in W.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Collection, Sequence
from functools import partial
from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, PlainValidator, TypeAdapter, WithJsonSchema

from flatwise.core.finding import Severity
from flatwise.core.units import settled
from flatwise.model.block_delete import block_delete
from flatwise.model.built import Built, BuiltBatch, Proof
from flatwise.model.stages import FaceName, Seating, SeatingChoice, Setup, Shim, Work
from flatwise.report.messages import Sources, Texts, as_json, in_order

#: the form of the file; raised when a key changes its meaning
SCHEMA = 1


def figure(value: float, places: int = 4) -> float:
    """`value` rounded to `places` decimals, without -0."""
    return round(settled(float(value)), places) + 0.0


_FINITE = Field(allow_inf_nan=False)
Rounded1 = Annotated[float, BeforeValidator(partial(figure, places=1)), _FINITE]
Rounded2 = Annotated[float, BeforeValidator(partial(figure, places=2)), _FINITE]
Rounded3 = Annotated[float, BeforeValidator(partial(figure, places=3)), _FINITE]
Rounded4 = Annotated[float, BeforeValidator(partial(figure, places=4)), _FINITE]
Rounded5 = Annotated[float, BeforeValidator(partial(figure, places=5)), _FINITE]
#: for slopes: over a metre and a half the seventh decimal is still 0.00015 mm
Rounded7 = Annotated[float, BeforeValidator(partial(figure, places=7)), _FINITE]
#: text that may hold the name of a file, and so bytes that are no UTF-8 (as lone surrogates)
FreeText = Annotated[str, PlainValidator(str), WithJsonSchema({"type": "string"})]


class Record(BaseModel):
    """An object of the file: these keys and no others, taken from the stage's data of the same names."""

    model_config = ConfigDict(extra="forbid", frozen=True, from_attributes=True)


class SourceRecord(Record):
    path: FreeText = Field(description="from the project's root")
    sha256: str


class ShimRecord(Record):
    """A stack of leaves, or a place that needs none."""

    at: tuple[Rounded2, Rounded2] = Field(description="X and Y from the panel's front left corner, first face")
    place: str = Field(description="empty for a point without a name")
    leaves: tuple[Rounded4, ...] = Field(description="thickest first")
    height: Rounded4
    gap_left: Rounded4 = Field(description="what a feeler gauge still finds there")


class TiltRecord(Record):
    """Tilt that the pose adds to the surveyed heights, mm per mm."""

    x: Rounded7
    y: Rounded7


class SeatingChoiceRecord(Record):
    """The best choice of so many stacks."""

    stacks: int
    leaves: int
    most_thickness: Rounded4
    rocks: bool
    gives: Rounded4 = Field(description="how far the worst corner or edge middle moves when it is pressed")


class SeatingRecord(Record):
    """How the panel rests for the first face."""

    shims: tuple[ShimRecord, ...]
    tilt: TiltRecord
    touches: tuple[tuple[Rounded2, Rounded2], ...] = Field(description="where it rests on the bed or on leaves")
    rocks: bool
    most_thickness: Rounded4 = Field(description="the thickest flat panel inside the forecast in this pose")
    choices: tuple[SeatingChoiceRecord, ...] = Field((), description="for 0, 1, 2 … stacks, where leaves may lie")


class ZeroRecord(Record):
    """Where the height is set; X and Y from the front left corner of the panel as it lies."""

    z: Literal["top", "bed"]
    touch_at: tuple[Rounded3, Rounded3]


class RemovedRecord(Record):
    least: Rounded4
    mean: Rounded4
    most: Rounded4


class PassRecord(Record):
    plane: Rounded4
    depth: Rounded4 = Field(description="deepest bite by the forecast")
    cut_length: Rounded1
    time: Rounded1


class BlockDeleteRecord(Record):
    """The first `passes`, marked `/`, may be skipped if the face is no higher than that."""

    passes: int
    highest_z: Rounded4 = Field(description="the most that the program's Z may show where the face is highest")
    height: Rounded4 = Field(description="the same above the bed, as planned")


class SetupRecord(Record):
    """One face; heights above the bed as the panel lies for it."""

    face: FaceName
    program: str
    zero: ZeroRecord
    highest: Rounded4
    lowest: Rounded4
    plane: Rounded4 = Field(description="height of the finished face")
    removed: RemovedRecord
    passes: tuple[PassRecord, ...]
    speed: Rounded1 = Field(description="rpm")
    feed: Rounded1
    feed_limit: str = Field(description="what limits the feed: machine, chip_load, power, holding or job")
    chip_load: Rounded4 = Field(description="mm per wing")
    rim_speed: Rounded2 = Field(description="m/s")
    power: Rounded1
    ridge: Rounded5
    time: Rounded1
    block_delete: BlockDeleteRecord | None = Field(None, description="where lines are marked for block delete")
    again: bool = Field(
        False, description="whether the face is cut once more: a reading was too thick, or marks were left"
    )


class PartRecord(Record):
    name: str
    value: Rounded4


class ThicknessRecord(Record):
    """The thickness that is left, its uncertainty, and the parts that add up to it."""

    target: Rounded4 | None
    forecast: Rounded4
    plus_minus: Rounded4
    parts: tuple[PartRecord, ...]


class VerifiedRecord(Record):
    """The proofs of all programs: moves and collisions added up, of the rest the worst."""

    program_moves: int
    deepest_bite: Rounded4
    collisions: int
    left_above_plane: Rounded4
    flatness: Rounded5


class ChoiceRecord(Record):
    """A line of `cut` that would save more than 5 % of the machine time, by itself."""

    line: str
    saves: Rounded1


class WaivedRecord(Record):
    rule: str
    because: str
    value: Rounded4
    limit: Rounded4


class RelatedRecord(Record):
    message: FreeText
    path: FreeText
    line: int
    column: int


class RangeRecord(Record):
    """Lines and columns from 1, columns in characters; null where there is no text."""

    path: FreeText | None
    line: int | None
    column: int | None
    end_line: int | None
    end_column: int | None


class EditRecord(RangeRecord):
    text: str


class FixRecord(Record):
    title: str
    edits: tuple[EditRecord, ...]


class FindingRecord(Record):
    code: str
    severity: Severity
    message: FreeText
    path: FreeText | None
    line: int | None
    column: int | None
    end_line: int | None
    end_column: int | None
    related: tuple[RelatedRecord, ...]
    help: FreeText
    fix: FixRecord | None


class PlaceRecord(Record):
    """Where a corner of the panel lies, in machine coordinates."""

    corner: str
    x: Rounded3
    y: Rounded3


class Summary(Record):
    """Results of a build.  Lengths in mm, times in s, feeds in mm/min, power in W."""

    form: Literal[1] = Field(alias="schema")
    job: str
    sources: tuple[SourceRecord, ...] = Field(description="every file that took part, the job's own first")
    seating: SeatingRecord | None
    free_shape: dict[Literal["twist", "cup", "bow"], Rounded4] = Field(
        description="the free shape that the survey has words for, signed: twist as the gap under a corner, cup and bow"
        " as the height of the middle over the edges"
    )
    setups: tuple[SetupRecord, ...] = Field(description="empty where nothing is left to cut")
    thickness: ThicknessRecord
    verified: VerifiedRecord | None
    choices: tuple[ChoiceRecord, ...] = Field(description="what saves most first; without programs none")
    waived: tuple[WaivedRecord, ...]
    warnings: tuple[FindingRecord, ...]
    notes: tuple[FindingRecord, ...]
    place: PlaceRecord | None = Field(None, description="in a batch: where the panel lies")


class BatchProgramRecord(Record):
    """One program for all panels."""

    face: FaceName
    program: str
    order: tuple[str, ...] = Field(description="the jobs in the order in which their panels are cut")
    time: Rounded1 = Field(description="with one start; less than the jobs by themselves")


class BatchSummary(Record):
    """The results of a build of a batch: the summary of each job, whose times are those of its program by itself."""

    form: Literal[1] = Field(alias="schema")
    batch: str
    jobs: tuple[Summary, ...]
    programs: tuple[BatchProgramRecord, ...]


def json_schema() -> str:
    """The JSON Schema (draft 2020-12) of summary.json: that of a job, or that of a batch."""
    return json.dumps(TypeAdapter(Summary | BatchSummary).json_schema(), indent=2) + "\n"


def summary(built: Built, texts: Texts | None = None, named: Callable[[str], str] = str) -> dict[str, Any]:
    """The results of a build, as plain data that meets the schema.

    `texts` are the sources' texts, for the lines and columns of findings; `named` gives the path from the project's
    root for the path that a span carries, so that the bytes do not depend on where the build was started.  Raises
    ValueError for a job without a plan.
    """
    plan = built.plan
    if plan is None:
        raise ValueError("a job without a plan has no summary")
    sources = Sources(texts or {}, named)

    def records(severity: Severity) -> list[dict[str, Any]]:
        of_severity = tuple(finding for finding in built.findings if finding.severity == severity)
        return [as_json(finding, sources) for finding in in_order(of_severity)]

    found = {
        "schema": SCHEMA,
        "job": plan.work.name,
        "sources": [{"path": path, "sha256": digest} for path, digest in plan.work.sources],
        "seating": None if plan.seating is None else _seating(plan.seating, built.seating_choices),
        "free_shape": plan.panel.free_shapes,
        "setups": [_setup(plan.work, setup) for setup in plan.setups],
        "thickness": plan,
        "verified": _verified(built.proofs.values()),
        "choices": built.choices,
        "waived": built.waived,
        "warnings": records("warning"),
        "notes": records("note"),
    }
    # keys that have a default are left out where they hold it
    return Summary.model_validate(found).model_dump(mode="json", by_alias=True, exclude_defaults=True)


def batch_summary(built: BuiltBatch, texts: Texts | None = None, named: Callable[[str], str] = str) -> dict[str, Any]:
    """The same for a batch."""
    if built.plan is None:
        raise ValueError("a batch without a plan has no summary")
    jobs = []
    for panel, plan in zip(built.panels, built.plan.plans, strict=True):
        corner = plan.work.job.zero.corner
        place = {"corner": corner.corner, "x": float(corner.x), "y": float(corner.y)}
        jobs.append({**summary(panel, texts, named), "place": place})
    programs = [
        {
            "face": face.face,
            "program": f"{face.face}.nc",
            "order": [plan.work.name for plan, _ in face.panels],
            "time": face.time,
        }
        for face in built.plan.faces
    ]
    found = {"schema": SCHEMA, "batch": built.plan.batch.name, "jobs": jobs, "programs": programs}
    return BatchSummary.model_validate(found).model_dump(mode="json", by_alias=True, exclude_defaults=True)


def as_bytes(data: dict[str, Any]) -> bytes:
    """The file's bytes: UTF-8, indented, keys in their order, never NaN."""
    # a file's name that is no text comes as lone surrogates: what replaces them is the escape that JSON has for them
    return (json.dumps(data, ensure_ascii=False, indent=1, allow_nan=False) + "\n").encode("utf-8", "backslashreplace")


def _seating(seating: Seating, choices: Sequence[SeatingChoice]) -> dict[str, Any]:
    return {
        "shims": [_shim(shim) for shim in seating.shims],
        "tilt": {"x": seating.pose.a, "y": seating.pose.b},
        "touches": seating.touches,
        "rocks": seating.rocks,
        "most_thickness": seating.most_thickness,
        "choices": [each._asdict() for each in choices],
    }


def _shim(shim: Shim) -> dict[str, Any]:
    return {
        "at": (shim.x, shim.y),
        "place": shim.place,
        "leaves": shim.leaves,
        "height": shim.height,
        "gap_left": shim.gap_left,
    }


def _setup(work: Work, setup: Setup) -> dict[str, Any]:
    return {
        **{name: getattr(setup, name) for name in SetupRecord.model_fields if hasattr(setup, name)},
        "program": f"{setup.face}.nc",
        "zero": {"z": setup.touch.on, "touch_at": (setup.touch.x, setup.touch.y)},
        "block_delete": block_delete(work, setup),
        "removed": {"least": setup.removed_least, "mean": setup.removed_mean, "most": setup.removed_most},
    }


def _verified(proofs: Collection[Proof]) -> dict[str, Any] | None:
    if not proofs:
        return None
    return {
        "program_moves": sum(proof.program_moves for proof in proofs),
        "deepest_bite": max(proof.deepest_bite for proof in proofs),
        "collisions": sum(proof.collisions for proof in proofs),
        "left_above_plane": max(proof.left_above_plane for proof in proofs),
        "flatness": max(proof.flatness for proof in proofs),
    }
