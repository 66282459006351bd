"""The program that asks untinted blocks, on a few sets."""

from __future__ import annotations

from tests.accuracy.blank_rows import block_row


def test_a_short_row_of_blocks() -> None:
    row = block_row(range(5100, 5104), 2.0)
    assert row.table.p95 <= 1.2
    assert row.table.ellipsoid >= 0.85
    assert row.doubted == 0
