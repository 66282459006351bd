"""What can be wrong with which chip lies where in a photo, and with the files that a photo's reading writes."""

from __future__ import annotations

from collections.abc import Sequence

from tintmix.errors import TintmixError

_SHOWN = 8


class NoLayout(TintmixError):
    """Nothing tells which chip lies in which window."""

    def __init__(self, where: object) -> None:
        super().__init__(
            f"{where}: nothing tells which chip lies in which window of the holder sheet. Write --map A2=CHIP for each, have "
            "the sheet printed for this set with --print-holder FILE.pdf, or name places in the photo with --at CHIP=x,y,w,h."
        )


class WhichPhoto(TintmixError):
    """A number of a photo that the layout does not have, or none where it has several."""

    def __init__(self, where: object, number: int | None, count: int) -> None:
        said = f"has no photo {number}" if number is not None else f"lays the chips out for {count} photos"
        upto = f"a number from 1 to {count}" if count > 1 else "1, or leave it out"
        super().__init__(f"{where}: {said}. Say which one this is with --number: {upto}.")


class ChipsUnnamed(TintmixError):
    """Chips in windows that no name is known for."""

    def __init__(self, where: object, windows: Sequence[str]) -> None:
        many = len(windows) > 1
        listed = ", ".join(windows[:_SHOWN]) + (f" and {len(windows) - _SHOWN} more" if len(windows) > _SHOWN else "")
        super().__init__(
            f"{where}: something lies in the window{'s' if many else ''} {listed} of the holder sheet, and no chip is laid "
            f"there. Say which chip it is with --map {windows[0]}=CHIP, or pass over it with --others-ignored."
        )


class NothingThere(TintmixError):
    """Windows that should hold chips and are empty, all of them."""

    def __init__(self, where: object, windows: Sequence[str]) -> None:
        listed = ", ".join(windows[:_SHOWN]) + (f" and {len(windows) - _SHOWN} more" if len(windows) > _SHOWN else "")
        super().__init__(
            f"{where}: all windows that should hold a chip are empty ({listed}). Is this the photo of the bare panel? Give "
            "that one with --panel, and the photo with the chips with --photo."
        )


class BadPhotoOption(TintmixError):
    """An option of a photo's reading that cannot be understood, or does not go with the others."""

    def __init__(self, option: str, reason: str) -> None:
        super().__init__(f"{option}: {reason}.")


class FileTaken(TintmixError):
    """A file that is there already."""

    def __init__(self, where: object) -> None:
        super().__init__(
            f"{where}: is there already, so it is left as it is. Say --replace to write over it, or name another file."
        )
