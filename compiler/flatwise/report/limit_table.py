"""What a plan may use and what it uses up, as bars with numbers; and what a second-best choice would cost."""

from __future__ import annotations

from dataclasses import dataclass

from flatwise.model.built import Built
from flatwise.model.stages import Plan, Setup
from flatwise.plan.cutting import spindle_power
from flatwise.plan.holding import weakness
from flatwise.report.job_text import minutes
from flatwise.report.measures import Measures, measures


@dataclass(frozen=True, slots=True)
class Bar:
    """One limit: what it is, what is used, what there is, and the shares of the bar.

    `share` is used ÷ there is (over 1: broken).  A range has `low`, the share at which it begins.
    """

    name: str
    used: str
    of: str
    share: float
    low: float = 0.0
    note: str = ""


def bars(plan: Plan, setup: Setup) -> list[Bar]:
    """Every limit of one face."""
    work, unit, cutter = plan.work, measures(plan.work), plan.work.cutter
    spindle, chip = work.machine.spindle, cutter.chip_load
    whole = spindle_power(work.machine, setup.speed)
    granted = work.rules.power * whole
    fastest = min(float(cutter.speed.most), float(spindle.most))
    slowest = max(float(cutter.speed.least), float(spindle.least))
    found = [
        Bar(
            "Spindle speed",
            f"{setup.speed:.0f} rpm",
            f"{slowest:.0f} to {fastest:.0f} rpm",
            setup.speed / fastest,
            slowest / fastest,
            f"rim {setup.rim_speed:.1f} m/s",
        ),
        Bar(
            "Chip a wing",
            unit(setup.chip_load),
            f"{chip.least} to {chip.most}",
            setup.chip_load / float(chip.most),
            float(chip.least) / float(chip.most),
            f"range from: {chip.source}" if chip.source else "",
        ),
        Bar("Feed", unit.feed(setup.feed), unit.feed(float(work.machine.feed)), setup.feed / float(work.machine.feed)),
        Bar(
            "Power, an estimate",
            f"{setup.power:.0f} W",
            f"{granted:.0f} W",
            setup.power / granted,
            note=f"{100 * work.rules.power:.0f}% of what the spindle gives at this speed",
        ),
    ]
    if setup.passes:
        bite = max(each.depth for each in setup.passes)
        most = max(each.limit for each in setup.passes)
        found.append(Bar("Bite", unit(bite), unit(most), bite / most, note=f"the cutter's own limit: {cutter.depth}"))
    if setup.holders and not work.job.stock.is_bed:
        stands = holds(plan, setup)
        found.append(
            Bar(
                "Holding, an estimate",
                f"{setup.holding_load:.0f} N",
                f"{stands:.0f} N",
                setup.holding_load / stands if stands else 2.0,
                note="the worst direction; try every clamp by hand as well",
            )
        )
        gap = setup.plane - max(each.height for each in setup.holders)
        if gap > 0:
            found.append(
                Bar(
                    "Clearance over holders",
                    unit(work.rules.clearance),
                    unit(gap),
                    work.rules.clearance / gap,
                    note="what is asked for, of what there is",
                )
            )
    if work.rules.ridge is not None:
        found.append(
            Bar("Ridge between rows", unit(setup.ridge), unit(work.rules.ridge), setup.ridge / work.rules.ridge)
        )
    return found


def holds(plan: Plan, setup: Setup) -> float:
    """The load that the holders stand in the worst direction, N, to about a newton; at most 100 kN is looked at."""
    work = plan.work

    def held(load: float) -> bool:
        return weakness(setup.holders, work.length, work.width, work.mass, load) is None

    low, high = 0.0, 100_000.0
    if held(high):
        return high
    while high - low > 1.0:
        middle = (low + high) / 2
        low, high = (middle, high) if held(middle) else (low, middle)
    return low


