"""Scatter that a straight-through reading takes for colour: drawn where nobody told it, taken off where somebody did."""

from __future__ import annotations

import dataclasses
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from tests.accuracy.haze_rows import ROWS, HazeRow, any_resin, hazed, targets
from tests.simulation import read_again, to_chipset
from tintmix.optics.detector import eye
from tintmix.optics.difference import delta_e00
from tintmix.optics.spectrum import GRID_NM
from tintmix.pigments.fit import fit
from tintmix.pigments.inference.draws import Draws
from tintmix.pigments.inference.forward import LOGS
from tintmix.pigments.inference.haze import prior_spreads, take_scatter_off, told_haze
from tintmix.pigments.model_file import load_model, save_model


@pytest.mark.parametrize("row", [ROWS[1], ROWS[4]], ids=["not told", "read"])
def test_the_band_holds_what_comes_through_and_a_look_says_haze(row: HazeRow) -> None:
    """The short form of `python -m tests.accuracy.haze_rows`: one set of it."""
    sim = row.make(5003)
    model = fit(to_chipset(sim))
    doses, thick = targets(sim)
    draws = model.lab_draws(doses, thick)
    mean = draws.mean(axis=0)
    off = delta_e00(sim.truth_lab(doses, thick), mean)
    assert np.mean(off <= np.quantile(delta_e00(draws, mean), 0.95, axis=0)) >= 0.9
    said = " ".join(model.look({model.pigments[0]: 0.02}, [5.0, 60.0]).warnings)
    assert ("haze is not known" in said) == (sim.told == "") == (not model.health.haze_known)
    assert ("60 mm may let through" in said) == (sim.told == "")


def test_pale_mixes_of_a_clear_resin_that_scatters_a_little_lie_in_the_band() -> None:
    """A resin of 0.0002 per mm in the red, 0.5 % of haze: were it taken for a usual resin without haze, no band would hold it."""
    sim = any_resin(5005, "spectrum", haze=0.005)
    doses, thick = targets(sim, pale=True)
    draws = fit(to_chipset(sim)).lab_draws(doses, thick)
    mean = draws.mean(axis=0)
    off, bands = delta_e00(sim.truth_lab(doses, thick), mean), np.quantile(delta_e00(draws, mean), 0.95, axis=0)
    assert np.mean(off <= bands) >= 0.9
    assert np.median(bands) <= 3 * np.median(off)


def test_a_sphere_takes_the_doubt_away() -> None:
    """The same readings, said to be of all the light: nothing is taken off them, and no word of haze."""
    chips = to_chipset(hazed(5003, "colour", 0.03))
    sphere = fit(replace(chips, reading=replace(chips.reading, geometry="total")))
    straight = fit(chips)
    assert sphere.draws_scatter is None
    assert straight.draws_scatter is not None
    assert not any("haze" in said for said in sphere.look({}, 60.0).warnings)
    lightness = [model.look({}, 60.0).lab_covariance[0, 0, 0] for model in (straight, sphere)]
    assert lightness[0] > lightness[1]
    # As fitted, the readings are the same: what a straight-through instrument sees of a chip does not change by a doubt.
    assert straight.report["fit_delta_e00"]["median"] == pytest.approx(
        sphere.report["fit_delta_e00"]["median"], rel=1e-6
    )


def test_scatter_is_never_more_than_what_is_absorbed_and_is_kept(tmp_path: Path) -> None:
    model = fit(to_chipset(hazed(5004, "colour")))
    assert model.draws_scatter is not None
    least = [np.min(one) for one in (model.draws_scatter, model.draws_base, model.draws_absorptivity)]
    assert min(least) > 0
    save_model(model, tmp_path / "model.json")
    again = load_model(tmp_path / "model.json")
    assert np.array_equal(again.draws_scatter, model.draws_scatter)
    assert again.look({}, 60.0).warnings == model.look({}, 60.0).warnings


def test_scatter_of_a_wild_base_is_not_below_zero() -> None:
    """Chips that contradict each other spread a base until it absorbs only where the eye's weights are below zero: no scatter
    but a positive one can be taken off it, or kept in a file."""
    eyes = eye("D65", 10).weights[:, 1]
    base = np.full((2, len(GRID_NM)), np.exp(LOGS[0]))
    base[0, eyes < 0] = np.exp(LOGS[1])
    assert base[0] @ eyes < 0
    pigment = np.ones((2, 1, len(GRID_NM)))
    smooth = np.concatenate([base[:, None], pigment], axis=1)
    wild = Draws(base, pigment, smooth, smooth, np.zeros((2, 1)), np.zeros((2, 1)), np.zeros_like(base))
    nothing = told_haze(np.zeros((1, 1)), np.ones(1), np.full(1, np.nan), np.zeros(1, dtype=bool))
    total, scatter = take_scatter_off(wild, nothing, prior_spreads(np.array([0.1]), False), None)
    assert scatter.min() > 0
    assert min(total.base.min(), total.absorptivity.min()) > 0


def test_an_integrating_sphere_tells_of_another_instruments_chips() -> None:
    """A fifth of the chips read once more with a sphere: the scatter of the others is found, and no haze is left open."""
    sim = hazed(5004, "colour", 0.03)
    twelve = [at for at, name in enumerate(sim.names) if name.endswith("12mm")][::3]
    sphere = read_again(dataclasses.replace(sim, scatter=None), "colour", twelve)
    model = fit([to_chipset(sim), to_chipset(sphere)])
    doses, thick = targets(sim)
    assert np.median(delta_e00(sim.truth_lab(doses, thick), model.predict_lab(doses, thick))) < 1.0
    assert model.health.haze_known
    assert not any("haze" in said for said in model.look({}, 60.0).warnings)


def test_words_tell_more_than_nothing() -> None:
    """2 % of haze at 3 mm: the bands of the set whose maker said 'clear' and 'slight' are narrower."""
    wide, told = (fit(to_chipset(hazed(5005, "colour", 0.012, told))).look({}, 60.0) for told in ("", "word"))
    assert told.delta_e00_95[0] < wide.delta_e00_95[0]
