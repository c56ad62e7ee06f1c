"""The one way through: load → parse → link → read → survey → seat → plan → check → write → verify.

Everything that runs a job (command line, language server, tests) comes through here.  No function raises for a
user's mistake or touches the disk, except `read_works`, which loads.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from flatwise.core.finding import Finding, Findings, Related, has_errors
from flatwise.model.built import Built, Proof, Waived
from flatwise.model.stages import FaceName, Plan, Work
from flatwise.sources.project import Project
from flatwise_grammar.nodes import Span


@dataclass(frozen=True)
class Front:
    """What the sources say: the jobs that could be read whole, every finding, and the texts to show them in."""

    works: Sequence[Work]
    findings: Findings
    #: text of every source by the path that spans carry
    texts: Mapping[str, str]
    #: every job that the files asked for declare, whole or not, by its name → its whole block
    jobs: Mapping[str, Span]
    #: the settings that hold for every file that was read, by the path that spans carry
    projects: Mapping[str, Project]


def read_works(paths: Sequence[Path], overlay: Mapping[Path, str] | None = None) -> Front:
    """Load, parse, link and read files; `overlay` has the unsaved text of files open in an editor."""
    from flatwise.language.link import link
    from flatwise.language.read import read
    from flatwise.sources.load import load

    loaded, load_findings = load(paths, overlay or {})
    linked, link_findings = link(loaded)
    works, read_findings = read(linked)
    asked = set(loaded.asked)
    jobs: dict[str, Span] = {}
    for each in linked.declarations:
        if each.kind == "job" and each.path in asked:
            jobs.setdefault(each.name, each.block.span)
    projects = {name: source.project for name, source in loaded.sources.items()}
    return Front(works, load_findings + link_findings + read_findings, loaded.texts, jobs, projects)


def work_out(work: Work) -> tuple[Plan | None, Findings, tuple[Waived, ...]]:
    """Survey, seat, plan and check one job.

    Readings that contradict each other are told alone: whatever was planned from them would be told as well.
    Every finding stands in the job's own file; what a recipe or the shop's file wrote is its second place.
    """
    planned, findings, waived = _judged(work)
    return planned, tuple(_at_the_job(work, finding) for finding in findings), waived


def _at_the_job(work: Work, finding: Finding) -> Finding:
    """The finding, and where its words stand in another file, put at the job whose trouble it is.

    Else an editor would show it in a file that is not open, and a list of many jobs would not say whose it is.
    """
    if finding.span is None or finding.span.path == work.span.path:
        return finding
    return replace(finding, span=work.span, related=(Related("written here", finding.span), *finding.related))


def _judged(work: Work) -> tuple[Plan | None, Findings, tuple[Waived, ...]]:
    from flatwise import check
    from flatwise.plan import plan
    from flatwise.seat import seat
    from flatwise.survey import survey

    panel, findings = survey(work)
    if any(finding.code == "FW202" for finding in findings):
        return None, *check.waive(work, findings, whole=False)
    seating, seat_findings = seat(work, panel)
    findings += seat_findings
    planned, plan_findings = plan(work, panel, seating)
    findings += plan_findings
    if planned is None:
        return None, *check.waive(work, findings, whole=False)
    return planned, *check.waive(work, findings + check.run(planned), whole=True)


def build(work: Work) -> Built:
    """Work one job out, write its programs, and prove them by cutting them in memory.

    A program that fails its proof is not among the programs; its findings are.
    """
    from flatwise.gcode.write import write
    from flatwise.report.other_choices import other_aim, other_direction
    from flatwise.verify import verify

    planned, findings, waived = work_out(work)
    programs: dict[str, bytes] = {}
    proofs: dict[FaceName, Proof] = {}
    if planned is not None and not has_errors(findings):
        for setup in planned.setups:
            program = write(planned, setup)
            proof, proof_findings = verify(program, planned, setup)
            findings += proof_findings
            proofs[setup.face] = proof
            programs[f"{setup.face}.nc"] = program
    if has_errors(findings):
        programs = {}
    if planned is None or not programs:
        return Built(planned, programs, proofs, findings, waived)
    return Built(planned, programs, proofs, findings, waived, other_direction(planned), other_aim(planned))
