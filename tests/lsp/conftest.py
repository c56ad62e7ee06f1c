"""What was left out is said plainly, at the end of every run."""

from __future__ import annotations

import pytest


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    for report in terminalreporter.stats.get("skipped", []):
        reason = report.longrepr[2] if isinstance(report.longrepr, tuple) else str(report.longrepr)
        if "tests/lsp/" in report.nodeid and "benchmark" not in reason:
            terminalreporter.write_line(f"{report.nodeid.split('/')[-1]}: {reason}")
