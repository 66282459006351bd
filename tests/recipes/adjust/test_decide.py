"""What to do about a pot that is off: outcomes, weights, and the page's example by hand."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from tests.recipes.shelf import make_model
from tintmix.chips.chip import Reading
from tintmix.errors import FileProblem, Note, ValueProblem
from tintmix.faces.remedies import told_in_shell, told_on_page
from tintmix.pigments.health import health
from tintmix.pigments.model import TintModel
from tintmix.recipes.adjust.answer import Adjustment, Outcome
from tintmix.recipes.adjust.belief import Trial, trial_set
from tintmix.recipes.adjust.decide import adjust, aimed, falls_short
from tintmix.recipes.adjust.pot import Shares, TintedPart, as_weighed, check_left, shares_of
from tintmix.recipes.adjust.question import Question
from tintmix.recipes.recipe_file import make_recipe
from tintmix.recipes.solve import solve
from tintmix.recipes.target import Target, TargetSection
from tintmix.resin import Part, Resin
from tintmix.weighing.bottle import StockBottle
from tintmix.weighing.scales import Bench, Scale

SHARES = Shares("B", 0.45, (("A", 0.55),))
BENCH = Bench(Scale(0.1), Scale(0.01))
PAGE = (Path(__file__).resolve().parents[3] / "docs" / "my-trial-is-off.md").read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def model() -> TintModel:
    return make_model(3, seed=7, draws=120, spread=0.02)


def recipe_doses(model: TintModel) -> dict[str, float]:
    share = -math.log10(0.5) / 12 / 3 / model.absorptivity.mean(axis=1)
    return dict(zip(model.pigments, share.tolist(), strict=True))


def target_of(model: TintModel, doses: dict[str, float], tolerance: float = 1.5) -> Target:
    look = model.look(doses, [4.0, 20.0])
    return Target(
        tuple(
            TargetSection(f"{mm:g} mm", mm, lab=tuple(map(float, colour)), tolerance=tolerance)
            for mm, colour in zip((4.0, 20.0), look.lab, strict=True)
        )
    )


def asked(
    model: TintModel,
    factors: tuple[float, float, float],
    left_g: float = 200.0,
    pot_g: float | None = 500.0,
    mixed: float | None = None,
    **more: object,
) -> tuple[Adjustment, Question]:
    """What is advised where the pot really holds the recipe times these factors."""
    doses = recipe_doses(model)
    really = {p: dose * f for (p, dose), f in zip(doses.items(), factors, strict=True)}
    read = tuple(model.look(really, [20.0]).lab[0].tolist())
    chips = trial_set(Reading("colour"), [(20.0, read)], doses, model.refractive_index)
    part = TintedPart(doses, left_g, pot_g, {}, mixed)
    question = Question(part, (Trial(doses, chips, {}),), SHARES, Bench(Scale(0.1), Scale(0.01)), **more)  # type: ignore[arg-type]
    return adjust(model, target_of(model, doses), question), question


def test_a_pot_that_is_right_is_left_alone(model: TintModel) -> None:
    found, _ = asked(model, (1.0, 1.0, 1.0))
    assert found.outcome is Outcome.KEEP
    assert found.says.startswith("leave it: it is likely within tolerance")
    assert found.additions == ()
    assert found.plain_g == 0
    assert found.before == found.after
    assert found.chance_before >= 0.95


def test_a_weak_pigment_is_topped_up_and_nothing_else(model: TintModel) -> None:
    found, question = asked(model, (0.8, 1.0, 1.0))
    assert found.outcome is Outcome.TOP_UP
    assert {one.pigment for one in found.additions} == {"p0"}
    assert found.plain_g == 0
    assert found.chance_after >= 0.95 > found.chance_before
    # About what is missing: a fifth of what was weighed, at most, in the strength of this lot.
    missing = 0.2 / 0.8 * question.part.doses_phr["p0"] * found.mixed_g / 100
    added = sum(one.pigment_g for one in found.additions)
    assert 0.3 * missing < added < 1.2 * missing
    assert found.strengths["p0"].factor == pytest.approx(0.8, rel=0.05)
    # The target itself, and not the edge of its tolerance: what is left is the scale's.
    assert max(one.delta_e00 for one in found.after) < 0.4


def test_weights_are_steps_of_the_scale_and_the_ratio_is_exact(model: TintModel) -> None:
    for factors in ((0.8, 0.85, 1.0), (1.25, 0.9, 1.0), (1.2, 1.1, 1.3)):
        found, question = asked(model, factors)
        assert found.outcome in (Outcome.TOP_UP, Outcome.DILUTE)
        for one in found.additions:
            assert one.weigh_g / 0.01 == pytest.approx(round(one.weigh_g / 0.01), abs=1e-6)
            assert one.pigment_g + one.carrier_g == pytest.approx(one.weigh_g, abs=1e-12)
            assert one.spread <= 0.16
        assert found.plain_g / 0.1 == pytest.approx(round(found.plain_g / 0.1), abs=1e-6)
        # The carrier counts to its part, the pigment does not (physics §13).
        resin = SHARES.resin_g(question.part) + found.plain_g + sum(one.carrier_g for one in found.additions)
        ((name, grams),) = found.other_parts
        assert name == "A"
        assert grams == pytest.approx(resin * 0.55 / 0.45, abs=1e-9)
        assert found.mixed_g == pytest.approx(resin + grams, abs=1e-9)
        assert found.tinted_g == pytest.approx(
            question.part.left_g + found.plain_g + sum(one.weigh_g for one in found.additions), abs=1e-9
        )


def test_too_strong_is_diluted_by_c1v1_and_topped_up(model: TintModel) -> None:
    """C₁V₁ = C₂V₂ by mass: a pot 1.25 times too strong in one pigment needs 0.25 of its resin more, and the others topped up
    by the same."""
    found, question = asked(model, (1.25, 1.0, 1.0))
    assert found.outcome is Outcome.DILUTE
    assert "pigment cannot be taken out" in found.says
    resin = SHARES.resin_g(question.part)
    added = found.plain_g + sum(one.carrier_g for one in found.additions)
    # Less than all of it, since only as much is diluted as brings it within tolerance.
    assert 0.05 * resin < added < 0.27 * resin
    assert found.chance_after > 0.9
    assert found.tinted_g <= 500.0


def test_in_a_small_pot_some_of_it_is_taken_out_first(model: TintModel) -> None:
    """What is taken out and what goes in: mass balance, by hand, and the ratio of physics §13."""
    found, question = asked(model, (1.5, 1.0, 1.0), pot_g=205.0)
    assert found.outcome is Outcome.DILUTE
    assert 0 < found.aside_g < 100
    added = found.plain_g + sum(one.weigh_g for one in found.additions)
    assert found.tinted_g == pytest.approx(200.0 - found.aside_g + added, abs=1e-9)
    assert 195.0 < found.tinted_g <= 205.0
    resin = SHARES.resin_g(question.part) * (1 - found.aside_g / 200.0)
    resin += found.plain_g + sum(one.carrier_g for one in found.additions)
    assert found.other_parts[0][1] == pytest.approx(resin * 0.55 / 0.45, abs=1e-9)
    assert f"Take {found.aside_g:.1f} g" in found.says
    assert any(step.startswith(f"Take {found.aside_g:.1f} g of it out") for step in found.order)
    assert found.costs["adjust"].resin_g < 0.5 * found.costs["start_again"].resin_g
    roomy, _ = asked(model, (1.5, 1.0, 1.0), pot_g=500.0)
    assert roomy.aside_g == 0
    # As strong a dilution, in a smaller pot.
    assert found.tinted_g / (200.0 - found.aside_g) == pytest.approx(roomy.tinted_g / 200.0, rel=0.05)


def test_a_full_pot_makes_room_for_a_top_up(model: TintModel) -> None:
    found, _ = asked(model, (0.8, 0.85, 1.0), left_g=60.0, pot_g=60.0)
    assert found.outcome is Outcome.TOP_UP
    assert 0 < found.aside_g < 10
    assert 55.0 < found.tinted_g <= 60.0


def test_no_more_is_diluted_than_the_pour_needs(model: TintModel) -> None:
    """All lots twice as strong, which is held for possible here."""
    every, _ = asked(model, (2.2, 2.1, 2.2), pot_g=2000.0, lot_spread=0.4)
    assert every.outcome is Outcome.DILUTE
    assert every.costs["adjust"].resin_g < every.costs["start_again"].resin_g
    assert every.mixed_g == pytest.approx(444.0, rel=0.01)
    few, _ = asked(model, (2.2, 2.1, 2.2), pot_g=2000.0, lot_spread=0.4, need_g=150.0)
    assert 150.0 <= few.mixed_g < 155.0
    assert few.aside_g > every.aside_g > 0


def test_a_pot_far_too_strong_means_starting_again(model: TintModel) -> None:
    """Ten times overweighed, and told so: less than a tenth of the next batch would be what is there."""
    doses = {p: 10 * dose for p, dose in recipe_doses(model).items()}
    read = tuple(model.look(doses, [4.0]).lab[0].tolist())
    chips = trial_set(Reading("colour"), [(4.0, read)], doses, model.refractive_index)
    question = Question(TintedPart(doses, 200.0, 400.0), (Trial(doses, chips, {}),), SHARES)
    found = adjust(model, target_of(model, recipe_doses(model)), question)
    assert found.outcome is Outcome.START_AGAIN
    assert found.additions == found.other_parts == found.order == ()
    assert "adjust" not in found.costs
    assert found.as_table()["costs"]["adjust"] is None
    assert found.costs["start_again"].resin_g == pytest.approx(SHARES.resin_g(question.part))
    assert found.next_doses_phr["p0"] == pytest.approx(recipe_doses(model)["p0"], rel=0.2)


def test_costs_in_money_only_where_every_price_is_known(model: TintModel) -> None:
    prices = {"p0": 0.2, "p1": 0.3, "p2": 0.4}
    some, _ = asked(model, (1.25, 1.0, 1.0), prices=prices)
    assert some.costs["start_again"].money is None
    every, _ = asked(model, (1.25, 1.0, 1.0), prices={**prices, "resin": 0.02})
    cost = every.costs["start_again"]
    assert cost.money == pytest.approx(0.02 * cost.resin_g + sum(prices[p] * g for p, g in cost.pigments_g.items()))


def test_mixed_and_past_its_pot_life(model: TintModel) -> None:
    for life in (8.0, None):
        found, _ = asked(model, (0.8, 1.0, 1.0), mixed=9.0, pot_life_min=life)
        assert found.outcome is Outcome.TOO_LATE
        # Whether it is too late is known only where a pot life is.
        assert found.says.startswith("too late: " if life else "add nothing to it: it is mixed, and the resin's file")
        assert not re.search(r"\d g|\bp0\b", found.says)
        assert found.additions == ()
        assert found.other_parts == ()
        assert found.next_doses_phr["p0"] == pytest.approx(recipe_doses(model)["p0"] / 0.8, rel=0.08)


def test_mixed_within_its_pot_life_nothing_that_spoils_the_ratio_goes_in(model: TintModel) -> None:
    thinned, _ = asked(model, (1.3, 1.0, 1.0), mixed=2.0, pot_life_min=40.0)
    assert thinned.outcome is Outcome.TOO_LATE
    kept, _ = asked(model, (1.0, 1.0, 1.0), mixed=2.0, pot_life_min=40.0)
    assert kept.outcome is Outcome.KEEP
    neat, _ = asked(model, (0.8, 1.0, 1.0), left_g=20_000.0, pot_g=None, mixed=2.0, pot_life_min=40.0)
    assert neat.outcome is Outcome.TOP_UP
    assert all(not one.letdown for one in neat.additions)
    assert "38 minutes" in " ".join(neat.warnings)


def test_a_bottle_that_is_there_is_used(model: TintModel) -> None:
    stock = StockBottle("p0 1+50", "p0", "B", 1.0, 50.0, 30.0)
    found, _ = asked(model, (0.8, 1.0, 1.0))
    doses = recipe_doses(model)
    read = tuple(model.look({**doses, "p0": 0.8 * doses["p0"]}, [20.0]).lab[0].tolist())
    chips = trial_set(Reading("colour"), [(20.0, read)], doses, model.refractive_index)
    question = Question(TintedPart(doses, 200.0), (Trial(doses, chips, {}),), SHARES, bottles=(stock,))
    found = adjust(model, target_of(model, doses), question)
    assert [one.letdown for one in found.additions] == ["p0 1+50"]
    assert found.additions[0].made is None
    assert found.additions[0].carrier_g == pytest.approx(found.additions[0].weigh_g * 50 / 51)


def test_another_pigment_may_be_allowed(model: TintModel) -> None:
    doses = {"p0": recipe_doses(model)["p0"] * 2}
    wanted = {**doses, "p1": recipe_doses(model)["p1"]}
    chips = trial_set(
        Reading("colour"), [(20.0, tuple(model.look(doses, [20.0]).lab[0].tolist()))], doses, model.refractive_index
    )
    question = Question(TintedPart(doses, 200.0), (Trial(doses, chips, {}),), SHARES)
    without = adjust(model, target_of(model, wanted), question)
    with_it = adjust(model, target_of(model, wanted), replace(question, also=("p1",), strengths={"p1": (1.0, 0.01)}))
    assert with_it.chance_after > 0.9 > without.chance_after
    assert "p1" in {one.pigment for one in with_it.additions}
    with pytest.raises(ValueProblem, match=r"no pigment"):
        adjust(model, target_of(model, wanted), replace(question, also=("lilac",)))


def test_a_reading_that_cannot_be_right_is_doubted(model: TintModel) -> None:
    found, _ = asked(model, (3.0, 0.3, 1.0))
    assert found.says.startswith("read the chip again first")
    assert any("check what was weighed, the chip's label" in str(one) for one in found.warnings)


@pytest.mark.parametrize(
    ("own_mm", "mm", "warned"), [(None, 4.4, False), (None, 8.0, True), (6.0, 6.5, False), (2.0, 4.0, True)]
)
def test_a_trial_too_thick_for_its_tile_is_warned_of(
    model: TintModel, own_mm: float | None, mm: float, warned: bool
) -> None:
    if own_mm is not None:
        told = health([False], made_for={"thickest_mm": own_mm, "on_tile": True})
        model = replace(model, report={"health": told.as_table()})
    doses = recipe_doses(model)
    reading = Reading("colour", relative_to="white tile", tile_lab=(95.0, 0.0, 1.0))
    chips = trial_set(reading, [(mm, (60.0, 0.0, 0.0))], doses, model.refractive_index)
    question = Question(TintedPart(doses, 200.0, 500.0), (Trial(doses, chips, {}),), SHARES, BENCH)
    said = [one for one in map(str, adjust(model, target_of(model, doses), question).warnings) if "white tile" in one]
    assert bool(said) is warned


def test_of_chips_that_contradict_each_other_no_chance_is_told(model: TintModel) -> None:
    kept = health([True, False, False])
    for factors in ((1.0, 1.0, 1.0), (0.7, 1.0, 1.0), (1.25, 1.2, 1.2)):
        found, _ = asked(replace(model, report={"health": kept.as_table()}), factors)
        sound, _ = asked(model, factors)
        body, told = found.as_table(), (found.says, *found.order)
        assert set(body["chance_within_tolerance"].values()) == {None}
        assert {one["chance_within_tolerance"] for one in body["sections_before"] + body["sections_after"]} == {None}
        assert kept.says in found.warnings
        assert "chance" not in " ".join(told)
        assert (found.additions, found.tells_chance, sound.tells_chance) == (sound.additions, False, True)
        assert "chance" in sound.says


def test_the_same_question_has_the_same_answer(model: TintModel) -> None:
    one, two = (asked(model, (1.2, 0.9, 1.0))[0].as_table() for _ in range(2))
    assert one == two


def test_loading_and_own_limits_hold(model: TintModel) -> None:
    doses = recipe_doses(model)
    tight = replace(model, max_phr=np.array([0.9 * doses["p0"], np.inf, np.inf]))
    found, _ = asked(tight, (0.7, 1.0, 1.0))
    added = sum(one.pigment_g for one in found.additions if one.pigment == "p0")
    assert added == 0.0
    assert found.next_doses_phr["p0"] <= 0.9 * doses["p0"] * (1 + 1e-9)


def test_nothing_outside_the_pot_or_the_scale(model: TintModel) -> None:
    for room in (0.0, 3.0):
        found, _ = asked(model, (0.8, 0.85, 1.0), left_g=60.0, pot_g=60.0 + room)
        assert found.tinted_g <= 60.0 + room + 1e-9
    found, question = asked(model, (1.3, 1.0, 1.0), left_g=2000.0, pot_g=4000.0)
    assert found.outcome is Outcome.DILUTE
    small = replace(question, bench=Bench(Scale(0.1, None, 200.0), Scale(0.01, None, 20.0)))
    again = adjust(model, target_of(model, recipe_doses(model)), small)
    assert again.plain_g > 200
    assert any(f"weigh them in {math.ceil(again.plain_g / 180)} goes" in str(one) for one in again.warnings)


# What it aims at -------------------------------------------------------------------------------------------------------


def test_it_aims_at_the_wanted_colour_or_where_the_recipe_falls_short_at_what_it_promised(model: TintModel) -> None:
    doses = recipe_doses(model)
    near = target_of(model, doses)
    recipe = make_recipe(model, near, solve(model, near).proposals[0])
    assert not falls_short(recipe)
    assert aimed(recipe).sections[0].lab == pytest.approx(near.sections[0].lab)
    assert aimed(recipe).sections[0].tolerance == 1.5
    far = Target((TargetSection("a", 20.0, lab=(60.0, 90.0, 90.0)),))
    short = make_recipe(model, far, solve(model, far).proposals[0])
    assert falls_short(short)
    assert aimed(short).sections[0].lab == pytest.approx(short.sections[0]["lab"])
    bare = replace(recipe, sections=[{**one, "target_lab": None} for one in recipe.sections])
    with pytest.raises(FileProblem, match=r"no place"):
        aimed(bare)
    for odd in ({"target_lab": [1, 2]}, {"target_lab": "blue"}, {"target_lab": [1, 2, "x"]}):
        with pytest.raises(FileProblem, match=r"not a recipe"):
            aimed(replace(recipe, sections=[{**one, **odd} for one in recipe.sections]))
    with pytest.raises(FileProblem, match=r"not a recipe"):
        aimed(replace(recipe, sections=recipe.sections[:1]))


# The history in grams --------------------------------------------------------------------------------------------------


def test_what_was_weighed_gives_the_doses() -> None:
    done = as_weighed(
        ["azure", "red"], Shares("B", 0.5, (("A", 0.5),)), 95.0,
        [("azure 1+50", 2.55), ("azure 1+50", 2.55), ("red", 0.2)], BENCH,
    )  # fmt: skip
    # 5.1 g of 1+50 hold 0.1 g of azure and 5 g of carrier: 100 g of B, which make 200 g.
    assert done.doses_phr["azure"] == pytest.approx(100 * 0.1 / 200, abs=1e-12)
    assert done.doses_phr["red"] == pytest.approx(100 * 0.2 / 200, abs=1e-12)
    assert done.made_g == pytest.approx(95.0 + 5.1 + 0.2, abs=1e-12)
    # Physics §12: u of a difference is 0.0147196 g; twice weighed.
    assert done.weigh_spreads["azure"] == pytest.approx(math.sqrt(2) * 0.0147196 / 5.1, rel=1e-5)
    with pytest.raises(ValueProblem, match=r"were made"):
        check_left(TintedPart(done.doses_phr, 101.0), done.made_g)


def test_bad_weights() -> None:
    shares = Shares("B", 0.5, (("A", 0.5),))
    for grams in (-0.1, math.nan, math.inf):
        with pytest.raises(ValueProblem, match=r" g; it must be"):
            as_weighed(["azure"], shares, 95.0, [("azure", grams)], BENCH)
    for part_g in (0.0, -1.0, math.nan):
        with pytest.raises(ValueProblem, match=r" g; it must be"):
            as_weighed(["azure"], shares, part_g, [("azure", 0.1)], BENCH)
    for name in ("lilac", "lilac 1+50"):
        with pytest.raises(ValueProblem, match="azure"):
            as_weighed(["azure"], shares, 95.0, [(name, 0.1)], BENCH)
    with pytest.raises(ValueProblem, match=r"no ratio"):
        as_weighed(["azure"], shares, 95.0, [("azure 1+0", 0.1)], BENCH)
    with pytest.raises(ValueProblem, match="only 95 g"):
        as_weighed(["azure"], shares, 95.0, [("azure 1+1", 200.0)], BENCH, with_carriers=True)
    for left in (0.0, -5.0, math.inf, 1e308):
        with pytest.raises(ValueProblem, match=r" g; it must be"):
            TintedPart({"azure": 0.1}, left)
    with pytest.raises(ValueProblem, match=r"said to hold 90 g"):
        TintedPart({"azure": 0.1}, 100.0, 90.0)
    with pytest.raises(ValueProblem, match=r"minutes"):
        TintedPart({"azure": 0.1}, 100.0, None, {}, -1.0)


def test_bad_questions(model: TintModel) -> None:
    _, question = asked(model, (1.0, 1.0, 1.0))
    with pytest.raises(ValueProblem, match=r" g; it must be"):
        replace(question, need_g=-1.0)
    with pytest.raises(ValueProblem, match=r"0\.01 g"):
        replace(question, part=TintedPart(recipe_doses(model), 0.05))
    with pytest.raises(ValueProblem, match=r"price of p0"):
        replace(question, prices={"p0": -0.1})
    with pytest.raises(ValueProblem, match=r"one cup"):
        adjust(replace(make_model(1, 0, draws=2), pigments=("mix",)), target_of(model, recipe_doses(model)), question)


def test_a_resin_has_to_say_its_parts() -> None:
    resin = Resin(parts=(Part("A", 100.0, "none"), Part("B", 90.0, "none")), takes_pigment="B")
    shares = shares_of(resin)
    assert shares.share == pytest.approx(90 / 190)
    assert shares.other_parts(90.0) == (("A", 100.0),)
    for bad in (None, Resin(), Resin(parts=resin.parts)):
        with pytest.raises(FileProblem, match=r"cannot be worked out"):
            shares_of(bad)


# The page's example by hand ----------------------------------------------------------------------------------------------


def test_the_page_s_example_number_by_number() -> None:
    """docs/my-trial-is-off.md, "One by hand". C₁V₁ = C₂V₂: US Army Medical Department, Subcourse MD0837, *Laboratory
    Mathematics*: any unit of volume or concentration will do."""
    text = PAGE.split("## One by hand")[1].split("\n## ")[0]
    resin = Resin(parts=(Part("A", 100.0, "none"), Part("B", 90.0, "none")), takes_pigment="B")
    shares = shares_of(resin)
    in_pot = shares.resin_g(TintedPart({"azure": 0.05, "lemon": 0.03}, 180.0))
    after = 0.06 * in_pot / 0.05
    mixed = after / shares.share
    lemon = (0.03 - 0.03 * in_pot / after) * mixed / 100
    stock = StockBottle.of_ratio("lemon 1+50", "lemon", 50.0)
    ((_, other),) = shares.other_parts(after)
    bold = [float(one) for one in re.findall(r"\*\*([\d.]+) g\*\*", text)]
    expected = [
        (in_pot, 3), (after, 3), (after - in_pot, 3), (lemon, 6), (lemon / stock.share, 2),
        (after - in_pot - lemon * 50, 1), (other, 3),
    ]  # fmt: skip
    assert bold == [round(value, digits) for value, digits in expected]
    for value, digits in (
        (100 * shares.share, 3),
        (mixed, 3),
        (lemon * 50, 3),
        (0.06 * in_pot / shares.share / 100, 6),
    ):
        assert f"{value:.{digits}f}" in text
    # The pigment stays: the same grams before and after.
    assert 0.05 * mixed == pytest.approx(0.06 * in_pot / shares.share, abs=1e-12)


def test_the_program_finds_what_the_page_works_out(model: TintModel) -> None:
    """With lots, scales and model as good as certain, and no tolerance to spare, it is the page's arithmetic."""
    sure = make_model(2, seed=4, draws=20, spread=0.0005)
    doses = {"p0": recipe_doses(model)["p0"], "p1": recipe_doses(model)["p1"]}
    really = {"p0": 1.2 * doses["p0"], "p1": doses["p1"]}
    shares = Shares("B", 90 / 190, (("A", 100 / 190),))
    reading = Reading("colour", reading_spread=0.001, thickness_spread_mm=0.0001)
    read = tuple(sure.look(really, [20.0]).lab[0].tolist())
    chips = trial_set(reading, [(20.0, read)], doses, sure.refractive_index)
    part = TintedPart(doses, 180.0, 600.0)
    fine = Bench(Scale(0.0001), Scale(0.0001))
    spreads = dict.fromkeys(doses, 1e-4)
    trial = Trial(doses, chips, spreads, mix_spread=1e-4)
    found = adjust(sure, target_of(sure, doses, 0.05), Question(part, (trial,), shares, fine))
    resin = shares.resin_g(part)
    assert found.outcome is Outcome.DILUTE
    added = found.plain_g + sum(one.carrier_g for one in found.additions)
    assert added == pytest.approx(0.2 * resin, rel=0.05)
    topped = sum(one.pigment_g for one in found.additions if one.pigment == "p1")
    assert topped == pytest.approx((1 - 1 / 1.2) * doses["p1"] * found.mixed_g / 100, rel=0.1)


