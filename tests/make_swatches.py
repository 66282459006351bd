"""Writes swatches/: invented demo chips and targets, the open data's glasses. `python -m tests.make_swatches [DIR]`.

The chips come from the slow 1 nm reference and the invented truth in tests/reference/deck.py. The numbers are drawn
with fixed seeds, so that the folder comes out the same each time; a test compares.
"""

from __future__ import annotations

import sys
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from scipy.interpolate import CubicSpline

from tests.reference import deck, slow, swatch_texts, tile
from tests.reference.absorbers import read_columns
from tests.reference.slow import NM, Array
from tintmix.shape import bodies
from tintmix.shape.solid import Solid

SWATCHES = Path(__file__).parent.parent / "swatches"
SPECTRUM_NM: Array = np.arange(380.0, 731.0, 10.0)
THICKNESSES = (3.0, 12.0, 25.0)
DOSE_ERROR, THICKNESS_ERROR = 0.02, 0.05
SPECTRUM_NOISE, COLOUR_NOISE = 0.003, 0.3
SECTIONS = (8.0, 60.0)
WRONG_CHIP, WRONG_BY = "v2-12", 1.3

CUPS: dict[str, dict[str, float]] = {
    "a1": {"azure": 0.01}, "a2": {"azure": 0.04}, "a3": {"azure": 0.15},
    "e1": {"emerald": 0.01}, "e2": {"emerald": 0.05}, "e3": {"emerald": 0.20},
    "r1": {"rose": 0.01}, "r2": {"rose": 0.04}, "r3": {"rose": 0.15},
    "v1": {"violet": 0.01}, "v2": {"violet": 0.04}, "v3": {"violet": 0.15},
    "l1": {"lemon": 0.02}, "l2": {"lemon": 0.08}, "l3": {"lemon": 0.30},
    "ae": {"azure": 0.02, "emerald": 0.04},
    "er": {"emerald": 0.04, "rose": 0.02},
    "av": {"azure": 0.03, "violet": 0.03},
    "rl": {"rose": 0.03, "lemon": 0.06},
    "blank": {},
}  # fmt: skip
ONE_CUP = {"azure": 0.05, "emerald": 0.08, "rose": 0.02}
RING_RECIPE = {"azure": 0.004, "emerald": 0.008, "lemon": 0.012}
SEA_GREEN = ("azure", "emerald", "rose")
"""The pigments of the sea green that comes nearest."""
GLASS_TARGETS = {"clear": (8.0, 60.0), "green": (8.0, 60.0), "bronze": (3.0, 20.0), "grey": (3.0, 20.0)}


@dataclass(frozen=True, slots=True)
class Poured:
    """A chip as labelled, and what is true of it."""

    name: str
    cup: str
    doses: dict[str, float]
    thickness_mm: float
    true_doses: Array
    true_thickness_mm: float

    def factor(self) -> Array:
        return deck.factor(self.true_doses, self.true_thickness_mm)


def pour() -> list[Poured]:
    """All chips: each pigment of a cup weighed 2 % off, each chip 0.05 mm off, one much thicker than it says."""
    rng = np.random.default_rng(2024)
    chips = []
    for cup, doses in CUPS.items():
        true = deck.doses(**doses) * np.exp(DOSE_ERROR * rng.normal(0, 1, len(deck.PIGMENTS)))
        for thickness in THICKNESSES:
            name = f"{cup}-{thickness:g}"
            actual = thickness + THICKNESS_ERROR * rng.normal()
            actual *= WRONG_BY if name == WRONG_CHIP else 1.0
            chips.append(Poured(name, cup, doses, thickness, true, actual))
    return chips


