"""Arrays, dataclasses and values of other rooms as the plain values that JSON takes."""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping
from dataclasses import fields, is_dataclass
from typing import Any

from tintmix.errors import Note


def finite(value: Any) -> Any:
    """Dicts, lists, texts, booleans, integers and finite floats; a dataclass becomes a dict of its fields; what is not
    finite becomes None, as JSON has no word for it. A Note stays one: a face has the words for it.

    >>> finite({"a": (1, float("nan"))})
    {'a': [1, None]}
    """
    if isinstance(value, Mapping):
        return {str(key): finite(inner) for key, inner in value.items()}
    if isinstance(value, (list, tuple)):
        return [finite(inner) for inner in value]
    if hasattr(value, "tolist"):
        return finite(value.tolist())
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    if is_dataclass(value) and not isinstance(value, Note):
        return finite(table_of(value))
    return value


def table_of(value: Any, without: Collection[str] = (), **more: Any) -> dict[str, Any]:
    """The fields of a dataclass by their names; `more` are told in their place or besides.

    >>> table_of(Note(says="So it is."), ("remedy", "facts"), where="here")
    {'says': 'So it is.', 'where': 'here'}
    """
    named = {one.name: getattr(value, one.name) for one in fields(value) if one.name not in without}
    return {**named, **more}
