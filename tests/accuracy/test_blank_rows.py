"""The program that asks untinted blocks, departures and blame, on a few sets."""

from __future__ import annotations

from tests.accuracy.blank_rows import bend_row, blame_row, block_row


def test_a_short_row_of_blocks() -> None:
    row = block_row(range(5100, 5104), 2.0)
    assert row.table.p95 <= 1.2
    assert row.table.ellipsoid >= 0.85
    assert row.doubted == 0


def test_a_short_row_of_bends() -> None:
    row = bend_row(range(5100, 5102), 0.23)
    assert row.table.ellipsoid >= 0.85
    assert row.likely == 2
    assert row.blamed == 0


def test_a_short_row_of_blame() -> None:
    for fault in ("swap", "thickness"):
        row = blame_row(range(5100, 5102), fault)
        assert row.right == 2
        assert row.innocents <= 1
