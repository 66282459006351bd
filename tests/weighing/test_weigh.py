"""A recipe on the scale: worked examples, what is chosen, what is refused. Physics §12 and §13; job.md, "At the bench"."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from tests.weighing.letdown import letdown_spread
from tintmix.errors import NotThere, TintmixError, ValueProblem
from tintmix.resin import Part, Resin
from tintmix.weighing.bottle import CANCELS, StockBottle, bottles_from_text, bottles_text
from tintmix.weighing.errors import CannotBeWeighed
from tintmix.weighing.scales import Bench, Scale, bottle_spread, scales_from_text
from tintmix.weighing.weigh import weigh_out
from tintmix.weighing.weighed import WeighOut

RESIN = Resin("clear, invented", parts=(Part("A", 100, "isocyanate"), Part("B", 90)), takes_pigment="B")
POCKET = scales_from_text(["0.01"])
TWO = scales_from_text(["resin=0.1:0.1:2000", "pigment=0.001"])


def moves(*sizes: float, sections: int = 1) -> np.ndarray:
    """Pigments that each move the colour along an axis of their own (in turn), by so much ΔE00 by ln dose."""
    out = np.zeros((sections, 3, len(sizes)))
    for p, size in enumerate(sizes):
        out[:, p % 3, p] = size
    return out


def weigh(doses: dict[str, float], batch: float = 450.0, scales: Bench = POCKET, **more: object) -> WeighOut:
    more.setdefault("moves", moves(*(10.0 for _ in doses)))
    return weigh_out(doses, more.pop("resin", RESIN), batch, scales, **more)  # type: ignore[arg-type]


def test_the_example_of_the_contract() -> None:
    # formats.md, `sheet --json`: 450 g, azure 0.021 phr from 1+50 (0.4 g + 20 g): 4.82 g of it; A 236.84, B 213.16, of which
    # 208.43 to weigh.
    out = weigh({"azure": 0.021}, scales=scales_from_text(["resin=0.01", "pigment=0.001"]), moves=moves(40.0))
    letdown = out.letdowns[0]
    assert (letdown.name, letdown.pigment_g, letdown.carrier, letdown.carrier_g) == ("azure 1+50", 0.4, "B", 20.0)
    assert out.pigments[0].weigh_g == pytest.approx(4.82, abs=1.01e-3)
    assert [round(part.grams_total, 2) for part in out.parts] == [236.84, 213.16]
    assert [part.grams_to_weigh for part in out.parts] == [236.84, 208.43]
    assert out.achieved_phr["azure"] == pytest.approx(0.021, rel=1e-3)
    assert out.meets_aim


def test_dilution_by_hand() -> None:
    # What is dissolved stays: w₁m₁ = w₂m₂, the dilution equation C₁V₁ = C₂V₂ (OpenStax Chemistry 2e, 3.3) by mass.
    # A bottle of 0.4 g in 20 g has w₁ = 0.4/20.4; 0.0945 g of azure are then 0.0945 × 20.4/0.4 = 4.8195 g of it, of which
    # 4.8195 − 0.0945 = 4.725 g are part B; B's share of 450 g is 450 × 90/190 = 213.1579 g, so 208.4329 g are weighed.
    bottle = StockBottle("azure 1+50", "azure", "B", 0.4, 20.0, 20.0)
    out = weigh({"azure": 0.021}, shelf=[bottle], moves=moves(5.0))
    pigment, tinted = out.pigments[0], out.tinted_part
    assert pigment.letdown == "azure 1+50"
    assert pigment.weigh_g == 4.82
    assert pigment.grams == pytest.approx(0.0945, rel=1e-12)
    assert tinted.carrier_g == pytest.approx(4.82 * 20 / 20.4, rel=1e-12)
    assert tinted.grams_to_weigh == 208.43
    # 4.82 × 0.4/20.4 = 0.0945098 g in 450 g.
    assert out.achieved_phr["azure"] == pytest.approx(0.0210022, abs=1e-6)
    assert out.pigments[0].spread == pytest.approx(0.0362137, abs=1e-6)  # physics §12


def test_diluted_twice_by_hand() -> None:
    # 0.45 mg of azure from a 0.1 g scale: 1+10 and again 1+20 is 1 + (11 × 21 − 1) = 1+230.
    out = weigh({"azure": 1e-4 * 450 / 450}, scales=scales_from_text(["0.01"]), batch=450.0, moves=moves(20.0))
    first, second = out.letdowns
    assert second.from_letdown == first.name
    assert second.from_g == first.used_g
    w1 = first.pigment_g / (first.pigment_g + first.carrier_g)
    w2 = second.from_g / (second.from_g + second.carrier_g)
    assert second.share == pytest.approx(w1 * w2, rel=1e-12)
    assert second.n == pytest.approx(1 / (w1 * w2) - 1, rel=1e-8)
    assert second.pigment_g == pytest.approx(w1 * second.from_g, rel=1e-12)
    assert out.pigments[0].weigh_g * w1 * w2 == pytest.approx(4.5e-4, rel=0.01)
    u = Scale(0.01).spread_g
    by_hand = math.hypot(
        bottle_spread(first.pigment_g, first.carrier_g, u),
        letdown_spread(second.from_g, second.carrier_g, out.pigments[0].weigh_g, u),
    )
    assert out.pigments[0].spread == pytest.approx(by_hand, rel=1e-3)


def test_neat_where_the_scale_is_good_enough() -> None:
    out = weigh({"azure": 0.5}, moves=moves(20.0))  # 2.25 g: 0.65 %, ΔE00 0.26
    assert out.letdowns == ()
    assert out.pigments[0].letdown is None
    assert out.pigments[0].weigh_g == 2.25
    assert out.parts[1].carrier_g == 0.0
    assert out.meets_aim
    # With no place on the part given nothing speaks against neat.
    assert weigh({"azure": 0.03}, moves=np.zeros((0, 3, 1))).letdowns == ()


def test_only_the_pigment_that_matters_gets_a_bottle() -> None:
    out = weigh({"azure": 0.05, "rose": 0.05}, moves=moves(40.0, 0.5))
    assert [pigment.letdown is None for pigment in out.pigments] == [False, True]
    assert out.meets_aim
    assert out.budget[0].what.endswith("azure 1+20") or "azure" in out.budget[0].what
    assert [line.delta_e00 for line in out.budget] == sorted((line.delta_e00 for line in out.budget), reverse=True)


def test_bottles_can_be_stirred_and_weighed() -> None:
    for step in (0.001, 0.01, 0.1):
        for dose in (0.3, 0.03, 0.003):
            out = weigh({"azure": dose}, scales=scales_from_text([str(step)]), moves=moves(30.0))
            for letdown in out.letdowns:
                assert letdown.total_g >= 20
                assert letdown.first_g >= 10 * step - 1e-12
                assert letdown.total_g <= 152 or letdown.total_g <= 1.35 * letdown.used_g
                assert letdown.used_g <= letdown.total_g / 1.05


def test_a_coarse_scale_is_told_to_go() -> None:
    out = weigh({"azure": 0.021, "emerald": 0.01}, scales=scales_from_text(["0.1"]), moves=moves(25.0, 20.0))
    assert not out.meets_aim
    assert "get a scale that shows 0.01 g for the pigments" in out.advice[0]
    assert out.delta_e00_95_worst > 0.5


def test_the_shelf_comes_first() -> None:
    doses = {"azure": 0.021}
    plain = weigh(doses, moves=moves(20.0))
    made = plain.letdowns[0].as_bottle("2026-11-02", "A-17")
    assert made.spread(Scale(0.01).spread_g) == pytest.approx(plain.letdowns[0].spread)
    assert made.left_g == pytest.approx(plain.letdowns[0].total_g - plain.letdowns[0].used_g)
    older = StockBottle("old one", "azure", "B", 3.0, 150.0, 100.0, "2026-05-01", "A-17")
    wrong = [
        StockBottle("of A", "azure", "A", 3.0, 150.0, 100.0, "2025-01-01"),
        StockBottle("emerald", "emerald", "B", 3.0, 150.0, 100.0, "2025-01-01"),
        StockBottle("empty", "azure", "B", 3.0, 150.0, 0.0, "2025-01-01"),
        StockBottle("nearly", "azure", "B", 3.0, 150.0, 2.0, "2025-01-01"),
    ]
    out = weigh(doses, moves=moves(20.0), shelf=[*wrong, made, older], today="2026-12-01", lots={"azure": "A-17"})
    (used,) = out.letdowns
    assert used.name == "old one"
    assert used.existing
    assert used.age_days == 214
    assert used.left_g == pytest.approx(100.0 - out.pigments[0].weigh_g)
    # The one that is made gets a name that is not taken.
    taken = StockBottle(plain.letdowns[0].name, "azure", "B", 3.0, 150.0, 0.5)
    assert weigh(doses, moves=moves(20.0), shelf=[taken]).letdowns[0].name == f"{taken.name} (2)"


def test_strength_divides_the_weight() -> None:
    for strengths, factor in (({}, 1.0), ({"azure": (1.25, 0.03)}, 1.25), ({"azure": (0.8, 0.0)}, 0.8)):
        out = weigh({"azure": 0.5}, strengths=strengths)
        assert out.pigments[0].weigh_g == pytest.approx(2.25 / factor, abs=0.0051)
        assert out.achieved_phr["azure"] == pytest.approx(0.5, rel=0.004)
    assert out.budget[0].from_weighing
    spread = weigh({"azure": 0.5}, strengths={"azure": (1.25, 0.03)})
    assert not spread.budget[0].from_weighing
    assert spread.delta_e00_95_with_lots[0] > 3 * spread.delta_e00_95[0]
    assert spread.delta_e00_95_with_lots[0] == pytest.approx(1.96 * 0.03 * 10, rel=0.05)


def test_a_bottles_own_strength_goes_before_its_lots() -> None:
    measured = StockBottle("m", "azure", "B", 3.0, 150.0, 100.0, strength=0.9, strength_spread=0.01, lot="A-17")
    out = weigh({"azure": 0.021}, moves=moves(20.0), shelf=[measured], strengths={"azure": (1.25, 0.03)})
    assert out.pigments[0].grams == pytest.approx(0.0945 / 0.9)
    assert out.pigments[0].strength_spread == 0.01
    assert out.achieved_phr["azure"] == pytest.approx(0.021, rel=2e-3)
    plain = StockBottle("p", "azure", "B", 3.0, 150.0, 100.0, lot="A-17")
    of_lot = {"shelf": [plain], "strengths": {"azure": (1.25, 0.03)}, "moves": moves(20.0)}
    assert weigh({"azure": 0.021}, lots={"azure": "A-17"}, **of_lot).pigments[0].strength == 1.25
    for bottle in (plain, measured, replace(plain, strength_spread=CANCELS)):
        other = weigh({"azure": 0.021}, lots={"azure": "A-18"}, **{**of_lot, "shelf": [bottle]})
        assert not other.letdowns[0].existing
        assert other.pigments[0].grams == pytest.approx(0.0945 / 1.25)
        assert "made of lot A-17, and lot A-18 is in hand" in " ".join(other.advice)


@pytest.mark.parametrize("count", [1, 2, 3, 20])
@pytest.mark.parametrize("tinted", [0, -1])
def test_any_number_of_parts(count: int, tinted: int) -> None:
    parts = tuple(Part(f"P{i}", 1.0 + i) for i in range(count))
    resin = Resin(parts=parts, takes_pigment=parts[tinted].name if count > 1 else None)
    out = weigh({"azure": 0.03, "emerald": 0.02}, 500.0, resin=resin, moves=moves(10.0, 10.0))
    assert out.tinted_part.name == parts[tinted].name
    assert math.fsum(part.grams_total for part in out.parts) == pytest.approx(500.0, abs=1e-9)
    for part, given in zip(out.parts, parts, strict=True):
        assert part.grams_total == pytest.approx(500.0 * given.parts_by_weight / sum(p.parts_by_weight for p in parts))
        assert part.grams_to_weigh + part.carrier_g == pytest.approx(part.grams_total, abs=0.00501)


def test_a_small_tinted_part_gets_a_stronger_bottle() -> None:
    small = Resin(parts=(Part("A", 98), Part("B", 2)), takes_pigment="B")
    out = weigh({"azure": 0.03}, 450.0, resin=small, moves=moves(10.0))
    assert out.tinted_part.grams_total == pytest.approx(9.0)
    assert 0 < out.tinted_part.carrier_g <= 0.8 * 9.0 + 0.02
    assert out.letdowns[0].n < weigh({"azure": 0.03}, 450.0, moves=moves(10.0)).letdowns[0].n or out.letdowns[0].n <= 50


def test_by_volume_is_by_weight() -> None:
    by_volume = Resin(parts=(Part("A", 0, "none", 1.15, 2), Part("B", 0, "none", 0.95, 1)), takes_pigment="A")
    out = weigh({}, 325.0, resin=by_volume, moves=np.zeros((1, 3, 0)))
    assert [part.grams_total for part in out.parts] == pytest.approx([230.0, 95.0])


def test_two_scales_share_the_work() -> None:
    resin = Resin(parts=(Part("A", 100, "styrene"), Part("cat", 1.0, "peroxide")), takes_pigment="A")
    out = weigh({"azure": 0.021}, 300.0, TWO, resin=resin)
    assert [part.scale for part in out.parts] == ["resin", "pigment"]
    assert out.parts[1].grams_to_weigh == 2.97
    assert out.pigments[0].scale == "pigment"
    assert out.scale("resin").readability_g == 0.1


def test_more_than_a_scale_holds_is_split() -> None:
    scales = scales_from_text(["0.01:0.01:200"])
    out = weigh({"azure": 0.5}, 800.0, scales)
    for part in out.parts:
        assert len(part.portions) > 1
        assert max(part.portions) <= 180.0
        assert math.fsum(part.portions) == pytest.approx(part.grams_to_weigh, abs=1e-9)
        assert max(part.portions) - min(part.portions) < 0.0101


def test_a_mix_ratio_that_the_scale_cannot_hold_is_told() -> None:
    out = weigh({}, 40.0, scales_from_text(["1"]), moves=np.zeros((0, 3, 0)))
    assert "leaves the mix ratio uncertain by" in " ".join(out.advice)
    assert out.mix_ratio_spread > 0.01


def test_where_the_resin_is_weighed_too_coarsely_a_finer_scale_for_it_is_named() -> None:
    """One part of 100 g on a scale of 1 g: u = √2·√(1/12 + 1) g, so 1.47 % of the whole; no pigment scale betters that."""
    resin = Resin(parts=(Part("resin", 1),))
    out = weigh({"azure": 0.02}, 120.0, scales_from_text(["resin=1", "pigment=0.001"]), resin=resin, moves=moves(30.0))
    assert not out.meets_aim
    assert "weighing the resin: use a finer scale for it" in out.advice[0]


def test_what_a_bottle_is_told_to_hold_is_what_it_holds() -> None:
    """1 + n in the keys of formats.md: pigment_g in all_carrier_g, diluted twice too (C₁V₁ = C₂V₂ by mass)."""
    out = weigh({"azure": 0.002}, 30.0, scales_from_text(["0.01"]), moves=moves(25.0))
    first, second = out.letdowns
    assert second.from_letdown == first.name
    assert first.all_carrier_g == first.carrier_g
    strong = first.pigment_g / (first.pigment_g + first.carrier_g)
    weak = second.from_g * strong / (second.from_g + second.carrier_g)
    assert second.pigment_g / (second.pigment_g + second.all_carrier_g) == pytest.approx(weak, rel=1e-12)
    assert second.n == pytest.approx(second.all_carrier_g / second.pigment_g, rel=1e-6)
    assert out.pigments[0].weigh_g * weak / 30.0 * 100 == pytest.approx(0.002, rel=0.01)


def test_zero_doses_are_left_out() -> None:
    out = weigh({"azure": 0.0, "emerald": 0.5, "rose": 0.0}, moves=moves(1.0, 2.0, 3.0))
    assert list(out.achieved_phr) == ["emerald"]
    assert len(out.pigments) == 1


@pytest.mark.parametrize(
    ("cause", "said", "more"),
    [
        (ValueProblem, "the batch is -5", {"batch": -5.0}),
        (ValueProblem, "the batch is nan", {"batch": math.nan}),
        (ValueProblem, "the aim", {"aim_delta_e00": 0.0}),
        (ValueProblem, "the dose of azure is -0.02", {"doses": {"azure": -0.02}}),
        (ValueProblem, "the dose of azure", {"doses": {"azure": math.inf}}),
        (ValueProblem, "the strength of azure is 0", {"strengths": {"azure": (0.0, 0.1)}}),
        (ValueProblem, "relative spread of azure's strength is nan", {"strengths": {"azure": (1.0, math.nan)}}),
        (NotThere, "its parts and their weights are not given", {"resin": Resin()}),
        (NotThere, "takes_pigment is missing", {"resin": Resin(parts=RESIN.parts)}),
        (ValueProblem, "from 0.1 to 1000000 g", {"batch": 0.05}),
        (CannotBeWeighed, "not even from a stock bottle", {"doses": {"azure": 1e-9}, "batch": 50.0}),
        (CannotBeWeighed, "more of part B than there is room for", {"batch": 0.4}),
        (CannotBeWeighed, "20 weighings", {"batch": 1e5, "scales": scales_from_text(["0.01:0.01:200"])}),
    ],
)
def test_bad_input(cause: type[TintmixError], said: str, more: dict[str, object]) -> None:
    with pytest.raises(cause) as error:
        weigh(more.pop("doses", {"azure": 0.02}), **more)  # type: ignore[arg-type]
    assert said in str(error.value)
    assert "\n" not in str(error.value)


def test_what_is_said_to_be_enough_is_enough() -> None:
    for doses, batch, scale in (
        ({"azure": 0.02}, 0.4, "0.01"),
        ({"azure": 0.002, "red": 0.01}, 3.0, "0.1"),
        ({"b": 1e-4}, 9.0, "0.1"),
    ):
        with pytest.raises(TintmixError) as error:
            weigh(doses, batch, scales_from_text([scale]))
        enough = float(str(error.value.facts["enough"]))
        weigh(doses, enough, scales_from_text([scale]))
        with pytest.raises(TintmixError):
            weigh(doses, 0.85 * enough, scales_from_text([scale]))


@pytest.mark.parametrize(
    ("texts", "resin", "pigment"),
    [
        (["0.01"], 0.01, 0.01),
        (["resin=0.1"], 0.1, 0.1),
        (["pigment=0.001"], 0.1, 0.001),
        (["pigment=0.001", "resin=0.1:0.1:2000"], 0.1, 0.001),
        (["0.1", "pigment=0.001"], 0.1, 0.001),
        (["0.001", "Resin = 0,5"], 0.5, 0.001),
    ],
)
def test_scales(texts: list[str], resin: float, pigment: float) -> None:
    scales = scales_from_text(texts)
    assert (scales.resin.readability_g, scales.pigment.readability_g) == (resin, pigment)


@pytest.mark.parametrize(
    "texts",
    [[], ["resn=0.1"], ["0.1", "0.01"], ["resin=0.1", "resin=0.1"], ["0.1", "resin=1", "pigment=1"], ["resin="]],
)
def test_scales_that_are_none(texts: list[str]) -> None:
    with pytest.raises(ValueProblem):
        scales_from_text(texts)


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"name": ""}, "its name"),
        ({"pigment_g": 0.0}, "its pigment_g"),
        ({"carrier_g": -1.0}, "its carrier_g"),
        ({"left_g": -1.0}, "its left_g"),
        ({"left_g": 30.0}, "30 g are left"),
        ({"strength": 0.0}, "its strength"),
        ({"strength_spread": math.nan}, "its strength_spread"),
        ({"made_on": "yesterday"}, "no date"),
    ],
)
def test_bottles_that_cannot_be(changed: dict[str, object], said: str) -> None:
    table = {"name": "b", "pigment": "azure", "carrier": "B", "pigment_g": 0.4, "carrier_g": 20.0, "left_g": 20.0}
    with pytest.raises(ValueProblem, match=said):
        StockBottle(**{**table, **changed})  # type: ignore[arg-type]


def test_a_bottle_of_the_chips_is_not_of_the_lot_in_hand() -> None:
    """The model counts its doses by that very bottle: 0.0945 g of azure for 450 g, whatever a new lot's strength is."""
    own = StockBottle("azure 1+30", "azure", "B", 1.0, 30.0, 20.0, strength_spread=CANCELS)
    new = {"moves": moves(20.0), "strengths": {"azure": (1.108, 0.01)}, "lots": {"azure": "T-2"}}
    named = weigh({"azure": 0.021}, shelf=[own], **new)
    assert not named.letdowns[0].existing
    assert "what the chips were dosed with, and lot T-2 is in hand" in " ".join(named.advice)
    out = weigh({"azure": 0.021}, shelf=[own], **{**new, "lots": {}})
    assert out.pigments[0].letdown == "azure 1+30"
    assert out.pigments[0].strength == out.letdowns[0].strength == 1.0
    assert out.pigments[0].grams == pytest.approx(0.0945, rel=1e-9)
    unsaid = weigh({"azure": 0.021}, shelf=[replace(own, strength_spread=0.0)], **new)
    assert not unsaid.letdowns[0].existing
    assert "nobody says which lot it was made of, and lot T-2 is in hand" in " ".join(unsaid.advice)


