"""A small plan made by hand: two passes and two rows on an 200 x 100 mm panel, nothing worked out by the planner."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from flatwise.model.job import Box, Corner, Cut, Faces, Flip, Job, SecondTo, Stock, Waive, Zero, ZeroZ
from flatwise.model.shop import ChipLoad, ColletCode, Controller, Cutter, Machine, SpeedRange, Spindle, Travel, Wood
from flatwise.model.words import Code, Name, Text, Whole
from flatwise.stages import (
    Built,
    Holder,
    Leg,
    Panel,
    Part,
    Pass,
    Plan,
    Pose,
    Proof,
    Rules,
    Seating,
    Setup,
    Shim,
    Touch,
    Waived,
    Work,
)
from flatwise.surface import Surface
from flatwise.units import NOWHERE, quantity


def named(block: Any, name: str) -> Any:
    """A block as it was read from `kind name { … }`."""
    object.__setattr__(block, "_name", name)
    return block


def machine(**controller: Any) -> Machine:
    return named(
        Machine(
            travel=Travel(x=quantity("600", "mm"), y=quantity("400", "mm"), z=quantity("120", "mm")),
            feed=quantity("6", "m/min"),
            spindle=Spindle(power=quantity("2", "kW"), least=quantity("8000", "rpm"), most=quantity("24000", "rpm")),
            collet=ColletCode(code=Code("ER20")),
            nose=quantity("60", "mm"),
            controller=Controller(**controller),
        ),
        "small_router",
    )


def cutter() -> Cutter:
    return named(
        Cutter(
            diameter=quantity("50", "mm"),
            wings=Whole(2),
            shank=quantity("1/2", "in"),
            blade=quantity("9", "mm"),
            stick_out=quantity("38", "mm"),
            depth=quantity("1", "mm"),
            speed=SpeedRange(least=quantity("9000", "rpm"), most=quantity("16000", "rpm")),
            chip_load=ChipLoad(least=quantity("0.1", "mm"), most=quantity("0.3", "mm")),
        ),
        "fly_50",
    )


def work(name: str = "tray", *, waivers: dict[str, str] | None = None, units: str = "mm", **controller: Any) -> Work:
    size = Box(length=quantity("200", "mm"), width=quantity("100", "mm"), thickness=quantity("21", "mm"))
    job = Job(
        machine=Name("small_router"),
        stock=Stock(size=size, wood=Name("ash"), grain="x"),
        zero=Zero(
            corner=Corner(corner="front_left", x=quantity("80", "mm"), y=quantity("60", "mm")),
            z=ZeroZ(on="top", paper=quantity("0.05", "mm")),
        ),
        cut=Cut(cutter=Name("fly_50")),
        faces=Faces(second=SecondTo(thickness=quantity("19", "mm")), flip=Flip(edge="long_edge")),
    )
    wood = Wood(density=quantity("670", "kg/m3"), modulus=quantity("12000", "MPa"))
    dog = Holder("dog", "low_dog", "left", 50.0, "50%", -19.0, 40.5, 0.0, 59.5, 11.0, (1.0, 0.0), 0.0, 5.5, NOWHERE)
    clamp = Holder(
        "clamp", "cam", "right", 50.0, "50%", 200.0, 15.0, 232.0, 85.0, 13.0, (-1.0, 0.0), 450.0, 8.0, NOWHERE
    )
    return Work(
        name=name,
        path=f"jobs/{name}.flat",
        span=NOWHERE,
        job=job,
        machine=machine(units=units, **controller),
        cutter=cutter(),
        wood=wood,
        rules=Rules(),
        holders=(dog, clamp),
        sets={},
        points={},
        waivers={rule: Waive(rule=rule, reason=Text(why)) for rule, why in (waivers or {}).items()},  # type: ignore[arg-type]
        sources=((f"jobs/{name}.flat", "ab" * 32), ("shared/shop.flat", "cd" * 32)),
    )


def sweep(plane: float, depth: float, lift: float, *, finish: bool = False) -> Pass:
    """Two rows along X, over and back, beside the panel at both ends."""
    left, right = -31.0, 231.0
    path = (
        Leg(True, left, 20.0, lift),
        Leg(True, left, 20.0, plane),
        Leg(False, right, 20.0, plane),
        Leg(False, right, 80.0, plane),
        Leg(False, left, 80.0, plane),
        Leg(True, left, 80.0, lift),
    )
    return Pass(plane, depth, 1.0, finish, finish, (20.0, 80.0), path, 584.0, 9.5)


def setup(face: Any = "first", *, height: float = 21.0, lift: float = 63.0, again: bool = False) -> Setup:
    job = work()
    return Setup(
        face=face,
        top=Surface.flat(200.0, 100.0, height),
        under=Surface.flat(200.0, 100.0, 0.0),
        bound=0.1,
        plane=height - 0.7,
        passes=(sweep(height - 0.5, 0.5, lift), sweep(height - 0.7, 0.2, lift, finish=True)),
        holders=job.holders,
        shims=(Shim("front_left", 0.0, 0.0, (0.3, 0.05), 0.35, 0.01, False, NOWHERE),) if face == "first" else (),
        touch=Touch("top", 100.0, 50.0, height, height - 0.02, 0.15, 0.05),
        origin=(0.0, 0.0),
        origin_machine=(80.0, 60.0),
        lift=lift,
        overrun=6.0,
        stepover=0.6,
        speed=14000.0,
        feed=5600.0,
        feed_limit="chip_load",
        chip_load=0.2,
        rim_speed=36.65,
        power=70.0,
        force=2.0,
        holding_load=55.0,
        ridge=0.0075,
        removed_least=0.7,
        removed_mean=0.7,
        removed_most=0.7,
        time=31.2,
        again=again,
    )


def plan(job: Work | None = None, setups: tuple[Setup, ...] | None = None) -> Plan:
    job = job or work()
    top, under = Surface.flat(200.0, 100.0, 21.0), Surface.flat(200.0, 100.0, 0.0)
    panel = Panel(under, top, 0.1, 0.1, 0.1, True, True)
    shims = setup().shims
    seating = Seating(
        under, top, Pose(0.0001, -0.0002, -0.0), shims, ((0.0, 0.0), (200.0, 0.0), (0.0, 100.0)), False, 20.9, 20.95,
        None, 0.1, 0.1, 0.1,
    )  # fmt: skip
    return Plan(
        work=job,
        panel=panel,
        seating=seating,
        setups=(setup(), setup("second", height=20.3)) if setups is None else setups,
        target=19.6,
        forecast=19.6,
        plus_minus=0.17,
        parts=(Part("paper", 0.01), Part("survey at the touched place", 0.16)),
        most_left=20.1,
    )


def built(job: Work | None = None, **changes: Any) -> Built:
    """The plan with programs of its own and proofs made up."""
    from flatwise.write import write

    whole = plan(job)
    made = Built(
        whole,
        {f"{each.face}.nc": write(whole, each) for each in whole.setups},
        {each.face: Proof(30, 0.5, 0, 0.0, 0.004, 1000.0) for each in whole.setups},
        (),
        tuple(Waived(rule, str(waiver.reason), 0.8, 0.6) for rule, waiver in whole.work.waivers.items()),
    )
    return replace(made, **changes)
