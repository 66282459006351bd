"""A model tells how far its chips agree, wherever it predicts; where they do not, its bands hold them and no chance is told."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from typing import Any

import numpy as np
import pytest

from tests.accuracy.blank_rows import bent
from tests.accuracy.scoring import of_draws
from tests.accuracy.set_up_rows import observer
from tests.accuracy.truth_rows import castings
from tests.simulation import SimSet, make_set, to_chipset
from tintmix.chips.chip import ChipSet
from tintmix.faces.cli.commands.solve import told
from tintmix.files.plain import finite
from tintmix.optics.difference import delta_e00, within_95
from tintmix.pigments.fit import fit
from tintmix.pigments.health import MADE_BEFORE, Health, health
from tintmix.pigments.model import TintModel
from tintmix.pigments.model_file import model_from_table, model_to_table
from tintmix.recipes.says import reached
from tintmix.recipes.search.aim import lay
from tintmix.recipes.solve import Answer, solve
from tintmix.recipes.target import Target, TargetSection

SEED = 5003


def shuffled(chips: ChipSet, seed: int) -> ChipSet:
    """Every chip has another's reading."""
    order = np.random.default_rng(seed).permutation(len(chips.chips))
    read = [chip.values for chip in chips.chips]
    return replace(
        chips, chips=tuple(replace(chip, values=read[k]) for chip, k in zip(chips.chips, order, strict=True))
    )


@cache
def simulated() -> SimSet:
    return make_set(SEED, "colour", pigments=2, doses=(0.03, 0.2), dose_error=0.02)


@cache
def learnt(sound: bool) -> TintModel:
    chips = to_chipset(simulated())
    return fit(chips if sound else shuffled(chips, SEED))


def answer(model: TintModel, tolerance: float = 2.0) -> Answer:
    seen = model.look({"p1": 0.02, "p2": 0.02}, 12.0).lab[0]
    return solve(
        model, Target(sections=(TargetSection("rim", 12.0, lab=tuple(map(float, seen)), tolerance=tolerance),)), most=2
    )


def test_shuffled_readings_are_told_wherever_a_colour_or_a_recipe_is() -> None:
    model = learnt(sound=False)
    assert model.health.contradicts
    # The whole set is suspected, and no chip of it judged by itself: all of them count.
    assert any(chip["doubted"] for chip in model.report["chips"])
    assert (
        model.highest_phr.tolist()
        == np.max([chip.doses_phr for chip in to_chipset(simulated()).chips], axis=0).tolist()
    )
    assert model.health.says in model.look({"p1": 0.02}, 12.0).warnings
    # Wide: why a target is out of reach is not asked here.
    found = answer(model, tolerance=80.0)
    assert model.health.says in found.warnings
    assert {one.chance_within_tolerance for one in found.proposals} == {None}
    body = finite(found)
    assert [one["chance_within_tolerance"] for one in body["proposals"]] == [None] * len(found.proposals)
    text = " ".join(map(str, told(body, [("#ffffff", None)], 0)))
    assert "the chips do not fit together, so that no chance of it can" in text
    assert "in 100" not in text


def test_bands_of_shuffled_readings_hold() -> None:
    """The whole is in tests/accuracy/health_rows.py."""
    rng = np.random.default_rng(SEED)
    doses, thickness = rng.uniform(0, 0.1, (40, 2)), rng.uniform(36, 60, 40)
    seen = learnt(sound=False).lab_draws(doses, thickness)
    mean = seen.mean(axis=0)
    off = delta_e00(simulated().truth_lab(doses, thickness), mean)
    assert np.mean(off <= within_95(delta_e00(seen, mean))) >= 0.9


def test_a_sound_set_says_nothing_and_tells_chances() -> None:
    model = learnt(sound=True)
    assert model.health.doubted_share == 0
    assert model.health.warning is None
    assert model.look({"p1": 0.02}, 3.0).warnings == ()
    found = answer(model)
    assert not set(found.warnings) & {model.health.says}
    assert found.proposals[0].chance_within_tolerance == pytest.approx(0.99, abs=0.1)
    assert max(one.chance_within_tolerance or 0.0 for one in found.proposals) <= 0.99


