"""The status of an answer that tells of one of our errors."""

from __future__ import annotations

from tintmix.errors import TintmixError
from tintmix.page.errors import ChangedElsewhere, NoSuchThing

STATUS = {ChangedElsewhere: 409, NoSuchThing: 404}
"""Errors with a status of their own; every other of ours is 422: what was asked cannot be used."""


def status_of(error: TintmixError) -> int:
    """The status of one of our errors, for a screen that shows it beside the form."""
    return next((code for kind, code in STATUS.items() if isinstance(error, kind)), 422)
