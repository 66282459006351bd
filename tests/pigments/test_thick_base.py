"""Untinted blocks that disagree with thin untinted chips: a base of its own for thick pours, everywhere that a model is asked."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from tests.accuracy.blank_rows import Yellowing, with_block
from tests.reference import batched
from tests.reference.slow import NM
from tests.simulation import make_set, to_chipset
from tintmix.optics.colour import lab
from tintmix.optics.detector import eye
from tintmix.optics.difference import delta_e00
from tintmix.optics.light import light
from tintmix.pigments.fit import fit
from tintmix.pigments.inference.forward import Forward, SpectrumPrior
from tintmix.pigments.inference.gather import gather
from tintmix.pigments.inference.prior import BASE_MEAN_LOG, base_basis, pigment_basis
from tintmix.pigments.model import TintModel
from tintmix.pigments.model_file import load_model, model_from_table, save_model
from tintmix.pigments.thickness_strip import strip_colours
from tintmix.recipes.solve import solve
from tintmix.recipes.target import Target, TargetSection

HEAT = Yellowing(np.full(len(NM), np.log(2.5)), gradual=False)


@pytest.fixture(scope="module")
def model() -> TintModel:
    return fit(to_chipset(with_block(make_set(17, pairs=3, dose_error=0.02, thickness_error=0.05), HEAT)))


def test_the_block_rules_at_its_thickness_and_is_not_doubted(model: TintModel) -> None:
    sim = make_set(17, pairs=3, dose_error=0.02, thickness_error=0.05)
    doses, at = np.array([[0.0, 0.0, 0.0], [0.005, 0.01, 0.005]]), np.full(2, 60.0)
    truth = batched.lab(HEAT.factor(sim, doses, at, at))
    assert delta_e00(model.lab_draws(doses, at).mean(axis=0), truth).max() < 1.0
    assert not any(chip["doubted"] for chip in model.report["chips"] if chip["cup"] in ("blank", "block"))
    told = next(warning for warning in model.report["warnings"] if "blue light per mm" in warning)
    low, high = (float(one) for one in told.split("(")[1].split(")")[0].split(" to "))
    assert 1 < low < 2.5 < high
    assert model.thickest_mm == 60.0
    (named,) = model.report["health"]["set_up"]
    assert (named["what"], named["sure"]) == ("base", True)


def test_sound_blocks_are_told_nothing_of() -> None:
    sound = fit(to_chipset(with_block(make_set(17, pairs=3), Yellowing(np.zeros(len(NM)), gradual=False))))
    assert sound.thick is not None
    assert not any("blue light" in warning for warning in sound.report["warnings"])


def test_sets_without_a_block_keep_one_base() -> None:
    assert fit(to_chipset(make_set(17, pairs=3))).thick is None


def test_every_way_to_ask_gives_the_thick_base(model: TintModel) -> None:
    tint, at = dict.fromkeys(model.pigments, 0.01), [3.0, 20.0, 40.0, 60.0, 90.0]
    doses = model.dose_vector(tint)
    looked = model.look(tint, at)
    np.testing.assert_allclose(model.lab_draws(np.tile(doses, (5, 1)), at), looked.lab_draws, atol=1e-9)
    np.testing.assert_allclose(strip_colours(model, tint, np.array(at))[0], looked.lab, atol=2e-3)
    detector = eye("D65", 10)
    mean = lab(light(model.mean_resin, np.tile(doses, (5, 1)), at) @ detector.weights, detector.bare)
    np.testing.assert_allclose(model.predict_lab(doses, at), mean, atol=1e-9)
    np.testing.assert_allclose(mean, looked.lab, atol=2.0)
    # Beyond the block, its base goes on; without one, the same tint is lighter.
    assert looked.lab[-1, 2] > replace(model, thick=None).look(tint, at).lab[-1, 2] + 2


def test_solve_reports_what_look_says(model: TintModel) -> None:
    wanted = model.look({model.pigments[0]: 0.01}, 60.0)
    answer = solve(model, Target(sections=(TargetSection("block", 60.0, lab=tuple(wanted.lab[0]), tolerance=2.0),)))
    best = answer.proposals[0]
    assert best.worst_delta_e00 < 0.1
    seen = model.look(best.doses_phr, 60.0)
    np.testing.assert_allclose(best.sections[0].lab, seen.lab[0], atol=1e-6)


def test_the_file_keeps_it_and_old_files_have_none(model: TintModel, tmp_path: Path) -> None:
    save_model(model, tmp_path / "m.tint.json")
    again = load_model(tmp_path / "m.tint.json")
    assert again.digest() == model.digest()
    assert again.digest() != replace(model, thick=None).digest()
    table = json.loads((tmp_path / "m.tint.json").read_text(encoding="utf-8"))
    del table["thick"]
    assert model_from_table(table, "old").thick is None


@pytest.mark.parametrize("kind", ["colour", "spectrum"])
def test_jacobian_is_the_derivative(kind: str) -> None:
    chips = to_chipset(make_set(3, kind, pairs=1))
    observations = gather((chips,)).observations
    observations = replace(observations, thick=np.linspace(0, 1, len(observations.doses)))
    priors = [SpectrumPrior(np.full((1, 41), BASE_MEAN_LOG), base_basis().columns[None])]
    priors += [SpectrumPrior(np.zeros((1, 41)), pigment_basis(1.5, 80.0).columns[None]) for _ in observations.pigments]
    forward = Forward(observations, tuple(priors))
    z = 0.4 * np.random.default_rng(1).standard_normal((2, forward.layout.size))
    _, jacobian = forward.residuals(z)
    for j in range(forward.layout.thick.start, forward.layout.thick.stop):
        up, down = z.copy(), z.copy()
        up[:, j] += 1e-6
        down[:, j] -= 1e-6
        numeric = (forward.residuals(up)[0] - forward.residuals(down)[0]) / 2e-6
        np.testing.assert_allclose(jacobian[:, :, j], numeric, atol=2e-6 * (np.abs(numeric).max() + 1), rtol=2e-5)
