"""What is promised of photos of the holder, a reduced sweep."""

from __future__ import annotations

from tests.accuracy import photo_rows as rows
from tests.simulation import REPORTING_SEEDS


def test_jpegs_with_a_calibrated_curve_come_within_what_is_promised() -> None:
    found = rows.Errors()
    per_channel = [rows.jpeg_holder(seed, found, rows.STRONG, calibrated=True) for seed in REPORTING_SEEDS[:1]]
    assert all(per_channel)
    assert len(found.bright) > 35
    assert rows.quantiles(found.bright)[1] < 0.02
