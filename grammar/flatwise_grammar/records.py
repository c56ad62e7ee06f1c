"""`dataclass` as the standard library has it, for a start that does not wait for it.

The standard one compiles five methods anew for every frozen class, half a millisecond each; that was a fifth of a
`flatwise check`.  Here all classes share these methods and only `__init__` is made for each.  What comes out is a
dataclass to everything that asks (`replace`, `fields`, type checkers).
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
            dataclasses.dataclass(eq=False, repr=False)(cls)
            shared: dict[str, Callable[..., Any] | None] = {"__repr__": _shown}
            if eq:
                shared |= {"__eq__": _equal, "__hash__": _hash if frozen else None}
            if frozen:
                shared |= {"__setattr__": _set_once, "__delattr__": _kept}
            for name, method in shared.items():
                if name not in own:
                    setattr(cls, name, method)
            return cls

        return make if cls is None else make(cls)


def _values(record: Any) -> tuple[Any, ...]:
    held = vars(record)
    return tuple([held[name] for name in record.__dataclass_fields__])


def _equal(self: Any, other: object) -> Any:
    if other.__class__ is not self.__class__:
        return NotImplemented
    return _values(self) == _values(other)


def _hash(self: Any) -> int:
    return hash(_values(self))


def _shown(self: Any) -> str:
    fields = self.__dataclass_fields__.values()
    said = ", ".join(f"{field.name}={getattr(self, field.name)!r}" for field in fields if field.repr)
    return f"{type(self).__qualname__}({said})"


def _set_once(self: Any, name: str, value: Any) -> None:
    """Only `__init__` finds a field that is not set yet."""
    held = self.__dict__
    if name in held or name not in self.__dataclass_fields__:
        raise dataclasses.FrozenInstanceError(f"cannot assign to field {name!r}")
    held[name] = value


def _kept(self: Any, name: str) -> None:
    raise dataclasses.FrozenInstanceError(f"cannot delete field {name!r}")
