"""The program that asks contradictory sets, on two."""

from __future__ import annotations

from tests.accuracy.health_rows import health_row, shuffled


def test_a_short_row_of_shuffled_readings() -> None:
    row = health_row(range(5100, 5102), shuffled)
    assert row.told == row.sets
    assert min(row.table.band, row.table.ellipsoid) >= 0.9
