"""How often the holder sheet is found in simulated photos: `python -m tests.accuracy.holder_rows [photos [PAGE]]`
prints the table, and puts it into a page.

Photos of 1600 × 1200: any rotation, up to 12 degrees aslant, blur up to 3.5 pixels, chips in all windows, the panel or a
dark table around the sheet, 2 % of glare, sensor noise, half of them JPEGs. Found means that the middle of every window
is within 2 mm of where it is; mislabelled, that a sheet was found which does not lie there.
"""

from __future__ import annotations

import sys
from dataclasses import dataclass

import numpy as np

from tests.accuracy.pages import put_into
from tests.photo_simulation import Photographed, jpeg, photographed, random_pieces, random_shot, raw_codes
from tests.photo_simulation import draw_camera as camera_of
from tests.simulation import REPORTING_SEEDS
from tintmix.chips.photo.load import Photo, open_photo
from tintmix.chips.photo.sheet import holder
from tintmix.chips.photo.sheet.marks import find_sheet
from tintmix.chips.photo.sheet.plane import project
from tintmix.errors import FileProblem

PROGRAM = "python -m tests.accuracy.holder_rows 200 PAGE"
OFF_MM = 2.0
"""The part of a window that is read ends 3 mm inside its edge."""


@dataclass(frozen=True, slots=True)
class Row:
    """A line of the table. worst_mm: of the windows of the sheets that were found, the farthest from where it is."""

    name: str
    photos: int
    found: int
    mislabelled: int
    worst_mm: float
    needed: float

    @property
    def part(self) -> float:
        """Of the photos, in which all windows were found."""
        return self.found / self.photos

    @property
    def met(self) -> bool:
        """Whether as many were found as were asked for, and none mislabelled."""
        return self.part >= self.needed and self.mislabelled == 0


def picture(rng: np.random.Generator, rendered: bool, **changes: object) -> tuple[Photo, Photographed]:
    """A photo of a full holder, and what is true of it."""
    camera = camera_of(rng)
    shot = random_shot(rng, **changes)
    places = sum(window.role in ("chip", "check") for window in holder.WINDOWS)
    taken = photographed(rng, shot, camera, pieces=random_pieces(rng, places))
    if rendered:
        return open_photo(jpeg(taken.chips, camera, shot, rng), "chips.jpg"), taken
    return Photo("chips", raw_codes(taken.chips, camera, shot, rng), rendered=False), taken


def off_mm(photo: Photo, taken: Photographed) -> float | None:
    """How far the worst window is from where it is, in mm on the sheet; None where no sheet was found."""
    try:
        sheet = find_sheet(photo)
    except FileProblem:
        return None
    middles = np.array([[window.x_mm, window.y_mm] for window in holder.WINDOWS])
    seen = project(np.linalg.inv(taken.to_pixels), sheet.pixels(middles))
    return float(np.hypot(*(seen - middles).T).max())


def row(name: str, photos: int, needed: float, covered: bool = False, salt: int = 0) -> Row:
    """The line of so many photos. covered: one of the four marks, another in each photo, is hidden."""
    offs = []
    for i in range(photos):
        rng = np.random.default_rng([REPORTING_SEEDS[i % len(REPORTING_SEEDS)], i, salt])
        changes: dict[str, object] = {"covered": (1 + i % 4,)} if covered else {}
        offs.append(off_mm(*picture(rng, i % 2 == 1, **changes)))
    right = [off for off in offs if off is not None and off < OFF_MM]
    wrong = [off for off in offs if off is not None and off >= OFF_MM]
    return Row(name, photos, len(right), len(wrong), max(right, default=float("nan")), needed)


def rows(photos: int = 200) -> list[Row]:
    """Both lines."""
    return [row("all four marks to be seen", photos, 0.98), row("one mark covered", photos, 0.95, covered=True, salt=1)]


def lines(found: list[Row]) -> list[str]:
    """The table in Markdown."""
    told = [
        "| holder sheet, simulated photos | photos | all windows found | asked | mislabelled | worst window off |",
        "| --- | --- | --- | --- | --- | --- |",
    ]
    for row_ in found:
        missed = "" if row_.met else " NOT MET"
        told.append(
            f"| {row_.name} | {row_.photos} | {100 * row_.part:.1f} % | {100 * row_.needed:.0f} %{missed} | {row_.mislabelled} "
            f"| {row_.worst_mm:.2f} mm |"
        )
    return told


def main() -> None:
    """Print the table, and put it into a page where one is named."""
    told = "\n".join(lines(rows(int(sys.argv[1]) if len(sys.argv) > 1 else 200)))
    print(told)
    if len(sys.argv) > 2:
        put_into(sys.argv[2], PROGRAM, told)


if __name__ == "__main__":
    main()
