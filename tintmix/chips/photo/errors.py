"""What can be wrong with a photo of chips on a light panel, or with where its readings should go."""

from __future__ import annotations

from collections.abc import Sequence

from tintmix.errors import TintmixError

_SHOWN = 12
"""Problems that are told at once: each is a long line, and together they fill a screen."""


class NotAPhoto(TintmixError):
    """A file that holds no picture that can be read."""

    def __init__(self, where: object, reason: str) -> None:
        super().__init__(
            f"{where}: not a photo that can be read ({reason}). Give a JPEG, PNG, TIFF or WebP, or the camera's raw file."
        )


class PhotoTooLarge(TintmixError):
    """More pixels, or more bytes, than a photo of chips needs."""

    def __init__(self, where: object, what: str, limit: str) -> None:
        super().__init__(f"{where}: {what}, and at most {limit} are read. Set the camera to a smaller picture.")


class PhotoRefused(TintmixError):
    """A picture from which no channel ratio can be had."""

    def __init__(self, where: object, reason: str, instead: str) -> None:
        super().__init__(f"{where}: {reason}. {instead}.")


class RawNotInstalled(TintmixError):
    """A raw file, and no library to read it."""

    def __init__(self, where: object) -> None:
        super().__init__(
            f"{where}: a camera's raw file needs the library rawpy, which is not installed. "
            "Install it with: pip install 'tintmix[raw]'."
        )


class PanelDiffers(TintmixError):
    """A photo of the bare panel that does not belong to the photo of the chips."""

    def __init__(self, where: object, reason: str, instead: str) -> None:
        super().__init__(f"{where}: {reason}. {instead}.")


class BadPlace(TintmixError):
    """A region or window that is not in the photo, or cannot be understood."""

    def __init__(self, place: str, reason: str) -> None:
        super().__init__(f"{place}: {reason}.")


class BadRegions(TintmixError):
    """Regions that cannot be read, all of them at once."""

    def __init__(self, where: object, problems: Sequence[str]) -> None:
        self.problems = tuple(problems)
        count = len(self.problems)
        many = "1 place" if count == 1 else f"{count} places"
        # What is wrong with several alike is said once, with their names before it.
        alike: dict[str, list[str]] = {}
        for problem in self.problems[:_SHOWN]:
            name, _, reason = problem.partition(": ")
            alike.setdefault(reason, []).append(name)
        said = "; ".join(f"{', '.join(names)}: {reason}" if reason else names[0] for reason, names in alike.items())
        more = f"; and {count - _SHOWN} more" if count > _SHOWN else ""
        super().__init__(f"{where}: {many} cannot be read: {said}{more}.")


class NoPanel(TintmixError):
    """Nothing in the photo, or beside it, tells what the bare panel reads."""

    def __init__(self, where: object, reason: str) -> None:
        super().__init__(
            f"{where}: {reason}. Take a second photo with the chips off and give it with --panel, "
            "or name a place where the bare panel shows with --open x,y,w,h."
        )


class HolderNotFound(TintmixError):
    """The marks of the holder sheet are not in the photo as they should be."""

    def __init__(self, where: object, reason: str, instead: str) -> None:
        super().__init__(f"{where}: {reason}. {instead}.")


class BadStack(TintmixError):
    """A stack check that cannot give a tone curve."""

    def __init__(self, where: object, reason: str) -> None:
        super().__init__(f"{where}: {reason}.")


class BadToneCurve(TintmixError):
    """A tone-curve file that cannot be used."""

    def __init__(self, where: object, reason: str) -> None:
        super().__init__(
            f"{where}: {reason}. A tone curve is a CSV file with the columns code, R, G, B and a row for each code "
            "0 to 255; the stack check writes it."
        )


class PhotoMisfit(TintmixError):
    """A photo whose readings do not belong in this chip set."""

    def __init__(self, where: object, reason: str, instead: str) -> None:
        super().__init__(f"{where}: {reason}. {instead}.")
