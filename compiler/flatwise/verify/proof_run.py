"""The state of one proof: what the program is held to, the wood as far as it is cut, and the findings so far."""

from __future__ import annotations

from collections import Counter
from collections.abc import Container
from dataclasses import dataclass, field
from typing import NamedTuple

from flatwise.core.finding import Finding, Findings, Related
from flatwise.core.units import show, show_apart
from flatwise.findings.fw902_not_as_planned import departs
from flatwise.findings.fw903_program_hits import hits
from flatwise.model.bed import BatchWork
from flatwise.model.stages import Pass, Plan, Setup, Work
from flatwise.verify.height_field import HeightField
from flatwise.verify.rs274 import ProgramLine
from flatwise_grammar.nodes import Span


class Suspicion(Exception):
    """A run that stops at the first finding has found something."""


class Tool(NamedTuple):
    """The tool in the collet.

    `edge` names its lowest part, `stick_out` is the length from the collet's face to there.  `parts` are all that turn
    or ride with it: (name, radius, height of its lower end above the edge), mm; the first keeps the clearance.
    """

    edge: str
    stick_out: float
    parts: tuple[tuple[str, float, float], ...]


@dataclass
class ProgramRun:
    """One program and what is found in it."""

    work: Work
    #: the path of the program that spans carry
    name: str
    #: half of the last digit of a coordinate, mm: heights that differ by less are the same
    same: float
    tool: Tool
    #: how much lower than planned the tool may run because zero was touched where the top is lowest, mm
    sink: float = 0.0
    #: raise Suspicion at the first finding
    stop_at_finding: bool = False
    found: dict[str, Finding] = field(default_factory=dict)
    times: Counter[str] = field(default_factory=Counter)
    #: numbers of the lines that hit something
    collisions: set[int] = field(default_factory=set)

    def add(self, kind: str, finding: Finding) -> None:
        """Keep the first finding of each kind, and count the others."""
        if self.stop_at_finding:
            raise Suspicion
        self.found.setdefault(kind, finding)
        self.times[kind] += 1

    def again(self, kind: str) -> bool:
        """Whether a finding of this kind is kept: then one more is counted, and nobody needs to word it."""
        known = kind in self.found
        self.times[kind] += known
        return known

    def hit(
        self, kind: str, message: str, line: ProgramLine, help: str = "", related: tuple[Related, ...] = ()
    ) -> None:
        """Record an FW903 at a line."""
        self.add(kind, hits(message, self.span(line), help)._replace(related=related))

    def depart(
        self,
        kind: str,
        message: str,
        line: ProgramLine,
        help: str = "",
        related: tuple[Related, ...] = (),
    ) -> None:
        """Record an FW902 at a line."""
        self.add(kind, departs(message, self.span(line), help)._replace(related=related))

    def span(self, line: ProgramLine) -> Span:
        return Span(self.name, line.start, line.end)

    def mm(self, value: float) -> str:
        """A length in the unit in which the panel's thickness is written."""
        return show(value, self.work.job.stock.size.thickness.unit or "mm")

    def apart(self, value: float, other: float) -> tuple[str, str]:
        """Two lengths that differ, in that unit, with enough digits to tell them apart."""
        return show_apart(round(value, 4), round(other, 4), self.work.job.stock.size.thickness.unit or "mm")

    def at(self, x: float, y: float) -> str:
        return f"({self.mm(round(x, 2))}, {self.mm(round(y, 2))})"

    def findings(self, but: Container[str] = ()) -> Findings:
        """The first finding of each kind, but some, with the number of lines like it, in the order of the codes."""
        reported = []
        for kind, finding in self.found.items():
            if kind in but:
                continue
            more = self.times[kind] - 1
            if more and finding.span is not None:
                lines = "One more line does" if more == 1 else f"{more} more lines do"
                finding = finding._replace(help=f"{finding.help} {lines} the same.")
            reported.append(finding)
        return tuple(sorted(reported, key=lambda finding: finding.code))


@dataclass
class ProofRun(ProgramRun):
    """One program that cuts a setup."""

    plan: Plan = field(kw_only=True)
    setup: Setup = field(kw_only=True)
    wood: HeightField = field(kw_only=True)
    deepest_bite: float = 0.0
    #: the batch that the program is for, if it is for one
    batch: BatchWork | None = None

    def nearest_pass(self, z: float) -> tuple[int, Pass] | None:
        """The pass whose plane is nearest to a height, with its number from 1."""
        return min(enumerate(self.setup.passes, 1), key=lambda pair: abs(pair[1].plane - z), default=None)

    def nearest_row(self, x: float, y: float, z: float) -> str:
        """The planned pass and row that a point is nearest to: `pass 2, row 7`."""
        nearest = self.nearest_pass(z)
        if nearest is None:
            return "no pass of the plan"
        number, one = nearest
        if not one.rows:
            return f"pass {number}"
        across = y if one.along == "x" else x
        row = min(range(len(one.rows)), key=lambda i: abs(one.rows[i] - across))
        return f"pass {number}, row {row + 1}"


def related(span: Span, what: str) -> tuple[Related, ...]:
    """A second place and what stands there, where the sources have one."""
    return (Related(what, span),) if span.path else ()
