"""The forward model's Jacobian against finite differences, for every kind of reading and every unknown."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tests.simulation import make_set, to_chipset
from tintmix.chips.chip import ChipSet
from tintmix.pigments.inference.forward import Forward, SpectrumPrior
from tintmix.pigments.inference.gather import gather
from tintmix.pigments.inference.prior import BASE_MEAN_LOG, base_basis, pigment_basis


def _forward(chips: ChipSet) -> Forward:
    observations = gather((chips,)).observations
    priors = [SpectrumPrior(np.full((1, 41), BASE_MEAN_LOG), base_basis().columns[None])]
    priors += [SpectrumPrior(np.zeros((1, 41)), pigment_basis(1.5, 80.0).columns[None]) for _ in observations.pigments]
    return Forward(observations, tuple(priors), ((0, 0.5), (2, 1.0)))


def _chips(kind: str, relative_to: str = "air", **changes: object) -> ChipSet:
    options = {"camera": "rendered"} if changes.get("camera") == "rendered" else {}
    chips = to_chipset(make_set(3, kind, pairs=1, **options))
    return replace(chips, reading=replace(chips.reading, relative_to=relative_to, **changes))


@pytest.mark.parametrize(
    "chips",
    [
        _chips("colour"),
        _chips("colour", "untinted"),
        _chips("colour", "faces removed"),
        _chips("spectrum"),
        _chips("spectrum", "untinted"),
        _chips("camera"),
        _chips("camera", camera="rendered"),
    ],
    ids=["colour", "colour untinted", "colour internal", "spectrum", "spectrum untinted", "camera", "rendered"],
)
def test_jacobian_is_the_derivative(chips: ChipSet) -> None:
    forward = _forward(chips)
    rng = np.random.default_rng(1)
    z = 0.4 * rng.standard_normal((2, forward.layout.size))
    _, jacobian = forward.residuals(z)
    step = 1e-6
    for j in rng.permutation(forward.layout.size)[:40]:
        up, down = z.copy(), z.copy()
        up[:, j] += step
        down[:, j] -= step
        numeric = (forward.residuals(up)[0] - forward.residuals(down)[0]) / (2 * step)
        scale = np.abs(numeric).max() + 1.0
        np.testing.assert_allclose(jacobian[:, :, j], numeric, atol=2e-6 * scale, rtol=2e-5)


def _unknown_camera() -> ChipSet:
    chips = to_chipset(make_set(4, "camera", camera="drawn"))
    return replace(chips, reading=replace(chips.reading, camera="unknown", light="unknown"), camera_curve=None)


def test_an_unknown_camera_leans_and_its_bare_panel_stays_at_one() -> None:
    forward = _forward(_unknown_camera())
    assert forward.observations.latent_count > 10
    z = np.zeros((1, forward.layout.size))
    z[:, forward.layout.latents] = np.random.default_rng(0).standard_normal(forward.observations.latent_count)
    _, jacobian = forward.residuals(z)
    j, step = forward.layout.latents.start + 2, 1e-6
    up, down = z.copy(), z.copy()
    up[:, j] += step
    down[:, j] -= step
    numeric = (forward.residuals(up)[0] - forward.residuals(down)[0]) / (2 * step)
    np.testing.assert_allclose(jacobian[:, :, j], numeric, atol=1e-5, rtol=1e-4)


@pytest.mark.parametrize("chips", [_chips("colour"), _unknown_camera()], ids=["one detector", "a detector each"])
def test_candidates_do_not_know_one_another(chips: ChipSet) -> None:
    forward = _forward(chips)
    z = 0.3 * np.random.default_rng(2).standard_normal((3, forward.layout.size))
    together = forward.residuals(z)
    # Nor does it tell whether slopes are asked for, or where they go.
    np.testing.assert_array_equal(forward.misfits(z), together[0])
    for b in range(3):
        room = together[1][[b - 1]].copy()
        for alone, all_of_them in zip(forward.residuals(z[b : b + 1], room), together, strict=True):
            np.testing.assert_allclose(alone[0], all_of_them[b], rtol=1e-10, atol=1e-10)


def test_readings_against_the_untinted_chip_outlast_a_base_that_lets_nothing_through() -> None:
    forward = _forward(_chips("colour", "untinted"))
    z = np.zeros((2, forward.layout.size))
    # The level of the base, first of its directions, a thousand times what is usual: past 1e-300 of the light.
    z[1, 0] = np.log(1e6) / float(base_basis().columns[:, 0].mean())
    clear, black = forward.residuals(z)[0]
    assert np.isfinite(black).all()
    # Chip and clear lose alike, but for what goes to and fro between the faces, four hundredths of the light at the most.
    assert np.abs(black - clear).max() < 0.05 * 100 / 0.3
