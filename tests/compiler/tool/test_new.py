"""`flatwise new`: the options, the files of `shared/`, and a message when an option can't be met."""

from __future__ import annotations

import io
import re
from pathlib import Path

import pytest
from compiler.tool.in_process import flatwise

from flatwise.tool import new
from flatwise_grammar import format_text


def made(shop: Path, name: str = "top") -> str:
    text = (shop / "jobs" / f"{name}.flat").read_text("utf-8")
    assert text == format_text(text)
    return text


WISHES = {
    "nothing": [],
    "a size": ["--size", "700mm x 400mm x 28mm", "--left", "25mm"],
    "one unit for all": ["--size", "1100 x 600 x 40 mm", "--left", "36.5mm"],
    "near the travel": ["--size", "1180mm x 380mm x 34mm"],
    "a wood": ["--wood", "walnut"],
    "the other machine": ["--machine", "long_router"],
    "inches": ["--machine", "long_router", "--size", "36in x 18in x 1 1/4in", "--wood", "cherry"],
}


@pytest.mark.parametrize("wish", WISHES)
def test_what_it_writes_compiles_without_a_warning(shop: Path, wish: str) -> None:
    run = flatwise("new", "top", *WISHES[wish], cwd=shop)
    assert (run.returncode, run.stdout) == (0, "Wrote jobs/top.flat.\n")
    run = flatwise("check", "--strict", "jobs", cwd=shop)
    assert run.returncode == 0, run.stdout
    assert made(shop).count("  # ") >= 9


def test_the_wish_is_in_the_text_with_what_belongs_to_it(shop: Path) -> None:
    flatwise("new", "top", *WISHES["inches"], cwd=shop)
    text = made(shop)
    assert 'use "../shared/inch_shop.flat"' in text and "shop.flat" not in text.replace("inch_shop.flat", "")
    for said in ("long_router", "inch_tops", "slab_2in", "brass_set", "pin_dog", "wedge_clamp", "cherry"):
        assert said in text
    assert "size   36in x 18in x 1 1/4in" in text and "1.250in" in text and "second  to 1.125in" in text
    assert not re.search(r"\dmm", text)


def test_a_cutter_of_another_file_brings_its_file(shop: Path) -> None:
    (shop / "shared" / "drawer.flat").write_text(
        'use "shop.flat"\ncutter small like fly_64 { diameter 40mm; depth up to 0.8mm }\n'
        "wood pear { density 690kg/m3; modulus 8000MPa }\n"
    )
    flatwise("new", "top", "--cutter", "small", "--wood", "pear", cwd=shop)
    text = made(shop)
    assert 'use "../shared/shop.flat"\nuse "../shared/drawer.flat"\n' in text and "cutter    small" in text
    assert flatwise("check", "--strict", "jobs", cwd=shop).returncode == 0


@pytest.mark.parametrize(
    ("wish", "said"),
    [
        (["--wood", "ahs"], "No wood called ahs"),
        (["--machine", "mill"], "there is bench_router, long_router"),
        (["--cutter", "x"], "No cutter called x"),
        (["--standard", "house"], "No standard called house"),
        (["--size", "900mm x 500mm"], "three lengths such as 900mm x 500mm x 32mm"),
        (["--size", "900kg x 500mm x 32mm"], "three lengths"),
        (["--size", "900 x 500 x 32"], "three lengths"),
        (["--size", "0mm x 500mm x 32mm"], "three lengths"),
        (["--size", "1/0in x 5in x 3in"], "three lengths"),
        (["--left", "thin"], "is not a length such as 32mm"),
    ],
)
def test_a_wish_that_nothing_meets_is_said_and_nothing_is_written(shop: Path, wish: list[str], said: str) -> None:
    run = flatwise("new", "top", *wish, cwd=shop)
    assert run.returncode == 1 and said in run.stdout and run.stderr == ""
    assert list((shop / "jobs").iterdir()) == []


