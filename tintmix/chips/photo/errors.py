"""What can be wrong with a photo of chips on a light panel."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager

from tintmix.errors import LONGEST, FileProblem, Note, Remedy, TintmixError
from tintmix.files.words import plain
from tintmix.numerals import counted

_SHOWN = 12
"""Problems that are told at once: each is a long line, and together they fill a screen."""


class BadRegions(FileProblem):
    """Places that cannot be read, all of them at once. problems: a sentence or a note each, "NAME: reason"."""

    longest = _SHOWN * LONGEST

    def __init__(self, where: object, problems: Sequence[Note | str]) -> None:
        self.problems = tuple(problems)
        count = len(self.problems)
        many = counted(count, "place")
        # What is wrong with several alike is said once, with their names before it.
        alike: dict[str, list[str]] = {}
        for problem in self.problems[:_SHOWN]:
            name, _, reason = str(problem).rstrip(".").partition(": ")
            alike.setdefault(reason, []).append(name)
        said = "; ".join(f"{', '.join(names)}: {reason}" if reason else names[0] for reason, names in alike.items())
        more = f"; and {count - _SHOWN} more" if count > _SHOWN else ""
        remedy = next((one.remedy for one in self.problems if isinstance(one, Note)), None)
        super().__init__(where=where, what=f"{many} cannot be read: {said}{more}", remedy=remedy)


class NotThesePhotos(FileProblem):
    """The photo of the chips and that of the bare panel are no such pair, whatever is read of them: others must be chosen."""


class NoPanel(FileProblem):
    """Nothing in the photo, or beside it, tells what the bare panel reads. Another photo may tell."""

    def __init__(self, where: object, what: str) -> None:
        super().__init__(where=where, what=what, remedy=Remedy.SHOW_THE_BARE_PANEL)


@contextmanager
def decoding(where: str, damaged: str) -> Iterator[None]:
    """Decoders raise whatever they stumble over; for the maker the file is `damaged` in any case. Raises FileProblem."""
    try:
        yield
    except TintmixError:
        raise
    except MemoryError:
        raise photo_too_large(where, "more pixels than this machine's memory holds", "so many as fit") from None
    except Exception as error:
        reason = error.args[0] if error.args else ""
        reason = reason.decode(errors="replace") if isinstance(reason, bytes) else str(error)
        raise not_a_photo(where, f"{damaged}: {plain(reason or type(error).__name__, 80)}") from None


def not_a_photo(where: object, reason: str) -> FileProblem:
    """A file that holds no picture that can be read."""
    return FileProblem(where=where, what=f"not a photo that can be read ({reason})", remedy=Remedy.GIVE_A_PHOTO)


def photo_too_large(where: object, what: str, limit: str) -> FileProblem:
    """More pixels, or more bytes, than a photo of chips needs."""
    return FileProblem(where=where, what=f"{what}, and at most {limit} are read", remedy=Remedy.SMALLER_PICTURE)


def bad_tone_curve(where: object, what: str) -> FileProblem:
    """A tone-curve file that cannot be used."""
    return FileProblem(where=where, what=what, remedy=Remedy.TONE_CURVE_FILE)
