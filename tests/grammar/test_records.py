"""Records do what dataclasses of the standard library do: the standard one is the judge."""

from __future__ import annotations

import copy
import dataclasses
import pickle
from typing import Any

import pytest

from flatwise_grammar.nodes import Name, Number, Span
from flatwise_grammar.records import dataclass

HERE, THERE = Span("a", 0, 1), Span("a", 2, 3)


def declared(decorator: Any) -> tuple[Any, Any, Any]:
    """Three classes: with defaults, one that inherits from it, one that is not frozen."""

    @decorator(frozen=True)
    class Size:
        """A size."""

        length: float
        unit: str = "mm"
        marks: list[int] = dataclasses.field(default_factory=list)

        @property
        def twice(self) -> float:
            return 2 * self.length

    @decorator(frozen=True)
    class Deep(Size):
        depth: float = 0.0

    @decorator
    class Loose:
        count: int = 0

    return Size, Deep, Loose


@pytest.mark.parametrize("decorator", [dataclass, dataclasses.dataclass], ids=["ours", "the standard's"])
def test_records_are_dataclasses(decorator: Any) -> None:
    Size, Deep, Loose = declared(decorator)
    one = Size(3.0)
    assert one == Size(length=3.0, unit="mm", marks=[]) and one != Size(3.0, "in") and one.twice == 6.0
    assert one != Deep(3.0) and one != 3.0
    assert one.marks is not Size(3.0).marks
    assert repr(one).endswith("Size(length=3.0, unit='mm', marks=[])")
    assert [field.name for field in dataclasses.fields(Deep)] == ["length", "unit", "marks", "depth"]
    assert dataclasses.replace(one, unit="in") == Size(3.0, "in")
    for change in (lambda: setattr(one, "unit", "in"), lambda: delattr(one, "unit"), lambda: setattr(one, "new", 1)):
        with pytest.raises(dataclasses.FrozenInstanceError):
            change()
    assert one.unit == "mm"
    assert Deep(1.0, depth=2.0) == Deep(1.0, "mm", [], 2.0) == Deep(length=1.0, depth=2.0, marks=[])
    wrongs: list[tuple[tuple[Any, ...], dict[str, Any]]] = [
        ((), {}),
        ((), {"length": 1.0, "width": 2.0}),
        ((1.0,), {"length": 1.0}),
        ((1.0, "mm", [], 2.0), {}),
        ((1.0, "mm", []), {"unit": "in"}),
    ]
    for given, named in wrongs:
        with pytest.raises(TypeError):
            Size(*given, **named)
    loose = Loose()
    loose.count = 4
    assert loose == Loose(4)
    with pytest.raises(TypeError):
        hash(loose)
    match Deep(1.0, "in", [], 2.0):
        case Deep(length, unit, _, depth):
            assert (length, unit, depth) == (1.0, "in", 2.0)


def test_nodes_of_two_kinds_are_never_equal_and_all_can_be_keys() -> None:
    assert Name("x", HERE) == Name("x", HERE) != Name("x", THERE)
    assert Name("3", HERE) != Number("3", HERE)
    assert len({Name("x", HERE), Name("x", HERE), Name("x", THERE)}) == 2


def test_nodes_can_be_copied_and_kept() -> None:
    node = Name("x", HERE)
    assert copy.deepcopy(node) == node == pickle.loads(pickle.dumps(node))
    with pytest.raises(dataclasses.FrozenInstanceError):
        copy.copy(node).text = "y"  # type: ignore[misc]
