"""A chip on a white tile: against a slow reference, against energy, and its slopes against finite differences."""

from __future__ import annotations

import numpy as np
import pytest

from tests.reference import tile as slow
from tintmix.errors import ValueProblem
from tintmix.optics.tile import Contact, Lighting, Tile, _curves

TAU = np.array([0.02, 0.1, 0.35, 0.7, 0.95, 1.0])


@pytest.mark.parametrize("white", [0.5, 0.9])
@pytest.mark.parametrize("sphere", [False, True])
def test_dry_is_what_bounces_add_up_to(white: float, sphere: bool) -> None:
    beta = Tile(np.full(6, white), "dry", "d/8" if sphere else "45/0").factor(TAU, 1.5)[0]
    # 400 angles by the midpoint rule: good to about 1e-4 at grazing light.
    assert np.allclose(beta, [slow.dry(float(t), white, 1.5, sphere) for t in TAU], atol=3e-4)


def test_wetted_is_what_bounces_add_up_to() -> None:
    beta = Tile(np.full(6, 0.9), "wetted").factor(TAU, 1.5)[0]
    assert np.allclose(beta, [slow.wetted(float(t), 0.9, 1.5) for t in TAU], atol=3e-4)


def test_a_glossy_tile_wetted_reads_lighter_than_a_matt_one() -> None:
    """What docs/measure-with-a-colorimeter.md says: a white body under a smooth face loses the face to the liquid, and a clear
    chip then reads 5 to 9 L* lighter than on a matt white that reads as it did bare."""
    lighter = []
    for bare in (0.8, 0.9):
        # The body under the face, from what it reads bare: a chip without absorption in contact with it is such a face.
        low, high = 0.5, 0.999
        for _ in range(30):
            body = 0.5 * (low + high)
            low, high = (body, high) if slow.wetted(1 - 1e-9, body, 1.5) < bare else (low, body)
        taken = float(Tile(np.full(1, bare), "wetted").factor(np.ones(1), 1.5)[0][0])
        lighter.append(116 * (bare ** (1 / 3) - taken ** (1 / 3)))
    assert [round(one) for one in lighter] == [9, 5]


@pytest.mark.parametrize("n", [1.47, 1.5, 1.6])
def test_a_clear_plate_loses_nothing(n: float) -> None:
    returning, diffuse_in = _curves(n)
    assert returning.values[-1] + diffuse_in.values[-1] == pytest.approx(1.0, abs=1e-12)


@pytest.mark.parametrize("contact", ["dry", "wetted"])
@pytest.mark.parametrize("lighting", ["45/0", "d/8"])
def test_slopes_and_inverse(contact: Contact, lighting: Lighting) -> None:
    tau = np.linspace(0.01, 0.99, 41)
    tile = Tile(np.linspace(0.7, 1.05, 41), contact, lighting)
    beta, slope = tile.factor(tau, 1.5)
    step = 1e-6
    numeric = (tile.factor(tau + step, 1.5)[0] - tile.factor(tau - step, 1.5)[0]) / (2 * step)
    assert np.allclose(slope, numeric, rtol=1e-6)
    assert np.all(slope > 0)
    assert np.allclose(tile.internal(beta, 1.5), tau, atol=1e-12)


def test_a_tile_that_reflects_nothing_is_refused() -> None:
    with pytest.raises(ValueProblem, match="white tile"):
        Tile(np.zeros(41))
