"""The preview's page and its state: text of a job can't steer either, and the sheet for the machine stays as it was."""

from __future__ import annotations

import json
import re

from compiler.report.test_sheet import built, work

from flatwise.report.preview import preview, state
from flatwise.report.sheet import sheet


def test_equal_sheets_have_one_version_and_only_the_page_itself_carries_it() -> None:
    nasty = 'because data-version="" </script><script>alert(1)</script>'
    text, version = preview(built(work(waivers={"depth": nasty})), "demo")
    assert preview(built(work(waivers={"depth": nasty})), "demo") == (text, version)
    assert preview(built(), "demo")[1] != version
    assert text.index(f'<html lang="en" class="preview" data-version="{version}">') < 30
    assert text.count(version) == 1 and text.count("<script>") == 1


def test_the_state_is_one_call_with_texts_that_cannot_steer_the_page() -> None:
    made = state("0", "said", ["FW101: no \u202e `</script>` \u2028 \x07"])
    assert made.isascii() and made.count("\n") == 1
    (said,) = json.loads(re.sub(r"^flatwisePreview\((.*)\);\n$", r"\1", made))["errors"]
    assert not set(said) & {"\u202e", "\x07"}


def test_a_sheet_for_the_machine_has_nothing_of_a_preview() -> None:
    assert "review" not in sheet(built()).partition("<style>")[0] + sheet(built()).partition("</style>")[2]
    assert "strict-dynamic" not in sheet(built())
