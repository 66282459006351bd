"""The stamp that every machine-written file carries: by which program, and when."""

from __future__ import annotations

import os
from datetime import UTC, datetime

from tintmix.files.errors import BadEpoch
from tintmix.files.words import plain


def made_by() -> str:
    """The program and its version, as in "tintmix 0.1.0"."""
    import tintmix

    version = getattr(tintmix, "__version__", None)
    if version is None:
        from importlib.metadata import PackageNotFoundError
        from importlib.metadata import version as installed

        try:
            version = installed("tintmix")
        except PackageNotFoundError:
            version = "of unknown version"
    return f"tintmix {version}"


def made_at() -> str:
    """Now, in UTC, ISO 8601, to the second; or the time that SOURCE_DATE_EPOCH says. Raises BadEpoch."""
    said = os.environ.get("SOURCE_DATE_EPOCH")
    if not said:
        return datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
    try:
        return datetime.fromtimestamp(int(said), UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
    except (ValueError, OverflowError, OSError):
        raise BadEpoch(plain(said)) from None
