"""Chromium for the tests of the sheet, and the sheets of the example jobs.

The tests need Chromium and its driver (Debian: chromium, chromium-driver), selenium from the test extra, and for
the accessibility rules `npm install` in this folder.  Where something is missing they skip and say what.
"""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from example_jobs import FEW_JOBS, ONE_JOB, ROOT, example

from flatwise.model.built import Built
from flatwise.report import files

__all__ = ["FEW_JOBS", "ONE_JOB", "ROOT", "Browser", "Sheets"]
HERE = Path(__file__).resolve().parent
FLAGS = (
    "--headless=new",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--window-size=1000,1400",
)


class Browser:
    """One Chromium, driven over its debugging protocol."""

    def __init__(self, driver: Any) -> None:
        self.driver = driver

    def open(self, path: Path) -> None:
        """Load a page from the disk, the log of console and network emptied before."""
        self.driver.get("about:blank")
        self.console()
        self.requests()
        self.driver.get(path.as_uri())

    def unfold(self) -> None:
        """Open the closed parts of the page."""
        self.run("for (const each of document.querySelectorAll('details')) each.open = true")

    def run(self, script: str, *given: Any) -> Any:
        return self.driver.execute_script(script, *given)

    def command(self, name: str, **given: Any) -> Any:
        return self.driver.execute_cdp_cmd(name, given)

    def console(self) -> list[Any]:
        """What the page wrote to its console since the last call."""
        found: list[Any] = self.driver.get_log("browser")
        return found

    def requests(self) -> list[str]:
        """Addresses that were asked for since the last call."""
        import json

        messages = [json.loads(each["message"])["message"] for each in self.driver.get_log("performance")]
        return [each["params"]["request"]["url"] for each in messages if each["method"] == "Network.requestWillBeSent"]

    def wide(self, width: int, height: int = 900) -> None:
        self.command(
            "Emulation.setDeviceMetricsOverride", width=width, height=height, deviceScaleFactor=1, mobile=width < 500
        )


@pytest.fixture(scope="session")
def browser(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Browser]:
    webdriver = pytest.importorskip("selenium.webdriver", reason="selenium is not installed")
    chromium, driver = shutil.which("chromium"), shutil.which("chromedriver")
    if chromium is None or driver is None:
        pytest.skip("Chromium or its driver is not installed (Debian: chromium, chromium-driver)")
    options = webdriver.ChromeOptions()
    options.binary_location = chromium
    for flag in (*FLAGS, f"--user-data-dir={tmp_path_factory.mktemp('profile')}"):
        options.add_argument(flag)
    options.set_capability("goog:loggingPrefs", {"browser": "ALL", "performance": "ALL"})
    started = webdriver.Chrome(options=options, service=webdriver.ChromeService(driver))
    yield Browser(started)
    started.quit()


@pytest.fixture
def page(browser: Browser) -> Iterator[Browser]:
    """The browser at 1000 px with nothing kept from an earlier test."""
    browser.wide(1000)
    yield browser
    browser.command("Emulation.clearDeviceMetricsOverride")
    if browser.driver.current_url.startswith("file:"):
        browser.run("try { localStorage.clear() } catch {}")


class Sheets(dict[str, tuple[Path, Built]]):
    """The sheet of an example job on the disk, and what it was made from, made when it is first asked for."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def __missing__(self, name: str) -> tuple[Path, Built]:
        front, built = example(name)
        path = self.folder / f"{name}.html"
        path.write_bytes(files(built, front.texts)["sheet.html"])
        self[name] = (path, built)
        return self[name]


@pytest.fixture(scope="session")
def sheets(tmp_path_factory: pytest.TempPathFactory) -> Sheets:
    return Sheets(tmp_path_factory.mktemp("sheets"))
