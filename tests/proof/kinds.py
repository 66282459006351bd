"""What each kind of instrument and file costs: the same pigments, cups and castings, read in different ways.

Real dyed films that no constant was set by, castings of 36 to 60 mm; the makers of sets are those of the accuracy programs.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import Any

import numpy as np

from tests.accuracy.camera_rows import CAMERA_ROWS, JPEG_ROWS, SEEDS, CameraRow
from tests.accuracy.haze_rows import hazed
from tests.accuracy.reading_rows import Contact, read_on_tile
from tests.accuracy.rows import one_cup_scores
from tests.accuracy.scoring import of_draws
from tests.accuracy.truth_rows import ERRORS, castings
from tests.proof.kept import rounded
from tests.simulation import SimSet, make_set, to_chipset
from tintmix.chips.chip import ChipSet
from tintmix.pigments.fit import fit

FAMILY = "new film"
Read = tuple[SimSet, list[ChipSet]]


def _plain(kind: str, **how: Any) -> Callable[[int], Read]:
    def read(seed: int) -> Read:
        sim = make_set(seed, kind, pairs=3, family=FAMILY, **{**ERRORS, **how})
        return sim, [to_chipset(sim)]

    return read


def _tile(contact: Contact) -> Callable[[int], Read]:
    def read(seed: int) -> Read:
        sim = make_set(seed, "colour", pairs=3, family=FAMILY, thicknesses=(1.5, 4.0), **ERRORS)
        return sim, [read_on_tile(sim, contact)]

    return read


def _hazy(kind: str) -> Callable[[int], Read]:
    def read(seed: int) -> Read:
        sim = hazed(seed, kind, "prior", family=FAMILY)
        return sim, [to_chipset(sim)]

    return read


def _by(rows: tuple[CameraRow, ...], name: str, **how: Any) -> Callable[[int], Read]:
    row = next(one for one in rows if one.name == name)

    def read(seed: int) -> Read:
        sim, sets = row.make(seed, family=FAMILY, **how)
        return sim, [to_chipset(one) for one in sets]

    return read


KINDS: dict[str, Callable[[int], Read]] = {
    "spectra, every 10 nm": _plain("spectrum"),
    "spectra, every 20 nm from 400 to 700": _plain("spectrum", wavelengths_nm=np.arange(400.0, 701.0, 20.0)),
    "spectra, haze not told": _hazy("spectrum"),
    "L*a*b*, light through": _plain("colour"),
    "L*a*b*, haze not told": _hazy("colour"),
    "L*a*b* on a white tile, wetted": _tile("wetted"),
    "L*a*b* on a white tile, dry": _tile("dry"),
    "raw photo, camera and panel known": _by(CAMERA_ROWS, "ladder and pairs, camera known"),
    "raw photo, camera unknown": _by(CAMERA_ROWS, "ladder and pairs, camera unknown, panel known"),
    "raw photo, camera and panel unknown": _by(CAMERA_ROWS, "ladder and pairs, camera and panel unknown"),
    "the same, three chips read as L*a*b* too": _by(CAMERA_ROWS, "the same, with three L\\*a\\*b\\* chips", pairs=3),
    "JPEG of a phone": _by(JPEG_ROWS, "phones, white by Bradford, c = 0.2"),
}


def kinds(sets: int) -> dict[str, Any]:
    """Median and 95th error, median band and its coverage of each kind; and of one cup read at one or two thicknesses."""
    rows = [_row(name, read, sets) for name, read in KINDS.items()]
    for name, thicknesses in (("one cup, one chip of 12 mm", (12.0,)), ("one cup, chips of 3 and 12 mm", (3.0, 12.0))):
        told = one_cup_scores(SEEDS[:sets], thicknesses)
        rows.append({"kind": name, "median": rounded(told.median), "p95": rounded(told.p95), "band": None,
                     "covers": rounded(told.band), "seconds_a_fit": None})  # fmt: skip
    return {"sets": sets, "castings": 20, "rows": rows}


def _row(name: str, read: Callable[[int], Read], sets: int) -> dict[str, Any]:
    scores, spent = [], []
    for seed in SEEDS[:sets]:
        sim, chips = read(seed)
        started = time.process_time()
        model = fit(chips)
        spent.append(time.process_time() - started)
        doses, thick = castings(sim)
        scores.append(of_draws(model.lab_draws(doses, thick), sim.truth_lab(doses, thick)))
    return {
        "kind": name,
        "median": rounded(np.median([np.median(one.errors) for one in scores])),
        "p95": rounded(np.median([np.quantile(one.errors, 0.95) for one in scores])),
        "band": rounded(np.median([np.median(one.bands) for one in scores])),
        "covers": rounded(np.mean([one.in_band.mean() for one in scores])),
        "seconds_a_fit": rounded(np.median(spent), 2),
    }
