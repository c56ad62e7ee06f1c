"""How much of each limit a plan uses, as the bars of the sheet's tables."""

from __future__ import annotations

from typing import NamedTuple

from flatwise.core.units import fixed
from flatwise.model.stages import Plan, Setup
from flatwise.plan.clearance import CONTACT, contact_gap
from flatwise.plan.cutting import spindle_power
from flatwise.plan.setup import held as held_at
from flatwise.report.display import display_unit, spaced


class LimitBar(NamedTuple):
    """One limit in words, with the share of it that is used (over 1: broken).

    `low` is the share at which a permitted range begins, 0 where there is only an upper limit.
    """

    name: str
    used: str
    limit: str
    share: float
    low: float = 0.0
    note: str = ""


def face_bars(plan: Plan, setup: Setup) -> list[LimitBar]:
    """The limits of one face: the cut, then the holders, then the finished surface."""
    rules, unit = plan.work.rules, display_unit(plan.work)
    found = _cut_bars(plan, setup)
    if setup.holders and not plan.work.job.stock.is_bed:
        found += _holder_bars(plan, setup)
    if rules.ridge is not None:
        found.append(LimitBar("Ridge between rows", unit(setup.ridge), unit(rules.ridge), setup.ridge / rules.ridge))
    return found


def _cut_bars(plan: Plan, setup: Setup) -> list[LimitBar]:
    work, unit, cutter = plan.work, display_unit(plan.work), plan.work.cutter
    spindle, chip, feed = work.machine.spindle, cutter.chip_load, float(work.machine.feed.most)
    granted = work.rules.power * spindle_power(work.machine, setup.speed)
    fastest = min(float(cutter.speed.most), float(spindle.most))
    slowest = max(float(cutter.speed.least), float(spindle.least))
    found = [
        LimitBar(
            "Spindle speed",
            f"{fixed(setup.speed)} rpm",
            f"{fixed(slowest)} to {fixed(fastest)} rpm",
            setup.speed / fastest,
            slowest / fastest,
            f"rim speed {fixed(setup.rim_speed, 1)} m/s",
        ),
        LimitBar(
            "Chip load",
            unit(setup.chip_load),
            spaced(f"{chip.least} to {chip.most}"),
            setup.chip_load / float(chip.most),
            float(chip.least) / float(chip.most),
            f"source of the range: {chip.source}" if chip.source else "",
        ),
        LimitBar("Feed", unit.feed(setup.feed), unit.feed(feed), setup.feed / feed),
        LimitBar(
            "Power (estimate)",
            f"{fixed(setup.power)} W",
            f"{fixed(granted)} W",
            setup.power / granted,
            note=f"{fixed(100 * work.rules.power)}% of the spindle's power at this speed",
        ),
    ]
    if setup.passes:
        bite, most = max(each.depth for each in setup.passes), max(each.limit for each in setup.passes)
        note = f"limit of the cutter: {spaced(cutter.depth)}"
        found.append(LimitBar("Bite", unit(bite), unit(most), bite / most, note=note))
    return found


def _holder_bars(plan: Plan, setup: Setup) -> list[LimitBar]:
    work, unit = plan.work, display_unit(plan.work)
    strength = holding_strength(plan, setup)
    found = [
        LimitBar(
            "Holding (estimate)",
            f"{fixed(setup.holding_load)} N",
            f"{fixed(strength)} N",
            setup.holding_load / strength if strength else 2.0,
            note="in the weakest direction; test every clamp by hand as well",
        )
    ]
    gap = setup.plane - max(each.height for each in setup.holders)
    if gap > 0:
        clearance = 0.0 if "clearance" in work.waivers else work.rules.clearance
        contact = contact_gap(work, setup.touch.sink)
        if clearance > contact:
            limit = f"at least {unit(clearance)}"
            found.append(LimitBar("Clearance over holders", unit(gap), limit, clearance / gap))
        else:
            note = f"less is contact: {unit(CONTACT)} and the uncertainty of the heights"
            found.append(
                LimitBar("Gap over holders", unit(gap), f"more than {unit(contact)}", contact / gap, note=note)
            )
    return found


def holding_strength(plan: Plan, setup: Setup) -> float:
    """The load that the holders withstand in the weakest direction, N, within a newton; at most 100 kN."""
    work = plan.work

    held = held_at(work, setup.passes[0].plane if setup.passes else setup.plane)
    low, high = 0.0, 100_000.0
    if held(high):
        return high
    while high - low > 1.0:
        middle = (low + high) / 2
        low, high = (middle, high) if held(middle) else (low, middle)
    return low


def panel_bars(plan: Plan) -> list[LimitBar]:
    """The limits of the whole panel: uncertainty, thickness left, and the difference between the two faces."""
    work, unit = plan.work, display_unit(plan.work)
    found = []
    within = getattr(work.job.faces.second, "within", None)
    if within is not None and plan.parts:
        share = plan.plus_minus / max(1e-9, float(within))
        found.append(LimitBar("± on thickness", unit(plan.plus_minus), spaced(within), share))
    if work.rules.leave is not None and plan.forecast > 0:
        share = work.rules.leave / plan.forecast
        found.append(LimitBar("Thickness left", unit(plan.forecast), f"at least {unit(work.rules.leave)}", share))
    lost = {setup.face: setup.removed_mean for setup in plan.setups if not setup.again}
    if work.rules.uneven is not None and len(lost) == 2:
        apart = abs(lost["first"] - lost["second"])
        note = f"first face {unit(lost['first'])}, second face {unit(lost['second'])} on average"
        share = apart / work.rules.uneven
        found.append(LimitBar("Difference in wood removed", unit(apart), unit(work.rules.uneven), share, note=note))
    return found
