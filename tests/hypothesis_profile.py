"""How much the random tests try: Hypothesis's profile `quick`, or `nightly` where FLATWISE_NIGHTLY=1 is set."""

from __future__ import annotations

import os
from collections.abc import Sequence

from hypothesis import HealthCheck, settings

NIGHTLY = os.environ.get("FLATWISE_NIGHTLY") == "1"
#: examples in a nightly run for each one in a quick run
FACTOR = 40
#: health checks that are off for all tests: a busy machine is not a fault of a test
OFF = (HealthCheck.too_slow,)


def load() -> None:
    """Register both profiles and load the one asked for; quick runs try the same examples each time."""
    settings.register_profile("quick", deadline=None, suppress_health_check=OFF, derandomize=True, database=None)
    settings.register_profile("nightly", deadline=None, suppress_health_check=OFF, max_examples=100 * FACTOR)
    settings.load_profile("nightly" if NIGHTLY else "quick")


def examples(quick: int, nightly: int = 0, suppress: Sequence[HealthCheck] = ()) -> settings:
    """Try `quick` examples, or in a nightly run `nightly` (by default `FACTOR` times as many)."""
    count = (nightly or quick * FACTOR) if NIGHTLY else quick
    return settings(max_examples=count, suppress_health_check=(*OFF, *suppress))
