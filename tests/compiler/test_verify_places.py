"""Where the proof says that something is: place, pass and row; how often; and which program and face it speaks of."""

from __future__ import annotations

from dataclasses import replace

import pytest
from compiler.verify_programs import LENGTH, WIDTH, cutter, lines, machine, plan, rows, setup, work

from flatwise.diagnostics import Diagnostic
from flatwise.model.job import Cut, Pattern
from flatwise.model.words import Name
from flatwise.stages import Plan, Setup
from flatwise.units import quantity
from flatwise.verify import judge, verify
from flatwise.verify.bench import Bench
from flatwise.verify.wood import Wood
from flatwise_grammar.nodes import Span


def with_rows() -> Setup:
    made = setup()
    passes = (replace(made.passes[0], rows=(10.0, 50.0, 90.0)), replace(made.passes[1], rows=(20.0, 80.0)))
    return replace(made, passes=passes)


def bench(of: Plan | None = None, unit: str = "mm") -> Bench:
    made = with_rows()
    return Bench(of or plan(made), made, "first.nc", Wood(made.top, 0.0), unit, 5e-4)


@pytest.mark.parametrize(
    ("direction", "grain", "row"),
    [("along", "x", "row 2"), ("along", "y", "row 3"), ("across", "x", "row 3"), ("across", "y", "row 2")],
)
def test_the_nearest_row_is_counted_across_the_rows(direction: str, grain: str, row: str) -> None:
    # rows along x have their place in y: 45 is nearest to the second, 88 to the third
    of = plan(with_rows())
    stock = of.work.job.stock.model_copy(update={"grain": grain})
    cut = Cut(cutter=Name("fly_64"), pattern=Pattern(direction=direction))
    job = of.work.job.model_copy(update={"stock": stock, "cut": cut})
    made = bench(replace(of, work=replace(of.work, job=job)))
    assert made.where(88.0, 45.0, 29.5) == f"pass 1, {row}"
    assert made.where(88.0, 45.0, 29.26).startswith("pass 1") and made.where(88.0, 45.0, 29.24).startswith("pass 2")
    assert made.where(0.0, 0.0, -5.0) == "pass 2, row 1"


def test_a_plan_without_rows_or_passes_has_fewer_words() -> None:
    made = bench()
    bare = replace(made, setup=setup())
    assert bare.where(1.0, 2.0, 29.0) == "pass 2"
    none = replace(made, setup=replace(setup(), passes=()))
    assert none.where(1.0, 2.0, 29.0) == "no pass of the plan" and none.nearest(29.0) is None


def test_places_are_said_in_the_units_of_the_job() -> None:
    assert bench().at(25.4, 45.678) == "(25.4mm, 45.68mm)" and bench(unit="in").at(25.4, 12.7) == "(1in, 0.5in)"
    assert bench(unit="in").mm(12.7) == "0.5in"


@pytest.mark.parametrize(("times", "says"), [(1, "Go."), (2, "Go. One more line does the same."), (4, "Go. 3 more")])
def test_the_first_of_a_kind_is_told_and_the_rest_are_counted(times: int, says: str) -> None:
    made = bench()
    for number in range(times):
        made.add("kind", Diagnostic("FW903", f"No {number}.", Span("first.nc", number, number + 1), help="Go."))
    made.add("other", Diagnostic("FW902", "Once.", Span("first.nc", 0, 1), help="Stay."))
    first, second = made.findings()
    assert (first.code, first.help) == ("FW902", "Stay.")
    assert second.message == "No 0." and second.help.startswith(says) and (times > 1 or second.help == says)


def test_a_bite_says_the_place_the_row_and_how_often() -> None:
    made = with_rows()
    text = "\n".join(lines((29.4, 29.0))).encode()
    _, findings = verify(text, plan(made), made)
    (bite,) = findings
    assert bite.span is not None and bite.span.path == "first.nc"
    # the first row runs along y = -26 mm and takes what lies within 32 mm of it
    ax, ay, bx, _ = rows()[0]
    line = text.decode().splitlines()
    assert text[bite.span.start : bite.span.end].decode() in line and min(ax, bx) < 0 < LENGTH < max(ax, bx)
    assert "pass 1, row 1, which may take 0.5mm" in bite.message and ay < WIDTH / 2
    assert bite.help.endswith(" more lines do the same.")


def test_which_program_it_is() -> None:
    made = setup()
    good = "\n".join(lines()).encode()
    bad = good.replace(b"G1 Z-1.05", b"G1 Z-2.05")
    assert bad != good
    assert verify(bad, plan(made), made)[1][0].span.path == "first.nc"  # type: ignore[union-attr]
    assert verify(bad, plan(made), made, "out/x.nc")[1][0].span.path == "out/x.nc"  # type: ignore[union-attr]
    # named by neither header nor file: of a job with one face it is that face, else it is not known
    nameless = good.replace(b"(face first)\n", b"")
    assert judge(nameless, "x.nc", plan(made)) == verify(nameless, plan(made), made, "x.nc")
    second = replace(made, face="second")
    both = replace(plan(made), setups=(made, second))
    shown, (told,) = judge(nameless, "x.nc", both)
    assert shown is None and told.message == (
        "The program does not say which face it is for, and job `tray` now cuts these faces: first and second."
    )
    assert told.help == "Put `(face first)` or `(face second)` into its first lines."
    assert told.span == Span("x.nc", 0, len("(flatwise program)"))
    shown, (told,) = judge(good, "x.nc", replace(plan(made), setups=()))
    assert shown is None and told.message.endswith("is for the first face, and job `tray` now cuts these faces: none.")
    assert "face first" not in told.help
    # what only the job's folder is called does not count
    assert judge(nameless, "first/x.nc", both)[0] is None and judge(nameless, "x\\second.nc", both)[0] is not None


@pytest.mark.parametrize(("speed", "told"), [("16000", False), ("16001", True)])
def test_no_faster_than_the_cutter_is_marked_or_the_spindle_turns(speed: str, told: bool) -> None:
    made = replace(setup(), speed=float(speed))
    text = "\n".join(lines()).replace("S14000", f"S{speed}").encode()
    found = [one.message for one in verify(text, plan(made), made)[1]]
    assert [
        message for message in found if f"turns the spindle at {speed}rpm, and 16000rpm is the most" in message
    ] == (found if told else [])
    assert bool(found) == told
    spindle = machine().model_copy(
        update={"spindle": machine().spindle.model_copy(update={"most": quantity("12000", "rpm")})}
    )
    (slow,) = verify("\n".join(lines()).encode(), plan(setup(), work(machine=spindle, cutter=cutter())), setup())[1]
    assert "14000rpm, and 12000rpm is the most" in slow.message
