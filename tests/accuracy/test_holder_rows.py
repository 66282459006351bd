"""The program that counts found holder sheets, on a few photos."""

from __future__ import annotations

from tests.accuracy.holder_rows import Row, lines, row


def test_a_short_count_finds_all() -> None:
    found = row("one mark covered", 2, 0.95, covered=True, salt=1)
    assert found.met
    assert found.worst_mm < 1.0


def test_a_sheet_taken_for_another_is_not_met() -> None:
    assert "NOT MET" in lines([Row("all", 200, 199, 1, 0.2, 0.98)])[-1]
    assert "NOT MET" in lines([Row("all", 200, 195, 0, 0.2, 0.98)])[-1]
    assert lines([Row("all", 200, 196, 0, 0.2, 0.98)])[-1] == "| all | 200 | 98.0 % | 98 % | 0 | 0.20 mm |"
