"""The stages in their order: load → parse → link → read → survey → seat → plan → check → write → verify.

Everything that runs a job (command line, language server, tests) comes through here.  No function raises for a
user's mistake; only `read_works` reads the disk.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from pathlib import Path
from typing import NamedTuple

from flatwise.core.finding import Finding, Findings, Related, has_errors
from flatwise.core.wording import listed
from flatwise.model.bed import BatchPlan, BatchWork
from flatwise.model.built import Built, BuiltBatch, Proof, Waived
from flatwise.model.measuring import BedWalk, Gain, Measured, MeasuredBatch, Walk
from flatwise.model.stages import FaceName, Panel, Plan, Seating, Work
from flatwise.sources.project import Project
from flatwise_grammar.nodes import Span

#: the panel as surveyed, as it rests, and the plan, each None if readings contradict each other before it; the findings
Planned = tuple[Panel | None, Seating | None, Plan | None, Findings]


class Front(NamedTuple):
    """The result of reading the sources: the jobs without errors in their text, all findings, and the texts."""

    works: Sequence[Work]
    #: the batches without errors in their text
    batches: Sequence[BatchWork]
    findings: Findings
    #: the text of every source by the path that spans carry
    texts: Mapping[str, str]
    #: the block of every job and batch in the files that were asked for, with or without errors, by its name
    jobs: Mapping[str, Span]
    #: the project of every file that was read, by the path that spans carry
    projects: Mapping[str, Project]

    @property
    def cuts(self) -> tuple[Work | BatchWork, ...]:
        """All jobs and all batches."""
        return (*self.works, *self.batches)


def read_works(paths: Sequence[Path], overlay: Mapping[Path, str] | None = None) -> Front:
    """Load, parse, link and read files; `overlay` has the unsaved text of files open in an editor."""
    from flatwise.language.batches import read_batches
    from flatwise.language.link import link
    from flatwise.language.read import read
    from flatwise.sources.load import load

    loaded, load_findings = load(paths, overlay or {})
    linked, link_findings = link(loaded)
    works, read_findings = read(linked)
    batches, batch_findings = read_batches(linked, works)
    asked = set(loaded.asked)
    jobs: dict[str, Span] = {}
    for each in linked.declarations:
        if each.kind in ("job", "batch") and each.path in asked:
            jobs.setdefault(each.name, each.block.span)
    projects = {name: source.project for name, source in loaded.sources.items()}
    findings = load_findings + link_findings + read_findings + batch_findings
    return Front(works, batches, findings, loaded.texts, jobs, projects)


def plan_job(work: Work) -> Planned:
    """Survey, seat and plan one job, without the checks of its plan."""
    from flatwise import check
    from flatwise.plan import falls_short, never_within, plan
    from flatwise.seat import seat
    from flatwise.survey import survey

    panel, findings = survey(work)
    if any(finding.code == "FW202" for finding in findings):
        return None, None, None, findings

    def reaches(lying: Seating) -> bool:
        if falls_short(work, lying):
            return False
        draft, _ = plan(work, panel, lying, moves=False)
        return draft is None or check.reaches(draft)

    seating, seat_findings = seat(work, panel, None if never_within(work, panel) else reaches)
    findings += seat_findings
    if any(finding.code == "FW202" for finding in seat_findings):
        return panel, None, None, findings
    planned, plan_findings = plan(work, panel, seating)
    return panel, seating, planned, findings + plan_findings


def work_out(
    work: Work, planned: Callable[[Work], Planned] = plan_job
) -> tuple[Plan | None, Findings, tuple[Waived, ...]]:
    """Survey, seat, plan and check one job; `planned` may know its plan from an earlier time.

    Contradicting readings are reported alone, since whatever followed from them would be reported as well.  Every
    finding is in the job's own file; a recipe or the shop's file is its related place.
    """
    made, findings, waived = _judged(work, planned)
    return made, tuple(_at_the_job(work, finding) for finding in findings), waived


def _at_the_job(work: Work, finding: Finding) -> Finding:
    """The finding; if its place is in another file, moved to the job, with that place as a related one.

    Otherwise an editor would show it in a file that is not open, and a list of many jobs would not name the job.
    """
    if finding.span is None or finding.span.path == work.span.path:
        return finding
    return finding._replace(span=work.span, related=(Related("written here", finding.span), *finding.related))


def _judged(
    work: Work, planned: Callable[[Work], Planned] = plan_job
) -> tuple[Plan | None, Findings, tuple[Waived, ...]]:
    from flatwise import check

    _, _, made, findings = planned(work)
    if made is None:
        return None, *check.waive(work, findings, whole=False)
    return made, *check.waive(work, findings + check.run(made), whole=True)


def work_out_batch(batch: BatchWork) -> tuple[BatchPlan | None, Findings]:
    """Survey, seat, plan and check all jobs of a batch, on one bed."""
    plan, panels, shared = work_out_panels(batch)
    return plan, of_panels(batch, [panel.findings for panel in panels]) + shared


def of_panels(batch: BatchWork, found: Iterable[Findings]) -> Findings:
    """The findings about each panel of a batch, with the jobs before the message; what several share is said once."""
    about: dict[Finding, list[str]] = {}
    for work, findings in zip(batch.works, found, strict=True):
        for finding in findings:
            about.setdefault(finding, []).append(work.name)
    return tuple(each._replace(message=f"{listed(names, 'and')}: {each.message}") for each, names in about.items())


def work_out_panels(
    batch: BatchWork, planned: Callable[[Work], Planned] = plan_job
) -> tuple[BatchPlan | None, tuple[Built, ...], Findings]:
    """The plan of a batch, each panel with its own findings, and the findings about all of them."""
    from flatwise import check

    plan, found, shared = _planned_bed(batch, planned)
    panels = _judged_panels(batch, plan, found)
    return plan, panels, shared + (check.run_batch(plan) if plan is not None else ())


def _planned_bed(
    batch: BatchWork, planned: Callable[[Work], Planned] = plan_job
) -> tuple[BatchPlan | None, tuple[Findings, ...], Findings]:
    """The plan of a batch, and what was found on the way, about each of its jobs and about all of them."""
    from flatwise.check.fw301_travel import check_size
    from flatwise.plan.batch_plan import Draft, plan_batch

    drafts, found = [], []
    for work in batch.works:
        panel, seating, alone, findings = planned(work)
        found.append(findings)
        if alone is not None and panel is not None and seating is not None:
            drafts.append(Draft(panel, seating, alone))
    plan, shared = plan_batch(batch, drafts) if len(drafts) == len(batch.works) else (None, ())
    if shared:
        # a panel that fits nowhere is reported for itself
        large = [tuple(check_size(draft.plan)) for draft in drafts]
        found = [own + more for own, more in zip(found, large, strict=True)]
        shared = () if any(large) else shared
    return plan, tuple(found), shared


def _judged_panels(batch: BatchWork, plan: BatchPlan | None, found: Sequence[Findings]) -> tuple[Built, ...]:
    """Each panel with the findings about it; without a plan only those `found` on the way to it."""
    from flatwise import check

    panels = []
    for number, (work, findings) in enumerate(zip(batch.works, found, strict=True)):
        own = plan.plans[number] if plan is not None else None
        judged, waived = check.waive(
            work, findings + (check.run(own) if own is not None else ()), whole=own is not None
        )
        panels.append(Built(own, {}, {}, tuple(_at_the_job(work, finding) for finding in judged), waived))
    return tuple(panels)


def build_batch(batch: BatchWork) -> BuiltBatch:
    """Work a batch out, write its programs, one a face, and prove them; the same for what is asked about each panel.

    If a program fails its proof there are no programs, only the findings.
    """
    from flatwise.gcode.write import write_batch
    from flatwise.seat import seating_choices
    from flatwise.verify import verify_batch

    plan, panels, shared = work_out_panels(batch)
    findings = of_panels(batch, [panel.findings for panel in panels]) + shared
    programs: dict[str, bytes] = {}
    proofs: dict[str, dict[FaceName, Proof]] = {work.name: {} for work in batch.works}
    if plan is None or has_errors(findings):
        return BuiltBatch(plan, {}, panels, findings)
    for face in plan.faces:
        program = write_batch(plan, face)
        proven, proof_findings = verify_batch(program, plan, face)
        findings += _own(proof_findings)
        programs[f"{face.face}.nc"] = program
        for name, proof in proven.items():
            proofs[name][face.face] = proof
    if has_errors(findings):
        return BuiltBatch(plan, {}, panels, findings)
    made = []
    for work, panel, each in zip(batch.works, panels, plan.plans, strict=True):
        own = {f"{face}.nc": programs[f"{face}.nc"] for face in proofs[work.name]}
        choices = seating_choices(work, each.panel)
        made.append(panel._replace(programs=own, proofs=proofs[work.name], seating_choices=choices))
    return BuiltBatch(plan, programs, tuple(made), findings)


def build(work: Work) -> Built:
    """The programs of one job, and if there are any, what other choices would have cost."""
    from flatwise.report.other_choices import other_choices
    from flatwise.seat import seating_choices

    built = write_programs(work)
    if built.plan is None or not built.programs:
        return built
    choices = seating_choices(work, built.plan.panel)
    return built._replace(choices=other_choices(built.plan), seating_choices=choices)


def write_programs(work: Work) -> Built:
    """Work one job out, write its programs, and prove them by simulating them.

    If a program fails its proof there are no programs, only the findings.
    """
    from flatwise.gcode.write import write
    from flatwise.verify import verify

    planned, findings, waived = work_out(work)
    programs: dict[str, bytes] = {}
    proofs: dict[FaceName, Proof] = {}
    if planned is not None and not has_errors(findings):
        for setup in planned.setups:
            program = write(planned, setup)
            proof, proof_findings = verify(program, planned, setup)
            findings += _own(proof_findings)
            proofs[setup.face] = proof
            programs[f"{setup.face}.nc"] = program
    if has_errors(findings):
        programs = {}
    return Built(planned, programs, proofs, findings, waived)


def _own(found: Findings) -> Findings:
    """What the proof of a program says that was just written: an error in it is no fault of the job."""
    report = "This is a bug in flatwise, and nothing is written: report it with the job file."
    return tuple(each._replace(help=report) if each.severity == "error" else each for each in found)


def measure(work: Work, *, under: bool = False) -> Measured:
    """The walk of a gauge over the panel as it lies free, or turned over (`under`), with its proven program.

    Unknown shapes, leaves and planes do not matter here: FW203 to FW207 are left out.
    """
    from flatwise import check
    from flatwise.gcode.walk_program import write_walk
    from flatwise.plan.walk import plan_walk
    from flatwise.verify import verify_walk

    panel, findings = _surveyed(work)
    walk, program = None, b""
    if not has_errors(findings):
        walk = plan_walk(work, panel, under=under)
    if walk is not None:
        findings += check.run_walk(work, walk)
        if not has_errors(findings):
            program = write_walk(work, walk)
            findings += _own(verify_walk(program, work, walk, "measure_under.nc" if under else "measure.nc"))
    findings = tuple(_at_the_job(work, finding) if finding.code < "FW9" else finding for finding in findings)
    sound = not any(finding.code == "FW202" for finding in findings)
    if not sound:
        return Measured(None, walk, b"", findings)
    return Measured(panel, walk, b"" if has_errors(findings) else program, findings, _gain(work))


def measure_batch(batch: BatchWork, *, under: bool = False) -> MeasuredBatch:
    """One walk of a gauge over all panels of a batch where they lie, with its proven program."""
    from flatwise import check
    from flatwise.check.fw503_overlap import check_batch as check_overlaps
    from flatwise.findings.fw109_set_up import other_gauge
    from flatwise.gcode.walk_program import write_bed_walk
    from flatwise.plan.bed_walk import plan_bed_walk
    from flatwise.verify import verify_bed_walk

    plan, on_the_way, shared = _planned_bed(batch)
    if plan is None:
        panels = _judged_panels(batch, None, on_the_way)
        found = of_panels(batch, [panel.findings for panel in panels]) + shared
        return MeasuredBatch((), None, b"", tuple(finding for finding in found if finding.severity == "error"))
    works = [each.work for each in plan.plans]
    walking = [(name, work) for name, work in zip(batch.names, works, strict=True) if work.gauge is not None]
    gauges = tuple(one for name, work in walking if (one := other_gauge(name, work, walking[0][1])) is not None)
    own = {work.name: _surveyed(work)[1] for work in works}
    walk, program = None, b""
    if not has_errors(gauges):
        walk = plan_bed_walk(batch, plan.plans, under=under)
    if walk is not None:
        own = {name: own[name] + judged for name, judged in check.run_bed_walk(walk).items()}
    placed = {work.name: tuple(_at_the_job(work, each) for each in own[work.name]) for work in works}
    overlaps = tuple(check_overlaps(plan)) if walk is not None else ()
    findings = gauges + of_panels(batch, placed.values()) + overlaps
    if walk is not None and not has_errors(findings):
        program = write_bed_walk(walk)
        findings += _own(verify_bed_walk(program, walk, "measure_under.nc" if under else "measure.nc"))
    walks = {work.name: each for work, each in walk.panels if each.nx} if walk is not None else {}
    made = [
        (each.work, Measured(each.panel, walks.get(each.work.name), b"", placed[each.work.name], _gain(each.work)))
        for each in plan.plans
    ]
    return MeasuredBatch(tuple(made), walk, b"" if has_errors(findings) else program, findings)


def _surveyed(work: Work) -> tuple[Panel, Findings]:
    """The panel, and what is wrong with its readings, without FW203 to FW207."""
    from flatwise.survey import survey

    panel, found = survey(work)
    return panel, tuple(finding for finding in found if not "FW203" <= finding.code <= "FW207")


def _gain(work: Work) -> Gain | None:
    """The plans with and without the points of the survey's files, or where it has none, without all its readings."""
    block = work.job.survey
    if block is None:
        return None
    files = tuple(dict.fromkeys(str(each.file) for each in block.probe))
    empty = {"probe": ()} if files else {"thickness": (), "gap": (), "step": ()}
    if not any(getattr(block, word) for word in empty):
        return None
    uncut: dict[str, object] = {"after_first": None, "after_second": None}
    less = {**uncut, "survey": block.model_copy(update=empty)}
    known, without = (_judged(work._replace(job=work.job.model_copy(update=each)))[0] for each in (uncut, less))
    return Gain(files, known, without) if known and without else None


def judge_walk(
    program: bytes, name: str, work: Work | BatchWork, *, under: bool
) -> tuple[Walk | BedWalk | None, Findings]:
    """Verify a measuring program, which may have been edited, against the walk that the job or batch now gives."""
    from flatwise.findings.fw902_not_as_planned import departs
    from flatwise.verify import verify_bed_walk, verify_walk

    walk: Walk | BedWalk | None
    if isinstance(work, BatchWork):
        bed = measure_batch(work, under=under)
        walk, findings = bed.walk, bed.findings
        missing = f"The program measures panels, but no survey of batch `{work.name}` has a `walk`."
    else:
        alone = measure(work, under=under)
        walk, findings = alone.walk, alone.findings
        missing = f"The program measures a panel, but the survey of job `{work.name}` has no `walk`."
    if has_errors(findings):
        return None, findings
    if walk is None:
        return None, (*findings, departs(missing, Span(name, 0, len(program.partition(b"\n")[0]))))
    if isinstance(walk, BedWalk):
        return walk, findings + verify_bed_walk(program, walk, name)
    assert isinstance(work, Work)
    return walk, findings + verify_walk(program, work, walk, name)
