"""What the server remembers between checks saves work and changes no result."""

from __future__ import annotations

import random
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis_profile import NIGHTLY
from lsp.marked import demo

from flatwise import pipeline
from flatwise.language import link
from flatwise_grammar.nodes import Span
from flatwise_lsp.workspace.analysis import Analysis, analyse, carry_over
from flatwise_lsp.workspace.document_text import DocumentText
from flatwise_lsp.workspace.documents import Document, Snapshot, uri_of
from flatwise_lsp.workspace.earlier_results import EarlierResults
from flatwise_lsp.workspace.shifted_findings import BlockShift, EditShift

USES = 'use "../shared/shop.flat"\nuse "../shared/sample.flat"\n'
DOG = "dog own_dog { across 19mm; height 11mm }\n"


def checked(
    root: Path, text: str, earlier: EarlierResults | None = None, halves: list[Analysis] | None = None
) -> Analysis:
    path = root.resolve() / "jobs" / "one.flat"
    snapshot = Snapshot(1, {path: Document(uri_of(path), path, 1, DocumentText(text))}, (root.resolve(),))
    found = analyse(path, snapshot, lambda: False, (halves if halves is not None else []).append, earlier)
    assert found is not None
    return found


@pytest.fixture
def worked_out(monkeypatch: pytest.MonkeyPatch) -> Iterator[list[str]]:
    """The names of the jobs that were planned, in order."""
    names: list[str] = []
    plan_job = pipeline.plan_job

    def counted(work: pipeline.Work) -> object:
        names.append(work.name)
        return plan_job(work)

    monkeypatch.setattr(pipeline, "plan_job", counted)
    yield names


def jobs(*lines: str) -> str:
    return "".join(f"\njob job_{number} from plain_top {{ {line} }}\n" for number, line in enumerate(lines))


def assert_same(found: Analysis, fresh: Analysis) -> None:
    """Nothing differs from a check without memory: neither findings, nor jobs, nor where their holders are."""
    assert found.findings == fresh.findings
    assert list(found.outcomes) == list(fresh.outcomes)
    assert list(found.batches) == list(fresh.batches)
    for name, batch in found.batches.items():
        mine, its = batch.plan, fresh.batches[name].plan
        assert (mine is None) == (its is None)
        if mine is not None and its is not None:
            assert [face.time for face in mine.faces] == [face.time for face in its.faces]
            assert [each.setups[0].origin for each in mine.plans] == [each.setups[0].origin for each in its.plans]
    for name, outcome in found.outcomes.items():
        other = fresh.outcomes[name]
        assert [outcome.place(one.span) for one in outcome.work.holders] == [one.span for one in other.work.holders]
        assert (outcome.plan is None) == (other.plan is None)
        if outcome.plan is not None and other.plan is not None:
            assert (outcome.plan.forecast, outcome.plan.setups[0].time) == (
                other.plan.forecast,
                other.plan.setups[0].time,
            )


def test_an_edit_works_out_only_the_job_that_it_touches(shop: Path, worked_out: list[str]) -> None:
    text = USES + DOG + jobs("", "cut { depth 0.8mm }", "cut { depth 0.4mm }", "hold { dog own_dog left at 50% }")
    earlier = EarlierResults()
    checked(shop, text, earlier)
    assert worked_out == ["job_0", "job_1", "job_2", "job_3"]
    edits = {
        text: [],
        text.replace("0.4mm", "0.35mm"): ["job_2"],
        "# a comment\n\n" + text: ["job_2"],
        text.replace("job job_2", "job renamed"): ["renamed"],
        text.replace("11mm", "12mm"): ["job_0", "job_1", "job_2", "job_3"],
    }
    for edited, expected in edits.items():
        worked_out.clear()
        found = checked(shop, edited, earlier)
        assert worked_out == expected
        assert_same(found, checked(shop, edited))


