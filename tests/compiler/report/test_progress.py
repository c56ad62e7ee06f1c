"""The bar of a run of many jobs: in a terminal only, and gone when the run ends."""

from __future__ import annotations

import io

import pytest

from flatwise.report.progress import watched


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


def test_the_bar_of_many_jobs_is_seen_in_a_terminal_only(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("CI", raising=False)
    monkeypatch.setenv("TERM", "xterm")
    shown = Terminal()
    assert list(watched(iter("abcd"), 4, shown)) == list("abcd")
    assert "2 of 4 jobs" in shown.getvalue() and shown.getvalue().endswith("\r\x1b[K")
    for stream, total in ((io.StringIO(), 4), (Terminal(), 2)):
        assert list(watched(iter("abcd"), total, stream)) == list("abcd")
        assert stream.getvalue() == ""
    monkeypatch.setenv("CI", "true")
    quiet = Terminal()
    assert list(watched(iter("abcd"), 4, quiet)) == list("abcd")
    assert quiet.getvalue() == ""


def test_the_bar_is_wiped_when_a_run_breaks_off(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("CI", raising=False)
    monkeypatch.setenv("TERM", "xterm")

    def broken() -> object:
        yield 1
        raise KeyboardInterrupt

    shown = Terminal()
    with pytest.raises(KeyboardInterrupt):
        list(watched(broken(), 4, shown))  # type: ignore[arg-type]
    assert shown.getvalue().endswith("\r\x1b[K")