def test_a_bottle_of_another_resin_stands() -> None:
    resin = Resin(parts=(Part("A", 100, "isocyanate"), Part("B", 90)), takes_pigment="B", name="casting two")
    bottle = StockBottle("azure 1+30", "azure", "B", 1.0, 30.0, 20.0, strength_spread=CANCELS, resin="casting one")
    more = {"moves": moves(20.0), "resin": resin}
    other = weigh({"azure": 0.021}, shelf=[bottle], **more)
    assert not other.letdowns[0].existing
    assert "it was made with another resin, casting one" in " ".join(other.advice)
    assert weigh({"azure": 0.021}, shelf=[replace(bottle, resin="casting two")], **more).letdowns[0].existing
    unsaid = replace(bottle, resin="")
    assert weigh({"azure": 0.021}, shelf=[unsaid], **more).letdowns[0].existing
    assert not weigh({"azure": 0.021}, shelf=[unsaid], is_other_resin=True, **more).letdowns[0].existing


def test_why_a_bottle_is_not_used() -> None:
    low = StockBottle("azure 1+30", "azure", "B", 1.0, 30.0, 1.0)
    rose = StockBottle("rose 1+30", "rose", "B", 1.0, 30.0, 1.0)
    told = " ".join(weigh({"azure": 0.021}, shelf=[low, rose], moves=moves(20.0)).advice)
    # 0.0945 g of azure are 0.0945 × 31 = 2.93 g of the bottle.
    assert "azure 1+30 (1 g left) is not used: there is too little left in it, 2.93 g would be needed" in told
    assert "rose" not in told
    assert "it is not needed" in " ".join(weigh({"azure": 0.5}, shelf=[low], moves=moves(1.0)).advice)


def test_a_table_of_bottles_keeps_their_resin_and_one_without_opens() -> None:
    bottle = StockBottle("azure 1+50", "azure", "B", 0.4, 20.0, 15.4, resin="casting one")
    text = bottles_text([bottle])
    assert bottles_from_text(text, "bottles.csv")[0][0].resin == "casting one"
    before = "bottle,pigment,lot,carrier,pigment_g,carrier_g,used_g\nazure 1+50,azure,,B,0.4,20,5\n"
    assert bottles_from_text(before, "bottles.csv")[0][0].resin == ""
