"""A model whose chips contradict each other, on every screen that predicts: its sentence stands there, and no chance is told."""

from __future__ import annotations

import json
import re
from typing import Any

import pytest

from tests.faces.web.conftest import Client, ok
from tests.faces.web.test_recipes import found
from tests.faces.web.test_trial import asked
from tintmix.pigments.design.advice import NOT_WHILE_AT_ODDS
from tintmix.pigments.health import health

TOLD = health([True, True, False])
CHANCE = r"\d in 100|chance \d"


@pytest.fixture
def contradictory(demo: Client, book: object) -> Client:
    """The demo, two of its model's three chips doubted after the fact, and the recipes found anew."""
    path = demo.workspace.file(demo.workspace.now().area("pigments")["model"])
    model = json.loads(path.read_text(encoding="utf-8"))
    model["report"]["health"] = TOLD.as_table()
    path.write_text(json.dumps(model), encoding="utf-8")
    ok(found(demo))
    ok(demo.fill("/recipes/keep", {"number": "0", "name": "in doubt"}))
    ok(demo.fill("/sheet/make", {
        "resin": "recipe", "how": "batch", "grams": "450", "resin_step": "0.1", "pigment_step": "0.01",
    }))  # fmt: skip
    ok(demo.fill("/sheet/keep", {"what": "recipe"}))
    return demo


def text_of(answer: Any) -> str:
    return " ".join(re.sub("<[^>]*>", " ", ok(answer).text).split())


def test_every_screen_says_so_and_tells_no_chance(contradictory: Client) -> None:
    pages = ("/recipes", "/tint", "/pigments", "/sheet", "/book/recipe?name=in doubt")
    screens = {path: text_of(contradictory.get(path)) for path in pages} | {"/trial": text_of(asked(contradictory))}
    for name, text in screens.items():
        assert TOLD.says.rstrip(".") in text, (name, text)
        assert not re.search(CHANCE, text), name
    ok(
        contradictory.fill(
            "/chips/plan",
            {"plan_pigments": "azure 0.02", "plan_kind": "colour", "cast": "3 12", "scale": "0.01", "cups": "1"},
        )
    )
    plan = text_of(contradictory.get("/chips/plan"))
    assert TOLD.says.rstrip(".") in plan
    assert NOT_WHILE_AT_ODDS in plan
    assert "after this plan" not in plan


def test_of_sound_chips_the_chance_is_told(demo: Client) -> None:
    assert re.search(CHANCE, text_of(demo.get("/recipes")))
