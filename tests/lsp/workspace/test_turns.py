"""A file that takes long to check gives the others their turn, and says so until it is done."""

from __future__ import annotations

import asyncio
from math import inf
from pathlib import Path

import pytest
from compiler.reading import USES

from flatwise_lsp.workspace import checking
from flatwise_lsp.workspace.analysis import Analysis, analyse
from flatwise_lsp.workspace.checking import Checking
from flatwise_lsp.workspace.documents import Store, uri_of
from flatwise_lsp.workspace.earlier_results import EarlierResults

JOB = "job {} from plain_top {{ cut {{ depth 0.{}mm }} }}\n"


def test_a_long_file_goes_on_after_the_others(shop: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(checking, "TURN", 0.0)
    folder = shop.resolve() / "jobs"
    long, short = folder / "long.flat", folder / "short.flat"
    seen: list[tuple[str, int, tuple[str, ...]]] = []

    async def session() -> Checking:
        store = Store(roots=(shop.resolve(),))
        store.open(uri_of(long), 1, USES + "".join(JOB.format(f"long_{k}", 3 + k) for k in range(4)))
        store.open(uri_of(short), 1, USES + JOB.format("short", 9))

        def report(path: Path) -> None:
            whole = check.whole.get(path)
            if whole is not None:
                notes = tuple(each.message for each in whole.findings if each.code == "FW107")
                seen.append((path.stem, whole.left, notes))

        check = Checking(store, report, lambda path: None)
        check.request([long, short])
        await check.idle()
        check.close()
        return check

    check = asyncio.run(session())
    left = [(name, count) for name, count, _ in dict.fromkeys(seen)]
    assert left[:2] == [("long", 3), ("short", 0)] and left[-1] == ("long", 0)
    assert seen[0][2] == (
        "This file takes long to check: 3 of 4 jobs, from this one on, have not been worked out yet.",
    )
    assert seen[-1][2] == () and list(check.whole[long].outcomes) == [f"long_{k}" for k in range(4)]


TRAY = "job tray_{} from plain_top {{ stock {{ size 3{}0mm x 200mm x 32mm }}; zero {{ z bed }} }}\n"
TRAYS = "batch trays { jobs tray_0, tray_1, tray_2; gap 40mm; from front_left at 80mm, 80mm }\n"
TRAYS += "".join(TRAY.format(k, k) for k in range(3))


def test_a_batch_goes_on_with_its_next_panel(shop: Path) -> None:
    path, earlier = shop.resolve() / "jobs" / "trays.flat", EarlierResults()
    store = Store(roots=(shop.resolve(),))
    store.open(uri_of(path), 1, USES + TRAYS)

    def turn() -> Analysis:
        made = analyse(path, store.snapshot(), lambda: False, lambda half: None, earlier, lambda: True)
        assert made is not None
        return made

    first, second, third = turn(), turn(), turn()
    assert [each.left for each in (first, second, third)] == [2, 1, 0] and earlier.plans.made == 3
    assert not first.batches and not first.outcomes and list(third.batches) == ["trays"]
    assert [each.message for each in first.findings] == [
        "This file takes long to check: 2 of 3 jobs, from this one on, have not been worked out yet."
    ]
    assert third.batches["trays"].plan is not None and len(third.outcomes) == 3


def test_an_edit_ends_the_check_of_a_batch_before_its_next_panel(shop: Path) -> None:
    path, earlier = shop.resolve() / "jobs" / "trays.flat", EarlierResults()
    store = Store(roots=(shop.resolve(),))
    store.open(uri_of(path), 1, USES + TRAYS)
    made = analyse(path, store.snapshot(), lambda: earlier.plans.made > 0, lambda half: None, earlier)
    assert made is None and earlier.plans.made == 1


def test_an_edit_ends_the_check_of_a_job_in_its_midst(shop: Path) -> None:
    path = shop.resolve() / "jobs" / "one.flat"
    store = Store(roots=(shop.resolve(),))
    # sizes that no other test has, since seats and routes are kept for the same numbers
    job = "job one from plain_top {{ stock {{ size {}.1mm x 271.3mm x 32mm }} }}\n"
    store.open(uri_of(path), 1, USES + job.format(541))
    asked, begun = 0, 0
    until = inf

    def stale() -> bool:
        nonlocal asked
        asked += 1
        return asked >= until

    def first_half(half: Analysis) -> None:
        nonlocal begun
        begun = asked

    assert analyse(path, store.snapshot(), stale, first_half) is not None
    # before the job is worked out, at its end, and often in between
    assert asked > begun + 10
    store.open(uri_of(path), 2, USES + job.format(543))
    until, asked = (begun + asked) // 2, 0
    assert analyse(path, store.snapshot(), stale, first_half) is None
    assert begun < until <= asked <= until + 1


def test_the_file_in_which_one_types_goes_first(shop: Path) -> None:
    folder = shop.resolve() / "jobs"
    files = [folder / f"{name}.flat" for name in ("one", "two", "three")]
    done: list[Path] = []

    async def session() -> None:
        store = Store(roots=(shop.resolve(),))
        for path in files:
            store.open(uri_of(path), 1, USES + JOB.format(path.stem, 5))
        check = Checking(store, lambda path: None, done.append)
        check.request(files)
        check.request(files[2:])
        await check.idle()
        check.close()

    asyncio.run(session())
    assert done == [files[2], *files[:2]]


def test_a_long_file_whose_jobs_cannot_be_kept_ends_with_the_note(shop: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Jobs that others start from are not kept, so another turn would begin with them anew."""
    monkeypatch.setattr(checking, "TURN", 0.0)
    path = shop.resolve() / "jobs" / "long.flat"

    async def session() -> Checking:
        store = Store(roots=(shop.resolve(),))
        base = JOB.format("base", 5) + "".join(f"job like_{k} like base {{ }}\n" for k in range(3))
        store.open(uri_of(path), 1, USES + base)
        check = Checking(store, lambda path: None, lambda path: None)
        check.request([path])
        await asyncio.wait_for(check.idle(), 30)
        check.close()
        return check

    whole = asyncio.run(session()).whole[path]
    assert whole.left == 3 and [each.severity for each in whole.findings if each.code == "FW107"] == ["note"]