def write_deck_prism(into: Path) -> None:
    """The spectra, and the same chips as colours."""
    rng = np.random.default_rng(2025)
    chips = pour()
    factors = [chip.factor() for chip in chips]
    spectra = np.array([np.interp(SPECTRUM_NM, NM, factor) for factor in factors])
    # A cell says what an instrument prints: four digits, and nothing below zero.
    spectra = np.maximum(spectra + SPECTRUM_NOISE * rng.normal(0, 1, spectra.shape), 0.0)
    colours = np.array([slow.lab_of(factor) for factor in factors])
    colours = colours + COLOUR_NOISE * rng.normal(0, 1, colours.shape)
    cells = [[f"{value:.4f}" for value in row] for row in spectra]
    _write(into / "deck-prism" / "set.toml", swatch_texts.DECK_SET)
    _write(into / "deck-prism" / "README.md", swatch_texts.DECK_README)
    _chips(into / "deck-prism", chips, [f"{nm:g}" for nm in SPECTRUM_NM], cells)
    cells = [[f"{value:.2f}" for value in row] for row in colours]
    _write(into / "deck-prism-colours" / "set.toml", swatch_texts.COLOURS_SET)
    _write(into / "deck-prism-colours" / "README.md", swatch_texts.COLOURS_README)
    _chips(into / "deck-prism-colours", chips, ["L", "a", "b"], cells)


def write_one_cup(into: Path) -> None:
    """One cup of a mix made by eye, 3 and 12 mm, read as colours."""
    rng = np.random.default_rng(2026)
    mix = deck.doses(**ONE_CUP)
    rows = [["chip", "cup", "thickness_mm", "mix_phr", "L", "a", "b"]]
    for thickness in (3.0, 12.0):
        lab = slow.lab_of(deck.factor(mix, thickness + THICKNESS_ERROR * rng.normal()))
        rows.append(
            [
                f"mix-{thickness:g}",
                "mix",
                f"{thickness:g}",
                "1",
                *(f"{v:.2f}" for v in lab + COLOUR_NOISE * rng.normal(0, 1, 3)),
            ]
        )
    _table(into / "one-cup" / "chips.csv", rows)
    _write(into / "one-cup" / "set.toml", swatch_texts.ONE_CUP_SET)
    point = deck.factor(mix, 60.0)
    lab = slow.lab_of(point)
    _write(
        into / "one-cup" / "README.md",
        swatch_texts.ONE_CUP_README.format(
            recipe=_recipe(mix), point=_lab(lab), percent=f"{100 * slow.luminous_transmittance(point):.1f}"
        ),
    )


README_WHITE = 0.87
"""Reflectance of an invented white tile, alike at all wavelengths."""


def readme_chips() -> str:
    """The six chips of README.md's own example: chips.csv of two cups of azure and the untinted resin, as L*a*b*, read on
    a white tile with air between, 45/0."""
    rng = np.random.default_rng(2027)
    tau = np.linspace(0.0, 1.0, 33) ** 2
    law = np.array([tile.dry(max(float(one), 1e-9), README_WHITE, deck.INDEX) for one in tau])
    rows = ["chip,cup,thickness_mm,azure_phr,L,a,b"]
    for cup, dose in (("clear", ""), ("a1", "0.06"), ("a2", "0.3")):
        for thickness in (1.5, 4.0):
            inside = deck.internal(deck.doses(azure=float(dose or 0)), thickness)
            beta = CubicSpline(np.sqrt(tau), law)(np.sqrt(inside))
            lab = slow.lab_of(beta) + COLOUR_NOISE * rng.normal(0, 1, 3)
            reading = ",".join(f"{value:.1f}" for value in np.round(lab, 1) + 0.0)
            rows.append(f"{cup}-{thickness:g},{cup},{thickness:g},{dose},{reading}")
    return "\n".join(rows) + "\n"


def write_targets(into: Path) -> None:
    """A piece of glass, a pair of colours that no tint has, and an insert."""
    folder = into / "targets"
    nm = np.arange(380.0, 781.0, 10.0)
    piece = np.interp(nm, NM, deck.glass_factor(6.0))
    rows = [["nm", "transmittance"], *([f"{at:g}", f"{value:.5f}"] for at, value in zip(nm, piece, strict=True))]
    header = (
        "# Transmittance in air (fraction) of an invented sea-green glass piece, 6 mm thick, refractive index 1.52.\n"
    )
    _table(folder / "sea-green-glass.csv", rows, header)
    _write(folder / "sea-green-glass.toml", swatch_texts.SEA_GREEN)
    _write(folder / "cannot-meet-both.toml", swatch_texts.CANNOT)
    ring = deck.doses(**RING_RECIPE)
    brass = deck.brass()
    look = {
        "flange": _lab(slow.lab_of(deck.factor(ring, 8.0))),
        "point": _lab(slow.lab_of(deck.factor(ring, 60.0))),
        "ring": _lab(slow.lab_of(deck.insert_factor(ring, 12.0, brass, narrow=True))),
        "brass": srgb(slow.xyz(brass)),
    }
    _write(folder / "brass-ring.toml", swatch_texts.BRASS_RING.format(**look))
    wanted = np.array([slow.lab_of(deck.glass_factor(mm)) for mm in SECTIONS])
    best, worst = deck.best_recipe(SECTIONS, wanted, SEA_GREEN)
    _write(
        folder / "README.md",
        swatch_texts.TARGETS_README.format(
            flange=_lab(wanted[0]), point=_lab(wanted[1]), best=_recipe(best), worst=f"{worst:.1f}", ring=_recipe(ring)
        ),
    )


