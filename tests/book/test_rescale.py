"""A kept recipe for another ratio or lot: dose/strength, and phr of mixed resin whatever the ratio."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.book.books import RESIN, recipe
from tintmix.book.rescale import rescaled
from tintmix.errors import ValueProblem
from tintmix.resin import Part


def test_a_stronger_lot_is_weighed_less() -> None:
    """C₁V₁ = C₂V₂ by mass (dilution arithmetic, any chemistry textbook): 0.021 phr at strength 1 = 0.0194… at 1.08."""
    mine = recipe()
    done = rescaled(mine, lots={"azure": "A-18"}, strengths={"azure": 1.08})
    assert done.weighed_phr["azure"] * 1.08 == pytest.approx(0.021, abs=1e-15)
    assert done.weighed_phr["emerald"] == mine.doses_phr["emerald"]
    assert done.recipe.doses_phr == mine.doses_phr  # the pigment of the chips
    assert done.recipe.lots == {"azure": "A-18", "emerald": "E-04"}
    assert mine.lots["azure"] == "A-17"
    assert done.recipe.digest() != mine.digest()
    assert "0.021/1.08 = 0.01944 phr" in done.says[0]


def test_a_lot_that_nobody_measured() -> None:
    done = rescaled(recipe(), lots={"azure": "A-19"})
    assert done.weighed_phr["azure"] == 0.021
    assert "check chip" in done.says[0]


def test_another_ratio_leaves_the_doses() -> None:
    """100 : 90 to 100 : 50 by weight; part B is 50/150 of the mix, so 0.021 phr are 0.063 g per 100 g of part B."""
    resin = replace(RESIN, parts=(Part("A", 100, "isocyanate"), Part("B", 50)))
    done = rescaled(recipe(), resin)
    assert done.recipe.resin == resin
    assert done.recipe.doses_phr == recipe().doses_phr
    told = " ".join(done.says)
    assert "azure 0.063" in told
    assert "33.33 g of each 100 g mixed" in told
    assert "trial chip" not in told


def test_another_resin_is_warned_of() -> None:
    resin = replace(RESIN, name="another, invented", refractive_index=1.55, max_total_phr=0.03)
    told = " ".join(rescaled(recipe(), resin).says)
    assert "trial chip" in told
    assert "at most 0.03" in told


def test_what_cannot_be() -> None:
    with pytest.raises(ValueProblem, match="nothing would change"):
        rescaled(recipe())
    with pytest.raises(ValueProblem, match="azure, emerald"):
        rescaled(recipe(), lots={"red": "R-1"})
    with pytest.raises(ValueProblem, match="above 0"):
        rescaled(recipe(), lots={"azure": "A-18"}, strengths={"azure": 0.0})
