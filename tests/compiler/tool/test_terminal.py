"""What a build prints for a job, and the progress bar: in a terminal only, and erased at the end."""

from __future__ import annotations

import io

import pytest
from compiler.gcode.write_plans import built, plan

from flatwise.report.display import duration
from flatwise.tool.terminal import with_progress, written_job


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


def test_the_bar_of_many_jobs_is_seen_in_a_terminal_only(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("CI", raising=False)
    monkeypatch.setenv("TERM", "xterm")
    shown = Terminal()
    assert list(with_progress(iter("abcd"), 4, shown)) == list("abcd")
    assert "2 of 4 jobs" in shown.getvalue() and shown.getvalue().endswith("\r\x1b[K")
    for stream, total in ((io.StringIO(), 4), (Terminal(), 2)):
        assert list(with_progress(iter("abcd"), total, stream)) == list("abcd")
        assert stream.getvalue() == ""
    monkeypatch.setenv("CI", "true")
    quiet = Terminal()
    assert list(with_progress(iter("abcd"), 4, quiet)) == list("abcd")
    assert quiet.getvalue() == ""


def test_the_bar_is_wiped_when_a_run_breaks_off(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("CI", raising=False)
    monkeypatch.setenv("TERM", "xterm")

    def broken() -> object:
        yield 1
        raise KeyboardInterrupt

    shown = Terminal()
    with pytest.raises(KeyboardInterrupt):
        list(with_progress(broken(), 4, shown))  # type: ignore[arg-type]
    assert shown.getvalue().endswith("\r\x1b[K")


def test_a_build_in_a_terminal_says_what_matters_at_the_machine() -> None:
    assert written_job(built(), "out/tray", full=True) == (
        "tray\n"
        "  left      19.6mm +/- 0.17mm\n"
        "  first     2 passes down to 20.3mm above the bed, at most 0.5mm per pass, 31 s\n"
        "  second    2 passes down to 19.6mm above the bed, at most 0.5mm per pass, 31 s\n"
        "  leaves    front_left 0.3mm + 0.05mm\n"
        "  files     out/tray: first.nc, second.nc, sheet.html, summary.json"
    )
    assert (
        written_job(built(), "out/tray", full=False) == "tray: 19.6mm +/- 0.17mm left; first.nc, second.nc in out/tray"
    )
    done = built()._replace(plan=plan(setups=()), programs={})
    assert written_job(done, "out/tray", full=False) == "tray: nothing left to cut; out/tray"
    assert [duration(time) for time in (4.4, 59.4, 59.6, 60, 190.5)] == ["4 s", "59 s", "1 min", "1 min", "3 min 10 s"]
