"""Which format a file is in."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from tintmix.files.errors import FormatMissing, FormatTooNew


def check_format(table: Mapping[str, Any], where: object, known: int) -> None:
    """Refuse a file that does not say its format, or whose format is newer. Raises FormatMissing, FormatTooNew."""
    found = table.get("format")
    if type(found) is not int or found < 1:
        raise FormatMissing(where, found, known)
    if found > known:
        raise FormatTooNew(where, found, known)