def write_glasses(into: Path) -> None:
    """Soda-lime glasses of the open data, and a target for each."""
    folder = into / "glasses"
    table = read_columns("soda_lime_glass.csv")
    kept = (table["nm"] >= 360) & (table["nm"] <= 790)
    for name, sections in GLASS_TARGETS.items():
        rows = [["nm", "ln_per_mm"]]
        rows += [[f"{nm:g}", f"{value:.9g}"] for nm, value in zip(table["nm"][kept], table[name][kept], strict=True)]
        _table(folder / f"{name}.csv", rows, swatch_texts.GLASS_HEADER.format(name=name))
        _write(
            folder / f"{name}-glass.toml",
            swatch_texts.GLASS_TARGET.format(name=name, thin=sections[0], thick=sections[1]),
        )
    _write(folder / "README.md", swatch_texts.GLASSES_README)


def srgb(xyz: Array) -> str:
    """The screen colour of a tristimulus value under D65/10, bare light white."""
    linear = np.clip(slow.linear_srgb(xyz, slow.white()), 0, 1)
    encoded = np.where(linear <= 0.0031308, 12.92 * linear, 1.055 * linear ** (1 / 2.4) - 0.055)
    return "#" + "".join(f"{round(255 * float(value)):02x}" for value in encoded)


def write_castings(into: Path) -> None:
    """The deck prism and the brass ring that some are cast around, as meshes in mm."""
    high = bodies.ring(across_mm=40.0, wide_mm=3.0, high_mm=3.0, middle_mm=(0.0, 0.0, -4.0))
    _mesh(into / "castings" / "deck-prism.obj", bodies.deck_prism())
    _mesh(into / "castings" / "brass-ring.obj", high)
    _write(into / "castings" / "README.md", swatch_texts.CASTINGS_README)


def _mesh(path: Path, solid: Solid) -> None:
    corners = [f"v {x:.6g} {y:.6g} {z:.6g}" for x, y, z in solid.vertices_mm + 0.0]
    faces = [f"f {a} {b} {c}" for a, b, c in solid.faces + 1]
    _write(path, "\n".join(["# mm; made by tests/make_swatches.py", *corners, *faces]) + "\n")


def write_all(into: Path = SWATCHES) -> None:
    for write in (write_deck_prism, write_one_cup, write_targets, write_glasses, write_castings):
        write(into)


def _chips(folder: Path, chips: list[Poured], columns: list[str], cells: list[list[str]]) -> None:
    rows = [["chip", "cup", "thickness_mm", *(f"{p}_phr" for p in deck.PIGMENTS), *columns]]
    for chip, reading in zip(chips, cells, strict=True):
        doses = [f"{chip.doses[p]:g}" if p in chip.doses else "" for p in deck.PIGMENTS]
        rows.append([chip.name, chip.cup, f"{chip.thickness_mm:g}", *doses, *reading])
    _table(folder / "chips.csv", rows)


def _recipe(doses: Array) -> str:
    return ", ".join(f"{name} {dose:.3f}" for name, dose in zip(deck.PIGMENTS, doses, strict=True) if dose > 0)


def _lab(lab: Array) -> str:
    return "[" + ", ".join(f"{value:.1f}" for value in lab) + "]"


def _table(path: Path, rows: list[list[str]], header: str = "") -> None:
    _write(path, header + "\n".join(",".join(row) for row in rows) + "\n")


def _write(path: Path, text: str) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, encoding="utf-8")


if __name__ == "__main__":
    write_all(Path(sys.argv[1]) if len(sys.argv) > 1 else SWATCHES)
