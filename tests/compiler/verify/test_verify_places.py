"""What the proof reports about a finding: place, pass and row, how often it occurs, and in which program and face."""

from __future__ import annotations

from dataclasses import replace

import pytest
from compiler.shop import clamp_in, cutter
from compiler.verify.verify_programs import LENGTH, WIDTH, lines, machine, plan, proof, rows, setup, work

from flatwise.core.finding import Finding
from flatwise.core.surface import Surface
from flatwise.core.units import NOWHERE, quantity
from flatwise.model.stages import Plan, Setup, Shim
from flatwise.model.words import CodeWord
from flatwise.verify import judge, verify
from flatwise.verify.height_field import HeightField
from flatwise.verify.obstacles import cutting_tool, obstacles
from flatwise.verify.proof_run import ProofRun
from flatwise_grammar.nodes import Span


def with_rows() -> Setup:
    made = setup()
    passes = (made.passes[0]._replace(rows=(10.0, 50.0, 90.0)), made.passes[1]._replace(rows=(20.0, 80.0)))
    return made._replace(passes=passes)


def proof_run(of: Plan | None = None) -> ProofRun:
    made = with_rows()
    of = of or plan(made)
    tool = cutting_tool(of.work)
    return ProofRun(of.work, "first.nc", 5e-4, tool, plan=of, setup=made, wood=HeightField(made.top))


@pytest.mark.parametrize(("along", "row"), [("x", "row 2"), ("y", "row 3")])
def test_the_nearest_row_is_counted_across_the_rows(along: str, row: str) -> None:
    # rows along x have their place in y: 45 is nearest to the second, 88 to the third
    setup = with_rows()
    turned = setup._replace(passes=tuple(one._replace(along=along) for one in setup.passes))
    made = replace(proof_run(), setup=turned)
    assert made.nearest_row(88.0, 45.0, 29.5) == f"pass 1, {row}"
    assert made.nearest_row(88.0, 45.0, 29.26).startswith("pass 1") and made.nearest_row(88.0, 45.0, 29.24).startswith(
        "pass 2"
    )
    assert made.nearest_row(0.0, 0.0, -5.0) == "pass 2, row 1"


def test_a_plan_without_rows_or_passes_has_fewer_words() -> None:
    made = proof_run()
    bare = replace(made, setup=setup())
    assert bare.nearest_row(1.0, 2.0, 29.0) == "pass 2"
    none = replace(made, setup=setup()._replace(passes=()))
    assert none.nearest_row(1.0, 2.0, 29.0) == "no pass of the plan" and none.nearest_pass(29.0) is None


def test_places_are_in_the_units_of_the_job() -> None:
    assert proof_run().at(25.4, 45.678) == "(25.4mm, 45.68mm)"
    of = plan(with_rows())
    size = of.work.job.stock.size.model_copy(update={"thickness": quantity("1", "in")})
    job = of.work.job.model_copy(update={"stock": of.work.job.stock.model_copy(update={"size": size})})
    inches = proof_run(of._replace(work=of.work._replace(job=job)))
    assert inches.at(25.4, 12.7) == "(1in, 0.5in)" and inches.mm(12.7) == "0.5in"


@pytest.mark.parametrize(("times", "help"), [(1, "Go."), (2, "Go. One more line does the same."), (4, "Go. 3 more")])
def test_the_first_of_a_kind_is_reported_and_the_rest_are_counted(times: int, help: str) -> None:
    made = proof_run()
    for number in range(times):
        made.add("kind", Finding("FW903", f"No {number}.", Span("first.nc", number, number + 1), help="Go."))
    made.add("other", Finding("FW902", "Once.", Span("first.nc", 0, 1), help="Stay."))
    first, second = made.findings()
    assert (first.code, first.help) == ("FW902", "Stay.")
    assert second.message == "No 0." and second.help.startswith(help) and (times > 1 or second.help == help)


