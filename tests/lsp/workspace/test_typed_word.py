"""Which word is being typed, and where earlier results stand in the text after an edit."""

from __future__ import annotations

import pytest
from lsp.marked import marked

from flatwise_grammar.nodes import Span
from flatwise_lsp.features.plan_hints import Hint
from flatwise_lsp.features.results import Results
from flatwise_lsp.workspace.shifted_findings import EditShift
from flatwise_lsp.workspace.typed_word import typed_word


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("cut { stepov‸ 50% }", "stepov"),
        ("cut { step‸over 50% }", "stepover"),
        ("    grain ‸\n    wood ash", "grain"),
        ("y 122mm, 2‸", "2"),
        ("y 122mm,‸", "122mm,"),
        ('use "../shared/my sh‸', '"../shared/my sh'),
        ("shims (120mm, 4‸", "(120mm, 4"),
        ("cut {\n    ‸\n}", ""),
    ],
)
def test_the_typed_word_is_at_or_before_the_cursor_on_its_line(text: str, word: str) -> None:
    new, caret = marked(text)
    start, end = found = typed_word(new[: caret - 1] + new[caret:], new)
    assert new[start:end] == word
    assert found.holds(Span("p", start, end)) and not found.holds(Span("p", start, end + 1)) and not found.holds(None)


@pytest.mark.parametrize(
    ("old", "new", "hint"),
    [
        ("job a {\n    first clean\n}", "job a {\n    first clean x\n}", 25),
        ("job a {\n    first clean x # why\n}", "job a {\n    first cle # why\n}", 21),
        ("job a {\n    first clean\n}", "# new\njob a {\n    first clean\n}", 29),
        ("job a {\n    first clean\n}", "job a {\n    first clean\n    \n}", 23),
        ("job a {\n    first clean; second to\n}", "job a {\n    first cle; second to\n}", 21),
    ],
)
def test_a_hint_stays_at_the_end_of_its_line(old: str, new: str, hint: int) -> None:
    at = len(old.split(";")[0].split(" #")[0].rstrip("}\n"))
    job = Results("a", 0, "29mm left", (Hint(at, "3 passes", ""),)).shifted(EditShift(old, new), new)
    assert job is not None
    assert [one.offset for one in job.hints] == [hint] and new[job.head :].startswith("job a")


def test_the_results_of_a_deleted_job_go() -> None:
    old = "dog b { }\njob a { }\n"
    assert Results("a", 10, "29mm left").shifted(EditShift(old, "dog b { }\n"), "dog b { }\n") is None
