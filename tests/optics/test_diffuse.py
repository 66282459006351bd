"""A plate in diffuse light, against scipy's quadrature over the angle."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import quad

from tintmix.optics.diffuse import DiffuseLight


def by_quadrature(tau: float, n: float, in_contact: bool) -> float:
    """2 ∫ T(θ) sin θ cos θ dθ over half a sphere, Fresnel's equations by the angles (Hecht, Optics, §4.6.2)."""

    def factor(angle: float) -> float:
        if in_contact:
            return float(tau ** (1 / np.cos(angle)))
        inside = np.arcsin(np.sin(angle) / n)
        passed = tau ** (1 / np.cos(inside))
        across = (np.sin(angle - inside) / np.sin(angle + inside)) ** 2
        along = (np.tan(angle - inside) / np.tan(angle + inside)) ** 2
        return float(np.mean([(1 - r) ** 2 * passed / (1 - (r * passed) ** 2) for r in (across, along)]))

    whole, _ = quad(lambda angle: factor(angle) * np.sin(2 * angle), 1e-9, np.pi / 2 - 1e-9, epsabs=1e-11, limit=200)
    return float(whole * (2 * n / (n * n + 1) if in_contact else 1.0))


@pytest.mark.parametrize("in_contact", [False, True])
@pytest.mark.parametrize("n", [1.4, 1.5, 1.6])
def test_against_quadrature(n: float, in_contact: bool) -> None:
    tau = np.array([1.0, 0.97, 0.6, 0.2, 0.01, 1e-4])
    light = DiffuseLight(in_contact)
    seen = light.factor(tau, n)[0]
    np.testing.assert_allclose(seen, [by_quadrature(t, n, in_contact) for t in tau], rtol=6e-5)
    step = 1e-3
    ahead, behind = (by_quadrature(0.3 * (1 + way * step), n, in_contact) for way in (1, -1))
    assert light.factor(np.array([0.3]), n)[1][0] == pytest.approx((ahead - behind) / (0.6 * step), rel=1e-3)
    np.testing.assert_allclose(light.internal(seen, n), tau, rtol=1e-4)
