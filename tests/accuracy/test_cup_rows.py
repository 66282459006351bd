"""One cup lies in its band, a reduced sweep of `cup_rows`, which prints all families."""

from __future__ import annotations

from tests.accuracy.cup_rows import told


def test_a_mix_that_is_read_at_two_thicknesses_is_told_at_60_mm() -> None:
    sets = [told(seed, (3.0, 12.0)) for seed in (5000, 5001, 5002)]
    assert all(one.in_band.all() for one in sets)
    # And not by widening: what steep bands could do is in every band.
    assert sum(one.bands[0] for one in sets) < 5 * sum(one.errors[0] for one in sets)
