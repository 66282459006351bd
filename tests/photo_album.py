"""Simulated photos as files: raw channels as 16-bit PNG, JPEGs, and a chip set for them."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from tests.chips.folders import put, toml
from tests.chips.photo.photo_files import png
from tests.photo_simulation import Camera, Photographed, Shot, draw_camera, jpeg, photographed, random_pieces, raw_codes
from tintmix.chips.photo.sheet.holder import CHIP_WINDOWS, WINDOWS, laid_to_text, lay_out

CHIPS = tuple(f"b{i}" for i in range(1, len(CHIP_WINDOWS) + 1))


@dataclass(frozen=True)
class Album:
    """Photos of one holder in a folder: chips.png and bare.png (linear), chips.jpg and bare.jpg. taken: the truth of raw ones."""

    folder: Path
    taken: Photographed
    rendered: dict[str, NDArray[np.float64]]

    def truth(self, chip: str, rendered: bool = False) -> NDArray[np.float64]:
        """Channels (3,) of a chip as parts of the bare panel's."""
        window = next(name for name, laid in lay_out(CHIPS)[0].items() if laid == chip)
        return (self.rendered if rendered else self.taken.truth)[window]


def album(folder: Path, seed: int = 11, width: int = 1600, deepest: float = 1.2) -> Album:
    """A holder with a chip in each window for one, but no check chips, and the same with the chips taken off."""
    rng = np.random.default_rng(seed)
    camera: Camera = draw_camera(rng)
    shot = Shot(width=width, height=width * 3 // 4, turn=94.0, tilt=4.0, blur=1.0, exposure=0.7)
    places = [window.name for window in WINDOWS if window.role in ("chip", "check")]
    pieces = random_pieces(rng, len(places), deepest)
    pieces[[places.index(name) for name in ("2.3", "5.3")]] = 1.0
    taken = photographed(rng, shot, camera, pieces=pieces)
    folder.mkdir(parents=True, exist_ok=True)
    for name, lit in (("chips", taken.chips), ("bare", taken.bare)):
        (folder / f"{name}.png").write_bytes(png(raw_codes(lit, camera, shot, rng)))
        (folder / f"{name}.jpg").write_bytes(jpeg(lit, camera, shot, rng))
    rendered = {name: camera.matrix @ ratio for name, ratio in taken.truth.items()}
    return Album(folder, taken, rendered)


def camera_set(folder: Path, *lines: str, laid: bool = True, rows: str = "") -> Path:
    """A set of 16 chips that nobody has read, with holder.csv."""
    table = "chip,thickness_mm,azure_phr,R,G,B,check_chip\n"
    table += rows or "".join(f"{name},3,{0.01 * i:g},,,,\n" for i, name in enumerate(CHIPS))
    others = {"holder_csv": laid_to_text(lay_out(CHIPS))} if laid else {}
    return put(folder, toml("camera", *lines), table, **others)
