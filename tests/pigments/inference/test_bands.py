import numpy as np
import pytest

from tintmix.optics.spectrum import GRID_NM
from tintmix.pigments.inference.bands import Reads, onto_bands, slit_misses

SPREAD = 0.003
"""Of a reading, as a bench instrument's (readings.md)."""


def chips(nm, sigma_nm):
    """Internal transmittance of pale, middling and nearly black chips of a Gaussian band."""
    strength = np.repeat([0.3, 1.0, 3.0, 25.0], 3)[:, None]
    return 10.0 ** -(strength * (np.exp(-0.5 * ((nm - 563.0) / sigma_nm) ** 2) + 0.01))


def on_bands(step_nm, sigma_nm, coarse_nm=None):
    rng = np.random.default_rng(4)
    nm = np.arange(380.0, 731.0, step_nm)
    read_nm = nm if coarse_nm is None else np.arange(380.0, 731.0, coarse_nm)
    read = chips(read_nm, sigma_nm)
    read = read + SPREAD * rng.standard_normal(read.shape)
    values = np.stack([np.interp(nm, read_nm, one) for one in read])
    same = Reads(lambda tau: tau, lambda tau, _: tau)
    bands, observed, spread = onto_bands(
        nm, values, np.full((len(values), 1), SPREAD), -np.log10(values.clip(1e-4)), same
    )
    return (observed - chips(GRID_NM[bands], sigma_nm)) / spread, spread


@pytest.mark.parametrize(("step_nm", "coarse_nm"), [(1.0, None), (5.0, None), (1.0, 5.0)])
@pytest.mark.parametrize("sigma_nm", [6.0, 7.5, 12.0, 30.0])
def test_what_is_read_finer_than_the_grid_is_off_by_its_spread(step_nm, coarse_nm, sigma_nm):
    off, _ = on_bands(step_nm, sigma_nm, coarse_nm)
    assert np.sqrt((off**2).mean(axis=1)).max() < 1.6
    assert np.abs(off).max() < 5.0


def test_smooth_spectra_are_averaged_and_steep_ones_are_taken_as_read():
    smooth, steep = on_bands(1.0, 40.0)[1], on_bands(1.0, 7.5)[1]
    assert np.median(smooth[0]) < 0.4 * SPREAD
    peak = np.abs(GRID_NM[: steep.shape[1]] - 563.0) < 10
    assert (steep[:, peak] == SPREAD).all()
    assert np.median(steep[0]) < 0.4 * SPREAD


def test_a_slit_shows_on_steep_flanks_alone():
    misses = np.abs(slit_misses(GRID_NM, chips(GRID_NM, 7.5)))
    assert misses[-1].max() > 10 * SPREAD
    assert misses[:, GRID_NM > 640].max() < 0.1 * SPREAD
    assert np.abs(slit_misses(GRID_NM, chips(GRID_NM, 60.0)[:6])).max() < SPREAD


@pytest.mark.parametrize("first_nm", [400.0, 410.0])
def test_between_readings_20_nm_apart_an_interpolant_counts_for_less(first_nm):
    nm = np.arange(first_nm, 731.0, 20.0)
    values = chips(nm, 12.0)
    same = Reads(lambda tau: tau, lambda tau, _: tau)
    bands, observed, spread = onto_bands(
        nm, values, np.full((len(values), 1), SPREAD), -np.log10(values.clip(1e-4)), same
    )
    read = np.isin(GRID_NM[bands], nm)
    assert np.abs(observed[:, read] - values).max() < 0.1 * SPREAD
    assert (spread[:, read] == SPREAD).all()
    off = (observed - chips(GRID_NM[bands], 12.0))[:, ~read]
    assert np.abs(off).max() > 10 * SPREAD
    assert np.abs(off / spread[:, ~read]).max() < 2.0
