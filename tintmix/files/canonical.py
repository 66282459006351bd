"""JSON as it is written: canonical, one text for one value, so that a digest says whether two things are the same; or
in the order of its keys, where that means something to whoever opens the file."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping
from typing import Any

from tintmix.files.errors import not_json


def canonical_json(value: Any) -> str:
    """JSON with sorted keys, no spaces, shortest round-trip floats, in UTF-8 (not escaped).

    Tuples and arrays (anything with `tolist`) become lists. Raises ValueProblem for NaN, infinity, and
    what JSON has no word for.

    >>> canonical_json({"b": (1, 0.1), "a": "grün"})
    '{"a":"grün","b":[1,0.1]}'
    """
    return json.dumps(_bare(value), sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False)


def json_text(value: Any, on_one_line: bool = False) -> str:
    """The same values as JSON with the keys in their own order, a line each unless on one line, ending with a newline.

    >>> print(json_text({"b": [1, 0.1], "a": "grün"}), end="")
    {
     "b": [
      1,
      0.1
     ],
     "a": "grün"
    }
    """
    return json.dumps(_bare(value), ensure_ascii=False, allow_nan=False, indent=None if on_one_line else 1) + "\n"


def digest(value: Any) -> str:
    """SHA-256 (hexadecimal) of the canonical JSON.

    >>> digest({})
    '44136fa355b3678a1146ad16f7e8649e94fb4fc21fe77e8310c060f61caaff8a'
    """
    # Only here: 2 ms, for OpenSSL, of every start-up (measured).
    import hashlib

    return hashlib.sha256(canonical_json(value).encode("utf-8", "surrogatepass")).hexdigest()


def _bare(value: Any) -> Any:
    if value is None or isinstance(value, str | bool | int):
        return value
    if isinstance(value, float):
        if not math.isfinite(value):
            raise not_json(repr(value))
        return float(value)
    if isinstance(value, Mapping):
        for key in value:
            if not isinstance(key, str):
                raise not_json(f"the key {key!r}")
        return {key: _bare(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [_bare(item) for item in value]
    if hasattr(value, "tolist"):
        return _bare(value.tolist())
    raise not_json(f"a {type(value).__name__}")