@pytest.mark.parametrize(
    ("chances", "said"),
    [
        ((0.93, 0.6), "2 recipes come within tolerance at the place; "),
        (
            (0.93, 0.31),
            "2 recipes are predicted within tolerance at the place, but only 1 of them with an even chance or better; ",
        ),
        (
            (0.31,),
            "one recipe is predicted within tolerance at the place, but it is likelier that it comes out otherwise; ",
        ),
    ],
)
def test_a_recipe_with_less_than_an_even_chance_does_not_count_as_within(chances: tuple[float, ...], said: str) -> None:
    best = answer(learnt(sound=True)).proposals[0]
    aim = lay(learnt(sound=True), Target(sections=(TargetSection("rim", 12.0, lab=(50.0, 0.0, 0.0)),)))
    assert reached(aim, [replace(best, chance_within_tolerance=one) for one in chances], ()).startswith(said)


@pytest.mark.parametrize(("seed", "sure"), [(412, False), (5801, True)])
def test_an_observer_that_may_be_another_is_named_and_the_bands_hold_both(seed: int, sure: bool) -> None:
    """The whole is in tests/accuracy/set_up_rows.py."""
    sim = observer(seed, "colour")
    model = fit(to_chipset(sim))
    (named,) = model.report["health"]["set_up"]
    assert named["change"] == {"reading.observer": 12 - sim.observer}
    assert named["sure"] == sure
    assert ("may have been taken" in named["says"]) == (not sure)
    assert model.health.warning == model.health.says
    assert model.health.contradicts == sure
    doses, thickness = castings(sim)
    told = of_draws(model.lab_draws(doses, thickness), sim.truth_lab(doses, thickness))
    # Told by what the set declares alone, half of them lie outside.
    assert told.in_band.mean() >= 0.9


def test_health_is_kept_in_the_file_and_missed_in_one_made_before() -> None:
    model = learnt(sound=False)
    table: dict[str, Any] = {"format": 1, "is": "tintmix model", **finite(model_to_table(model))}
    assert model_from_table(table, "here").health == model.health
    del table["report"]["health"]
    assert model_from_table(table, "here").look({"p1": 0.02}, 3.0).warnings == (MADE_BEFORE,)


def test_a_base_that_changes_is_no_cause_of_a_contradiction() -> None:
    base = {"what": "base", "change": {}, "log_evidence": 14.0, "says": "yellower.", "sure": False}
    assert health([True] * 6 + [False] * 14, set_up=[base]).says.startswith("6 of 20 chips contradict the rest: ")


@pytest.mark.parametrize(
    ("doubted", "set_up", "warns", "contradicts"),
    [
        ([False] * 20, [], False, False),
        ([True] + [False] * 19, [], False, False),
        ([True] * 6 + [False] * 14, [], True, True),
        ([False] * 20, [{"what": "light", "change": {}, "log_evidence": 14.0, "says": "another light"}], True, True),
        ([False] * 20, [{"what": "base", "change": {}, "log_evidence": 14.0, "says": "yellower"}], True, False),
        (
            [False] * 20,
            [{"what": "light", "change": {}, "log_evidence": 2.0, "says": "may", "sure": False}],
            True,
            False,
        ),
    ],
)
def test_when_it_warns(doubted: list[bool], set_up: list[dict[str, Any]], warns: bool, contradicts: bool) -> None:
    found: Health = health(doubted, set_up=set_up)
    assert (found.warning is not None, found.contradicts) == (warns, contradicts)
    assert ("no chance is told" in found.says) == contradicts
    # Wider bands hold what they were widened by; of other doses and thicknesses nobody can say so.
    assert ("other doses and thicknesses may lie far outside" in found.says) == contradicts
    if set_up:
        assert found.says.startswith(set_up[0]["says"])


def test_strong_cups_that_may_be_a_bend_or_a_slip_are_said_beside_a_prediction() -> None:
    sim, _ = bent(401, 0.10, "colour", "film")
    model = fit(to_chipset(sim))
    assert "may bend" in model.report["pigments"]["p3"]["law"]
    (said,) = [one for one in model.look({"p1": 0.02, "p3": 0.02}, [8.0]).warnings if "poured again" in one]
    assert said.startswith("p3 may")
    assert not any("poured again" in one for one in model.look({"p1": 0.02}, [8.0]).warnings)