def test_a_weight_is_shown_as_its_scale_shows_it(model: TintModel) -> None:
    """A scale that shows 0.25 g shows 1.25 g, in an adjustment as on a sheet."""
    _, question = asked(model, (0.6, 1.0, 1.0), left_g=3000.0, pot_g=6000.0)
    quarter = Bench(Scale(0.25), Scale(0.25))
    again = adjust(model, target_of(model, recipe_doses(model)), replace(question, bench=quarter))
    assert again.additions
    for one in again.additions:
        assert one.weigh_g % 0.25 == 0.0
        assert f"{one.weigh_g:.2f} g of {one.letdown or one.pigment}" in again.says
        assert f"{one.weigh_g:.2f} g of {one.letdown or one.pigment}" in " ".join(again.order)


def test_what_may_have_been_weighed_wrong_is_asked_about_and_not_answered_as_a_weak_lot(model: TintModel) -> None:
    """Half the dose: as likely a slip, whose top-up is half of what a lot of half the strength asks for."""
    doses = recipe_doses(model)
    found, question = asked(model, (0.5, 1.0, 1.0))
    assert found.slips == ("p0",)
    assert any("how p0 was weighed" in step for step in found.order)
    told = next(one for one in found.warnings if isinstance(one, Note))
    assert "p0 was weighed wrong" in told.says
    assert "--weighed 'p0=" in told_in_shell(told)
    assert "under What was weighed" in told_on_page(told)
    missing_g = 0.5 * doses["p0"] * SHARES.resin_g(question.part) / SHARES.share / 100
    added_g = sum(one.pigment_g for one in found.additions if one.pigment == "p0")
    assert 0.8 * missing_g < added_g < 1.2 * missing_g
    assert all(place.delta_e00_95 > place.delta_e00 + 1 for place in found.after)  # it may be the lot all the same
