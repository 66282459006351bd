"""Bands on real dyed films and glasses, a reduced sweep of `truth_rows`: wide enough for three sets, not for a wrong model."""

from __future__ import annotations

import numpy as np
import pytest

from tests.accuracy.truth_rows import ROWS, found
from tests.authorities.compared import compared


@pytest.mark.parametrize("row", [ROWS[0], ROWS[5], ROWS[-3]], ids=lambda row: row.name)
def test_truth_lies_in_the_bands_of_thick_castings(row) -> None:  # type: ignore[no-untyped-def]
    sets = [found(row, seed) for seed in range(5000, 5003)]
    # Over 60 sets the rows cover 93 % and more; three vary by some 9 %.
    assert np.mean([one.inside for one in sets]) >= 0.8
    source = "measured films of authorities/dyed_films.csv; the truth is made from them at 1 nm"
    median = float(np.median([one.median for one in sets]))
    compared(f"{row.name}: ΔE00 at 36 to 60 mm, median of three sets", median, 0.0, within=1.0, source=source)
    # And not by widening: three times the median error, four where steep bands could stand between readings; room for three sets.
    most = 5 if "wavelengths_nm" in row.how else 4
    assert np.median([one.band for one in sets]) <= most * np.median([one.median for one in sets])
