"""The most likely mistakes in a job: each gets one message, which says what to write instead."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import Any

import pytest

from flatwise.core.fixes import edited
from flatwise.pipeline import read_works, work_out
from flatwise_grammar import parse
from flatwise_grammar.nodes import File

ROOT = Path(__file__).resolve().parent.parent

#: the mistake, the text in jobs/lamp_table.flat, what is typed instead, the code, and parts of message and help
SLIPS = [
    ("no unit", "0.6mm", "0.6", "FW104", "`0.6` at `depth`", "`0.6mm`"),
    (
        "brace left out",
        "within     0.05mm\n    }",
        "within     0.05mm",
        "FW002",
        "block survey is not closed",
        "Write }",
    ),
    ("opening brace left out", "cut {", "cut", "FW001", "block cut has no opening brace", "Write {"),
    ("brace of the job left out", "job lamp_table {", "job lamp_table", "FW001", "job lamp_table has no", "Write {"),
    ("decimal comma", "0.6mm", "0,6mm", "FW104", "`0,6mm` at `depth`", "`0.6mm`"),
    ("decimal comma in a list", "left 24.2mm, f", "left 24,2mm, f", "FW104", "`24,2mm`", "`24.2mm`"),
    ("comma for thousands", "feed      auto", "feed 6,000mm/min", "FW104", "`6,000mm/min`", "`6000mm/min`"),
    ("word misspelt", "stepover", "stepovr", "FW101", "takes no `stepovr`", "`stepover`"),
    ("block misspelt", "faces {", "face {", "FW101", "takes no `face`", "`faces`"),
    ("required word misspelt", "machine   bench", "machin   bench", "FW101", "takes no `machin`", "`machine`"),
    ("unit before its number", "0.6mm", "mm0.6", "FW003", "before its number", "0.6mm"),
    ("clamp off the panel", "right  at 50%", "right  at 700mm", "FW107", "700mm of the right edge", "460mm"),
    ("thicker than the stock", "to 20mm", "to 26mm", "FW601", "26mm", "23.59mm or less"),
    ("half a wood", "white_oak", "oak", "FW102", "wood called `oak`", "`red_oak` or `white_oak`"),
    ("wood unheard of", "white_oak", "zebrano", "FW102", "wood called `zebrano`", "`wood zebrano { … }`"),
    ("file missing", "shared/shop.flat", "shared/shpo.flat", "FW106", "does not exist", '"../shared/shop.flat"'),
    ("equals sign", "depth     0.6mm", "depth = 0.6mm", "FW001", "= (equals sign)", "only a space"),
    ("colon", "depth     0.6mm", "depth: 0.6mm", "FW001", ": (colon)", "only a space"),
    ("inch mark", "0.6mm", '1/64"', "FW003", 'The mark " after 1/64', "1/64in"),
    ("double prime", "0.6mm", "1/64″", "FW003", "double prime", "1/64in"),
    ("curled inch mark", "0.6mm", "1/64“", "FW003", "left double quotation mark", "1/64in"),
    ("half in one character", "depth     0.6mm", "depth     ½mm", "FW003", "½mm", "1/2mm"),
    ("inch mark behind a mixed number", "0.6mm", "1 1/8″", "FW003", "1/8″", "1 1/8in"),
    ("curled quotation marks", '"../shared/shop.flat"', "“../shared/shop.flat”", "FW001", "shop.flat", '"../shared'),
    ("no quotation marks", '"../shared/shop.flat"', "../shared/shop.flat", "FW001", "shop.flat", '"../shared'),
    ("curled marks around a name", "white_oak", "“oak”", "FW001", "left double quotation mark", '"'),
    ("star for x", "460mm x 460mm x", "460mm * 460mm x", "FW001", "asterisk", "x instead"),
    ("sizes written together", "460mm x 460mm x 24mm", "460mm*460x24mm", "FW003", "together", "space on both sides"),
    ("a size with decimals close up", "x 24mm", "x24.0mm", "FW003", "no space after the x", "x 24.0mm"),
    ("another comment", "depth     0.6mm", "// 0.6mm", "FW001", "A comment begins with #", "#"),
    ("plus minus", "+/-", "+-", "FW001", "plus-or-minus", "+/-"),
]


LAMP, TRAYS, SHOP = "jobs/lamp_table.flat", "jobs/tray_batch.flat", "shared/shop.flat"
#: slips with the words since 1.0: the mistake, its file, the text there, what is typed instead, the code, the text that
#: is underlined, parts of message and help, and whether there is a fix, which then gives a job without findings
NEW_WORDS = [
    ("rows of 1.0", LAMP, "feed      auto", "rows raster along grain",
     "FW101", "rows", "raster", "`rows along grain`", 1),
    ("first of 1.0", LAMP, "feed      auto", "rows along grain, perimeter first",
     "FW101", "rows", "now", "edge first", 1),
    ("words joined", LAMP, "feed      auto", "rows along grain, edge_first",
     "FW101", "edge_first", "", "`edge first`", 1),
    ("way left out", LAMP, "feed      auto", "rows along grain, climb",
     "FW101", "climb", "`one_way`", "`one_way` before", 1),
    ("a word apart", LAMP, "stepover  auto", "step over auto", "FW101", "step", "no `step`", "`stepover`", 1),
    ("share of 1", LAMP, "stepover  auto", "stepover 0.65", "FW104", "0.65", "no unit", "`65%`", 1),
    ("feed as speed", LAMP, "feed      auto", "speed 6m/min", "FW104", "6m/min", "is a feed", "`feed 6m/min`", 0),
    ("no auto here", LAMP, "depth     0.6mm", "depth auto", "FW104", "auto", "not `auto`", "Leave the line out", 0),
    ("two on a line", LAMP, "0.6mm\n        finish", "0.6mm finish", "FW104", "finish", "line of its own", "`;`", 1),
    ("to left out", LAMP, "second  to 20mm", "second 20mm", "FW104", "20mm", "`to`", "second to 29mm", 1),
    ("until left out", LAMP, "balanced\n        second  to 20mm", "clean\n        second  to 21mm",
     "FW101", "clean", "`until`", "`until` before `clean`", 1),
    ("grid in one", LAMP, "within     0.05mm", "walk dial_10 at 5x3; within 0.05mm", "FW003", "5x3", "x", "`5 x 3`", 1),
    ("kind first", LAMP, "cup  ", "walk gauge dial_10; cup", "FW104", "gauge", "the name alone", "`dial_10`", 1),
    ("walk unnamed", LAMP, "cup  ", "gauge dial_10; cup", "FW101", "gauge", "no `gauge`", "`walk dial_10`", 0),
    ("gauge in job", LAMP, "hold {", "gauge dial_10\n    hold {",
     "FW101", "gauge", "no `gauge`", "outside of other", 0),
    ("own tolerance", LAMP, "back 24.1mm,", "back 24.1mm +/- 0.1mm,", "FW104", "+/-", "a comma", "`within 0.05mm`", 0),
    ("aim alone", LAMP, "hold {", "supports { enough }\n    hold {",
     "FW101", "enough", "no `enough`", "`aim enough`", 1),
    ("shims as shim", LAMP, "hold {", "supports { shim leaf_set under corners }\n    hold {",
     "FW104", "leaf_set", "a length", "`shims leaf_set under corners`", 0),
    ("shim as shims", LAMP, "hold {", "supports { shims 0.4mm under front }\n    hold {",
     "FW104", "0.4mm", "a set of", "`shim 0.4mm under front`", 0),
    ("no commas", TRAYS, "tray, cheese_tray, tea_tray, f", "tray cheese_tray tea_tray f",
     "FW104", "cheese_tray", "a comma", "`,`", 1),
    ("job for jobs", TRAYS, "jobs  bread", "job bread", "FW101", "job", "no `job`", "`jobs`", 1),
    ("gap without unit", TRAYS, "   40mm", "   40", "FW104", "40", "no unit", "`40mm`", 0),
    ("corner of a batch", TRAYS, "from  front_left", "corner front_left",
     "FW101", "corner", "no `corner`", "`from front_left at 80mm, 80mm`", 0),
    ("from left out", TRAYS, "    from  front_left at 80mm, 80mm\n", "",
     "FW105", "zero", "no `corner`", "`from` to its batch", 0),
    ("job left out", TRAYS, ", fruit_tray\n", "\n", "FW105", "zero", "job `fruit_tray`", "in batch `tray_batch`", 0),
    ("batches", TRAYS, "batch tray_batch", "batches tray_batch", "FW101", "batches", "not a kind", "`batch`", 1),
    ("switch on", SHOP, "line       256", "block_delete on", "FW101", "on", "`yes` or `no`", "`yes`", 1),
    ("hop in controller", SHOP, "line       256", "hop 3mm", "FW101", "hop", "no `hop`", "belongs in `machine`", 0),
    ("within left out", SHOP, "line       256", "corners 1mm", "FW104", "1mm", "`within`", "`corners within 1mm`", 1),
    ("feed of Z", SHOP, "/min, z up to", "/min\n    z_feed", "FW101", "z_feed", "no `z_feed`", "`feed`", 0),
    ("gauge, diameter", SHOP, "across 58mm", "diameter 58mm", "FW101", "diameter", "no `diameter`", "`across 58mm`", 0),
    ("leaves run together", SHOP, "0.10mm, 0.15mm", "2x0.10mm, 0.15mm",
     "FW003", "2x0.10mm", "together", "2 x 0.10mm, or for two sizes", 0),
    ("leaves close to x", SHOP, "0.10mm, 0.15mm", "2 x0.10mm, 0.15mm", "FW003", "x0.10mm", "space", "x 0.10mm", 1),
    ("leaves without a space", SHOP, "0.10mm, 0.15mm", "2x 0.10mm, 0.15mm", "FW003", "2x", "space", "`2 x`", 1),
]  # fmt: skip


def text_of(repository: Path) -> str:
    return (repository / "jobs" / "lamp_table.flat").read_text(encoding="utf-8")


@pytest.mark.parametrize("slip", NEW_WORDS, ids=[slip[0] for slip in NEW_WORDS])
def test_a_slip_with_a_new_word_is_reported_once_with_its_solution(slip: tuple[Any, ...], shop: Path) -> None:
    _, file, there, typed, code, underlined, message, help, fixed = slip
    path, job = shop / file, shop / (file if file != SHOP else LAMP)
    if file == SHOP:
        shutil.copy(ROOT / LAMP, job)
    text = (ROOT / file).read_text(encoding="utf-8")
    assert there in text
    path.write_text(text.replace(there, typed, 1), encoding="utf-8")
    front = read_works([job])
    # a word that is missing because it was misspelt is a second finding at most
    first = next(each for each in front.findings if each.code == code)
    assert [each.message for each in front.findings if each not in (first,) and each.code != "FW105"] == []
    assert message in first.message and help in first.help
    assert first.span is not None
    assert front.texts[first.span.path][first.span.start : first.span.end] == underlined
    assert (first.fix is not None) == bool(fixed)
    if first.fix is not None:
        path.write_text(edited(path.read_text(encoding="utf-8"), first.fix.edits), encoding="utf-8")
        front = read_works([job])
        assert front.works and [*front.findings, *work_out(front.works[0])[1]] == []


@pytest.mark.parametrize(
    ("there", "typed", "code", "message", "help"), [one[1:] for one in SLIPS], ids=[s[0] for s in SLIPS]
)
def test_a_mistake_is_reported_with_its_solution(
    there: str, typed: str, code: str, message: str, help: str, shop: Path, repository: Path
) -> None:
    text = text_of(repository)
    assert there in text
    path = shop / "jobs" / "lamp_table.flat"
    path.write_text(text.replace(there, typed, 1), encoding="utf-8")
    front = read_works([path])
    findings = [*front.findings, *(finding for work in front.works for finding in work_out(work)[1])]
    first = next(each for each in findings if each.code == code)
    assert message in first.message and help in first.help
    line = text[: text.index(there)].count("\n") + 1
    assert first.span is not None
    told = front.texts[first.span.path][: first.span.start].count("\n") + 1
    assert line <= told <= line + typed.count("\n") + 1
    # one mistake, one finding (a target above the stock also leaves nothing to cut)
    assert len(findings) == (2 if code == "FW601" else 1), [each.message for each in findings]


@pytest.mark.parametrize("change", ["tabs", "mark in front", "line ends"])
def test_what_an_editor_adds_by_itself_is_no_mistake(change: str, shop: Path, repository: Path) -> None:
    text = text_of(repository)
    text = {
        "tabs": text.replace("    ", "\t"),
        "mark in front": "\ufeff" + text,
        "line ends": text.replace("\n", "\r\n"),
    }[change]
    path = shop / "jobs" / "lamp_table.flat"
    path.write_bytes(text.encode("utf-8"))
    front = read_works([path])
    assert not front.findings and len(front.works) == 1


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("depth = 0.6mm", "depth 0.6mm"),
        ("depth=0.6mm", "depth 0.6mm"),
        ('depth 1/64"', "depth 1/64in"),
        ("depth 1½″", "depth 1 1/2in"),
        ("size 3mm * 4mm", "size 3mm x 4mm"),
        ("size 3mm*4mm", "size 3mm x 4mm"),
        ("second 3mm+-0.3mm", "second 3mm +/- 0.3mm"),
    ],
)
def test_a_certain_correction_gives_the_intended_line(typed: str, meant: str) -> None:
    tree, flaws = parse(f"cut {{\n{typed}\n}}")
    (flaw,) = flaws
    assert flaw.fix is not None
    span, better, _ = flaw.fix
    at = span.start - len("cut {\n")
    assert typed[:at] + better + typed[at + span.end - span.start :] == meant
    again, none = parse(f"cut {{\n{meant}\n}}")
    assert none == ()

    def words(file: File) -> str:
        (block,) = file.blocks
        return "".join(
            each.text if hasattr(each, "text") else f"{each.number}{each.unit}" for each in block.fields[0].items
        )

    assert words(tree) == words(again)


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("cutter fly 64", "cutter fly_64"),
        ('cutter "fly_64"', "cutter fly_64"),
        ("depth mm 0.6", "depth 0.6mm"),
        ("depth 0.6 millimetres", "depth 0.6 mm"),
        ("overrun 2 inches", "overrun 2 in"),
        ("depth 0.6mm,\nfinish 0.2mm", "depth 0.6mm\nfinish 0.2mm"),
        ("overrun 3mm..", None),
        ("depth 0.6mm 0.8mm", None),
        ("depth 0.6percent", None),
        ("overrun 2 milimeters", "overrun 2 mm"),
    ],
)
def test_a_line_of_the_cut_is_repaired_where_it_is_certain_how(
    typed: str, meant: str | None, shop: Path, repository: Path
) -> None:
    path = shop / "jobs" / "lamp_table.flat"
    text = text_of(repository).replace("cut {\n", f"cut {{\n{typed}\n", 1)
    path.write_text(text, encoding="utf-8")
    found = [one for one in read_works([path]).findings if one.code != "FW103"]
    if meant is None:
        assert found and all(one.fix is None for one in found)
        return
    (finding,) = found
    assert finding.fix is not None
    mended = text
    for edit in sorted(finding.fix.edits, key=lambda one: -one.span.start):
        mended = mended[: edit.span.start] + edit.text + mended[edit.span.end :]
    assert mended == text_of(repository).replace("cut {\n", f"cut {{\n{meant}\n", 1)


@pytest.mark.parametrize(
    ("there", "typed"),
    [
        ("front_left 24.2mm, front_right 24.0mm", "24.2mm front_left, 24.0mm front_right"),
        ("front_left 24.2mm, front_right 24.0mm", "front left 24.2mm, front right 24.0mm"),
        ("front 24.1mm, back 24.1mm", "front 24.1mm back 24.1mm"),
        ("within     0.05mm", "within     0.05mm,"),
        ("right 24.1mm\n", "right 24.1mm,\n"),
        ("side_cam  right  at", "right  side_cam  at"),
        ("460mm x 460mm x 24mm", "460mm by 460mm by 24mm"),
        ("460mm x 460mm x 24mm", "460mm, 460mm,24mm"),
        ("460mm x 460mm x 24mm", "460mm x460mm x24mm"),
        ("at 300mm, 300mm", "at (300mm, 300mm)"),
        ("front 24.1mm, back 24.1mm", "front 24.1mm and back 24.1mm"),
        ("front_left 24.2mm, front_right 24.0mm", "front_left: 24.2mm, front_right: 24.0mm"),
        ("front_left 24.2mm, front_right 24.0mm", "front_left=24.2mm, front_right=24.0mm"),
    ],
)
def test_one_sort_of_slip_is_repaired_all_along_a_line(there: str, typed: str, shop: Path, repository: Path) -> None:
    path = shop / "jobs" / "lamp_table.flat"
    text = text_of(repository).replace(there, typed, 1)
    path.write_text(text, encoding="utf-8")
    (finding,) = read_works([path]).findings
    assert finding.fix is not None
    for edit in sorted(finding.fix.edits, key=lambda one: -one.span.start):
        text = text[: edit.span.start] + edit.text + text[edit.span.end :]
    assert text == text_of(repository)


def test_a_line_with_values_from_a_job_is_not_repaired_across_both(shop: Path) -> None:
    text = (ROOT / TRAYS).read_text(encoding="utf-8")
    path = shop / TRAYS
    path.write_text(text.replace("length x width x 22mm", "length x width timber 22mm"), encoding="utf-8")
    found = [one for one in read_works([path]).findings if one.code == "FW104"]
    assert len(found) == 4 and all("takes `x`, not `" in one.message and one.fix is None for one in found)
