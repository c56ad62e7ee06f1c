"""What `build` says of a job in a terminal: what will be left, by which passes, and where the files are."""

from __future__ import annotations

from flatwise.core.units import show
from flatwise.model.built import Built
from flatwise.model.stages import Plan, Setup, Work


def job_lines(built: Built, folder: str, *, full: bool) -> str:
    """A written job: one line, or with `full` a line for each thing that somebody at the machine asks."""
    plan = built.plan
    if plan is None:
        raise ValueError("a job without a plan was not written")
    names = ", ".join(built.programs)
    if not plan.setups:
        return f"{plan.work.name}: nothing left to cut; {folder}"
    if not full:
        return f"{plan.work.name}: {left(plan)} left; {names} in {folder}"
    out = [f"{plan.work.name}", f"  left      {left(plan)}"]
    out += [f"  {setup.face:<8}  {_face(setup)}" for setup in plan.setups]
    if plan.seating is not None:
        placed = [shim for shim in plan.seating.shims if shim.leaves]
        leaves = "; ".join(f"{shim.place} {stack(plan.work, shim.leaves)}" for shim in placed)
        out.append(f"  leaves    {leaves or 'none to place'}")
    out += [f"  waived    {each.rule}: {each.because}" for each in built.waived]
    out.append(f"  files     {folder}: {names}, sheet.html, summary.json")
    return "\n".join(out)


def left(plan: Plan) -> str:
    """`29mm +/- 0.17mm`, in the unit that the job asks in."""
    unit = plan.work.job.stock.size.thickness
    return f"{show(plan.forecast, unit, 5)} +/- {show(plan.plus_minus, unit, 3)}"


def leaf(work: Work, value: float) -> str:
    """A leaf's thickness as its set is marked: `0.012in`, `0.30mm`."""
    for each in (each for one in work.sets.values() for each in one.leaves):
        if abs(float(each) - value) < 1e-9:
            return str(each)
    return show(value, work.job.stock.size.thickness)


def stack(work: Work, leaves: tuple[float, ...]) -> str:
    """`0.30mm + 0.05mm`: the leaves of a stack as they are taken from the set."""
    return " + ".join(leaf(work, each) for each in leaves)


def minutes(seconds: float) -> str:
    """A time as it is said in the shop, to the nearest second: `45 s`, `3 min`, `3 min 10 s`."""
    whole, rest = divmod(round(seconds), 60)
    if not whole:
        return f"{rest} s"
    return f"{whole} min {rest} s" if rest else f"{whole} min"


def _face(setup: Setup) -> str:
    count = len(setup.passes)
    deepest = max((each.depth for each in setup.passes), default=0.0)
    return (
        f"{count} pass{'es' * (count != 1)} down to {show(setup.plane, 'mm', 5)} above the bed, "
        f"at most {show(deepest, 'mm', 3)} at a time, {minutes(setup.time)}"
    )
