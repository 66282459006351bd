"""What can be wrong with a file: it is not there, it is no text, it says what cannot be, it cannot be written."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from tintmix.errors import TintmixError
from tintmix.files.words import plain
from tintmix.numerals import numeral

_SHOWN = 20


class FileMissing(TintmixError):
    """A file that is not there, or is no ordinary file."""

    def __init__(self, path: object, what: str) -> None:
        super().__init__(f"{path}: there is no such file, and {what} is needed there. Check the name and the folder.")


class FileUnreadable(TintmixError):
    """A file that the system does not let us read."""

    def __init__(self, path: object, reason: str) -> None:
        super().__init__(f"{path}: cannot be read ({reason}). Check that the file is yours to read.")


class FileTooLarge(TintmixError):
    """A file beyond what is sensible for its kind."""

    def __init__(self, path: object, limit_bytes: int) -> None:
        super().__init__(
            f"{path}: larger than {numeral(limit_bytes / 1e6)} MB, the most that is read of such a file. "
            "Check that it is the right file, or split it."
        )


class NotText(TintmixError):
    """Bytes that are no UTF-8 text."""

    def __init__(self, path: object, line: int) -> None:
        super().__init__(
            f"{path}: line {line} is not UTF-8 text. "
            "Save the file again as plain text in UTF-8 (not as a workbook, not UTF-16)."
        )


class NotToml(TintmixError):
    """Text that is no TOML."""

    def __init__(self, path: object, reason: str) -> None:
        super().__init__(f"{path}: not a TOML file that can be read ({plain(reason, 160)}). Correct that line.")


class FormatMissing(TintmixError):
    """A file that does not say which format it is in."""

    def __init__(self, path: object, found: object, known: int) -> None:
        said = (
            "does not say its format" if found is None else f"says format = {plain(found)}, which is no format number"
        )
        super().__init__(f"{path}: {said}. Write `format = {known}` as its first line.")


class FormatTooNew(TintmixError):
    """A file written for a later version."""

    def __init__(self, path: object, found: int, known: int, what: str) -> None:
        super().__init__(
            f"{path}: in {what} format {plain(found)}, and this version reads up to format {known}; it was left as it is. "
            "Bring tintmix up to date."
        )


class BadTable(TintmixError):
    """A TOML table with keys or values that cannot be used; all of them at once."""

    def __init__(self, where: object, problems: Iterable[str]) -> None:
        self.problems = tuple(problems)
        shown = "; ".join(self.problems[:12])
        more = f"; and {len(self.problems) - 12} more" if len(self.problems) > 12 else ""
        super().__init__(f"{where}: {shown}{more}.")


@dataclass(frozen=True, slots=True)
class Cell:
    """A cell that cannot be used. row counts as a spreadsheet does: the header is row 1. column: its header."""

    row: int
    column: str
    problem: str

    def __str__(self) -> str:
        return f"row {self.row}, {self.column}: {self.problem}"


class BadCells(TintmixError):
    """Cells of a table that cannot be used, all of them at once."""

    def __init__(self, where: object, cells: Iterable[Cell]) -> None:
        self.cells = tuple(cells)
        count = len(self.cells)
        shown = "; ".join(str(cell) for cell in self.cells[:_SHOWN])
        more = f"; and {count - _SHOWN} more" if count > _SHOWN else ""
        many = "1 cell" if count == 1 else f"{count} cells"
        super().__init__(f"{where}: {many} cannot be used: {shown}{more}. Correct the file and read it again.")


class NotATable(TintmixError):
    """A file that is no table with rows and columns."""

    def __init__(self, where: object, reason: str) -> None:
        super().__init__(
            f"{where}: not a table that can be read ({reason}). "
            "Save it as CSV: comma, semicolon or tab, a header row first."
        )


class TableTooLarge(TintmixError):
    """More rows, columns or cells than a chip set has."""

    def __init__(self, where: object, what: str, limit: int) -> None:
        super().__init__(f"{where}: more than {limit} {what}, the most that is read. Split the file in several sets.")


class BadCurve(TintmixError):
    """A file of curves over wavelength that cannot be used."""

    def __init__(self, where: object, reason: str) -> None:
        super().__init__(f"{where}: {reason}.")


class NotCanonical(TintmixError):
    """A value that JSON cannot hold."""

    def __init__(self, what: str) -> None:
        super().__init__(
            f"{what} cannot be written as JSON; it holds text, finite numbers, lists and tables with text keys."
        )


class BadEpoch(TintmixError):
    """SOURCE_DATE_EPOCH is no time."""

    def __init__(self, found: str) -> None:
        super().__init__(
            f"the environment says SOURCE_DATE_EPOCH={found!r}, which is no count of seconds since 1970. "
            "Correct or unset it."
        )


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


PICTURE_ENDINGS = (".png", ".svg", ".pdf")
"""What a picture can be written as, by the ending of its file's name."""


class PictureEnding(TintmixError):
    """A picture whose kind the ending of its name does not tell."""

    def __init__(self, where: object) -> None:
        *some, last = PICTURE_ENDINGS
        super().__init__(f"{where}: a picture is written as {', '.join(some)} or {last}, by the ending of its name.")
