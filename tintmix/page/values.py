"""Values of other rooms as tables that the page keeps, and back: a sheet that is being weighed must not change under the hand."""

from __future__ import annotations

import types
from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from enum import Enum
from functools import cache
from typing import Any, TypeVar, Union, get_args, get_origin, get_type_hints

from tintmix.errors import Note, Remedy
from tintmix.files.plain import finite

Kind = TypeVar("Kind")


def to_table(value: Any) -> Any:
    """A frozen dataclass with all that it holds as dicts and lists; what it works out for itself is left out.

    >>> from tintmix.weighing.scales import Scale
    >>> to_table((Scale(0.01), "a"))
    [{'readability_g': 0.01, 'repeatability_g': None, 'capacity_g': None}, 'a']
    """
    if is_dataclass(value) and not isinstance(value, type):
        return {one.name: to_table(getattr(value, one.name)) for one in fields(value) if one.init}
    if isinstance(value, Mapping):
        return {str(key): to_table(inner) for key, inner in value.items()}
    if isinstance(value, list | tuple):
        return [to_table(inner) for inner in value]
    return finite(value)


def with_notes(table: dict[str, Any]) -> Any:
    """A note again where a table is one's, else the table; for json.loads.

    >>> with_notes(to_table(Note(says="The shelf is empty.")))
    Note(says='The shelf is empty.', remedy=None, facts={})
    """
    if table.keys() != {"says", "remedy", "facts"}:
        return table
    return Note(says=table["says"], remedy=table["remedy"] and Remedy(table["remedy"]), facts=table["facts"])


def from_table(kind: type[Kind], table: Any) -> Kind:
    """The dataclass that `to_table` made a table of.

    >>> from tintmix.weighing.scales import Scale
    >>> from_table(Scale, to_table(Scale(0.01)))
    Scale(readability_g=0.01, repeatability_g=None, capacity_g=None)
    """
    made: Kind = _back(kind, table)
    return made


def _back(kind: Any, value: Any) -> Any:
    if value is None:
        return None
    origin, inner = get_origin(kind), get_args(kind)
    if Note in inner:  # a note, or a plain sentence
        return value
    if origin in (Union, types.UnionType):
        return _back(next(one for one in inner if one is not type(None)), value)
    if origin is tuple:
        if len(inner) == 2 and inner[1] is Ellipsis:
            return tuple(_back(inner[0], one) for one in value)
        return tuple(_back(one, part) for one, part in zip(inner, value, strict=True))
    if origin is not None and isinstance(value, Mapping):
        return {key: _back(inner[1], one) for key, one in value.items()}
    if isinstance(kind, type) and is_dataclass(kind):
        # What has all that a kind's own kind has is one of those; the newest first, since a class with slots is made twice.
        own = (
            one for one in reversed(kind.__subclasses__()) if is_dataclass(one) and _hints(one).keys() <= value.keys()
        )
        kind = next(own, kind)
        hints = _hints(kind)
        return kind(**{key: _back(hints[key], one) for key, one in value.items() if key in hints})
    if isinstance(kind, type) and issubclass(kind, Enum):
        return kind(value)
    return float(value) if kind is float else value


@cache
def _hints(kind: Any) -> dict[str, Any]:
    told = get_type_hints(kind)
    return {one.name: told[one.name] for one in fields(kind) if one.init}
