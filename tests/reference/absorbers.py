"""Absorbers for simulated pigments on 1 nm: real glasses, haemoglobin, and random dyes that no fit's prior made."""

from __future__ import annotations

import csv
import functools
from pathlib import Path

import numpy as np

from tests.reference import slow
from tests.reference.slow import NM, Array

AUTHORITIES = Path(__file__).parent.parent / "authorities"
GLASSES: tuple[str, ...] = (
    *("blue_a", "blue_b", "cyan", "green_a", "green_b", "amber"),
    *("pale_blue", "blue_c", "pale_b", "pale_yellow", "pale_c"),
)
FILMS: tuple[str, ...] = tuple(f"film{at:02d}" for at in range(1, 63))

LADDER_MIDDLE = 0.06 * 12.0
"""phr mm of the chip by which strengths are set: 0.06 phr, 12 mm."""
LADDER_SPAN = 12.0
"""How much more absorbance that chip has than the weakest one of the ladder, 0.02 phr in 3 mm."""


def read_columns(name: str) -> dict[str, Array]:
    """The columns of a file of open data, '#' lines left out."""
    with (AUTHORITIES / name).open(encoding="utf-8") as lines:
        rows = list(csv.DictReader(line for line in lines if not line.startswith("#")))
    return {key: np.array([float(row[key]) for row in rows]) for key in rows[0]}


@functools.cache
def glass(name: str) -> Array:
    """Decadic absorption per mm (421,) of a measured glass; PCHIP on its logarithm, held level below 380 nm."""
    table = read_columns("filter_glass.csv")
    return _smooth(table["nm"], table[name] / np.log(10))


@functools.cache
def haemoglobin(name: str) -> Array:
    """Decadic molar extinction (421,), 'HbO2' or 'Hb': real, narrow bands, in no glass and in no random dye."""
    table = read_columns("hemoglobin_extinction.csv")
    return _smooth(table["nm"], table[name])


def _smooth(nm: Array, values: Array) -> Array:
    from scipy.interpolate import PchipInterpolator

    inside = np.clip(NM, nm[0], nm[-1])
    return np.asarray(np.exp(PchipInterpolator(nm, np.log(values))(inside)), dtype=np.float64)


def band(peak_nm: float, width_nm: float, skew: float, tails: tuple[float, float]) -> Array:
    """One band (421,), height 1: a Gaussian in wavenumber, wider on the blue side by `skew`, with exponential tails.

    Beyond `tails` (red, blue) widths from its middle it falls exponentially from the slope it has there (Urbach 1953),
    so value and slope are continuous.
    """
    away = 1e7 / NM - 1e7 / peak_nm
    width = width_nm * 1e7 / peak_nm**2
    u = np.where(away > 0, away / (width * skew), away / (width / skew))
    start = np.where(u > 0, tails[1], tails[0])
    core, tail = -(u**2) / 2, start**2 / 2 - start * np.abs(u)
    return np.asarray(np.exp(np.where(np.abs(u) > start, tail, core)), dtype=np.float64)


def random_dye(rng: np.random.Generator) -> Array:
    """One to four skewed bands 15-60 nm wide (one standard deviation), tails, a floor 1/3000 to 1/30 of the peak."""
    total = np.zeros(len(NM))
    for at in range(rng.integers(1, 5)):
        peak = rng.uniform(400, 690) if at == 0 else rng.uniform(365, 760)
        height = 1.0 if at == 0 else np.exp(rng.uniform(np.log(0.1), 0.0))
        tails = (rng.uniform(1.2, 2.8), rng.uniform(1.2, 2.8))
        total += height * band(peak, rng.uniform(15, 60), np.exp(rng.normal(0, 0.25)), tails)
    return np.asarray(total + total.max() * 10 ** rng.uniform(-3.5, -1.5), dtype=np.float64)


