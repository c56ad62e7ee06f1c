"""A small plan made by hand: two passes and two rows on an 200 x 100 mm panel, nothing worked out by the planner."""

from __future__ import annotations

from typing import Any

from compiler.plan.plans import flat_setup, panel_of
from compiler.shop import q, written

from compiler import shop, works
from flatwise.core.surface import Surface
from flatwise.core.units import NOWHERE
from flatwise.model.built import Built, Proof, Waived
from flatwise.model.shop import Controller, SpeedRange, Spindle, Travel
from flatwise.model.shop_rules import Rules
from flatwise.model.stages import Leg, Pass, Plan, Pose, Seating, Setup, Shim, Touch, UncertaintyPart, Work
from flatwise.model.words import QuotedText, Whole


def work(name: str = "tray", *, waivers: dict[str, str] | None = None, **controller: Any) -> Work:
    """A small panel between one dog and one clamp, on a small machine with a cutter of two wings."""
    machine = shop.machine(
        travel=Travel(x=q("600mm"), y=q("400mm"), z=q("120mm")),
        feed=q("6m/min"),
        spindle=Spindle(power=q("2kW"), least=q("8000rpm"), most=q("24000rpm")),
        nose=q("60mm"),
        shoe=None,
        controller=Controller(**controller),
    )
    cutter = shop.cutter(
        diameter=q("50mm"),
        wings=Whole(2),
        shank=q("1/2in"),
        depth=q("1mm"),
        speed=SpeedRange(least=q("9000rpm"), most=q("16000rpm")),
    )
    made = works.work(
        200.0,
        100.0,
        21.0,
        name=name,
        job={"zero": works.zero(80.0, 60.0), "faces": works.faces(second=works.second_to("19mm"))},
        machine=written(machine, "small_router"),
        cutter=written(cutter, "fly_50"),
        rules=Rules(),
        holders=(shop.dog("left", 50.0, 200.0, 100.0), shop.clamp("right", 50.0, 200.0, 100.0)),
        sources=((f"jobs/{name}.flat", "ab" * 32), ("shared/shop.flat", "cd" * 32)),
    )
    waived = [works.waiver(rule, QuotedText(why)) for rule, why in (waivers or {}).items()]
    return made._replace(waivers={rule: one for each in waived for rule, one in each.items()})


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
    return Pass(plane, depth, 1.0, finish, finish, "x", (20.0, 80.0), path, 584.0, 9.5)


def setup(face: Any = "first", *, height: float = 21.0, lift: float = 63.0, again: bool = False) -> Setup:
    return flat_setup(
        Surface.flat(200.0, 100.0, height),
        (sweep(height - 0.5, 0.5, lift), sweep(height - 0.7, 0.2, lift, finish=True)),
        face=face,
        bound=0.1,
        holders=work().holders,
        shims=(Shim("front_left", 0.0, 0.0, (0.3, 0.05), 0.35, 0.01, False, NOWHERE),) if face == "first" else (),
        touch=Touch("top", 100.0, 50.0, height, height - 0.02, 0.15, 0.05),
        origin_machine=(80.0, 60.0),
        lift=lift,
        stepover=0.6,
        feed=5600.0,
        feed_limit="chip_load",
        chip_load=0.2,
        rim_speed=36.65,
        power=70.0,
        holding_load=55.0,
        ridge=0.0075,
        time=31.2,
        again=again,
    )


def plan(job: Work | None = None, setups: tuple[Setup, ...] | None = None) -> Plan:
    job = job or work()
    top, under = Surface.flat(200.0, 100.0, 21.0), Surface.flat(200.0, 100.0, 0.0)
    panel = panel_of(under, top, (0.1, 0.1, 0.1))
    shims = setup().shims
    seating = Seating(
        under, top, Pose(0.0001, -0.0002, -0.0), shims, ((0.0, 0.0), (200.0, 0.0), (0.0, 100.0)), False, 20.9, 20.95,
        panel.bound_lower, panel.bound_upper, panel.bound_thickness,
    )  # fmt: skip
    return Plan(
        work=job,
        panel=panel,
        seating=seating,
        setups=(setup(), setup("second", height=20.3)) if setups is None else setups,
        target=19.6,
        forecast=19.6,
        plus_minus=0.17,
        parts=(UncertaintyPart("paper", 0.01), UncertaintyPart("survey at the touched place", 0.16)),
        most_left=20.1,
    )


def built(job: Work | None = None, **changes: Any) -> Built:
    """The plan with programs of its own and proofs made up."""
    from flatwise.gcode.write import write

    whole = plan(job)
    made = Built(
        whole,
        {f"{each.face}.nc": write(whole, each) for each in whole.setups},
        {each.face: Proof(30, 0.5, 0, 0.0, 0.004) for each in whole.setups},
        (),
        tuple(Waived(rule, str(waiver.reason), 0.8, 0.6) for rule, waiver in whole.work.waivers.items()),
    )
    return made._replace(**changes)
