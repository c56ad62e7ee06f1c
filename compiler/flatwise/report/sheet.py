"""The sheet for the person at the machine: one HTML file that needs nothing else, in order of work."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from importlib.resources import files as resources
from typing import Any

from flatwise import __version__
from flatwise.model.words import PLACES
from flatwise.report.drawing import plan_view
from flatwise.report.lines import leaf, minutes, stack
from flatwise.stages import Built, Holder, Plan, Setup, Shim, Work
from flatwise.units import show
from flatwise.write import decimal, sources_hash

#: Where calipers are put after a cut, and so what the line for the job names.
_MEASURED = ("front_left", "centre", "back_right")


def sheet(built: Built) -> str:
    """The sheet as HTML.  Raises ValueError for a job without a plan."""
    from jinja2 import Environment, StrictUndefined
    from markupsafe import Markup

    plan = built.plan
    if plan is None:
        raise ValueError("a job without a plan has no sheet")
    work = plan.work
    unit = _Unit("in" if work.job.stock.size.thickness.unit in ("in", "thou", "ft") else "mm")
    environment = Environment(autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True)
    template = environment.from_string(resources(__package__).joinpath("sheet.html.jinja").read_text("utf-8"))
    return (
        template.render(
            plan=plan,
            work=work,
            job=work.job,
            unit=unit,
            version=__version__,
            hash=sources_hash(work),
            setups=[
                _setup(plan, setup, unit, Markup(plan_view(work, setup)))  # names in the drawing are escaped there
                for setup in plan.setups
            ],
            programs=sorted(built.programs),
            fetch=_fetch(plan),
            proofs=list(built.proofs.items()),
            waived=built.waived,
            warnings=[finding for finding in built.findings if finding.severity == "warning"],
            minutes=minutes,
            total=minutes(sum(setup.time for setup in plan.setups)),
        )
        + "\n"
    )


@dataclass(frozen=True, slots=True)
class _Unit:
    """Lengths and feeds in millimetres, or in inches in a job that is written in inches."""

    symbol: str

    def __call__(self, value: float) -> str:
        """To the thousandth of a millimetre or the tenth of a thou."""
        inches = self.symbol == "in"
        return decimal(value / 25.4 if inches else value, 4 if inches else 3, point=False) + " " + self.symbol

    def feed(self, value: float) -> str:
        """mm/min or in/min."""
        symbol = "in/min" if self.symbol == "in" else "mm/min"
        return show(value, symbol, 6).removesuffix(symbol) + " " + symbol


def _fetch(plan: Plan) -> list[tuple[str, str]]:
    """What to bring to the machine: (what, how many or which)."""
    work = plan.work
    found = [
        (
            "Cutter",
            f"{work.cutter.name}, {work.cutter.diameter}, {work.cutter.wings} wings, "
            f"shank {work.cutter.shank}, marked {work.cutter.speed.least} to {work.cutter.speed.most}",
        ),
        ("Stick-out", f"{work.cutter.stick_out} from the collet's face to the edge"),
    ]
    holders = Counter((each.kind, each.name) for each in work.holders)
    found += [(kind.capitalize() + "s", f"{count} × {name}") for (kind, name), count in sorted(holders.items())]
    if plan.seating is not None and plan.setups and plan.setups[0].shims:
        counts = Counter(each for shim in plan.setups[0].shims for each in shim.leaves)
        if counts:
            leaves = ", ".join(f"{count} × {leaf(work, value)}" for value, count in sorted(counts.items()))
            found.append(("Leaves, 25 mm square", leaves))
    paper = work.job.zero.z.paper
    if paper:
        found.append(("Paper", f"a strip, {paper} thick: measure it"))
    found.append(("Measuring", "calipers, feelers, a straightedge"))
    return found


def _setup(plan: Plan, setup: Setup, unit: _Unit, drawing: Any) -> dict[str, Any]:
    """One face as the template shows it."""
    work, controller = plan.work, plan.work.machine.controller
    worth = 25.4 if controller.units == "in" else 1.0

    def coordinate(value: float) -> str:
        return decimal(value / worth, controller.places) + " " + controller.units

    touch = setup.touch
    return {
        "face": setup.face,
        "setup": setup,
        "drawing": drawing,
        "turned": setup.face == "second",
        "turn": "long" if (work.turn == "x") == (work.length >= work.width) else "short",
        "turn_axis": "front edge goes to the back" if work.turn == "x" else "left end goes to the right",
        "leaves": [_leaves(work, number, shim, unit) for number, shim in enumerate(setup.shims, 1)],
        "holders": [_holder(each, unit) for each in setup.holders],
        "origin": [coordinate(value) for value in setup.origin_machine],
        "touch_at": [coordinate(touch.x - setup.origin[0]), coordinate(touch.y - setup.origin[1])],
        "touch_from_edge": [unit(touch.x), unit(touch.y)],
        "lift": coordinate(setup.lift - touch.zero),
        "feed": unit.feed(setup.feed),
        "measure": _measure(plan, setup),
    }


def _leaves(work: Work, number: int, shim: Shim, unit: _Unit) -> dict[str, Any]:
    return {
        "number": number,
        "place": shim.place or f"({unit(shim.x)}, {unit(shim.y)})",
        "stack": stack(work, shim.leaves) or "none",
        "height": unit(shim.height),
        "gap": unit(shim.gap_left),
    }


def _holder(holder: Holder, unit: _Unit) -> dict[str, str]:
    end = "left" if holder.edge in ("front", "back") else "front"
    return {
        "what": f"{holder.kind} {holder.name}",
        "edge": holder.edge,
        "at": f"{unit(holder.along)} from the {end} end",
        "height": unit(holder.height),
    }


def _measure(plan: Plan, setup: Setup) -> dict[str, Any]:
    """Where to put the calipers after this face, what they should read, and the line to write into the job."""
    work = plan.work
    if work.job.stock.is_bed:
        return {}
    last = setup is plan.setups[-1]
    expected: dict[str, float] = {}
    if setup.face == "first" and not last:
        # the second face's heights are the thickness that the first leaves; back in the panel's own frame
        after = plan.setups[-1].top.turned(work.turn)
        for place in _MEASURED:
            x, y = (share * side for share, side in zip(PLACES[place], (work.length, work.width), strict=True))
            expected[place] = float(after.at(x, y))
    elif setup.face == "second":
        expected = dict.fromkeys(_MEASURED, setup.plane)
    unit = work.job.stock.size.thickness.unit or "mm"
    names = ", ".join(f"{place} ____{unit}" for place in _MEASURED)
    return {"expected": expected, "line": f"after {setup.face} {{ thickness {names} }}"}
