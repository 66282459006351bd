"""What can be wrong with where an answer should go, and with the demo."""

from __future__ import annotations

from pathlib import Path

from tintmix.errors import TintmixError


class CannotWrite(TintmixError):
    """An output that cannot be written where it should go."""

    def __init__(self, where: object, reason: str) -> None:
        super().__init__(
            f"{where}: cannot be written ({reason}). Name a file in a folder that exists and that you may write to."
        )


class OverwritesInput(TintmixError):
    """An output that would replace what is being read."""

    def __init__(self, where: object) -> None:
        super().__init__(f"{where}: is being read, so it will not be written over. Give the output another name.")


class WrittenTwice(TintmixError):
    """Two outputs of one name."""

    def __init__(self, where: object) -> None:
        super().__init__(f"{where}: is named for two different outputs. Give each its own file.")


class PictureEnding(TintmixError):
    """A picture whose kind the file's ending does not tell."""

    def __init__(self, where: object, known: tuple[str, ...]) -> None:
        super().__init__(
            f"{where}: a picture is written as {', '.join(known[:-1])} or {known[-1]}, by the ending of its name."
        )


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
