"""Do bands hold on colorants that nobody tuned on? Castings of 36 to 60 mm told from chips of 3 and 12 mm.

    python -m tests.accuracy.truth_rows [sets [first seed]]

A ladder of three doses and three pairs; reading 0.3 in each of L*, a*, b* (spectra: 0.003), thickness 0.05 mm, doses 2 % of
each pigment in each cup and 0.5 % that it shares, unless the row says otherwise. Films are the half of
authorities/dyed_films.csv that no constant was set by.
"""

from __future__ import annotations

import sys
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from tests.accuracy.scoring import of_draws
from tests.reference.slow import Array
from tests.simulation import REPORTING_SEEDS, SimSet, make_set, to_chipset
from tintmix.pigments.fit import fit

TARGETS = 20
ERRORS = {"dose_error": 0.02, "thickness_error": 0.05}
NM_FINE: Array = np.arange(380.0, 731.0)
"""As bench instruments scan; other spectra are every 10 nm."""
NM_COARSE: Array = np.arange(400.0, 701.0, 20.0)
"""As small hand-held instruments tell it."""


@dataclass(frozen=True, slots=True)
class Truth:
    """A row: how its sets are made. lowest: the coverage asked for."""

    name: str
    family: str
    kind: str = "colour"
    how: dict[str, Any] = field(default_factory=lambda: dict(ERRORS))
    lowest: float = 0.92


ROWS = (
    Truth("colours, films", "new film"),
    Truth("colours, films, one error a cup", "new film", how={**ERRORS, "dose_by": "cup"}),
    Truth("colours, glasses", "glass"),
    Truth("colours, glasses, no errors of doses", "glass", how={}),
    Truth("colours, narrow bands", "narrow", lowest=0.90),
    Truth("spectra, films", "new film", "spectrum"),
    Truth("spectra, films, one error a cup", "new film", "spectrum", {**ERRORS, "dose_by": "cup"}),
    Truth("spectra, films, no errors of doses", "new film", "spectrum", {}),
    Truth("spectra, glasses", "glass", "spectrum"),
    Truth("spectra, glasses, one error a cup", "glass", "spectrum", {**ERRORS, "dose_by": "cup"}),
    Truth("spectra, glasses, no errors of doses", "glass", "spectrum", {}),
    Truth("spectra, narrow bands", "narrow", "spectrum", lowest=0.90),
    Truth("spectra, films, every nanometre", "new film", "spectrum", {**ERRORS, "wavelengths_nm": NM_FINE}),
    Truth("spectra, narrow bands, every nanometre", "narrow", "spectrum", {**ERRORS, "wavelengths_nm": NM_FINE}, 0.90),
    Truth("spectra, films, through a slit of 10 nm", "new film", "spectrum", {**ERRORS, "slit_nm": 10.0}),
    Truth("spectra, narrow bands, through 10 nm", "narrow", "spectrum", {**ERRORS, "slit_nm": 10.0}, 0.90),
    Truth("spectra, films, every 20 nm", "new film", "spectrum", {**ERRORS, "wavelengths_nm": NM_COARSE}),
    Truth("spectra, glasses, every 20 nm", "glass", "spectrum", {**ERRORS, "wavelengths_nm": NM_COARSE}),
    Truth("spectra, narrow bands, every 20 nm", "narrow", "spectrum", {**ERRORS, "wavelengths_nm": NM_COARSE}, 0.90),
)


@dataclass(frozen=True, slots=True)
class Found:
    """Of one set: median and 95th ΔE00, shares inside ellipsoid and ΔE band, median band, whether a sound chip was doubted."""

    median: float
    p95: float
    ellipsoid: float
    inside: float
    band: float
    doubts: bool


def castings(sim: SimSet, count: int = TARGETS, thin: float = 36.0, thick: float = 60.0) -> tuple[Array, Array]:
    """Doses (count, P) and thickness (count,) of random castings that let at least 2 % of the light through."""
    rng = np.random.default_rng([sim.seed, 99])
    doses, thickness = [], []
    while len(doses) < count:
        # A quarter of the chips' doses in four times their thickness: as strong a tint.
        dose = np.exp(rng.uniform(np.log(0.005), np.log(0.05), len(sim.pigments))) * (
            rng.random(len(sim.pigments)) < 0.7
        )
        at = rng.uniform(thin, thick)
        if sim.truth_luminous(dose[None], np.array([at]))[0] >= 0.02:
            doses.append(dose)
            thickness.append(at)
    return np.array(doses), np.array(thickness)


def found(row: Truth, seed: int) -> Found:
    """One set of the row, fitted and asked."""
    sim = make_set(seed, row.kind, pairs=3, family=row.family, **row.how)
    model = fit(to_chipset(sim))
    doses, thickness = castings(sim)
    asked = of_draws(model.lab_draws(doses, thickness), sim.truth_lab(doses, thickness))
    return Found(
        float(np.median(asked.errors)),
        float(np.quantile(asked.errors, 0.95)),
        float(asked.in_ellipsoid.mean()),
        float(asked.in_band.mean()),
        float(np.median(asked.bands)),
        any(chip["doubted"] for chip in model.report["chips"]),
    )


def main(arguments: list[str]) -> int:
    """Print a line a row, with the standard error over sets."""
    sets = int(arguments[0]) if arguments else 60
    first = int(arguments[1]) if len(arguments) > 1 else REPORTING_SEEDS[0]
    print(
        f"{sets} sets of {TARGETS} castings each, seeds from {first}; median / 95th ΔE00 over sets; ellipsoid and band ± s.e."
    )
    for row in ROWS:
        every = [found(row, seed) for seed in range(first, first + sets)]
        table = np.array([[f.median, f.p95, f.ellipsoid, f.inside, f.band] for f in every])
        error = table[:, 2:4].std(axis=0) / np.sqrt(sets)
        print(
            f"{row.name:40s} {np.median(table[:, 0]):.2f} / {np.median(table[:, 1]):.2f}  worst {table[:, 1].max():.1f}  "
            f"ellipsoid {table[:, 2].mean():.3f} ± {error[0]:.3f}  band {table[:, 3].mean():.3f} ± {error[1]:.3f}  "
            f"median band {np.median(table[:, 4]):.2f}  sets that doubt a sound chip {sum(f.doubts for f in every)} of {sets}",
            flush=True,
        )
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
