"""The belief after a trial, against Bayes' rule by other means: importance weights, and the conjugate normal."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from tests.recipes.shelf import make_model
from tintmix.chips.chip import Reading
from tintmix.errors import TintmixError, ValueProblem
from tintmix.optics.absorption import LN10, effective_doses
from tintmix.optics.colour import lab
from tintmix.optics.detector import eye
from tintmix.optics.plate import external_transmittance
from tintmix.optics.spectrum import GRID_NM
from tintmix.recipes.adjust.belief import Trial, believe, recalibrate, trial_set
from tintmix.recipes.adjust.causes import FAR, OTHER_LOT, SLIP

LAB = Reading("colour", thickness_spread_mm=0.05)
NM = tuple(np.arange(400.0, 701.0, 10.0).tolist())


def shelf(draws: int = 300):  # type: ignore[no-untyped-def]
    return make_model(3, seed=4, draws=draws, spread=0.04)


def doses_of(model, light: float = 0.4, mm: float = 12.0):  # type: ignore[no-untyped-def]
    """Doses of all pigments that let about so much through."""
    share = -math.log10(light) / mm / 3 / model.absorptivity.mean(axis=1)
    return dict(zip(model.pigments, share.tolist(), strict=True))


def lab_of(model, doses, mm: float = 12.0):  # type: ignore[no-untyped-def]
    return tuple(model.look(doses, [mm]).lab[0].tolist())


def trial(model, read, doses, mm: float = 12.0, reading: Reading = LAB, **more) -> Trial:  # type: ignore[no-untyped-def]
    return Trial(doses, trial_set(reading, [(mm, read)], doses, model.refractive_index), {}, **more)


def test_as_importance_weights_have_it() -> None:
    """Bayes' rule by brute force: 100 000 samples of draws, lots, scales, mix and thickness, weighted by the reading."""
    model = shelf()
    doses = doses_of(model)
    really = {p: dose * f for (p, dose), f in zip(doses.items(), (1.15, 0.9, 1.0), strict=True)}
    read = lab_of(model, really)
    found = believe(model, [trial(model, read, doses)])

    rng = np.random.default_rng(1)
    n = 100_000
    draw = rng.integers(len(model.draws_base), size=n)
    strength = rng.normal(0, 0.15, (n, 3))
    pot = strength + rng.normal(0, 0.02, (n, 3))
    log_weight = np.empty(n)
    vector = model.dose_vector(doses)
    detector = eye("D65", 10)
    for part in np.array_split(np.arange(n), 10):
        shared = rng.normal(0, 0.01, (len(part), 1))
        dose = effective_doses(vector, model.volume_per_phr, np.zeros(3)) * np.exp(pot[part] + shared)
        per_mm = model.draws_base[draw[part]] + np.einsum("np,npk->nk", dose, model.draws_absorptivity[draw[part]])
        mm = 12.0 + rng.normal(0, 0.05, len(part))
        factor = external_transmittance(np.exp(-LN10 * mm[:, None] * per_mm), model.refractive_index)
        miss = (lab(factor @ detector.weights, detector.bare) - np.array(read)) / 0.3
        log_weight[part] = -0.5 * (miss**2).sum(axis=1)
    weight = np.exp(log_weight - log_weight.max())
    weight /= weight.sum()
    assert 1 / (weight**2).sum() > 200  # enough samples count
    mean = weight @ pot
    spread = np.sqrt(weight @ (pot - mean) ** 2)
    np.testing.assert_allclose(found.log_pot.mean(axis=0), mean, atol=0.25 * spread.max())
    np.testing.assert_allclose(found.log_pot.std(axis=0), spread, rtol=0.25)
    np.testing.assert_allclose(found.log_strength.mean(axis=0), weight @ strength, atol=0.25 * spread.max())