def test_a_bite_reports_its_place_its_row_and_how_often_it_occurs() -> None:
    made = with_rows()
    text = "\n".join(lines((29.4, 29.0))).encode()
    _, findings = verify(text, plan(made), made)
    (bite,) = findings
    assert bite.span is not None and bite.span.path == "first.nc"
    # the first row runs along y = -26 mm and takes what lies within 32 mm of it
    ax, ay, bx, _ = rows()[0]
    line = text.decode().splitlines()
    assert text[bite.span.start : bite.span.end].decode() in line and min(ax, bx) < 0 < LENGTH < max(ax, bx)
    assert "nearest to pass 1, row 1; the limit there is 0.5mm" in bite.message and ay < WIDTH / 2
    assert bite.help.endswith(" more lines do the same.")


def test_which_program_it_is() -> None:
    made = setup()
    good = "\n".join(lines()).encode()
    bad = good.replace(b"G1 Z-1.05", b"G1 Z-2.05")
    assert bad != good
    assert verify(bad, plan(made), made)[1][0].span.path == "first.nc"  # type: ignore[union-attr]
    assert verify(bad, plan(made), made, "out/x.nc")[1][0].span.path == "out/x.nc"  # type: ignore[union-attr]
    # neither header nor file name it: a job with one face has that face, else the face is unknown
    nameless = good.replace(b"(face first)\n", b"")
    assert judge(nameless, "x.nc", plan(made)) == verify(nameless, plan(made), made, "x.nc")
    second = made._replace(face="second")
    both = plan(made)._replace(setups=(made, second))
    shown, (told,) = judge(nameless, "x.nc", both)
    assert shown is None and told.message == (
        "The program does not say which face it is for, but job `tray` now cuts these faces: first and second."
    )
    assert told.help == "Put `(face first)` or `(face second)` in its first lines."
    assert told.span == Span("x.nc", 0, len("(flatwise program)"))
    shown, (told,) = judge(good, "x.nc", plan(made)._replace(setups=()))
    assert shown is None and told.message.endswith("is for the first face, but job `tray` now cuts these faces: none.")
    assert "face first" not in told.help
    # the name of the folder does not count
    assert judge(nameless, "first/x.nc", both)[0] is None and judge(nameless, "x\\second.nc", both)[0] is not None


@pytest.mark.parametrize(("speed", "told"), [("16000", False), ("16000.0004", False), ("16001", True)])
def test_no_faster_than_the_cutter_is_marked_or_the_spindle_turns(speed: str, told: bool) -> None:
    made = setup()._replace(speed=float(speed))
    text = "\n".join(lines()).replace("S14000", f"S{speed}").encode()
    found = [one.message for one in verify(text, plan(made), made)[1]]
    assert [message for message in found if f"turns the spindle at {speed}rpm; the maximum is 16000rpm" in message] == (
        found if told else []
    )
    assert bool(found) == told
    spindle = machine().model_copy(
        update={"spindle": machine().spindle.model_copy(update={"most": quantity("12000", "rpm")})}
    )
    (slow,) = verify("\n".join(lines()).encode(), plan(setup(), work(machine=spindle, cutter=cutter())), setup())[1]
    assert "14000rpm; the maximum is 12000rpm" in slow.message


OFFSETS = ["G54", "G55", "G56", "G57", "G58", "G59", "G59.1", "G59.2", "G59.3"]


@pytest.mark.parametrize("offset", OFFSETS)
def test_every_work_offset_of_the_standard_is_known(offset: str) -> None:
    """NISTIR 6556, table 4: the systems G54 to G59.3."""
    small = setup(Surface.flat(80.0, 60.0, 30.0))
    of = plan(small, work(80.0, 60.0, machine=machine(offset=CodeWord(offset))))
    for other in OFFSETS:
        text = "\n".join(lines(sweep=rows(80.0, 60.0))).replace("G55", other).encode()
        found = [one.message for one in verify(text, of, small)[1]]
        wrong = f"sets the work offset {other}, but the job's zero is in {offset}."
        assert (found == []) if other == offset else (len(found) == 1 and found[0].endswith(wrong))