def panel_bars(plan: Plan) -> list[Bar]:
    """The limits of the whole panel: what is left, how sure, and whether both faces lose about the same."""
    work, unit = plan.work, measures(plan.work)
    found = []
    second = work.job.faces.second
    within = getattr(second, "within", None)
    if within is not None and plan.parts:
        found.append(
            Bar("± on thickness", unit(plan.plus_minus), str(within), plan.plus_minus / max(1e-9, float(within)))
        )
    if work.rules.leave is not None and plan.forecast > 0:
        found.append(
            Bar(
                "Least that may be left",
                unit(work.rules.leave),
                unit(plan.forecast),
                work.rules.leave / plan.forecast,
                note="what the standard asks for, of what is left",
            )
        )
    lost = {setup.face: setup.removed_mean for setup in plan.setups if not setup.again}
    if work.rules.uneven is not None and len(lost) == 2:
        apart = abs(lost["first"] - lost["second"])
        found.append(
            Bar(
                "Faces lose unevenly",
                unit(apart),
                unit(work.rules.uneven),
                apart / work.rules.uneven,
                note=f"first {unit(lost['first'])}, second {unit(lost['second'])} in the mean",
            )
        )
    return found


@dataclass(frozen=True, slots=True)
class Choice:
    """A choice, the wood that it leaves and takes, and its machine time, in words."""

    choice: str
    wood: str
    time: str


def second_best(built: Built) -> list[Choice]:
    """What the choices that were not taken would have cost, after the plan's own; [] where there was none."""
    plan = built.plan
    assert plan is not None
    unit, seating = measures(plan.work), plan.seating
    now = sum(setup.time for setup in plan.setups)
    found = []
    if seating is not None and seating.other is not None and not plan.work.job.stock.is_bed:
        other, pose = seating.other, built.other_pose
        wood = f"{_slab(other.most_thickness, unit)}, {_apart(other.most_thickness - seating.most_thickness, unit)}"
        placed = sum(bool(shim.leaves) for shim in other.shims)
        leaves = f"Leaves at {placed} place{'s' * (placed != 1)}."
        time = "Not worked out."
        if pose is not None:
            wood = f"{_left(pose.forecast, pose.removed, unit)} {wood}"
            time = _time(pose.time, now, pose.faults)
        found.append(Choice(f"Leaves for the aim {_said(other.aim)}", f"{wood}. {leaves}", time))
    if (way := built.other_direction) is not None:
        feeds = " and ".join(sorted({unit.feed(feed) for feed in way.feeds}))
        time = _time(way.time, now, way.faults)
        # the direction is the job's to choose: what looks good across the grain only its owner knows
        hint = f" If the look of it allows that, write: {way.line}." if way.line else ""
        found.append(Choice(f"Rows {way.direction} the grain", "The same wood.", f"{time} Feed {feeds}.{hint}"))
    if not found:
        return []
    wood = _left(plan.forecast, tuple(setup.removed_mean for setup in plan.setups), unit)
    if seating is not None and not plan.work.job.stock.is_bed:
        wood += f" {_slab(seating.most_thickness, unit)}; any tilt at all could give {unit(seating.best_thickness)}."
    return [Choice("As planned", wood, f"About {minutes(now)}."), *found]


def _said(aim: str) -> str:
    return aim.replace("_", " ")


def _left(forecast: float, removed: tuple[float, ...], unit: Measures) -> str:
    """What is left, and what comes off for it."""
    return f"{unit(forecast)} left; {' and '.join(unit(each) for each in removed)} come off in the mean."


def _slab(most: float, unit: Measures) -> str:
    return f"At most {unit(most)} could be left in this pose"


def _apart(more: float, unit: Measures) -> str:
    return f"{unit(abs(more))} {'more' if more > 0 else 'less'}" if abs(more) >= 5e-4 else "the same"


def _time(time: float, now: float, faults: tuple[str, ...]) -> str:
    if faults:
        from flatwise.findings.pages import page

        pages = ((code, page(code)) for code in faults)
        told = (f"{code}, {of.title}" if of is not None else code for code, of in pages)
        return f"It would not do: {'; '.join(told)}."
    apart = time - now
    if abs(apart) < 1:
        return f"As long: {minutes(time)}."
    return f"{minutes(time)}: {minutes(abs(apart))} {'slower' if apart > 0 else 'quicker'}."
