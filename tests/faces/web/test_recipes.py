"""The Recipes screen, as Starlette's client sees it."""

from __future__ import annotations

import re
from typing import Any

import pytest

from tests.faces.web.conftest import Client, ok
from tintmix.desk.demo import demo as shipped
from tintmix.page.colour.pigments import model_at_hand
from tintmix.recipes.recipe_file import read_recipe
from tintmix.recipes.solve import solve
from tintmix.recipes.target_file import read_target

USUAL = {"kind": "glass", "glass": "sea-green", "tolerance": "2", "most_pigments": "3", "total_phr": "1"}


def found(client: Client, **boxes: str) -> Any:
    return client.finish(client.fill("/recipes/target", USUAL | boxes))


def answer_of(client: Client) -> dict[str, Any]:
    body: dict[str, Any] = client.workspace.json(client.workspace.now().area("recipes")["answer"])
    return body


def test_without_pigments_it_says_what_is_missing(client: Client) -> None:
    assert "Recipes need pigments" in client.get("/recipes").text
    assert client.fill("/recipes/target", USUAL).status_code == 200


def test_the_recipes_are_those_of_the_shell(demo: Client) -> None:
    """The same model and the shipped target through `recipes.solve`, which `tintmix solve` calls."""
    answer = found(demo)
    assert answer.status_code == 200
    assert "Open in Tint" in answer.text
    model = model_at_hand(demo.workspace, demo.workspace.now())
    assert model is not None
    shell = solve(model, read_target(shipped("targets", "sea-green-glass.toml")), 8)
    page = answer_of(demo)["body"]
    assert page["outcome"] == shell.outcome.value
    assert [one["doses_phr"] for one in page["proposals"]] == [dict(one.doses_phr) for one in shell.proposals]


def test_a_recipe_is_opened_in_tint_kept_chosen_downloaded_and_removed(demo: Client) -> None:
    found(demo)
    best = answer_of(demo)["body"]["proposals"][0]["doses_phr"]
    assert "over 99 in 100 that every place comes out within tolerance" in demo.get("/recipes").text
    assert demo.fill("/recipes/tint", {"number": "0"}).url.path == "/tint"
    assert demo.workspace.now().area("tint")["doses"] == best
    answer = demo.fill("/recipes/keep", {"number": "0", "name": "Sea green №1"})
    assert "Sheet and Trial chip now use it" in answer.text
    thing = demo.workspace.now().area("recipes")["chosen"]
    recipe = read_recipe(demo.workspace.file(thing))
    assert recipe.name == "Sea green №1"
    assert dict(recipe.doses_phr) == best
    assert recipe.glass is not None
    file = demo.get(f"/recipes/recipe/{thing}.json")
    assert file.headers["content-disposition"] == 'attachment; filename="sea-green-1.json"'
    ok(demo.fill("/recipes/choose", {"recipe": thing, "remove": "1"}))
    assert thing not in [one["thing"] for one in demo.workspace.now().area("recipes")["kept"]]
    assert demo.fill("/recipes/choose", {"recipe": thing}).status_code == 404
    assert demo.fill("/recipes/keep", {"number": "99", "name": "x"}).status_code == 404
    assert demo.fill("/recipes/keep", {"number": "0", "name": ""}).status_code == 422


def test_a_tint_can_be_the_target(demo: Client) -> None:
    doses = {"dose.azure": "0.02", "dose.lemon": "0.01"}
    ok(demo.fill("/tint/doses", doses))
    found = ok(demo.finish(demo.fill("/recipes/like-tint", {})))
    assert found.url.path == "/recipes"
    assert demo.workspace.now().area("recipes")["target"]["kind"] == "colour"
    look = ok(demo.get("/tint/look", params=doses)).json()
    assert all(place["target"]["off"] < 0.1 for place in look["places"])
    # What does not reach the target stands folded, after what does.
    near, _, far = found.text.partition("not reach the target")
    assert "<article" in near
    assert far.count("<article") == 0 or "</details>" in far


def test_the_tint_at_hand_is_kept_as_a_recipe(demo: Client) -> None:
    ok(demo.fill("/recipes/keep", {"tint": "1", "name": "by eye"}))
    recipe = read_recipe(demo.workspace.file(demo.workspace.now().area("recipes")["chosen"]))
    assert dict(recipe.doses_phr) == demo.workspace.now().area("tint")["doses"]
    assert [section["thickness_mm"] for section in recipe.sections] == [8.0, 60.0]


