"""The picture of the form in the README; `UPDATE_README=1 pytest tests/sheet/test_readme_picture.py` takes it anew."""

from __future__ import annotations

import base64
import os
import re
from pathlib import Path

import pytest
from compiler.tool.in_process import flatwise
from sheet.conftest import HERE, ROOT, Browser
from sheet.test_form import put, said, start

PICTURE = HERE / "form.png"
WIDE = 860
#: what is typed: the dial on the bed and at the first points, of a panel that is hollow and twisted
DIALS = ("5", "5.62", "5.31", "5.08", "4.97", "4.86", "4.81", "4.74", "4.79", "5.02", "5.24", "5.11", "5.02")
#: How much the plans in two pictures differ at a tenth of their size: the mean over pixels and colours, 0 to 1.
DIFFERENCE = """
const [one, other] = arguments, done = arguments[2];
const small = async data => { const image = new Image(); image.src = 'data:image/png;base64,' + data;
  await image.decode(); const pen = new OffscreenCanvas(72, 48).getContext('2d');
  pen.imageSmoothingQuality = 'high'; pen.drawImage(image, 0, 0, 720, 480, 0, 0, 72, 48);
  return pen.getImageData(0, 0, 72, 48).data; };
Promise.all([small(one), small(other)]).then(([a, b]) =>
  done(a.reduce((sum, value, i) => sum + Math.abs(value - b[i]), 0) / a.length / 255));
"""


def taken(page: Browser, shop: Path) -> bytes:
    """Plan and field of the form while somebody types, as a PNG."""
    assert flatwise("new", "my_top", cwd=shop).returncode == 0
    assert flatwise("measure", "jobs/my_top.flat", cwd=shop).returncode == 0
    page.wide(WIDE)
    start(page, shop / "out" / "my_top" / "measure.html")
    put(page, *DIALS)
    assert said(page, "title") == "Dial at point 13" and said(page) == ""
    page.driver.switch_to.active_element.send_keys("5.1")
    page.run("document.activeElement.blur(); scrollTo(0, 0)")
    box = page.run("return document.querySelector('.work').getBoundingClientRect().toJSON()")
    clip = {"x": 0, "y": round(box["y"]) - 8, "width": WIDE, "height": round(box["height"]) + 16, "scale": 1.5}
    made = page.command("Page.captureScreenshot", format="png", clip=clip, captureBeyondViewport=True)
    return base64.b64decode(made["data"])


@pytest.mark.nightly
def test_the_picture_in_the_readme_is_the_form(page: Browser, shop: Path) -> None:
    """Its plan to a few hundredths: fonts, and with them the words beside it, differ from system to system."""
    now = taken(page, shop)
    if os.environ.get("UPDATE_README"):
        PICTURE.write_bytes(now)
    kept = PICTURE.read_bytes()
    assert len(kept) < 150_000
    (shown,) = re.findall(r"!\[[^\]]+\]\(([^)]+)\)", (ROOT / "README.md").read_text("utf-8"))
    assert ROOT / shown == PICTURE
    page.driver.get("about:blank")
    texts = [base64.b64encode(picture).decode() for picture in (now, kept)]
    assert page.driver.execute_async_script(DIFFERENCE, *texts) == pytest.approx(0.0, abs=0.02)
