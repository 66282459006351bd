"""What can be wrong with where an answer should go, and with the demo."""

from __future__ import annotations

from pathlib import Path

from tintmix.errors import TintmixError


class FileNotOurs(TintmixError):
    """A file in the tour's way that the tour did not write."""

    def __init__(self, where: object) -> None:
        super().__init__(
            f"{where}: is there already, and the tour did not write it as it is now, so it is left alone. "
            "Name another folder with --into."
        )


class DemoMissing(TintmixError):
    """The shipped demo chips are not where they should be."""

    def __init__(self, name: str, looked: tuple[Path, ...]) -> None:
        super().__init__(
            f"the demo {name} is in none of {', '.join(map(str, looked))}. Install tintmix again, or run it "
            "from its repository."
        )


class BadInsert(TintmixError):
    """An insert whose colour is none."""

    def __init__(self, insert: str, reason: str = "it is no colour that an insert can have") -> None:
        super().__init__(f'insert {insert}: {reason}. Write "#b08d3c", lab=62,8,45, or a CSV file of nm, reflectance.')


class FolderTaken(TintmixError):
    """A place for a new chip set where something is already."""

    def __init__(self, where: object, why: str) -> None:
        super().__init__(f"{where}: is taken ({why}), and a plan overwrites nothing. Name a new folder.")
