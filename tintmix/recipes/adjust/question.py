"""What is asked about a tinted part that came out off."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from tintmix.errors import Remedy, ValueProblem
from tintmix.quantities import PRICE_PER_G
from tintmix.recipes.adjust.belief import LOT_SPREAD, Trial
from tintmix.recipes.adjust.choice import GOOD
from tintmix.recipes.adjust.pot import Shares, TintedPart, check_weight
from tintmix.weighing.bottle import StockBottle
from tintmix.weighing.scales import LEAST_STEPS, USUAL, Bench, scales_from_text


@dataclass(frozen=True, slots=True)
class Question:
    """What `adjust` is asked. also: pigments beside the recipe's that may be added. need_g: mixed resin that the pour needs;
    None: all that the pot makes. prices: per gram, by pigment, and "resin". pot_life_min: None where nobody says."""

    part: TintedPart
    trials: tuple[Trial, ...]
    shares: Shares
    bench: Bench = field(default_factory=lambda: scales_from_text(USUAL))
    bottles: tuple[StockBottle, ...] = ()
    strengths: Mapping[str, tuple[float, float]] = field(default_factory=dict)
    lot_spread: float = LOT_SPREAD
    also: tuple[str, ...] = ()
    need_g: float | None = None
    prices: Mapping[str, float] = field(default_factory=dict)
    pot_life_min: float | None = None
    good: float = GOOD

    def __post_init__(self) -> None:
        if self.need_g is not None:
            check_weight("the resin that the pour needs", self.need_g)
        step = self.bench.finest_g
        if self.part.left_g < LEAST_STEPS * step:
            raise ValueProblem(
                what=f"{self.part.left_g:g} g of tinted resin are too little for a scale that shows {step:g} g: at least "
                f"{LEAST_STEPS * step:g} g must be left",
                remedy=Remedy.TINT_ANEW,
            )
        for what, price in self.prices.items():
            PRICE_PER_G.check(f"the price of {what}", price)
