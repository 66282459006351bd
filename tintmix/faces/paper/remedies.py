"""What to do about a note, in words for paper, which names neither an option nor a button."""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial

from tintmix.errors import Remedy
from tintmix.faces.remedies import told as told_with

PAPER: Mapping[Remedy, str] = {
    Remedy.TOP_UP_WHAT_IS_LEFT: "tintmix tells what to add to {tinted} that is left.",
}
"""Whole sentences: for the notes that stand on a batch sheet."""


told = partial(told_with, own=PAPER)
"""A note as it stands on paper."""
