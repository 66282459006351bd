"""The holder sheet of a set on the page: which chip lies in which window, and how it is foreseen to look."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from typing import Any

from tintmix.chips.chip import ChipSet
from tintmix.chips.photo.foreseen import foreseen_hex
from tintmix.chips.photo.sheet.holder import WINDOWS, told_place
from tintmix.desk.read.layout import holder_for
from tintmix.page.chips.sets import foreseen_by
from tintmix.page.workspace import Workspace

Laid = Mapping[str, str]


def foreseen_of(workspace: Workspace, area: Mapping[str, Any], identity: str) -> dict[str, str]:
    """How the chips of a set should look, by its plan, or by the holder.csv that came with it."""
    plan = area.get("plans", {}).get(identity)
    came: dict[str, str] = area.get("laid", {}).get(identity, {}).get("foreseen", {})
    return came if plan is None else foreseen_by(workspace.json(plan))


def layout_of(
    chips: ChipSet, area: Mapping[str, Any], identity: str, foreseen: Mapping[str, str]
) -> tuple[dict[str, str], ...]:
    """Window → chip, for each photo that the set takes."""
    return holder_for(chips, foreseen, area.get("laid", {}).get(identity, {}).get("photos", ()))


def which_photo(photos: Sequence[Laid], filled: Collection[str], unread: Collection[str]) -> int:
    """Which of the sheets a photo most likely shows, from 1: the one whose windows are those that are filled, and whose chips
    are still to be read.

    >>> which_photo([{"1.2": "a", "1.3": "b"}, {"1.2": "c"}], ["1.2"], ["c"])
    2
    """
    wrong = [len(set(photo) ^ set(filled)) for photo in photos]
    done = [not set(photo.values()) & set(unread) for photo in photos]
    return min(range(len(photos)), key=lambda at: (wrong[at] + 2 * done[at], at)) + 1


def windows_seen(
    laid: Laid, filled: Mapping[str, str | None], dark: Collection[str], foreseen: Mapping[str, str]
) -> list[dict[str, Any]]:
    """A row for each window in which a chip should lie, or something does: place, chip, how it looks, how it was foreseen.
    dark: those that let next to no light through, as a very dark chip does."""
    return [
        {
            "place": told_place(name),
            "check": next(one.check for one in WINDOWS if one.name == name),
            "chip": laid.get(name, ""),
            "filled": name in filled,
            "dark": name in dark,
            "seen": filled.get(name),
            "foreseen": foreseen_hex(foreseen.get(laid.get(name, ""), "")) or None,
        }
        for name in [one.name for one in WINDOWS if one.name in laid or one.name in filled]
    ]
