"""What the reference says under "Exactly" is what the compiler does: a sentence of the page, a job, and its codes."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import pytest
from compiler.reading import USES

from flatwise.pipeline import read_works

Compile = Callable[[str], tuple[set[str], set[str]]]

#: sentence (or a piece of it) → lines of a job from the plain top, and one code that they must give
SAYS = {
    "no `1-1/8in`, no `.5`: FW003": ("cut { overrun 1-1/8in }", "FW003"),
    "No exponents": ("cut { overrun 5e0mm }", "FW003"),
    "refused by the bounds (FW107)": ("cut { overrun -5mm }", "FW107"),
    "or in points (FW201)": ("survey { thickness (-5mm, 20mm) 32mm }", "FW201"),
    "A bare number where a unit is due is FW104": ("cut { overrun 5 }", "FW104"),
    "Any other word or block twice is FW103": ("cut { depth 0.4mm; depth 0.4mm }", "FW103"),
    "beyond the cutter's is FW401": ("cut { depth 1.3mm }", "FW401"),
    "beyond the standard's\n  FW701": ("cut { depth 0.7mm }", "FW701"),
    "`leave` FW602": ("faces { first balanced; second to 14mm }", "FW602"),
    "A waiver without a reason is FW702 as an error": ("waive depth; cut { depth 0.7mm }", "FW702"),
    "the finding then becomes a warning (FW703)": ('waive depth because "tried"; cut { depth 0.7mm }', "FW703"),
    "a waiver that nothing needs is FW702 as a warning": ('waive depth because "tried"', "FW702"),
    "A gap can't be negative (FW202)": ("survey { gap front -0.1mm }", "FW202"),
    "Its line must be one of `glue_lines` (FW202)": ("survey { step 0.1mm at y 100mm }", "FW202"),
    "a step of the top is FW202 where all readings on both sides agree to twice `within`": (
        "stock { glue_lines y 250mm }; survey { thickness front 32mm, left 32mm, back 32mm; step 0.3mm at y 250mm }",
        "FW202",
    ),
    "a thickness over 10 % from nominal": ("survey { thickness centre 36mm }", "FW202"),
    "two readings of one place that differ by more than twice `within`": (
        "survey { thickness centre 32mm, centre 32.2mm }",
        "FW202",
    ),
    "On `second` it is FW104": ("faces { second balanced }", "FW104"),
    "A face that can't come clean is FW601": ("faces { second to 31.9mm }", "FW601"),
    "A stepover over 100 % is FW406": ("cut { stepover 101% }", "FW406"),
    "A clamp without a dog opposite is FW504": ("hold { dog low_dog front at 15%, 85% }", "FW504"),
    "FW603 where the job asks\nfor less": ("faces { second to 29mm +/- 0.01mm }", "FW603"),
    "of the cutter's depth and of the tolerance (FW107)": ("cut { finish 0.005mm }", "FW107"),
    "Below the range of `chip_load`\n  is FW403": ("cut { feed 1m/min }", "FW403"),
    "Without `by paper` the paper\n  is 0": ("zero { z top }", ""),
    "`one_way` alone is conventional": ("cut { rows along grain, one_way }", ""),
}


@pytest.mark.parametrize("sentence", SAYS)
def test_a_sentence_holds(sentence: str, codes_of: Compile, repository: Path) -> None:
    page = (repository / "compiler" / "flatwise" / "tool" / "exactly.md").read_text("utf-8")
    flat = " ".join(sentence.split())
    assert flat in " ".join(page.split()), "the page no longer says so"
    lines, code = SAYS[sentence]
    errors, warnings = codes_of(f"{USES}job demo from plain_top {{ {lines} }}")
    if code:
        warns = "warning" in flat
        assert code in (warnings if warns else errors) and (not warns or not errors), (errors, warnings)
    else:
        assert not errors


def test_what_must_be_there_is_what_the_model_requires(codes_of: Compile, repository: Path) -> None:
    """Every row of the table of words that must be given, against the model."""
    from flatwise.model.kinds import KINDS

    page = (repository / "compiler" / "flatwise" / "tool" / "exactly.md").read_text("utf-8")
    rows = dict(re.findall(r"^\| ([a-z, ]+) \| ([^|]+) \|$", page.partition("### Repeats")[0], re.M))
    assert set(re.split(r", ", rows["machine"])) == set(KINDS["machine"].required())
    assert set(re.findall(r"\w+", rows["dog, clamp, shims, gauge"])) == {
        word for kind in ("dog", "clamp", "shims", "gauge") for word in KINDS[kind].required()
    }
    assert set(re.findall(r"\w+", re.sub(r"\([^)]*\)", "", rows["job"]))) == set(KINDS["job"].required())
    assert rows["cutter"] == "all but plunge and corner"
    assert set(KINDS["cutter"].model_fields) - set(KINDS["cutter"].required()) == {"plunge", "corner"}


def test_a_project_key_of_the_page_is_one_that_is_read(shop: Path, repository: Path) -> None:
    page = (repository / "compiler" / "flatwise" / "tool" / "exactly.md").read_text("utf-8")
    keys = re.findall(r"^\| `(\w+) = ", page, re.M)
    from flatwise.sources.settings import Settings

    assert sorted(keys) == sorted(Settings.model_fields)


def test_stock_bed_takes_what_the_page_says(shop: Path) -> None:
    body = (
        "machine bench_router; stock bed { size 600mm x 600mm x 18mm; grain along x }; "
        "zero { corner front_left at 100mm, 100mm; z top }; cut { cutter fly_64 }; faces { first take 0.4mm }"
    )
    path = shop / "jobs" / "bed.flat"
    path.write_text(f"{USES}job bed {{ {body} }}")
    (work,) = read_works([path]).works
    assert str(work.job.stock.wood) == "mdf"
    path.write_text(f"{USES}job bed {{ {body}; hold {{ dog low_dog left at 50% }} }}")
    assert {finding.code for finding in read_works([path]).findings} == {"FW101"}
