"""The reference page: made from the model, never stale, and every example in it compiles in a whole job."""

from __future__ import annotations

import re
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from compiler.reading import USES
from hypothesis_profile import NIGHTLY

from flatwise.language.phrase_shape import block_shape
from flatwise.model.job import Job
from flatwise.model.kinds import KINDS
from flatwise.model.words import ModelBlock
from flatwise.tool import reference

Compile = Callable[[str], tuple[set[str], set[str]]]

LEAVES = "shims leaf_set under corners, front, back, left, right"
#: room for a panel that is out of shape
SHAPED = f"supports {{ {LEAVES} }}; faces {{ first balanced; second to 26mm +/- 2mm }}"
#: what must stand beside an example for it to make sense: lines of its own block, and other blocks of the job
BESIDE = {
    "stock size": ("", "zero { corner front_left at 60mm, 60mm }"),
    "survey step": ("", "stock { glue_lines y 122mm, 244mm }"),
    "survey thickness": ("", SHAPED),
    "survey gap": ("", SHAPED),
    "survey probe": ("", SHAPED),
    # gaps that leave the shape of the word undecided; a hollow panel lies on its middle
    "survey bow": ("gap left 0mm", SHAPED),
    "survey cup": ("gap front_left 0.8mm, front_right 0.8mm, back_left 0.8mm, back_right 0.8mm", SHAPED),
    "survey twist": ("", SHAPED),
    "supports shim": (LEAVES, ""),
    "hold dog": ("dog low_dog front at 15%, 85%", ""),
    "job waive": ("", "cut { depth 0.8mm }"),
    "after first within": ("thickness centre 30.4mm", ""),
    "after second within": ("thickness centre 29.1mm", ""),
}
#: how a job uses a declaration of each kind
USED = {
    "machine": "machine tried",
    "cutter": "cut { cutter tried; speed auto; depth 0.3mm; finish 0.1mm }",
    "dog": "hold { dog tried left at 25%, 75%; dog tried front at 15%, 85% }",
    "clamp": "hold { clamp tried right at 50%; clamp tried back at 20%, 80% }",
    "gauge": "survey { walk tried }",
    "shims": "supports { shims tried under corners, front, back, left, right }",
    "wood": "stock { wood tried }",
    "standard": "standard tried",
}
BASES = {"machine": "bench_router", "cutter": "fly_64", "dog": "low_dog", "clamp": "side_cam", "shims": "leaf_set"}
BASES |= {"gauge": "dial_10", "wood": "ash", "standard": "solid_tops"}


def every_word() -> Iterator[tuple[str, str, str, str]]:
    """Kind, inner block, word and its example line."""

    def words(kind: str, inner: str, made: type[ModelBlock]) -> Iterator[tuple[str, str, str, str]]:
        shape = block_shape(made)
        for word, line in shape.words.items():
            yield kind, inner, word, f"{word} {line.example}"
        for key, (_, block) in shape.blocks.items():
            yield from words(kind, " ".join(key), block)

    for kind, made in KINDS.items():
        if kind != "recipe":
            yield from words(kind, "", made)


WORDS = list(every_word())
#: a panel of which three lie on the bed
TRAY = "stock { size 400mm x 300mm x 32mm; wood ash; grain along x }; zero { z bed }"


def test_the_page_in_the_repository_is_the_one_that_the_model_makes(repository: Path) -> None:
    stored = (repository / "compiler" / "REFERENCE.md").read_text(encoding="utf-8")
    assert stored == reference.page(), "stale: python -m flatwise.tool.reference compiler/REFERENCE.md"


def test_the_command_writes_it_and_refuses_what_it_does_not_know(tmp_path: Path) -> None:
    command = [sys.executable, "-m", "flatwise.tool.reference"]
    subprocess.run([*command, "page.md"], cwd=tmp_path, check=True)
    assert (tmp_path / "page.md").read_text(encoding="utf-8") == reference.page()
    assert subprocess.run([*command, "a", "b"], cwd=tmp_path, capture_output=True, check=False).returncode == 2


def test_every_word_has_phrase_default_and_example_in_it() -> None:
    page = reference.page()
    assert len(WORDS) > 80
    for _, _, word, line in WORDS:
        assert f"- example: `{line}`" in page and f"- phrase: `{word} " in page
    # `after second` has the words of `after first`, shown once
    shown = sum(inner != "after second" for _, inner, _, _ in WORDS)
    assert page.count("- default: ") == page.count("- example: ") == shown
    assert "‹›" not in page and "{}" not in page and "None" not in page


def test_defaults_are_those_of_the_model() -> None:
    """Against the table of defaults that the language has from its design, word by word."""
    said = {
        ("machine", "rapid"): "the feed",
        ("machine", "acceleration"): "250mm/s2",
        ("machine", "tram"): "0.05mm in 200mm",
        ("machine", "bed"): "0.1mm",
        ("machine", "lift"): "50mm",
        ("machine", "repeat"): "0.02mm",
        ("cutter", "plunge"): "no",
        ("shims", "stack"): "3",
        ("cutter", "wings"): "must be given",
        ("clamp", "pushes"): "half its height",
        ("wood", "modulus_across"): "modulus / 15",
    }
    for (kind, word), default in said.items():
        assert reference.default(KINDS[kind], word) == default, (kind, word)
    cut = block_shape(Job).blocks[("cut",)][1]
    assert reference.default(cut, "stepover") == "auto"
    assert reference.default(cut, "rows") == "along grain"


@pytest.mark.parametrize(
    ("kind", "inner", "word", "line"), WORDS[:: 1 if NIGHTLY else 5], ids=lambda part: str(part).partition(" ")[0]
)
def test_an_example_compiles_in_a_whole_job(
    kind: str, inner: str, word: str, line: str, codes_of: Compile, shop: Path
) -> None:
    (shop / "jobs" / "top.csv").write_text(
        "x mm,y mm,z mm\n"
        + "".join(f"{x},{y},{32 + (x + y) / 9000:.3f}\n" for x in (0, 450, 900) for y in (0, 250, 500))
    )
    beside, blocks = BESIDE.get(f"{inner or kind} {word}", ("", "")) if kind == "job" else ("", "")
    line = f"{inner} {{ {line}; {beside} }}" if inner else line
    if kind == "job":
        text = f"{USES}job demo from plain_top {{ {line}; {blocks} }}"
    elif kind == "batch":
        jobs = "".join(f"job tray_{each} from plain_top {{ {TRAY} }}\n" for each in "abc")
        beside = "from front_left at 120mm, 120mm" if word != "from" else ""
        beside += "; jobs tray_a, tray_b" if word != "jobs" else ""
        text = f"{USES}{jobs}batch tried {{ {line}; {beside} }}"
    else:
        text = f"{USES}{kind} tried like {BASES[kind]} {{ {line} }}\njob demo from plain_top {{ {USED[kind]} }}"
    errors, _ = codes_of(text)
    assert errors == set(), text


def test_examples_in_fences_compile(codes_of: Compile) -> None:
    fences = re.findall(r"```flat\n(.*?)```", reference.page(), re.S)
    assert fences
    for text in fences:
        errors, _ = codes_of(text)
        assert errors == set(), text


def test_codes_that_the_page_names_are_there() -> None:
    from flatwise.findings import pages

    assert set(re.findall(r"FW\d{3}", reference.page())) == set(pages.codes())
