"""summary.json: the machine-readable result.  Keys are stable; mm, s, mm/min, N, W."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable
from typing import Any

from flatwise.model.built import Built, Proof
from flatwise.model.stages import Plan, Seating, Setup, Shim
from flatwise.report.messages import Sources, Texts, as_json, in_order

Named = Callable[[str], str]

#: The form of the file; raised when a key changes its meaning.
SCHEMA = 1


def summary(built: Built, texts: Texts | None = None, named: Named = str) -> dict[str, Any]:
    """What a build found, as plain data.

    `texts` are the sources' texts, for the lines and columns of warnings; `named` gives the path from the project's
    root for the path that a span carries, so that the bytes do not depend on where the build was started.  `built`
    must have a plan; raises ValueError where it has none, since there is nothing to sum up.
    """
    plan = built.plan
    if plan is None:
        raise ValueError("a job without a plan has no summary")
    sources = Sources(texts or {})
    warnings = tuple(finding for finding in built.findings if finding.severity == "warning")
    return {
        "schema": SCHEMA,
        "job": plan.work.name,
        "sources": [{"path": path, "sha256": digest} for path, digest in plan.work.sources],
        "seating": None if plan.seating is None else _seating(plan.seating),
        "setups": [_setup(setup) for setup in plan.setups],
        "thickness": _thickness(plan),
        "verified": _verified(built.proofs.values()),
        "waived": [
            {"rule": each.rule, "because": each.because, "value": figure(each.value), "limit": figure(each.limit)}
            for each in built.waived
        ],
        "warnings": [_from_root(as_json(finding, sources), named) for finding in in_order(warnings, sources)],
    }


def as_bytes(data: dict[str, Any]) -> bytes:
    """The file's bytes: UTF-8, indented, keys in their order, never NaN."""
    # a file's name that is no text comes as lone surrogates: what replaces them is the escape that JSON has for them
    return (json.dumps(data, ensure_ascii=False, indent=1, allow_nan=False) + "\n").encode("utf-8", "backslashreplace")


def figure(value: float, places: int = 4) -> float:
    """`value` rounded to `places` decimals, without -0."""
    return round(float(value), places) + 0.0


def _from_root(message: Any, named: Named) -> Any:
    """A message with every `path` in it named from the project's root."""
    if isinstance(message, list):
        return [_from_root(each, named) for each in message]
    if not isinstance(message, dict):
        return message
    return {
        key: named(value) if key == "path" and value is not None else _from_root(value, named)
        for key, value in message.items()
    }


def _seating(seating: Seating) -> dict[str, Any]:
    found = {
        "shims": [_shim(shim) for shim in seating.shims],
        # a tilt is mm per mm: over a metre and a half the seventh decimal is still 0.00015 mm
        "tilt": {"x": figure(seating.pose.a, 7), "y": figure(seating.pose.b, 7)},
        "touches": [[figure(x, 2), figure(y, 2)] for x, y in seating.touches],
        "rocks": seating.rocks,
        "most_thickness": figure(seating.most_thickness),
    }
    if seating.other is not None:
        found["other_aim"] = {
            "aim": seating.other.aim,
            "most_thickness": figure(seating.other.most_thickness),
            "shims": [_shim(shim) for shim in seating.other.shims],
        }
    return found


def _shim(shim: Shim) -> dict[str, Any]:
    return {
        "at": [figure(shim.x, 2), figure(shim.y, 2)],
        "place": shim.place,
        "leaves": [figure(leaf) for leaf in shim.leaves],
        "height": figure(shim.height),
        "gap_left": figure(shim.gap_left),
    }


def _setup(setup: Setup) -> dict[str, Any]:
    touch = setup.touch
    found: dict[str, Any] = {
        "face": setup.face,
        "program": f"{setup.face}.nc",
        "zero": {"z": touch.on, "touch_at": [figure(touch.x, 3), figure(touch.y, 3)]},
        "highest": figure(setup.highest),
        "lowest": figure(setup.lowest),
        "plane": figure(setup.plane),
        "removed": {
            "least": figure(setup.removed_least),
            "mean": figure(setup.removed_mean),
            "most": figure(setup.removed_most),
        },
        "passes": [
            {
                "plane": figure(each.plane),
                "depth": figure(each.depth),
                "cut_length": figure(each.cut_length, 1),
                "time": figure(each.time, 1),
            }
            for each in setup.passes
        ],
        "speed": figure(setup.speed, 1),
        "feed": figure(setup.feed, 1),
        "feed_limit": setup.feed_limit,
        "chip_load": figure(setup.chip_load),
        "rim_speed": figure(setup.rim_speed, 2),
        "power": figure(setup.power, 1),
        "ridge": figure(setup.ridge, 5),
        "time": figure(setup.time, 1),
    }
    if setup.again:
        found["again"] = True
    return found


def _thickness(plan: Plan) -> dict[str, Any]:
    return {
        "target": None if plan.target is None else figure(plan.target),
        "forecast": figure(plan.forecast),
        "plus_minus": figure(plan.plus_minus),
        "parts": [{"name": part.name, "value": figure(part.value)} for part in plan.parts],
    }


def _verified(proofs: Iterable[Proof]) -> dict[str, Any] | None:
    """The proofs of all faces as one: moves and collisions added, else the worst."""
    each = tuple(proofs)
    if not each:
        return None
    return {
        "program_moves": sum(proof.program_moves for proof in each),
        "deepest_bite": figure(max(proof.deepest_bite for proof in each)),
        "collisions": sum(proof.collisions for proof in each),
        "left_above_plane": figure(max(proof.left_above_plane for proof in each)),
        "flatness": figure(max(proof.flatness for proof in each), 5),
    }
