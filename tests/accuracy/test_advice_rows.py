"""Advice followed, a short form of tests.accuracy.advice_rows on seeds of its own, and what the advice says where."""

from __future__ import annotations

import dataclasses

import numpy as np

from tests.accuracy.advice_rows import WITHIN, follow, off, poured
from tests.simulation import make_set, one_cup, to_chipset
from tintmix.pigments.fit import fit

ERRORS = {"dose_error": 0.02, "thickness_error": 0.05}


def test_what_is_promised_comes() -> None:
    followed = [follow(make_set(seed, "colour", **ERRORS), plan=False) for seed in range(900, 903)]  # type: ignore[arg-type]
    found = [one for one in followed if one is not None]
    assert len(found) == 3
    assert off([(one.promised, one.came) for one in found]) <= WITHIN
    assert np.median([one.came / one.now for one in found]) < 0.95
    assert np.median([one.promised / one.now for one in found]) < 0.95


def test_an_unknown_camera_is_not_learnt_by_pouring() -> None:
    model = fit(to_chipset(make_set(902, "camera", camera="drawn", panel_known=False, **ERRORS)))  # type: ignore[arg-type]
    told = model.report["forecast"]
    assert told["typical_delta_e00"] > 1.5
    assert not told["helps"]
    assert model.report["next_cup"].startswith("Pouring more of these pigments will not help much")
    assert "read three chips with a colorimeter (about" in model.report["next_cup"]
    assert "measure the camera and the panel's light (about" in model.report["next_cup"]
    assert max(told["instead"].values()) < 0.7 * told["then_delta_e00"]


def test_a_cup_that_was_poured_is_not_advised_again() -> None:
    sim = make_set(902, "colour", **ERRORS)  # type: ignore[arg-type]
    seen: list[tuple[float, ...]] = [tuple(row) for row in sim.doses_phr]
    for _ in range(3):
        told = fit(to_chipset(sim)).report["forecast"]
        doses = np.array([told["doses_phr"].get(name, 0.0) for name in sim.pigments])
        assert not any(np.allclose(doses, row, rtol=0.05) for row in seen)
        seen.append(tuple(doses))
        sim = poured(sim, doses, told["thicknesses_mm"])
    assert "No single further cup would help much" in fit(to_chipset(sim)).report["next_cup"]


def test_one_cup_and_one_pigment_have_advice_too() -> None:
    mix = fit(to_chipset(one_cup(12, (3.0, 12.0)))).report
    assert mix["forecast"]["then_delta_e00"] <= mix["forecast"]["typical_delta_e00"]
    one = make_set(12, "spectrum", pigments=1, doses=(0.06,), **ERRORS)  # type: ignore[arg-type]
    assert fit(to_chipset(one)).report["forecast"]["thicknesses_mm"]


def test_nothing_is_advised_while_the_chips_are_at_odds() -> None:
    sim = make_set(903, "colour", **ERRORS)  # type: ignore[arg-type]
    shuffled = np.random.default_rng(1).permutation(sim.readings)
    told = fit(to_chipset(dataclasses.replace(sim, readings=shuffled))).report
    assert told["forecast"] is None
    assert "find out why first" in told["next_cup"]