def test_jobs_beyond_the_most_of_a_file_are_never_worked_out(
    shop: Path, worked_out: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(link, "MOST_JOBS", 2)
    text = USES + jobs("", "cut { depth 0.4mm }", "cut { depth 0.3mm }")
    earlier = EarlierResults()
    # a second check remembers the first two; a job in front of them pushes one beyond
    for edited in (text, text, text.replace("\njob job_0", "\njob new from plain_top { }\njob job_0")):
        worked_out.clear()
        found = checked(shop, edited, earlier)
        assert [finding.code for finding in found.findings].count("FW107") == 1
        assert not {"job_2"} & {*worked_out, *found.outcomes}
        assert_same(found, checked(shop, edited))
    assert list(found.outcomes) == ["new", "job_0"]


def test_a_job_is_worked_out_again_when_a_file_that_it_uses_changes(shop: Path, worked_out: list[str]) -> None:
    (shop / "jobs" / "top.csv").write_text("x mm,y mm,z mm\n0,0,32.1\n420,0,32.2\n0,297,32.3\n420,297,32.2\n")
    text = USES + jobs('survey { probe "top.csv" }', "")
    earlier = EarlierResults()
    before = checked(shop, text, earlier)
    assert len(before.outcomes) == 2, before.findings
    worked_out.clear()
    (shop / "jobs" / "top.csv").write_text("x mm,y mm,z mm\n0,0,32.4\n420,0,32.2\n0,297,32.3\n420,297,32.2\n")
    assert_same(checked(shop, text, earlier), checked(shop, text))
    assert worked_out[0] == "job_0" and worked_out.count("job_1") == 1
    worked_out.clear()
    sample = shop / "shared" / "sample.flat"
    sample.write_text(sample.read_text() + "# changed\n")
    checked(shop, text, earlier)
    assert worked_out == ["job_0", "job_1"]


def test_a_job_is_worked_out_again_when_the_job_that_it_starts_from_changes(shop: Path, worked_out: list[str]) -> None:
    text = USES + jobs("cut { depth 0.4mm }") + "\njob other like job_0 { cut { finish 0.2mm } }\n"
    earlier = EarlierResults()
    checked(shop, text, earlier)
    worked_out.clear()
    edited = text.replace("0.4mm", "0.35mm")
    assert_same(checked(shop, edited, earlier), checked(shop, edited))
    assert worked_out[:2] == ["job_0", "other"]


def test_random_edits_of_jobs_give_the_results_of_a_fresh_check(shop: Path) -> None:
    """Edits break, mend, move, copy and rename jobs and the declarations between them."""
    dice = random.Random(5)
    start = USES + jobs("", "cut { depth 0.8mm }") + DOG + jobs("hold { dog own_dog left at 50% }").replace("_0", "_2")
    pieces = ["0.4mm", "0.9mm", "}", "\n", "# c\n", "", "depth", "own_dog", DOG, jobs("cut { depth 0.7mm }"), "5%"]
    text, earlier, recalled = start, EarlierResults(), 0
    edits = 60 if NIGHTLY else 30
    for number in range(edits):
        at = dice.choice([one.start() for one in re.finditer(r"\b|\n", text)])
        text = text[:at] + dice.choice(pieces) + text[at + dice.randrange(3) :]
        if number % 6 == 5:
            text = start
        found = checked(shop, text, earlier)
        assert_same(found, checked(shop, text))
        recalled += sum(outcome.shift is not None for outcome in found.outcomes.values())
    assert recalled > edits / 3


def test_declarations_known_to_be_sound_are_not_read_again_and_nothing_else_changes(shop: Path) -> None:
    """Compared with a check without memory, over edits that break, mend, move, copy and rename declarations."""
    dice = random.Random(3)
    text = (shop / "shared" / "shop.flat").read_text() + "cutter other like fly_64 { diameter 50mm }\n"
    pieces = [
        "mm",
        "5mm",
        "x",
        "}",
        "\n",
        "cutter",
        "fly_64",
        "dog low_dog { across 19mm; height 11mm }\n",
        "0",
        "in",
        "",
    ]
    earlier = EarlierResults()
    seen = set()
    for number in range(150 if NIGHTLY else 60):
        at = dice.randrange(len(text))
        text = text[:at] + dice.choice(pieces) + text[at + dice.randrange(3) :]
        if number % 12 == 11:
            text = (shop / "shared" / "shop.flat").read_text()
        found = checked(shop, text, earlier).findings
        assert found == checked(shop, text).findings
        seen |= {one.code for one in found}
    assert len(seen) > 4


def test_findings_about_a_plan_stay_while_an_edit_elsewhere_is_worked_out(shop: Path) -> None:
    """Until the job is worked out again, the broken rule moves with its line; an edit of that line removes it."""
    text = demo("cut { depth 0.8mm }")
    before = checked(shop, text)
    assert "FW701" in [one.code for one in before.outcomes["demo"].findings]
    halves: list[Analysis] = []
    whole = checked(shop, "# a line above\n" + text, halves=halves)
    (half,) = halves
    assert "FW701" not in [one.code for one in half.findings]
    assert set(carry_over(before, half).findings) == set(whole.findings)
    halves.clear()
    checked(shop, text.replace("0.8mm", "0.9mm"), halves=halves)
    assert "FW701" not in [one.code for one in carry_over(before, halves[0]).findings]


def test_an_edit_shifts_what_is_behind_it() -> None:
    shift = EditShift("one two three", "one 2 three")
    assert shift.span(Span("", 0, 3)) == Span("", 0, 3)
    assert shift.span(Span("", 4, 7)) is None
    assert shift.span(Span("", 8, 13)) == Span("", 6, 11)


def test_each_block_shifts_by_its_own_distance() -> None:
    shift = BlockShift([50, 10], [20, 60])
    assert shift.span(Span("", 12, 15)) == Span("", 62, 65)
    assert shift.span(Span("", 50, 70)) == Span("", 20, 40)
    assert shift.span(Span("", 9, 12)) is None


TRAYS = """
batch trays { jobs tray_a, tray_b; gap 40mm; from front_left at 80mm, 80mm }
job tray_a from plain_top { stock { size 400mm x 300mm x 32mm }; zero { z bed } }
job tray_b from plain_top { stock { size 300mm x 300mm x 32mm }; zero { z bed } }
job other from plain_top { cut { depth 0.4mm } }
"""


def test_an_edit_plans_no_job_of_a_batch_that_it_does_not_touch(shop: Path, worked_out: list[str]) -> None:
    text, earlier = USES + TRAYS, EarlierResults()
    first = checked(shop, text, earlier)
    assert set(first.batches) == {"trays"} and not [one for one in first.findings if one.severity == "error"]
    edits = {
        text.replace("0.4mm", "0.35mm"): ["other"],
        "# a comment\n" + text: ["other"],
        text.replace("gap 40mm", "gap 60mm"): [],
        text.replace("300mm x 300mm", "310mm x 300mm"): ["tray_b"],
        text.replace("jobs tray_a, tray_b", "jobs tray_b, tray_a"): ["tray_b"],
        text.replace("jobs tray_a, tray_b", "jobs tray_a, tray_b, other"): [],
        # FW301: the panels find no room
        text.replace("gap 40mm", "gap 900mm"): [],
    }
    for edited, expected in edits.items():
        worked_out.clear()
        found = checked(shop, edited, earlier)
        assert worked_out == expected, edited
        assert_same(found, checked(shop, edited))
        # nothing has changed: nothing is even read
        assert checked(shop, edited, earlier).batches.keys() == found.batches.keys()


def test_random_edits_of_a_batch_give_the_results_of_a_fresh_check(shop: Path) -> None:
    dice = random.Random(7)
    start = USES + TRAYS
    pieces = ["60mm", "}", "\n", "# c\n", "", "tray_a", "tray_b, other", "zero", "560mm, 80mm", TRAYS, "900mm"]
    text, earlier = start, EarlierResults()
    for number in range(80 if NIGHTLY else 16):
        at = dice.choice([one.start() for one in re.finditer(r"\b|\n", text)])
        text = text[:at] + dice.choice(pieces) + text[at + dice.randrange(3) :]
        if number % 4 == 3:
            text = start
        assert_same(checked(shop, text, earlier), checked(shop, text))


def test_panels_of_a_batch_are_checked_together(shop: Path) -> None:
    def text(x: int, lines: str = "") -> str:
        trays = "".join(
            f"job tray_{name} from plain_top {{ stock {{ size 400mm x 300mm x 32mm }}; "
            f"zero {{ corner front_left at {at}mm, 100mm; z bed }}; {lines} }}\n"
            for name, at in (("a", 100), ("b", x))
        )
        return f"{USES}{trays}batch trays {{ jobs tray_a, tray_b }}\n"

    earlier = EarlierResults()
    for x, lines, code in (
        (700, "", ""),
        (558, "", "FW501"),
        (700, "", ""),
        (700, "after first { marks left }", "FW109"),
        (480, "", "FW503"),
    ):
        found = checked(shop, text(x, lines), earlier)
        codes = {finding.code for finding in found.findings if finding.severity == "error"}
        assert codes == ({code} if code else set())
        assert_same(found, checked(shop, text(x, lines)))
