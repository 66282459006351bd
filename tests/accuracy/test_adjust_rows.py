"""The row "adjust" of measures.md, a reduced sweep: 95 % within ΔE00 1.5 after one adjustment, with room for eight parts."""

from __future__ import annotations

from tests.accuracy.adjust_rows import ROWS, sweep


def test_after_one_adjustment_nearly_all_parts_are_within() -> None:
    found = sweep(ROWS[0], range(5000, 5004), 2)
    assert found.parts == 8
    assert found.within_where_reachable >= 7 / 8
    assert found.p95 < 2.0
    assert found.before < found.after
