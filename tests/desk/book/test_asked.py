"""Weights that a pour of a recipe will not have had: a slip of the point or of a digit is told, what only differs is not."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from tests.book.books import recipe
from tintmix.book.book import open_book
from tintmix.desk.book.asked import check_as_asked, check_known
from tintmix.desk.book.shelf import add_bottle
from tintmix.errors import Remedy, ValueProblem
from tintmix.resin import Part, Resin
from tintmix.weighing.bottle import StockBottle

RESIN = Resin(parts=(Part("A", 100), Part("B", 90)), takes_pigment="B")
SEA = replace(recipe("sea"), doses_phr={"azure": 0.021}, resin=RESIN)
BOTTLES = (StockBottle("blue", "azure", "B", 0.4, 20.0, 15.0),)
"""Of a batch of 450 g: A 236.84 g, B 213.16 g, azure 0.0945 g, which are 4.8195 g of a bottle 1 + 50."""


@pytest.mark.parametrize(
    ("batch", "weights"),
    [
        (450.0, {"A": 236.8, "B": 208.4, "azure 1+50": 4.82}),
        (450.0, {"azure": 0.05, "azure 1+50": 2.3}),
        (450.0, {"blue": 4.8}),
        (None, {"A": 236.8, "B": 208.4, "blue": 4.82}),
        (None, {"azure": 94.5}),
        (None, {"A": 2368.0, "B": 2084.0, "blue": 48.2}),
        (450.0, {"A": 300.0, "azure": 0.189}),
        (450.0, {"azure": 0.048}),
        (450.0, {}),
    ],
)
def test_what_may_have_been_weighed(batch: float | None, weights: dict[str, float]) -> None:
    check_known(SEA, weights, BOTTLES)
    check_as_asked(SEA, batch, weights, BOTTLES)


@pytest.mark.parametrize("name", ["a", "azur", "Z", "A=1", "azure 1+0", "green 1+50", "a drop of hope"])
def test_what_is_no_part_and_no_pigment_was_not_weighed(name: str) -> None:
    with pytest.raises(
        ValueProblem, match=r"neither a part of the recipe's resin \(A and B\) nor a pigment of it \(azure\)"
    ):
        check_known(SEA, ["A", "blue", name], BOTTLES)


@pytest.mark.parametrize(
    ("batch", "weights", "what"),
    [
        (450.0, {"A": 2368.0}, "part A"),
        (450.0, {"A": 23.7}, "part A"),
        (450.0, {"A": 36.8, "B": 208.4}, "part A"),
        (450.0, {"azure": 0.945}, "azure"),
        (450.0, {"A": 236.8, "azure": 0.00945}, "azure"),
        (450.0, {"A": 236.8, "B": 0.0}, "part B"),
        (450.0, {"azure": 94.5}, "azure"),
        (450.0, {"azure": 0.2}, "azure"),
        (450.0, {"azure 1+50": 4820.0}, "azure in azure 1\\+50"),
        (450.0, {"blue": 0.4}, "azure in blue"),
        (None, {"A": 236.8, "B": 208.4, "azure": 94.5}, "azure"),
        (None, {"A": 2368.0, "B": 208.4, "blue": 4.82}, "part A"),
        (None, {"A": 236800.0, "B": 208.4}, "part A"),
    ],
)
def test_what_cannot(batch: float | None, weights: dict[str, float], what: str) -> None:
    with pytest.raises(ValueProblem, match=f"^of {what} .* g were weighed") as caught:
        check_as_asked(SEA, batch, weights, BOTTLES)
    assert caught.value.remedy is Remedy.SAY_AS_WEIGHED


def test_a_batch_that_is_said_otherwise_than_it_was_weighed() -> None:
    with pytest.raises(ValueProblem, match=r"makes a batch of 4500 g, and the batch is said to have had 450 g"):
        check_as_asked(SEA, 450.0, {"A": 2368.4, "B": 2131.6, "azure": 0.945}, BOTTLES)


def test_a_part_that_is_called_like_a_pigment_is_not_held_against_it() -> None:
    named = replace(SEA, resin=Resin(parts=(Part("azure", 100), Part("azure 1+50", 90)), takes_pigment="azure 1+50"))
    check_as_asked(named, 450.0, {"azure": 236.8, "azure 1+50": 208.4}, BOTTLES)


def test_a_lot_of_another_strength_is_asked_for_as_such() -> None:
    check_as_asked(SEA, 450.0, {"azure": 0.0945 / 15}, BOTTLES, {"azure": (15.0, 0.03)})
    with pytest.raises(ValueProblem, match="azure"):
        check_as_asked(SEA, 450.0, {"azure": 0.0945 / 15}, BOTTLES)


def test_a_bottle_of_what_no_recipe_knows(tmp_path: Path) -> None:
    place = tmp_path / "book.db"
    with open_book(place) as book:
        book.keep(SEA)
    assert "warnings" not in add_bottle(BOTTLES[0], place).body
    told = add_bottle(replace(BOTTLES[0], name="new", pigment="nosuch"), place).body["warnings"]
    assert "nosuch" in told[0]
    told = add_bottle(replace(BOTTLES[0], name="other", carrier="Zed"), place).body["warnings"]
    assert "'Zed', only A and B" in told[0]
    for slip in ({"pigment": "Azure"}, {"carrier": "b"}):
        with pytest.raises(ValueProblem, match="written otherwise"):
            add_bottle(replace(BOTTLES[0], name="slip", **slip), place)
