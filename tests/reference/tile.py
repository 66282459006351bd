"""A chip on a white tile, written out slowly and without tintmix: bounce after bounce, angle by angle, each
polarisation.
"""

from __future__ import annotations

import numpy as np

from tests.reference.slow import Array

_ANGLES = 400
_BOUNCES = 60


def _faces(sine: Array, n: float) -> tuple[Array, Array, Array]:
    """Reflectance of a face for s and p light by the sine of the angle in air, and the cosine within."""
    outside, inside = np.sqrt(1 - sine**2), np.sqrt(1 - (sine / n) ** 2)
    s = ((outside - n * inside) / (outside + n * inside)) ** 2
    p = ((n * outside - inside) / (n * outside + inside)) ** 2
    return s, p, inside


def plate_at(tau: float, sine: float, n: float) -> tuple[float, float]:
    """Transmittance and reflectance of a plate at an angle: every pass between its faces added up."""
    through = back = 0.0
    s, p, inside = _faces(np.array(sine), n)
    path = tau ** (1 / float(inside))
    for rho in (float(s), float(p)):
        light = (1 - rho) * path
        back += 0.5 * rho
        for bounce in range(_BOUNCES):
            if bounce % 2 == 0:
                through += 0.5 * light * (1 - rho)
            else:
                back += 0.5 * light * (1 - rho)
            light *= rho * path
    return through, back


def dry(tau: float, white: float, n: float, sphere: bool = False) -> float:
    """Radiance factor with an air gap."""
    sines = (np.arange(_ANGLES) + 0.5) / _ANGLES
    # Lambert's law: what falls on or leaves at an angle counts by d(sin²).
    weight = 2 * sines / _ANGLES
    each = [plate_at(tau, float(x), n) for x in sines]
    returned = float(sum(w * r for w, (_, r) in zip(weight, each, strict=True)))
    enters = (
        float(sum(w * t for w, (t, _) in zip(weight, each, strict=True)))
        if sphere
        else plate_at(tau, float(np.sqrt(0.5)), n)[0]
    )
    light, total = enters, 0.0
    for _ in range(_BOUNCES):
        total += light * white
        light *= white * returned
    return total * plate_at(tau, 0.0, n)[0]


def wetted(tau: float, white: float, n: float) -> float:
    """Radiance factor in optical contact, lit at 45°: Williams and Clapper, the series added up term by term."""
    s, p, inside = _faces(np.array(np.sqrt(0.5)), n)
    enters = (1 - 0.5 * float(s + p)) * tau ** (1 / float(inside))
    out = (1 - ((n - 1) / (n + 1)) ** 2) * tau / n**2
    cosines = (np.arange(20 * _ANGLES) + 0.5) / (20 * _ANGLES)
    sines_outside = n * np.sqrt(1 - cosines**2)
    rho = np.ones_like(cosines)
    free = sines_outside < 1
    s, p, _ = _faces(sines_outside[free], n)
    rho[free] = 0.5 * (s + p)
    returned = float(np.sum(2 * cosines * rho * tau ** (2 / cosines)) / len(cosines))
    light, total = enters, 0.0
    for _ in range(400):
        total += light * white
        light *= white * returned
    return total * out


def table(law: str, whites: Array, n: float, sphere: bool = False) -> tuple[Array, Array]:
    """β by τ (201,) for a few whites (W, 201): the slow law is too slow for every band of every chip."""
    tau = np.linspace(0.0, 1.0, 201) ** 2
    one = (lambda t, r: dry(t, r, n, sphere)) if law == "dry" else (lambda t, r: wetted(t, r, n))
    return tau, np.array([[one(float(max(t, 1e-9)), float(r)) for t in tau] for r in whites])
