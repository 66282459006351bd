"""Draws the pictures of README.md and docs/ anew: `.venv/bin/python docs/make_pictures.py`.

The thickness strip and the casting are of the shipped demo; those of the bench are in bench_pictures.py, those for
the hands and beside the page's "?" in hand_pictures.py.

Nothing in them is drawn by hand; the same version of tintmix and matplotlib draws the same pictures.
"""

from __future__ import annotations

import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import bench_pictures
import hand_pictures
import numpy as np
from PIL import Image

import tintmix
from tintmix import pictures
from tintmix.desk.seen import insert_ground
from tintmix.desk.shape import read_casting, shape_of, traced
from tintmix.optics.colour import screen
from tintmix.optics.detector import eye
from tintmix.pigments.painted import painted

PICTURES = Path(__file__).resolve().parent / "pictures"
SWATCHES = PICTURES.parents[1] / "swatches"
TARGET = "sea-green-glass.toml"
STATIC = PICTURES.parents[1] / "tintmix" / "faces" / "web" / "static"
BRASS = "#b08d3c"
WEBP_QUALITY = 82
"""The traced picture's noise does not pack: more of it is twice the bytes, and looks the same."""


def main(folder: Path = PICTURES) -> None:
    """Fit the demo, solve for the sea-green glass, draw the best recipe from thin to thick; then the pictures of the bench."""
    folder.mkdir(parents=True, exist_ok=True)
    model = tintmix.fit(tintmix.read_chips(SWATCHES / "deck-prism"))
    target = tintmix.read_target(SWATCHES / "targets" / TARGET)
    best = tintmix.solve(model, target).proposals[0]
    sections = [tintmix.Section(section.name, section.thickness_mm) for section in target.sections]
    floor = target.limits.luminous_transmittance
    wedge = pictures.wedge_picture(model, best.doses_phr, sections, target.light, target.observer, floor)
    print(pictures.save_picture(wedge, folder / "strip.png"))
    casting = read_casting(
        SWATCHES / "castings" / "deck-prism.obj", "mm", SWATCHES / "castings" / "brass-ring.obj", BRASS
    )
    *_, tracing = traced(casting, width=320, samples=64)
    shape = shape_of(casting, tracing)
    strengths = (("pale: a third of the pigment", 1 / 3), ("right", 1.0), ("overpowered: four times as much", 4.0))
    tints = [
        pictures.Tinted(caption=caption, doses_phr={p: dose * part for p, dose in best.doses_phr.items()})
        for caption, part in strengths
    ]
    brass = insert_ground(BRASS, None, target.light, target.observer).reflectance
    drawn = pictures.casting_picture(model, shape, tints, brass, target.light, target.observer)
    print(pictures.save_picture(drawn, folder / "casting.png"))
    first_screen(model, shape, tints, brass, target)
    dark = pictures.too_dark(model, best.doses_phr, floor, target.light) if floor else None
    print(pictures.save_picture(pictures.paths_picture(shape, dark and dark.thickness_mm, floor), folder / "paths.png"))
    for name, draw in (bench_pictures.all_of_them() | hand_pictures.all_of_them()).items():
        print(pictures.save_picture(draw(), folder / name))


def first_screen(model: Any, shape: Any, tints: Sequence[Any], brass: Any, target: Any) -> None:
    """The same three for the page's first screen, each by itself and small."""
    white = eye(target.light, target.observer).bare
    for tint in tints:
        seen = painted(model, tint.doses_phr, shape.picture, brass, target.light, target.observer)
        levels = np.rint(255 * screen(seen, white).rgb).astype(np.uint8)
        path = STATIC / f"prism-{tint.caption.partition(':')[0]}.webp"
        Image.fromarray(levels).save(path, "WEBP", quality=WEBP_QUALITY, method=6)
        print(path)


if __name__ == "__main__":
    main(*map(Path, sys.argv[1:2]))
