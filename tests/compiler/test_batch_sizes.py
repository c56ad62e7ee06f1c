"""A batch of many panels: a limit, and work that grows with the pairs of panels, not with their cube."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import pytest
from compiler.reading import read_text

from flatwise.language.batches import MOST_PANELS
from flatwise.model.stages import Plan
from flatwise.pipeline import work_out_batch
from flatwise.plan import bed_rows

SIZE = "stock { size 220mm x 140mm x 32mm; wood ash; grain along x }"


def many(count: int) -> str:
    jobs = "".join(f"job tray_{k} from plain_top {{ machine wide; {SIZE}; zero {{ z bed }} }}\n" for k in range(count))
    names = ", ".join(f"tray_{k}" for k in range(count))
    wide = "machine wide like bench_router { travel 9000mm x 9000mm x 150mm }\n"
    return wide + jobs + f"batch trays {{ jobs {names}; gap 50mm; from front_left at 300mm, 300mm }}\n"


def test_a_batch_has_no_more_panels_than_can_be_compared(shop: Path) -> None:
    front = read_text(shop, many(MOST_PANELS))
    assert len(front.batches) == 1 and "FW107" not in [finding.code for finding in front.findings]
    front = read_text(shop, many(MOST_PANELS + 1))
    (one,) = (finding for finding in front.findings if finding.code == "FW107")
    assert not front.batches and one.message == "The batch lists 41 jobs; 40 are the most in one."


def test_the_distance_of_two_panels_is_worked_out_once(shop: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    asked = Counter[tuple[str, str, int]]()
    spacing = bed_rows.spacing

    def counted(one: Plan, other: Plan, axis: int, gap: float) -> float:
        asked[one.work.name, other.work.name, axis] += 1
        return spacing(one, other, axis, gap)

    monkeypatch.setattr(bed_rows, "spacing", counted)
    (batch,) = read_text(shop, many(8)).batches
    plan, _ = work_out_batch(batch)
    assert plan is not None and len(plan.plans) == 8
    assert asked and set(asked.values()) == {1}
