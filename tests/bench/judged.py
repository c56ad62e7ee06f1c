"""What the plan promises of true panels against what came of them, by kind of panel: `python tests/bench/judged.py`.

The judge is that of tests/outside: true faces, readings with errors, beds and zeros as far off as declared.  It prints
the table of DEVELOPERS.md.
"""

from __future__ import annotations

import shutil
import sys
import tempfile
from collections import Counter
from pathlib import Path
from typing import get_args

import numpy as np

TESTS = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(TESTS))

from outside.true_panels import CORNERS, PLACES, Kind, drawn  # noqa: E402
from outside.true_runs import Bench, Came, job_text  # noqa: E402

PANELS = 60


def runs(kind: Kind, shop: Path) -> tuple[list[Came], list[tuple[float, Came]]]:
    """What came of the panels of a kind; of those with `z top` also once the thickness was read at nine places between,
    with the ± before."""
    found, read = [], []
    for seed in range(PANELS):
        rng = np.random.default_rng(seed)
        bench = Bench(drawn(rng, kind), "top" if seed % 2 else "bed", rng, 0.05)
        came = bench.run(shop)
        found.append(came)
        if not came.codes and seed % 2:
            values = bench.thickness_after_first(sorted(PLACES))
            text = ", ".join(f"{name} {value:.2f}mm" for name, value in values.items())
            read.append((came.plus_minus, bench.again(shop, f"after first {{ thickness {text} }}")))
    return found, read


def table(kind: Kind, shop: Path) -> str:
    """The lines of a kind."""
    found, read = runs(kind, shop)
    cut = [came for came in found if not came.codes]
    broken = Counter(promise for came in cut for promise in came.broken)
    promised, off = np.array([came.plus_minus for came in cut]), np.array([came.off for came in cut])
    lines = [f"{kind}: {len(cut)} of {len(found)} cut, the others refused; broken: {dict(broken) or 'none'}"]
    lines.append(
        f"  ± median {np.median(promised):.3f}, off by median {np.median(off):.3f}, worst {off.max():.3f},"
        f" at most {(off / promised).max():.0%} of ±"
    )
    for face in (0, 1):
        least, lost = np.array([came.least[face] for came in cut]), np.array([came.lost[face] for came in cut])
        bites = np.array([came.bites[face] for came in cut])
        lines.append(
            f"  face {face + 1}: least taken off anywhere median {np.median(least):.3f}, worst {least.min():.3f};"
            f" lost median {np.median(lost):.3f}; deepest bite median {np.median(bites):.3f}, worst {bites.max():.3f}"
        )
    after = [(before, came) for before, came in read if not came.codes]
    widths = np.array([(before, came.plus_minus) for before, came in after])
    lines.append(
        f"  z top, nine readings after the first face: {len(after)} of {len(read)} cut, ± median"
        f" {np.median(widths[:, 0]):.3f} before and {np.median(widths[:, 1]):.3f} after, wider in"
        f" {int((widths[:, 1] > widths[:, 0] + 1e-9).sum())}, broken {sum(bool(came.broken) for _, came in after)}"
    )
    return "\n".join(lines)


def surveys(kind: Kind, shop: Path) -> str:
    """The lines of a kind, by how the panels were surveyed: nine calipers and feelers, or a walk of a gauge."""
    ways: dict[str, list[str] | None] = {
        "nine calipers, feelers": None,
        "walk 5 x 3, four calipers": CORNERS,
        "walk 5 x 3, nine calipers": list(PLACES),
    }
    found: dict[str, list[Came]] = {way: [] for way in ways}
    for seed in range(PANELS):
        for way, places in ways.items():
            rng = np.random.default_rng(seed)
            bench = Bench(drawn(rng, kind), "top" if seed % 2 else "bed", rng, 0.05)
            found[way].append(bench.run(shop, None if places is None else bench.walk(shop, places)))
    lines = [f"{kind}, by survey; of the panels that each way cuts:"]
    both = [seed for seed in range(PANELS) if not any(came[seed].codes for came in found.values())]
    for way, all_came in found.items():
        came = [all_came[seed] for seed in both]
        first, second = (np.mean([each.passes[face] for each in came]) for face in (0, 1))
        top = np.median([each.plus_minus for seed, each in zip(both, came, strict=True) if seed % 2])
        bed = np.median([each.plus_minus for seed, each in zip(both, came, strict=True) if not seed % 2])
        lines.append(
            f"  {way}: {len(came)} cut, passes {first:.1f} + {second:.1f},"
            f" time {np.mean([c.time for c in came]):.0f} s,"
            f" ± z bed {bed:.3f}, z top {top:.3f}, first face loses {np.mean([c.lost[0] for c in came]):.3f},"
            f" broken {dict(Counter(promise for each in came for promise in each.broken)) or 'none'}"
        )
    return "\n".join(lines)


def aims(shop: Path) -> str:
    """The lines of the aims, for panels of shapes with a word: what is laid, and how the true panel lies on it."""
    found: dict[str, list[Came]] = {"enough": [], "natural": [], "least_removal": []}
    for seed in range(PANELS):
        for aim, came in found.items():
            rng = np.random.default_rng(seed)
            bench = Bench(drawn(rng), "bed", rng, 0.05)
            came.append(bench.run(shop, job_text(bench.panel, bench.readings, "bed", aim=aim)))
    lines = ["leaves, panels of shapes with a word:"]
    for aim, all_came in found.items():
        came = [each for each in all_came if not each.codes]
        stacks, leaves, rock = (
            np.array([getattr(each, name) for each in came]) for name in ("shims", "leaves", "rock")
        )
        lines.append(
            f"  {aim}: {len(came)} cut, stacks median {np.median(stacks):g}, mean {stacks.mean():.1f},"
            f" most {stacks.max():g};"
            f" leaves median {np.median(leaves):g}, mean {leaves.mean():.1f}; a place moves under the push by"
            f" {np.median(rock):.3f} in the median, {rock.mean():.3f} in the mean, {rock.max():.3f} at worst;"
            f" time {np.mean([each.time for each in came]):.0f} s"
        )
    return "\n".join(lines)


def main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        shop = Path(folder)
        shutil.copytree(TESTS.parent / "shared", shop / "shared")
        (shop / "flatwise.toml").write_text("")
        print(aims(shop), flush=True)
        for kind in get_args(Kind):
            print(table(kind, shop), flush=True)
            print(surveys(kind, shop), flush=True)


if __name__ == "__main__":
    main()
