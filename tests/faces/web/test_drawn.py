"""Scales of the page's pictures."""

from __future__ import annotations

import numpy as np
import pytest

from tintmix.faces.web.drawn import rulings


@pytest.mark.parametrize("top", [5e-324, 1e-305, 1e-9, 0.08, 0.0999, 1.3, 4.0, 7.99, 8.0, 9.9, 1000.0, 1e300])
def test_a_scale_of_any_height_is_ruled_at_round_values_below_its_top(top: float) -> None:
    ruled = rulings(top)
    assert ruled[0] == 0.0
    assert 1 <= len(ruled) <= 5
    if top > 1e-300:
        assert len(ruled) >= 2
        assert ruled[-1] < top
        np.testing.assert_allclose(np.diff(ruled), ruled[1], rtol=1e-6)