def test_a_target_out_of_reach_is_an_answer(demo: Client) -> None:
    answer = found(demo, kind="colour", colour_0="88 -12 2", colour_1="#d08a2e")
    assert answer.status_code == 200
    assert "cannot quite be reached" in answer.text


def test_the_missing_pigment_is_shown(demo: Client) -> None:
    boxes = {"kind": "colour", "colour_0": "40 90 -100", "colour_1": ""}
    answer = found(demo, **boxes)
    missing = answer_of(demo)["body"]["missing"]
    assert "tint of the pigment that is missing" in answer.text
    assert missing["srgb"] in answer.text
    assert missing["says"].split(",")[0] in answer.text


def test_a_floor_that_nothing_meets_is_an_answer(demo: Client) -> None:
    ok(demo.fill("/tint/places", {"place_0_mm": "8", "place_1_mm": "60", "floor_percent": "99", "light": "D65"}))
    assert "no dose meets the limits" in found(demo).text


def test_a_piece_of_glass_by_its_colour_and_by_its_file(demo: Client) -> None:
    answer = found(demo, kind="piece", piece_mm="6", piece_L="80", piece_a="-14", piece_b="2", piece_name="shard")
    assert "shard: " in answer.text or "Found for shard" in answer.text
    curve = shipped("targets", "sea-green-glass.csv").read_bytes()
    boxes = USUAL | {"kind": "piece", "piece_mm": "6"}
    ok(demo.finish(demo.fill("/recipes/target", boxes, files={"piece_file": ("..\\glass.csv", curve)})))
    by_file = answer_of(demo)["body"]["proposals"][0]["doses_phr"]
    found(demo)
    by_name = answer_of(demo)["body"]["proposals"][0]["doses_phr"]
    assert by_file == pytest.approx(by_name, rel=1e-6)
    bad = demo.fill("/recipes/target", boxes, files={"piece_file": ("glass.csv", b"nm,t\n400,7\n700,8\n")})
    assert bad.status_code == 422
    assert "glass.csv" in bad.text
    assert str(demo.workspace.folder) not in bad.text


@pytest.mark.parametrize(
    "boxes",
    [
        {"tolerance": "0"}, {"tolerance": ""}, {"total_phr": "-1"}, {"most_pigments": "0"}, {"haze_percent": "101"},
        {"kind": "colour"}, {"kind": "colour", "colour_0": "red"}, {"kind": "colour", "colour_0": "1 2"},
        {"kind": "colour", "colour_0": "150 0 0"}, {"kind": "piece", "piece_mm": "6"}, {"kind": "piece", "piece_mm": ""},
        {"leave_out": "pink"},
    ],
)  # fmt: skip
def test_targets_that_cannot_be_are_told(demo: Client, boxes: dict[str, str]) -> None:
    before = demo.workspace.now()
    answer = demo.fill("/recipes/target", USUAL | boxes)
    assert answer.status_code == 422
    assert "Not yet." in answer.text
    assert demo.workspace.now() == before


def test_recipes_of_an_earlier_target_say_so(demo: Client) -> None:
    found(demo)
    answer = demo.fill("/recipes/target", USUAL | {"glass": "green", "only": "1"})
    assert "Found for an earlier target" in answer.text


def test_markup_in_a_name_stays_text(demo: Client) -> None:
    name = '<script>alert(1)</script>"'
    text = demo.fill("/recipes/keep", {"tint": "1", "name": name}).text
    assert name not in text
    assert re.search(r"&lt;script&gt;alert\(1\)", text)


def test_finding_recipes_can_be_stopped(demo: Client) -> None:
    from tintmix.page.colour import target as page_target
    from tintmix.page.work import Stopped, Work

    before = demo.workspace.now()
    work = Work("name", "finding", "/recipes")
    work.stop()
    with pytest.raises(Stopped):
        page_target.find_recipes(demo.workspace, work)
    assert demo.workspace.now() == before


def test_a_fit_that_fails_tells_the_sentence(demo: Client) -> None:
    """What the fit's own process says is passed on."""
    from tintmix.errors import FileProblem
    from tintmix.page.work import Work, fit_aside

    _, place = demo.workspace.place()
    with pytest.raises(FileProblem, match="there is no such folder"):
        fit_aside(Work("name", "fit", "/"), [demo.workspace.folder / "nothing"], place)
    assert not place.exists()
