"""Arrays and values of other rooms as the plain values that JSON takes."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any


def finite(value: Any) -> Any:
    """Dicts, lists, texts, booleans, integers and finite floats; what is not finite becomes None, as JSON has no word
    for it.

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
    return value
