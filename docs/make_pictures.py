"""Draws the pictures of README.md and docs/ anew: `.venv/bin/python docs/make_pictures.py`.

The thickness strip is of the shipped demo; those of the bench are in bench_pictures.py.

Nothing in them is drawn by hand; the same version of tintmix and matplotlib draws the same pictures.
"""

from __future__ import annotations

import sys
from pathlib import Path

import bench_pictures

import tintmix
from tintmix import pictures

PICTURES = Path(__file__).resolve().parent / "pictures"
SWATCHES = PICTURES.parents[1] / "swatches"
TARGET = "sea-green-glass.toml"


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
    for name, draw in bench_pictures.all_of_them().items():
        print(pictures.save_picture(draw(), folder / name))


if __name__ == "__main__":
    main(*map(Path, sys.argv[1:2]))
