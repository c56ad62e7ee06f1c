"""Every random job that `check` accepts must build: from its text to proven programs, sheet and summary.

A nightly run (FLATWISE_NIGHTLY=1) tries many more.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path
from typing import Literal, TypeVar, get_args, get_origin

import pytest
from compiler.random_batches import write_batch
from compiler.random_build import judge, shop
from compiler.random_jobs import with_rarer_words, write_job
from compiler.random_shop import Plain, Written
from hypothesis import HealthCheck, event, given
from hypothesis import strategies as st
from hypothesis_profile import NIGHTLY, examples

from flatwise.model.built import Built
from flatwise.model.kinds import all_blocks
from flatwise.model.words import Phrase
from flatwise.pipeline import Front, read_works, write_programs
from flatwise_grammar import parse

T = TypeVar("T")


class Drawn:
    """Random choices from Hypothesis, which can simplify a failing job."""

    def __init__(self, draw: st.DrawFn) -> None:
        self._draw = draw

    def pick(self, options: Sequence[T]) -> T:
        return self._draw(st.sampled_from(options))

    def between(self, least: float, most: float) -> float:
        return self._draw(st.floats(least, most))


@st.composite
def jobs(draw: st.DrawFn) -> Written:
    """The text of a job and its point files."""
    return with_rarer_words(Drawn(draw), write_job(Drawn(draw)))


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return shop(tmp_path_factory.mktemp("random"))


@examples(3, 3000, [HealthCheck.data_too_large, HealthCheck.filter_too_much])
@given(written=jobs())
def test_an_accepted_job_is_built(written: Written, folder: Path) -> None:
    result = judge(written, folder)
    event(result.codes[0] if result.codes else f"{result.faces} faces")
    assert not result.fault, f"{result.fault}\n{written.text}"


def test_jobs_of_fixed_seeds(folder: Path) -> None:
    """The same with a plain generator; enough of its jobs are accepted to make the test meaningful."""
    results = [judge(write_job(Plain(seed)), folder, whole=seed % 4 == 0) for seed in range(22, 422 if NIGHTLY else 25)]
    assert [each.fault for each in results if each.fault] == []
    assert sum(each.faces > 0 for each in results) >= len(results) / 4


def test_every_word_of_the_language_is_written() -> None:
    """Every word of every block, and every choice that a line gives, stands in one of 150 jobs or 30 batches."""
    found: dict[tuple[str, str], str] = {}
    jobs = (write_job(Plain(seed)) for seed in range(150))
    texts = [with_rarer_words(Plain(f"words {seed}"), each).text for seed, each in enumerate(jobs)]
    for text in (*texts, *map(write_batch, range(30))):
        waiting = [(block.kind, block) for block in parse(text)[0].blocks]
        for kind, block in waiting:
            waiting += [(each.kind, each) for each in block.blocks]
            for line in block.fields:
                key = ("job" if kind == "recipe" else kind, line.word.text)
                found[key] = f"{found.get(key, '')}\n{text[line.span.start : line.span.end]}"
    lacking = [
        f"{made.kind}: {word} {choice}"
        for made in all_blocks()
        for word, info in made.model_fields.items()
        if not made.blocks().get(word)
        for choice in (word, *choices(info.annotation))
        if not re.search(rf"\b{choice}", found.get((made.kind, word), ""))
    ]
    assert not lacking


def choices(annotation: object) -> set[str]:
    """The words among which a value of this type is chosen."""
    if get_origin(annotation) is Literal:
        return set(get_args(annotation))
    if isinstance(annotation, type) and issubclass(annotation, Phrase):
        return {each for info in annotation.model_fields.values() for each in choices(info.annotation)}
    return {each for part in get_args(annotation) for each in choices(part)}


# -- faults that random jobs have found ------------------------------------------------------------------------------


def made(text: str, folder: Path) -> tuple[Front, Built]:
    path = folder / "found.flat"
    path.write_text(text, encoding="utf-8")
    front = read_works([path])
    return front, write_programs(front.works[0])


BOARD = """
use "../shared/shop.flat"

job skim {{
    machine bench_router
    stock bed {{ size {size}; wood mdf; grain along x }}
    zero  {{ corner {corner}; z top by paper 0.05mm }}
    cut   {{ cutter fly_64; stepover 65%; depth 0.5mm; speed 14000rpm }}
    faces {{ first take 0.8mm }}
}}
"""


@pytest.mark.parametrize(
    ("size", "corner"),
    [
        # a slope of 1 in 100 needs several runs on a row of 84 mm
        ("105mm x 246mm x 18mm", "front_right at 84.1mm, -13.5mm"),
        # rows end over the board: the travel reaches its corner, which needs a row along the edge
        ("400mm x 246mm x 18mm", "front_left at -20mm, 0mm"),
        ("400mm x 40mm x 18mm", "front_left at -29mm, 100mm"),
        ("1400mm x 300mm x 18mm", "front_left at -40mm, 500mm"),
        # two passes come down in different numbers of runs and turn at the same ends
        ("1255mm x 130.4mm x 18mm", "front_left at -35.3mm, -3.6mm"),
    ],
)
def test_a_board_beyond_the_travel(size: str, corner: str, folder: Path) -> None:
    _, built = made(BOARD.format(size=size, corner=corner), folder)
    assert built.findings == () and set(built.programs) == {"first.nc"}, built.findings


def test_a_board_of_which_the_travel_reaches_a_strip(folder: Path) -> None:
    for x, left in (("-20mm", "15mm"), ("-90mm", "0mm")):
        _, built = made(BOARD.format(size="105mm x 246mm x 18mm", corner=f"front_right at {x}, -13.5mm"), folder)
        assert any(f"covers only {left} of a row" in each.message for each in built.findings if each.code == "FW407")
        assert built.programs == {}


PANEL = """
use "../shared/shop.flat"
use "../shared/sample.flat"

machine coarse like bench_router {{ controller {{ units in; decimals 3; extraction M8; top 0mm }} }}

job demo from plain_top {{
    machine {machine}
    standard loose
    stock {{ size {size} }}
    cut {{ cutter fly_64; stepover 60%; finish 0.3mm; overrun 0mm; {more} }}
}}
standard loose {{ sag at most 1mm; rock at most 1mm }}
"""


@pytest.mark.parametrize(
    "size",
    [
        "449.9mm x 300.3mm x 32mm",
        pytest.param("900mm x 500mm x 32mm", marks=pytest.mark.nightly),
        pytest.param("899.9mm x 500.3mm x 32mm", marks=pytest.mark.nightly),
    ],
)
@pytest.mark.parametrize("machine", ["bench_router", "coarse"])
@pytest.mark.parametrize("more", ["", "rows across grain", "rows along grain, edge first"])
def test_no_overrun_at_all(machine: str, more: str, size: str, folder: Path) -> None:
    """The cutter still comes down clear of the panel, and a rounded row does not stop short of the edge."""
    _, built = made(PANEL.format(machine=machine, more=more, size=size), folder)
    assert not [each for each in built.findings if each.severity == "error"], built.findings
    assert len(built.programs) == 2