def test_a_wish_that_the_machine_can_not_meet_is_written_and_said(shop: Path) -> None:
    run = flatwise("new", "top", "--size", "2000mm x 500mm x 32mm", cwd=shop)
    assert run.returncode == 0 and "It does not compile yet: FW301: " in run.stdout
    assert "FW301" in flatwise("check", "jobs", cwd=shop).stdout


def test_a_stricter_standard_leaves_the_depth_to_it(shop: Path) -> None:
    run = flatwise("new", "top", "--standard", "fine_tops", cwd=shop)
    assert run.stdout == "Wrote jobs/top.flat.\n"
    assert "# no depth: passes as deep as" in made(shop)
    assert flatwise("check", "--strict", "jobs", cwd=shop).returncode == 0


def test_the_standard_that_the_project_requires_is_the_one_that_is_taken(shop: Path) -> None:
    (shop / "flatwise.toml").write_text('standard = "fine_tops"\nstandard_from = "shared/standards.flat"\n')
    assert flatwise("new", "top", cwd=shop).stdout == "Wrote jobs/top.flat.\n"
    assert "standard  fine_tops" in made(shop)
    assert flatwise("check", "--strict", "jobs", cwd=shop).returncode == 0
    # another one may be named; what it writes keeps to both
    assert flatwise("new", "other", "--standard", "solid_tops", cwd=shop).stdout == "Wrote jobs/other.flat.\n"
    assert flatwise("check", "--strict", "jobs", cwd=shop).returncode == 0


def test_a_thin_panel_is_held_by_what_stands_lowest(shop: Path) -> None:
    easy = 'use "shop.flat"\nstandard thin like solid_tops { leave at least 10mm }\n'
    # what a comment says of a height is nobody's height
    tall = "dog tall_dog {  # another one has height 2mm\n    across 19mm\n    height 40mm\n}\n"
    (shop / "shared" / "thin.flat").write_text(easy + tall)
    run = flatwise("new", "tray", "--size", "500mm x 300mm x 15mm", "--left", "12.5mm", "--standard", "thin", cwd=shop)
    assert run.stdout == "Wrote jobs/tray.flat.\n"
    text = made(shop, "tray")
    assert "thin_dog  left" in text and "low_cam   right" in text
    assert flatwise("check", "--strict", "jobs", cwd=shop).returncode == 0
    # thinner than the lowest clamp: written, and said
    run = flatwise("new", "lid", "--size", "300mm x 200mm x 12mm", "--standard", "thin", cwd=shop)
    assert "It does not compile yet: FW501: The cutter meets the clamp low_cam" in run.stdout


def test_a_shop_is_written_only_where_there_is_none(tmp_path: Path) -> None:
    (tmp_path / "flatwise.toml").touch()
    assert flatwise("new", "top", "--wood", "x", cwd=tmp_path).returncode == 1
    assert not (tmp_path / "shared").exists()
    run = flatwise("new", "top", "--size", "800mm x 400mm x 30mm", cwd=tmp_path)
    assert "Wrote shared/shop.flat, an invented shop" in run.stdout
    assert flatwise("check", "--strict", "jobs", cwd=tmp_path).returncode == 0
    assert flatwise("format", "--check", ".", cwd=tmp_path).returncode == 0


def test_it_asks_for_what_is_not_given_and_takes_the_default_for_nothing(
    shop: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("sys.stdin", io.StringIO("700mm x 400mm x 28mm\n\nteak\n\n"))
    run = flatwise("new", "top", "--machine", "bench_router", "--ask", cwd=shop)
    assert run.returncode == 0, run.stdout
    asked = re.findall(r"([^:\[\n]+) \[([^\]]+)\]: ", run.stdout)
    assert [question for question, _ in asked] == [text for word, text in new.QUESTIONS.items() if word != "machine"]
    assert dict(asked)[new.QUESTIONS["left"]] == "25mm" and dict(asked)[new.QUESTIONS["cutter"]] == "fly_64"
    text = made(shop)
    assert "700mm x 400mm x 28mm" in text and "wood   teak" in text and "second  to 25mm" in text
    assert flatwise("check", "--strict", "jobs", cwd=shop).returncode == 0