def test_one_grey_chip_is_the_conjugate_normal() -> None:
    """A known spectrum, and a chip that tells ln dose with a known error: 1/σ² add (Gelman et al., *Bayesian Data Analysis*,
    3rd ed., §2.5)."""
    model = make_model(1, seed=2, draws=400, spread=0.0)
    grey = np.full((400, 1, len(GRID_NM)), 1.0)
    model = replace(
        model, draws_absorptivity=grey, absorptivity=grey[0], draws_base=np.full((400, len(GRID_NM)), 1e-6),
        base_per_mm=np.full(len(GRID_NM), 1e-6), volume_per_phr=np.zeros(1),
    )  # fmt: skip
    # ln τ = −ln 10 · 10 mm · 0.03 = −0.69; one band's noise δT is δ ln c = δτ/(τ ln 1/τ).
    tau = 10.0**-0.3
    noise = 0.02
    reading = Reading("spectrum", relative_to="faces removed", wavelengths_nm=NM, reading_spread=noise,
                      thickness_spread_mm=0.0)  # fmt: skip
    stronger = 1.05
    doses = {"p0": 0.03}
    chip = trial(model, np.full(len(NM), tau**stronger), doses, 10.0, reading, mix_spread=0.0)
    found = recalibrate(model, [replace(chip, weigh_spreads={"p0": 0.03})])["p0"]
    by_reading = noise / math.sqrt(len(NM)) / (tau * -math.log(tau)) * 1.0
    told = by_reading**2 + 0.03**2
    spread = math.sqrt(1 / (1 / 0.15**2 + 1 / told))
    mean = math.log(stronger) * spread**2 / told
    assert found.spread == pytest.approx(spread, rel=0.1)
    assert math.log(found.factor) == pytest.approx(mean, abs=0.15 * spread)


def test_two_cups_tell_more_than_one_and_a_known_lot_stays() -> None:
    model = shelf()
    doses = {"p0": doses_of(model)["p0"] * 3}
    read = lab_of(model, {"p0": doses["p0"] * 1.2})
    one = recalibrate(model, [trial(model, read, doses)])["p0"]
    two = recalibrate(model, [trial(model, read, doses), trial(model, read, doses)])["p0"]
    assert one.factor == pytest.approx(1.2, rel=0.03)
    assert two.spread < one.spread
    held = recalibrate(model, [trial(model, read, doses)], {"p0": (1.0, 0.001)})["p0"]
    assert held.factor == pytest.approx(1.0, abs=0.005)
    assert held.surprise > 2.5 > one.surprise


def test_every_kind_of_reading_finds_the_lot() -> None:
    model = shelf()
    doses = {"p0": doses_of(model)["p0"] * 3}
    look = model.look({"p0": doses["p0"] * 0.85}, [12.0])
    xyz = tuple(look.xyz[0].tolist())
    transmittance = look.transmittance[0]
    camera = np.stack([np.exp(-(((GRID_NM - c) / 40) ** 2)) for c in (600, 540, 460)], axis=1)
    camera /= camera.sum(axis=0)
    seen = replace(model, camera_weights=camera)
    bands = np.isin(GRID_NM, NM)
    for who, reading, values in (
        (model, Reading("colour", space="XYZ"), xyz),
        (model, Reading("spectrum", wavelengths_nm=NM), transmittance[bands]),
        (seen, Reading("camera", geometry="total"), transmittance @ camera),
    ):
        found = recalibrate(who, [trial(who, values, doses, 12.0, reading)])["p0"]
        assert found.factor == pytest.approx(0.85, rel=0.04), reading.kind
        assert found.spread < 0.06


def test_a_spectrum_that_no_dose_gives_is_trusted_less() -> None:
    model = shelf()
    doses = {"p0": doses_of(model)["p0"] * 3}
    clean = model.look(doses, [12.0]).transmittance[0][np.isin(GRID_NM, NM)]
    odd = clean * (1 + 0.1 * np.sin(np.arange(len(NM))))
    reading = Reading("spectrum", wavelengths_nm=NM)
    good = believe(model, [trial(model, clean, doses, 12.0, reading)])
    bad = believe(model, [trial(model, odd, doses, 12.0, reading)])
    assert bad.surprise > 2.5 > good.surprise
    assert bad.strength(0).spread >= good.strength(0).spread


def test_the_same_question_has_the_same_answer() -> None:
    model = shelf()
    doses = doses_of(model)
    read = lab_of(model, doses)
    one, two = (believe(model, [trial(model, read, doses)]) for _ in range(2))
    assert np.array_equal(one.log_pot, two.log_pot)
    assert np.array_equal(one.absorptivity, two.absorptivity)


