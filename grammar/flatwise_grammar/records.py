"""`dataclass` as the standard library has it, for a start that does not wait for it.

The standard one compiles up to six methods anew for every class, half a millisecond in all; that was a fifth of a
`flatwise check`.  Here all classes share them.  What comes out is a dataclass to everything that asks (`replace`,
`fields`, `match`, type checkers).  Of the standard's ways only those are here that the project uses: `frozen`, `eq`,
defaults and `default_factory`.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from dataclasses import dataclass as dataclass
else:

    def dataclass(cls: type | None = None, /, *, frozen: bool = False, eq: bool = True) -> Any:
        """Makes a class of named values: see `dataclasses.dataclass`, of which it takes `frozen` and `eq`."""

        def make(cls: type) -> type:
            own = set(vars(cls))
            dataclasses.dataclass(init=False, eq=False, repr=False)(cls)
            shared: dict[str, Callable[..., Any] | None] = {
                "__init__": _filling(cls.__match_args__),
                "__repr__": _shown,
            }
            if eq:
                shared |= {"__eq__": _equal, "__hash__": _hash if frozen else None}
            if frozen:
                shared |= {"__setattr__": _refused, "__delattr__": _kept}
            for name, method in shared.items():
                if name not in own:
                    setattr(cls, name, method)
            return cls

        return make if cls is None else make(cls)


def _filling(names: tuple[str, ...]) -> Callable[..., None]:
    """`_filled`; for two or three fields, as the nodes of the tree have them, three times as fast."""
    if len(names) == 2:
        first, second = names

        def fill(self: Any, *given: Any, **named: Any) -> None:
            if named or len(given) != 2:
                return _filled(self, *given, **named)
            held = self.__dict__
            held[first], held[second] = given
            return None

        return fill
    if len(names) == 3:
        one, two, three = names

        def fill_three(self: Any, *given: Any, **named: Any) -> None:
            if named or len(given) != 3:
                return _filled(self, *given, **named)
            held = self.__dict__
            held[one], held[two], held[three] = given
            return None

        return fill_three
    return _filled


def _filled(self: Any, *given: Any, **named: Any) -> None:
    """Every field from what is given, else from its default; as `__init__` it raises TypeError like any function."""
    names, held = self.__match_args__, self.__dict__
    held.update(zip(names, given, strict=False))
    if len(given) == len(names) and not named:
        return
    title = type(self).__name__
    if len(given) > len(names):
        raise TypeError(f"{title} has {len(names)} fields, {len(given)} values are given")
    for name in names[len(given) :]:
        field = self.__dataclass_fields__[name]
        if name in named:
            held[name] = named.pop(name)
        elif field.default is not dataclasses.MISSING:
            held[name] = field.default
        elif field.default_factory is not dataclasses.MISSING:
            held[name] = field.default_factory()
        else:
            raise TypeError(f"{title} is made without its {name}")
    if named:
        raise TypeError(f"{title} has no other field {', '.join(named)}")


def _values(record: Any) -> tuple[Any, ...]:
    held = record.__dict__
    return tuple([held[name] for name in record.__match_args__])


def _equal(self: Any, other: object) -> Any:
    if other.__class__ is not self.__class__:
        return NotImplemented
    return _values(self) == _values(other)


def _hash(self: Any) -> int:
    return hash(_values(self))


def _shown(self: Any) -> str:
    said = ", ".join(f"{name}={value!r}" for name, value in zip(self.__match_args__, _values(self), strict=True))
    return f"{type(self).__qualname__}({said})"


def _refused(self: Any, name: str, value: Any) -> None:
    raise dataclasses.FrozenInstanceError(f"cannot assign to field {name!r}")


def _kept(self: Any, name: str) -> None:
    raise dataclasses.FrozenInstanceError(f"cannot delete field {name!r}")