@functools.cache
def film(name: str) -> Array:
    """Decadic absorbance (421,) of a real dyed film, peak 1: film01-film31 are for tuning, film32-film62 for reports."""
    table = read_columns("dyed_films.csv")
    # 1/3000: below it the film's own faces and the spectrophotometer's dark are larger.
    return _smooth(table["nm"], np.maximum(table[name], 1 / 3000))


def narrow_dye(rng: np.random.Generator) -> Array:
    """One to three bands 15-40 nm wide at half height with steep edges (far tails), as dyes in solution have them."""
    total = np.zeros(len(NM))
    for at in range(rng.integers(1, 4)):
        peak = rng.uniform(410, 680) if at == 0 else rng.uniform(380, 740)
        height = 1.0 if at == 0 else np.exp(rng.uniform(np.log(0.1), 0.0))
        tails = (rng.uniform(2.2, 3.5), rng.uniform(2.2, 3.5))
        # 2.355: full width at half height of a Gaussian, in standard deviations.
        total += height * band(peak, rng.uniform(15, 40) / 2.355, np.exp(rng.normal(0, 0.15)), tails)
    return np.asarray(total + total.max() * 10 ** rng.uniform(-3.5, -2.0), dtype=np.float64)


def scaled(absorption: Array, luminous_absorbance: float) -> Array:
    """Per mm and phr, such that 0.06 phr in 12 mm has this luminous absorbance (D65) without the faces.

    A dye that hardly touches the light (a pale yellow) would need an absurd strength; the weakest chip of the ladder
    keeps a peak absorbance of 1 or less.
    """
    weights = slow.light_power("D65") * slow.matching_functions(2)[:, 1]
    weights = weights / weights.sum()
    shape = absorption / absorption[40:341].max()
    low, high = -3.0, np.log10(LADDER_SPAN)
    for _ in range(50):
        middle = 0.5 * (low + high)
        reached = -np.log10(weights @ 10.0 ** (-shape * 10.0**middle))
        low, high = (middle, high) if reached < luminous_absorbance else (low, middle)
    return np.asarray(shape * 10.0**low / LADDER_MIDDLE, dtype=np.float64)


def draw(rng: np.random.Generator, how_many: int, family: str = "mixed") -> tuple[Array, tuple[str, ...]]:
    """Pigments (P, 421) and what each is. family: 'glass', 'dye', 'narrow' (steep bands), 'film' (real dyed films: the first
    half of the file), 'new film' (the other half), 'blood' (haemoglobin, then dyes), or 'mixed'.
    """
    shelf = list(rng.permutation(GLASSES))
    films = rng.permutation(FILMS[:31] if family == "film" else FILMS[31:]) if "film" in family else ()
    veins = ["HbO2", "Hb"]
    curves, names = [], []
    for _ in range(how_many):
        if family == "blood" and veins:
            names.append(veins.pop(int(rng.integers(len(veins)))))
            curve = haemoglobin(names[-1])
        elif shelf and (family == "glass" or (family == "mixed" and rng.uniform() < 0.5)):
            names.append(str(shelf.pop()))
            curve = glass(names[-1])
        elif "film" in family:
            names.append(str(films[len(curves)]))
            curve = film(names[-1])
        elif family == "narrow":
            names.append("narrow dye")
            curve = narrow_dye(rng)
        else:
            names.append("dye")
            curve = random_dye(rng)
        curves.append(scaled(curve, float(np.exp(rng.uniform(np.log(0.15), 0.0)))))
    return np.array(curves), tuple(names)


def random_resin(rng: np.random.Generator) -> Array:
    """Base absorption per mm (421,): nearly level in the red, 0.001-0.006 at 400 nm, rising toward the blue."""
    level = np.exp(rng.uniform(np.log(0.0003), np.log(0.0010)))
    rise = np.exp(rng.uniform(np.log(0.0007), np.log(0.0050)))
    return np.asarray(level + rise * np.exp(-(NM - 400) / rng.uniform(30, 90)), dtype=np.float64)
