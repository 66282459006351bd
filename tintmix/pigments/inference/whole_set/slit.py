"""Whether a slit shows in spectra: it makes narrow bands shallower and wider, in strong chips more than in pale ones, so that no
one spectrum explains both.

No file tells how wide an instrument's slit is. Of smooth pigments it takes nothing that shows; of dyes with bands of 15 to 40 nm
a slit of 10 nm takes up to forty spreads of a usual reading, and sound chips were doubted in most sets. Where it explains the
readings far better than none does, it stands in the model.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from tintmix.optics.spectrum import GRID_NM, Array
from tintmix.pigments.inference.bands import SLIT_NM, through_slit
from tintmix.pigments.inference.laplace import newton_step, with_tails
from tintmix.pigments.inference.observations import Observations, Readings
from tintmix.pigments.inference.posterior import Mixture, posterior

WIDTHS_NM = (5.0, 10.0, 15.0, 20.0)
"""That are tried first: bench instruments have 1 to 10 nm, small ones 10, coarse arrays up to 20 (common practice)."""
_PARTS = np.array([0.0, 0.1, 0.25, 0.5, 1.0, 2.0])
"""Of what a slit of `SLIT_NM` adds, at a first look: of slits 3 to 14 nm wide, for it grows by the square of the width."""
_WORTH_A_FIT, _NEEDED = 4.0, 6.0
"""Nats at a first look for fits in full, and of these for a slit. Of 250 sets read through none, with films, glasses, narrow and
other dyes, a wrong dose, reading or label, every 1, 5, 10 or 20 nm, none came past 2; of narrow dyes through 10 nm all came past
300 (`python -m tests.accuracy.truth_rows`)."""
_MISSED = 0.5
"""Of what the slit adds, standard deviation of what the grid may miss of it. Ellipsoids of twenty sets of narrow dyes cover 93 %
with it and 87 % without."""
_DARK = 1e-4
"""Light below which a reading says nothing of its neighbours."""


def slit_found(mixture: Mixture) -> Mixture:
    """The posterior of spectra read through the slit that explains them best; the mixture itself, where none explains them far
    better than no slit at all."""
    seen = mixture.forward.observations
    if _at_a_first_look(mixture) < _WORTH_A_FIT:
        return mixture
    tried = {0.0: mixture} | {width: posterior(_through(seen, width)) for width in WIDTHS_NM}

    def worth(width_nm: float) -> float:
        return float(tried[width_nm].fit.evidence.max())

    # A parabola over the squared width through the best and its neighbours.
    order = sorted(tried)
    middle = min(max(order.index(max(tried, key=worth)), 1), len(order) - 2)
    near = order[middle - 1 : middle + 2]
    bend, slope, _level = np.polyfit(np.square(near), [worth(width) for width in near], 2)
    if bend < 0:
        width = float(np.sqrt(np.clip(-0.5 * slope / bend, near[0] ** 2, near[-1] ** 2)))
        tried.setdefault(width, posterior(_through(seen, width)))
    best = max(tried, key=worth)
    return posterior(_through(seen, best, _MISSED)) if worth(best) > worth(0.0) + _NEEDED else mixture


def _through(seen: Observations, width_nm: float, missed: float = 0.0) -> Observations:
    """The same, spectra having been read through a slit of this width, of whose effect a part is missed."""
    readings = []
    for one in seen.readings:
        if one.bands is not None:
            off = missed * _added(one, one.observed, width_nm)
            readings.append(replace(one, slit_nm=width_nm, spread=np.hypot(one.spread, off)))
        else:
            readings.append(one)
    return replace(seen, readings=tuple(readings))


def _added(reading: Readings, light: Array, width_nm: float) -> Array:
    """What a slit adds to the light (n, C) of a spectrum."""
    light = np.maximum(light, _DARK)
    return through_slit(GRID_NM[reading.bands], light, width_nm)[0] - light


def _at_a_first_look(mixture: Mixture) -> float:
    """Nats for a slit at one Gauss-Newton step from the likeliest mode: a score test, as `first_looks.by_other_lights`."""
    best = np.array([int(mixture.weights.argmax())])
    forward, fit = mixture.forward.take(best), mixture.fit.take(best)
    added, at = np.zeros(len(forward.rows)), 0
    for one in forward.observations.readings:
        here = slice(at, at := at + one.observed.size)
        if one.bands is not None:
            light = one.observed + fit.residual[0, here].reshape(one.observed.shape) * one.spread
            added[here] = (_added(one, light, SLIT_NM) / one.spread).ravel()
    if not added.any():
        return 0.0
    rows = forward.rows
    root = np.sqrt(fit.weight[0])[rows]
    misfit = fit.residual[0] + _PARTS[:, None] * added
    step, moved = newton_step(forward, fit, misfit * root)
    left = misfit + moved / root
    chi2 = np.stack([np.bincount(rows, one**2) for one in left]).astype(np.float64)
    objective = with_tails(chi2, np.bincount(rows))[0].sum(axis=1) + (fit.prior[0] * (fit.z[0] + step) ** 2).sum(axis=1)
    return float(0.5 * (objective[0] - objective[1:].min()))
