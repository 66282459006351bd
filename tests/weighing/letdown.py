"""A stock bottle's error by hand."""

from __future__ import annotations

import math

from tintmix.weighing.scales import bottle_spread


def letdown_spread(pigment_g: float, carrier_g: float, used_g: float, spread_g: float) -> float:
    """Relative spread of the pigment that a used mass of a stock bottle brings.

    u_rel² = [u (1 − w)/m_p]² + [u (1 − w)/m_c]² + (u/m)², w = m_p/(m_p + m_c): pigment and carrier as weighed into the bottle,
    m the mass used, u of a difference. GUM, JCGM 100:2008.
    """
    return math.hypot(bottle_spread(pigment_g, carrier_g, spread_g), spread_g / used_g)
