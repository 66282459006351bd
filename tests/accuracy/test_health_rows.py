"""The program that asks contradictory sets, on two; and what such models are kept as."""

from __future__ import annotations

from typing import Any

from tests.accuracy.health_rows import health_row, shuffled
from tests.simulation import make_set, to_chipset
from tintmix.files.plain import finite
from tintmix.pigments.fit import fit
from tintmix.pigments.model_file import model_from_table, model_to_table


def test_a_short_row_of_shuffled_readings() -> None:
    row = health_row(range(5100, 5102), shuffled)
    assert row.told == row.sets
    assert min(row.table.band, row.table.ellipsoid) >= 0.9


def test_a_model_spread_as_far_as_can_be_is_read_again() -> None:
    chips = to_chipset(make_set(5000, "spectrum", family="new film", pairs=3))
    model = fit(shuffled(chips, 5000))
    table: dict[str, Any] = {"format": 1, "is": "tintmix model", **finite(model_to_table(model))}
    assert model_from_table(table, "here").pigments == model.pigments
