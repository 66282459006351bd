"""What can be wrong with what is asked of the page: a sentence each, for the maker."""

from __future__ import annotations

from tintmix.errors import TintmixError


class ChangedElsewhere(TintmixError):
    """A change made on what another tab has changed since it was shown."""

    def __init__(self, what: str) -> None:
        super().__init__(
            f"{what}: changed in another tab or window since this one showed it, so nothing was overwritten. "
            "Load the page again to see what it is now, then make your change."
        )


class NoSuchThing(TintmixError):
    """An address of something that is not kept, or no longer."""

    def __init__(self, what: str = "page") -> None:
        super().__init__(f"there is no such {what} here. It may have been removed; go on from one of the steps above.")


class NothingToUndo(TintmixError):
    """An undo where nothing was changed."""

    def __init__(self, word: str = "undo") -> None:
        super().__init__(f"there is nothing to {word}: no change is left to go back over.")


class WorkspaceUnreadable(TintmixError):
    """The page's folder, or its list of what is kept, cannot be used."""

    def __init__(self, where: object, reason: str) -> None:
        super().__init__(
            f"{where}: what the page keeps cannot be used ({reason}). Start it on another folder with "
            "`tintmix serve --folder FOLDER`."
        )


class NotKept(TintmixError):
    """A change that the disk did not take."""

    def __init__(self, reason: str) -> None:
        super().__init__(
            f"the page's folder cannot be written ({reason}), so nothing was changed. Make room there, or see that you may "
            "write to it, then do it again."
        )


class NotTyped(TintmixError):
    """A box of a form that was left empty, or holds what cannot be used."""

    def __init__(self, field: str, found: str, wanted: str) -> None:
        seen = "".join(letter if letter.isprintable() else "\N{REPLACEMENT CHARACTER}" for letter in found[:40])
        said = f'"{seen}" cannot be used' if found.strip() else "nothing is typed in it"
        super().__init__(f"{field}: {said}. {wanted}")


class TooMany(TintmixError):
    """More rows or places than the page takes at once."""

    def __init__(self, what: str, found: int, limit: int) -> None:
        super().__init__(f"{found} {what}: the page takes {limit} at once. Give fewer, or split them.")


class NeedsFirst(TintmixError):
    """A step asked for before the one that it stands on."""

    def __init__(self, what: str, first: str) -> None:
        super().__init__(f"{what} needs {first} first.")


class WorkFailed(TintmixError):
    """Work in the background that ended without an answer."""

    def __init__(self, what: str, reason: str) -> None:
        super().__init__(f"{what}: it ended without an answer ({reason}). Try it again.")
