"""Simulated sets are what they say they are."""

import numpy as np
import pytest

from tests.reference import absorbers, slow
from tests.reference.slow import NM
from tests.simulation import make_set, one_cup, seen, to_chipset


def test_same_seed_same_set_and_same_truth_for_every_instrument():
    one, other = make_set(3, pairs=3, dose_error=0.02), make_set(3, pairs=3, dose_error=0.02)
    assert np.array_equal(one.readings, other.readings)
    for kind in ("spectrum", "camera"):
        assert np.array_equal(one.absorptivity, make_set(3, kind).absorptivity)
    assert not np.array_equal(one.absorptivity, make_set(4).absorptivity)


def test_ladder_has_a_cup_for_each_dose_and_a_blank():
    sim = make_set(1, pairs=3)
    assert len(sim.names) == len(set(sim.names)) == 26
    assert len(set(sim.cups)) == 13
    assert sim.doses_phr[sim.cups.index("p1+p2")] == pytest.approx([0.06, 0.06, 0])
    assert not sim.doses_phr[-1].any()


def test_errors_are_shared_by_a_cup_and_free_by_chip():
    sim = make_set(2, dose_error=0.02, thickness_error=0.05)
    factor = sim.true_doses[:18].sum(axis=1) / sim.doses_phr[:18].sum(axis=1)
    assert factor[0::2] == pytest.approx(factor[1::2])
    assert 0.005 < np.log(factor[0::2]).std() < 0.05
    assert 0.02 < (sim.true_thickness - sim.thickness_mm).std() < 0.1


@pytest.mark.parametrize(("kind", "noise"), [("spectrum", 0.003), ("colour", 0.3), ("camera", 0.01)])
def test_noise_is_what_it_says(kind, noise):
    sim = make_set(11, kind)
    clean = seen(sim, sim.truth_factor(sim.true_doses, sim.true_thickness))
    off = sim.readings - clean
    off = off / np.hypot(noise * clean, 0.001) if kind == "camera" else off / noise
    assert 0.7 < off[clean > 0].std() < 1.3


def test_one_chip_literally():
    sim = make_set(5, noise=0.0, dose_error=0.02, thickness_error=0.05, pairs=3)
    at = sim.names.index("p2+p3-12mm")
    internal = slow.internal_transmittance(
        slow.internal_absorbance(sim.true_doses[at], sim.true_thickness[at], sim.base, sim.absorptivity)
    )
    # Readings are rounded to three decimals.
    assert sim.readings[at] == pytest.approx(slow.lab_of(slow.through_plate(internal)), abs=6e-4)


@pytest.mark.parametrize("seed", range(4))
def test_wrong_dose(seed):
    sim = make_set(seed, fault="dose", pairs=3)
    wrong = [cup in sim.culprit_cups for cup in sim.cups]
    assert sum(wrong) == 2
    assert sim.true_doses[wrong] == pytest.approx(1.4 * sim.doses_phr[wrong])
    assert sim.true_doses[np.logical_not(wrong)] == pytest.approx(sim.doses_phr[np.logical_not(wrong)])


@pytest.mark.parametrize("kind", ["colour", "spectrum", "camera"])
def test_wrong_reading_and_swapped_labels(kind):
    clean = make_set(8, kind)
    shifted, swapped = make_set(8, kind, fault="reading"), make_set(8, kind, fault="swap")
    moved = np.flatnonzero((shifted.readings != clean.readings).any(axis=1))
    assert [clean.names[at] for at in moved] == list(shifted.culprit_chips)
    if kind == "colour":
        at = int(moved[0])
        assert float(slow.delta_e00(clean.readings[at], shifted.readings[at])) == pytest.approx(5, abs=0.01)
    one, other = (clean.names.index(name) for name in swapped.culprit_chips)
    assert np.array_equal(swapped.readings[[one, other]], clean.readings[[other, one]])


def test_questions_lie_where_they_should():
    sim = make_set(21)
    doses, thickness = sim.questions(150)
    assert doses.shape == (150, 3)
    assert doses.sum(axis=1).max() <= 0.2 + 1e-12
    assert thickness.min() >= 3
    assert thickness.max() <= 12
    assert sim.truth_luminous(doses, thickness).min() >= 0.02
    assert sim.questions(50, beyond=3.0)[1].min() >= 12


@pytest.mark.parametrize("seed", range(6))
def test_one_cup_lets_light_through(seed):
    sim = one_cup(seed, (3.0, 12.0))
    assert sim.one_cup
    assert 0.25 < sim.truth_luminous(np.ones((1, 1)), np.array([12.0]))[0] < 0.78


@pytest.mark.parametrize("family", ["glass", "dye", "blood", "mixed"])
def test_pigments_are_of_useful_strength(family):
    weights = slow.light_power("D65") * slow.matching_functions(2)[:, 1]
    for seed in range(5):
        curves, names = absorbers.draw(np.random.default_rng(seed), 3, family)
        assert len(names) == 3
        assert np.all(curves > 0)
        through = 10.0 ** (-curves * 0.06 * 12) @ (weights / weights.sum())
        assert np.all(-np.log10(through) <= 1.0001)
        assert np.all(curves[:, 40:341].max(axis=1) * 0.02 * 3 <= 1.0001)


def test_a_band_is_smooth_where_its_tail_begins():
    curve = np.log(absorbers.band(560, 30, 1.2, (1.5, 1.5)))
    # Second differences of a log band are bounded by the core's curvature, so neither value nor slope jumps.
    assert np.abs(np.diff(curve, 2)).max() < 2 / 25**2
    assert NM[curve.argmax()] == 560


@pytest.mark.parametrize(
    ("kind", "camera", "fault"),
    [
        ("colour", None, None),
        ("colour", None, "reading"),
        ("spectrum", None, "swap"),
        ("camera", "filter", None),
        ("camera", "stacked", "reading"),
        ("camera", "rendered", None),
    ],
)
def test_reader_reads_it(kind, camera, fault):
    for seed in range(5):
        sim = make_set(seed, kind, camera=camera, fault=fault, pairs=3, dose_error=0.02, thickness_error=0.05)
        chips = to_chipset(sim)
        assert [chip.name for chip in chips.chips] == list(sim.names)
        assert [chip.cup for chip in chips.chips] == list(sim.cups)
        assert np.array([chip.doses_phr for chip in chips.chips]) == pytest.approx(sim.doses_phr)
        assert np.array([chip.values for chip in chips.chips]) == pytest.approx(sim.readings)
        assert chips.reading.dose_spread == 0.02


def test_one_cup_is_read_as_one():
    assert to_chipset(one_cup(2)).is_one_cup