def test_a_departure_from_beers_law_is_carried_along() -> None:
    model = make_model(2, seed=3, draws=100, departure=1.5)
    doses = {"p0": 0.1, "p1": 0.05}
    found = believe(model, [trial(model, lab_of(model, doses), doses)])
    np.testing.assert_allclose(found.departure, 1.5, rtol=1e-3)
    assert abs(found.log_pot.mean()) < 0.05


@pytest.mark.parametrize("mm", [0.0, -3.0, math.nan, math.inf, 501.0])
def test_a_thickness_never_cast(mm: float) -> None:
    with pytest.raises(ValueProblem, match=r"thickness is"):
        trial_set(LAB, [(mm, (50.0, 0.0, 0.0))], {"p0": 0.1}, 1.5)


def test_bad_trials() -> None:
    model = shelf()
    with pytest.raises(ValueProblem, match=r"reading"):
        trial_set(LAB, [], {"p0": 0.1}, 1.5)
    with pytest.raises(ValueProblem, match=r"chip: "):
        trial_set(LAB, [(12.0, (140.0, 0.0, 0.0))], {"p0": 0.1}, 1.5)
    with pytest.raises(TintmixError):
        trial_set(LAB, [(12.0, (math.nan, 0.0, 0.0))], {"p0": 0.1}, 1.5)
    good = trial(model, lab_of(model, {"p0": 0.02}), {"p0": 0.02})
    with pytest.raises(ValueProblem, match=r"no pigment"):
        believe(model, [replace(good, doses_phr={})])
    with pytest.raises(ValueProblem, match=r"no pigment"):
        recalibrate(model, [replace(good, doses_phr={"p0": 0.0})])
    with pytest.raises(ValueProblem, match=r"no pigment"):
        believe(model, [replace(good, doses_phr={"lilac": 0.1})])
    with pytest.raises(ValueProblem, match=r"no pigment"):
        believe(model, [good], {"lilac": (1.0, 0.1)})
    for strengths in ({"p0": (0.0, 0.1)}, {"p0": (math.nan, 0.1)}, {"p0": (1.0, -0.1)}, {"p0": (1.0, math.inf)}):
        with pytest.raises(ValueProblem, match=r"strength|weighed"):
            believe(model, [good], strengths)
    with pytest.raises(ValueProblem, match=r"strength|weighed"):
        believe(model, [good], None, 0.0)
    with pytest.raises(ValueProblem, match=r"camera channels"):
        believe(model, [trial(model, (0.5, 0.5, 0.5), {"p0": 0.02}, 12.0, Reading("camera"))])


def test_a_slip_is_believed_as_bayes_has_it_and_less_where_the_weights_are_told() -> None:
    """Bayes' rule by hand: density of ln 0.7 under N(0, ln 2) and under N(0, 0.15), with the shares of `causes`."""
    model = make_model(1, seed=2, draws=100, spread=0.0)
    chip = trial(model, lab_of(model, {"p0": 0.7 * 0.05}), {"p0": 0.05})
    found = believe(model, [chip], unusual=True)
    slip, other, usual = (
        share / spread * math.exp(-0.5 * (math.log(0.7) / spread) ** 2)
        for share, spread in ((SLIP, FAR), (OTHER_LOT, FAR), (1 - SLIP - OTHER_LOT, 0.15))
    )
    told = next(cause.belief for cause in found.causes if cause.slipped)
    assert abs(told - slip / (slip + other + usual)) < 0.1 * told
    weighed, strength = found.slips()[0]
    assert abs(weighed - 0.7) < 0.03
    assert abs(strength - 0.7) < 0.05
    said = believe(model, [replace(chip, weigh_spreads={"p0": 0.02})], unusual=True)
    assert next(cause.belief for cause in said.causes if cause.slipped) < 0.5 * told
    right = trial(model, lab_of(model, {"p0": 1.05 * 0.05}), {"p0": 0.05})
    assert not believe(model, [right], unusual=True).slips()
