"""What can be wrong with which chip lies where in a photo."""

from __future__ import annotations

from collections.abc import Sequence

from tintmix.chips.errors import some
from tintmix.errors import FileProblem, Remedy, ValueProblem


def no_layout(where: object) -> ValueProblem:
    """Nothing tells which chip lies in which window."""
    return ValueProblem(
        where=where,
        what="nothing tells which chip lies in which window of the holder sheet",
        remedy=Remedy.LAY_THE_CHIPS_OUT,
    )


def which_photo(where: object, number: int | None, count: int) -> ValueProblem:
    """A number of a photo that the layout does not have, or none where it has several."""
    return ValueProblem(
        where=where,
        what=f"has no photo {number}" if number is not None else f"lays the chips out for {count} photos",
        remedy=Remedy.WHICH_PHOTO,
        numbers=f"a number from 1 to {count}" if count > 1 else "1, or leave it out",
    )


def chips_unnamed(where: object, windows: Sequence[str]) -> ValueProblem:
    """Chips in windows that no name is known for."""
    many = "s" if len(windows) > 1 else ""
    return ValueProblem(
        where=where,
        what=f"something lies in the window{many} {some(windows)} of the holder sheet, and no chip is laid there",
        remedy=Remedy.NAME_THE_CHIP,
        window=windows[0],
    )


def nothing_there(where: object, windows: Sequence[str]) -> FileProblem:
    """Windows that should hold chips and are empty, all of them."""
    return FileProblem(
        where=where,
        what=f"all windows that should hold a chip are empty ({some(windows)}), as in a photo of the bare panel",
        remedy=Remedy.GIVE_BOTH_PHOTOS,
    )
