"""What every judgement of a program needs: the plan, the wood as it is cut, and the findings so far."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from flatwise.core.finding import Finding, Findings
from flatwise.core.units import show
from flatwise.model.stages import Pass, Plan, Setup
from flatwise.verify.rs274 import Block
from flatwise.verify.wood import Wood
from flatwise_grammar.nodes import Span


@dataclass
class Bench:
    """One program on one setup: what every judgement needs, and the findings so far."""

    plan: Plan
    setup: Setup
    name: str
    wood: Wood
    unit: str
    #: half of the last digit of a coordinate, mm: heights closer than this are the same
    same: float
    #: how much lower than worked out the cutter may run because zero was touched at the lowest top there, mm
    sink: float = 0.0
    found: dict[str, Finding] = field(default_factory=dict)
    times: dict[str, int] = field(default_factory=dict)
    collisions: set[int] = field(default_factory=set)
    deepest: float = 0.0

    def add(self, kind: str, finding: Finding) -> None:
        """Keep the first finding of a kind and count the rest."""
        self.found.setdefault(kind, finding)
        self.times[kind] = self.times.get(kind, 0) + 1

    def span(self, block: Block) -> Span:
        return Span(self.name, block.start, block.end)

    def mm(self, value: float) -> str:
        """A length in the unit in which the panel's size is written."""
        return show(value, self.unit)

    def at(self, x: float, y: float) -> str:
        return f"({self.mm(round(x, 2))}, {self.mm(round(y, 2))})"

    def nearest(self, z: float) -> tuple[int, Pass] | None:
        """The pass whose plane is nearest to a height, with its number from 1."""
        passes = list(enumerate(self.setup.passes, 1))
        return min(passes, key=lambda pair: abs(pair[1].plane - z)) if passes else None

    def where(self, x: float, y: float, z: float) -> str:
        """Words for the place in the plan that a departure is nearest to: `pass 2, row 7`."""
        near = self.nearest(z)
        if near is None:
            return "no pass of the plan"
        number, one = near
        if not one.rows:
            return f"pass {number}"
        job = self.plan.work.job
        along_x = (job.cut.pattern.direction == "along") == (job.stock.grain == "x")
        across = y if along_x else x
        row = min(range(len(one.rows)), key=lambda i: abs(one.rows[i] - across))
        return f"pass {number}, row {row + 1}"

    def findings(self) -> Findings:
        """One finding of each kind, saying how many lines have it, in the order of the codes."""
        told = []
        for kind, finding in self.found.items():
            more = self.times[kind] - 1
            if more and finding.span is not None:
                lines = "One more line does" if more == 1 else f"{more} more lines do"
                finding = replace(finding, help=f"{finding.help} {lines} the same.")
            told.append(finding)
        return tuple(sorted(told, key=lambda finding: finding.code))
