"""The work for a text grows with its length, never with its square, whatever the text contains.

The work is counted in executed lines of Python, which are the same each time.  `bench/test_linear_bench.py` times
the work below them, in regular expressions and copies of texts.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from types import FrameType
from typing import Any

import numpy as np
import pytest
from compiler.plan.plans import needed
from compiler.shop import q
from compiler.works import cut, work
from hypothesis_profile import NIGHTLY
from long_texts import Work, works

from flatwise.core.finding import Finding
from flatwise.core.surface import Surface
from flatwise.plan.rows import rows
from flatwise.report import ci_forms, messages
from flatwise.report.sarif import sarif
from flatwise_grammar.nodes import Span

#: the most times more steps for four times the length; quadratic work takes sixteen times
MOST = 5.0
SHORT = 60
#: steps that any text takes, however short
FIXED = 2_000


def steps(work: Callable[[], object]) -> int:
    """The number of executed lines of Python; a repeated line counts again."""
    count = 0

    def traced(frame: FrameType, event: str, given: Any) -> Any:
        nonlocal count
        count += 1
        return traced

    before = sys.gettrace()
    sys.settrace(traced)
    try:
        work()
    finally:
        sys.settrace(before)
    return count


WORKS = {name: of for name, of, _ in works()}


@pytest.mark.parametrize("name", list(WORKS)[:: 1 if NIGHTLY else 3])
def test_steps_grow_with_the_length_of_a_text(name: str) -> None:
    of = WORKS[name]
    of(SHORT)()  # imports and caches are filled
    short, long = steps(of(SHORT)), steps(of(4 * SHORT))
    assert long <= MOST * short + FIXED, f"{long} steps for four times the length, and {short} for it"


def test_steps_grow_with_the_number_of_rows_however_many_lie_under_the_cutter() -> None:
    xs = np.repeat(np.arange(0.0, 901.0, 100.0), 2)[1:-1]
    ys = np.repeat(np.arange(0.0, 501.0, 100.0), 2)[1:-1]
    field = np.add.outer(np.arange(len(ys)) // 2, np.arange(len(xs)) // 2) % 2
    top = Surface(xs, ys, 32.0 + field)

    def of(stepover: str) -> Callable[[], object]:
        laid = rows(work(job={"cut": cut(stepover=q(stepover))}), 6.0)
        return lambda: needed(laid, top, 0.0)

    of("6.4%")()
    few, many = steps(of("6.4%")), steps(of("1.6%"))
    assert many <= MOST * few + FIXED, f"{many} steps for four times the rows, and {few} for them"


@pytest.mark.parametrize("form", [ci_forms.junit, ci_forms.gitlab, ci_forms.github, messages.json_lines, sarif])
def test_steps_grow_with_the_number_of_findings(form: Callable[..., str]) -> None:
    def of(n: int) -> Callable[[], object]:
        found = tuple(Finding("FW101", f"`b{k}` is wrong.", Span("x", 2 * k, 2 * k + 1)) for k in range(n))
        strict = {"strict": False} if form is ci_forms.junit else {}
        return lambda: form(found, {"x": "b\n" * n}, **strict)

    of(SHORT)()
    few, many = steps(of(SHORT)), steps(of(4 * SHORT))
    assert many <= MOST * few + FIXED, f"{many} steps for four times the findings, and {few} for them"


def test_quadratic_work_would_be_found() -> None:
    def of(n: int) -> Callable[[], object]:
        def work() -> None:
            for i in range(n):
                for _ in range(i):
                    pass

        return work

    square: Work = of
    assert steps(square(4 * SHORT)) > MOST * steps(square(SHORT)) + FIXED
