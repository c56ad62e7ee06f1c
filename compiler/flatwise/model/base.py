"""What a class of the model is: named values with types, defaults and an explanation, frozen once made.

A class of the model costs microseconds to define, so that `flatwise check` starts quickly; a validation library's
costs over a millisecond each (0.1 s for all of them, most of the time of a check).  Values from a job's text
are checked against the same annotations when the line is read; type checkers see an ordinary frozen dataclass.
"""

from __future__ import annotations

from collections.abc import Mapping
from inspect import get_annotations
from typing import TYPE_CHECKING, Annotated, Any, ClassVar, Self, dataclass_transform, get_origin

_NONE: Any = object()


class Value:
    """A named value of a class: its type, the marks of `Annotated`, its default, and what the model says of it.

    `pattern`, `example`, `repeats` and `shown` are those of `flatwise.model.words.word`.
    """

    __slots__ = ("annotation", "default", "description", "example", "metadata", "pattern", "repeats", "shown")

    def __init__(
        self,
        default: Any = _NONE,
        description: str = "",
        pattern: str = "{}",
        example: str = "",
        repeats: bool = False,
        shown: str = "",
    ) -> None:
        self.annotation: Any = None
        self.metadata: tuple[Any, ...] = ()
        self.default = default
        self.description = description
        self.pattern = pattern
        self.example = example
        self.repeats = repeats
        self.shown = shown

    @property
    def required(self) -> bool:
        """Whether the class cannot be made without it."""
        return self.default is _NONE


@dataclass_transform(kw_only_default=True, frozen_default=True)
class ModelType(type):
    """The type of the model's classes, so that type checkers see a frozen dataclass in each."""


class Model(metaclass=ModelType):
    """Base of all classes of the model: keyword arguments in, frozen, equal when all values are equal."""

    #: the values by name, in the order in which they are declared
    model_fields: ClassVar[Mapping[str, Value]] = {}

    def __init_subclass__(cls) -> None:
        fields = dict(cls.model_fields)
        for name, annotation in get_annotations(cls).items():
            origin: Any = get_origin(annotation)
            if name.startswith("_") or origin is ClassVar:
                continue
            declared = cls.__dict__.get(name, _NONE)
            if declared is not _NONE:
                delattr(cls, name)
            field = declared if isinstance(declared, Value) else Value(declared)
            field.annotation = annotation
            if origin is Annotated:
                field.annotation, field.metadata = annotation.__origin__, tuple(annotation.__metadata__)
            fields[name] = field
        cls.model_fields = fields

    def __init__(self, **values: Any) -> None:
        state: dict[str, Any] = {}
        for name, field in type(self).model_fields.items():
            value = values.pop(name, field.default)
            if value is _NONE:
                raise TypeError(f"{type(self).__name__} is made without its {name}")
            state[name] = value
        if values:
            raise TypeError(f"{type(self).__name__} has no {', '.join(values)}")
        self.__dict__.update(state)

    def __setattr__(self, name: str, value: Any) -> None:
        if name.startswith("_"):  # where it stands and what it is called, set by whoever makes it
            return object.__setattr__(self, name, value)
        raise AttributeError(f"{type(self).__name__} is frozen; model_copy makes another")

    def __delattr__(self, name: str) -> None:
        raise AttributeError(f"{type(self).__name__} is frozen")

    def __eq__(self, other: object) -> bool:
        if type(other) is not type(self):
            return NotImplemented
        return self._values() == other._values()

    if not TYPE_CHECKING:  # type checkers know it from the decorator

        def __hash__(self) -> int:
            return hash((type(self), self._values()))

    def __repr__(self) -> str:
        shown = ", ".join(f"{name}={getattr(self, name)!r}" for name in type(self).model_fields)
        return f"{type(self).__name__}({shown})"

    def _values(self) -> tuple[Any, ...]:
        return tuple(self.__dict__[name] for name in type(self).model_fields)

    def model_copy(self, update: Mapping[str, Any] | None = None) -> Self:
        """Another of the class with some values replaced; place and name are kept."""
        unknown = set(update or ()) - set(type(self).model_fields)
        if unknown:
            raise TypeError(f"{type(self).__name__} has no {', '.join(sorted(unknown))}")
        copy = object.__new__(type(self))
        copy.__dict__.update(self.__dict__)
        copy.__dict__.update(update or {})
        return copy