def test_a_finding_about_the_end_is_at_the_last_line() -> None:
    text = "\n".join([*lines()[:-3], "%"]).encode()
    found = [one for one in verify(b"%\n" + text, plan(setup()), setup())[1] if "spindle turning" in one.message]
    (one,) = found
    assert one.span is not None and (b"%\n" + text)[one.span.start : one.span.end] == lines()[-4].encode()


def test_a_wrong_header_is_shown_at_its_place() -> None:
    text = "\n".join(lines()).replace("(job tray)", "(Job bench_2)")
    (one,) = verify(text.encode(), plan(setup()), setup())[1]
    assert one.span is not None and text[one.span.start : one.span.end] == "(Job bench_2)"


def test_a_move_below_the_plane_reports_its_place_as_far_as_it_is_known() -> None:
    deep = lines((29.5, 28.9))
    (one,) = [each for each in verify("\n".join(deep).encode(), plan(setup()), setup())[1] if "below" in each.message]
    ax, ay, *_ = rows()[0]
    assert f"goes 0.1mm below the planned plane at ({ax:g}mm, {ay:g}mm), nearest to pass 2" in one.message
    lift = next(i for i, line in enumerate(deep) if line.startswith("G0 Z"))
    for known in ("", "G0 X-100.", "G0 Y-100."):
        unknown = [*deep[:lift], "G0 Z-2.05", known, *deep[lift:]]
        found = verify("\n".join(line for line in unknown if line).encode(), plan(setup()), setup())[1]
        (one,) = [each for each in found if "below the planned plane" in each.message]
        assert "goes 1mm below the planned plane." in one.message


def test_a_touch_at_the_planned_height_sinks_nothing() -> None:
    text = "\n".join(lines((29.495, 29.0))).encode()
    made = setup(limit=0.505)
    assert verify(text, plan(made), made)[1] == ()
    higher = made._replace(touch=made.touch._replace(lowest=made.touch.height + 0.3))
    assert verify(text, plan(higher), higher)[1] == ()
    on_bed = made._replace(touch=made.touch._replace(on="bed", lowest=made.touch.height - 0.3))
    assert verify(text, plan(on_bed), on_bed)[1] == ()


@pytest.mark.parametrize(("height", "told"), [(25.89, False), (25.9, True), (27.0, True)])
def test_a_touch_at_the_lowest_possible_top_brings_the_cutter_into_a_clamp(height: float, told: bool) -> None:
    # at 29 mm the cutter has its clearance of 2 mm over 27 mm; with zero 2.5 mm lower it runs at 26.5 mm,
    # the machine may be off by 0.1032 mm, and 0.5 mm more count as contact
    under = setup(holders=(clamp_in((LENGTH, 50.0, LENGTH + 30.0, 150.0), height),))
    assert verify("\n".join(lines()).encode(), plan(under), under)[1] == ()
    low = under._replace(touch=under.touch._replace(lowest=under.touch.height - 2.5))
    found = [one.message for one in verify("\n".join(lines()).encode(), plan(low), low)[1]]
    assert any("may bring the cutter into the clamp `side_cam`" in message for message in found) == told
    on_bed = low._replace(touch=low.touch._replace(on="bed"))
    assert verify("\n".join(lines()).encode(), plan(on_bed), on_bed)[1] == ()


@pytest.mark.parametrize("angle", [0.0, 17.0, 45.0, 90.0])
def test_the_ridge_is_the_widest_spacing_of_rows_at_any_angle(angle: float) -> None:
    """s x tan(lean), 0.02 mm in 200 mm; turns at the ends do not count as rows (closed form, derived)."""
    sweep = rows(angle=angle, past=6.0)
    (ax, ay, bx, by), (cx, cy, *_) = sweep[:2]
    far = ((bx - ax) ** 2 + (by - ay) ** 2) ** 0.5
    spacing = abs((bx - ax) * (cy - ay) - (by - ay) * (cx - ax)) / far
    made = setup()
    text = "\n".join(lines(sweep=sweep)).encode()
    shown, found = verify(text, plan(made), made)
    assert found == () and shown.flatness == pytest.approx(spacing * 1e-4, abs=2e-6)


