"""The chance that `solve` tells of a recipe, a reduced sweep of `chance_rows`: it is not told too high."""

from __future__ import annotations

import numpy as np

from tests.accuracy.chance_rows import FAMILIES, of_set


def test_recipes_come_at_least_as_often_as_told() -> None:
    every = [told for at in range(4) for told in of_set("colours", 5000 + at, FAMILIES[at])]
    chance, came = np.array([one.chance for one in every]), np.array([one.came for one in every])
    assert len(every) >= 30
    # Sets err as one: four tell a share to some 10 %.
    assert came.mean() >= chance.mean() - 0.2
    # And chances tell recipes that come from others: by 60 sets, 100 % of those told more than 90, under 5 % of those below 10.
    assert came[chance > 0.9].mean() >= 0.8
    assert came[chance < 0.1].mean() <= 0.2