def test_a_single_row_leaves_the_lean_across_the_whole_cutter() -> None:
    narrow = setup(Surface.flat(LENGTH, 40.0, 30.0))
    text = "\n".join(lines(sweep=[(-40.0, 20.0, LENGTH + 40.0, 20.0)])).encode()
    shown, found = verify(text, plan(narrow), narrow)
    assert found == () and shown.flatness == pytest.approx(40.0 * 1e-4)


def test_two_rows_leave_the_lean_over_their_spacing() -> None:
    narrow = setup(Surface.flat(LENGTH, 40.0, 30.0))
    sweep = [(-40.0, 15.0, LENGTH + 40.0, 15.0), (LENGTH + 40.0, 27.0, -40.0, 27.0)]
    shown, found = verify("\n".join(lines(sweep=sweep)).encode(), plan(narrow), narrow)
    assert found == () and shown.flatness == pytest.approx(12.0 * 1e-4)


@pytest.mark.parametrize("drop", [0.05, 0.5])
def test_a_shallow_plunge_is_a_plunge(drop: float) -> None:
    text = lines()
    at = text.index("M5")
    # down beside the panel, then in to where wood stands above the first plane, and a little further down there
    plunge = ["G0 X-40. Y100.", f"G0 Z{29.5 - 30.05:.3f}", "G1 X100.", f"G1 Z{29.5 - drop - 30.05:.3f}", "G0 Z39.95"]
    start = next(i for i, line in enumerate(text) if line.startswith("G0 X"))
    whole = [
        *text[:start],
        *(line + " F6000" * line.startswith("G1 X") for line in plunge),
        *text[start:at],
        *text[at:],
    ]
    found = [one.message for one in verify("\n".join(whole).encode(), plan(setup()), setup())[1]]
    (told,) = [message for message in found if "cannot plunge" in message]
    assert f"plunges {drop:g}mm into wood at (" in told


def test_what_turns_and_rides_with_the_cutter() -> None:
    assert proof_run().tool.parts == (
        ("cutter", 32.0, 0.0),
        ("shank", 6.0, 9.0),
        ("spindle's nose", 31.5, 38.0),
        ("dust shoe", 70.0, 4.0),
    )
    bare = plan(setup(), work(machine=machine().model_copy(update={"shoe": None})))
    assert len(proof_run(bare).tool.parts) == 3


@pytest.mark.parametrize(
    ("at", "leaf"),
    [
        ((0.0, 0.0), (0.0, 0.0, 25.0, 25.0)),
        ((LENGTH, WIDTH), (275.0, 175.0, 300.0, 200.0)),
        ((150.0, WIDTH), (137.5, 175.0, 162.5, 200.0)),
        ((20.0, 100.0), (7.5, 87.5, 32.5, 112.5)),
    ],
)
def test_leaves_lie_flush_with_the_outline(at: tuple[float, float], leaf: tuple[float, ...]) -> None:
    """A leaf is 25 mm square and lies within the panel of 300 × 200 mm; the highest leaves are in the cutter's way."""
    stack = Shim("front", *at, (0.3,), 28.9, 0.0, False, NOWHERE)
    (found,) = obstacles(setup(shims=(stack,)))
    assert (found.x0, found.y0, found.x1, found.y1) == leaf and found.height == 28.9
    for height, meets in ((28.99, False), (29.01, True)):
        told = proof(lines(), setup(shims=(stack._replace(height=height),)))[1]
        assert any("into the leaves under front" in each for each in told) == meets
