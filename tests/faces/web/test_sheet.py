"""The Sheet screen, as Starlette's client sees it."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest

from tests.faces.web.conftest import ROOT, Client, ok
from tintmix.book.book import open_book
from tintmix.desk.bench.sheet import Amount, sheet_for
from tintmix.desk.demo import demo as shipped
from tintmix.page.bench import sheet as page_sheet
from tintmix.page.bench.sheet import Kept
from tintmix.page.bench.weights import pot_of, weights_of
from tintmix.page.recipe import recipe_at_hand
from tintmix.resin import resin_to_text
from tintmix.sheet.lines import Kind
from tintmix.weighing.weighed import LetdownMade

USUAL = {
    "recipe": "", "resin": "recipe", "how": "batch", "grams": "450", "resin_step": "0.1", "pigment_step": "0.01",
}  # fmt: skip
pytestmark = pytest.mark.usefixtures("book")


def area_of(client: Client) -> dict[str, Any]:
    return client.workspace.now().area("sheet")


def kept_of(client: Client) -> Kept:
    kept = page_sheet.kept_sheet(client.workspace, area_of(client))
    assert kept is not None
    return kept


def azure_bottle(client: Client) -> LetdownMade:
    """The stock bottle that the demo's sheet makes of azure."""
    return next(one for one in kept_of(client).sheet.weighed.letdowns if one.pigment == "azure")


def key_of(client: Client, kind: str, name: str) -> str:
    kept = kept_of(client)
    return next(key for key, one in weights_of(kept.sheet).items() if (one.kind, one.into or one.of) == (kind, name))


def test_without_a_recipe_it_says_what_to_do(client: Client) -> None:
    text = client.get("/sheet").text
    assert "Find a recipe" in text
    assert "Try it with the demo" in text
    assert client.fill("/sheet/make", USUAL).status_code == 422
    assert client.fill("/sheet/marks", {}).status_code == 422
    assert client.get("/sheet/sheet.pdf").status_code == 422
    assert client.fill("/sheet/keep", {"what": "pour"}).status_code == 422


def test_the_demo_opens_with_its_sheet(demo: Client) -> None:
    text = demo.get("/sheet").text
    for words in (
        "sea-green prism: what to weigh",
        "Before you mix",
        "CLOCK STARTS: 8 minutes",
        "What matters most",
        "Trial chip tells",
    ):
        assert words in text
    assert "tintmix adjust" not in text


def test_the_sheet_is_that_of_the_shell(demo: Client) -> None:
    """The same recipe, model, batch and scales through `desk.sheet.sheet_for`, which `tintmix sheet` calls."""
    ok(demo.fill("/sheet/make", USUAL | {"grams": "212,5", "pigment_step": "0,001"}))
    recipes = demo.workspace.now().area("recipes")
    model = demo.workspace.file(demo.workspace.now().area("pigments")["model"])
    shell = sheet_for(
        demo.workspace.file(recipes["chosen"]), Amount(batch_g=212.5), ["resin=0.1", "pigment=0.001"], model=model
    )
    page = kept_of(demo)
    assert page.body["pigments"] == shell.body["pigments"]
    assert page.body["order"] == list(shell.body["order"])
    assert page.sheet == shell.sheet


def test_the_batch_by_volume_and_by_water(demo: Client) -> None:
    """1.06 g/cm³ of the demo's resin; water at 20 °C 0.9982 g/cm³ (IAPWS, as desk.batch has it); 10 % for waste."""
    ok(demo.fill("/sheet/make", USUAL | {"how": "volume", "volume": "400", "waste_percent": "10"}))
    assert kept_of(demo).sheet.weighed.batch_g == pytest.approx(400 * 1.06 * 1.1)
    ok(demo.fill("/sheet/make", USUAL | {"how": "water", "water": "400", "waste_percent": "0"}))
    assert kept_of(demo).sheet.weighed.batch_g == pytest.approx(400 / 0.9982 * 1.06, rel=1e-4)


def test_inches_and_ounces(demo: Client) -> None:
    """International ounce and inch: 28.349523125 g and 16.387064 cm³ a cubic inch."""
    ok(demo.fill("/settings", {"length": "inch", "mass": "oz", "back": "sheet"}))
    boxes = USUAL | {
        "resin_step": "0.005",
        "pigment_step": "0.0005",
        "how": "volume",
        "volume": "20",
        "waste_percent": "0",
    }
    assert "Not yet." not in demo.fill("/sheet/make", boxes).text
    assert kept_of(demo).sheet.weighed.batch_g == pytest.approx(20 * 16.387064 * 1.06)
    assert area_of(demo)["asked"]["pigment_step_g"] == pytest.approx(0.0005 * 28.349523125)
    text = demo.get("/sheet").text
    assert " oz</strong>" in text
    assert re.search(r"About \d[\d.]* g \(\d[\d.]* oz\) will be left over", text)
    key = key_of(demo, "part", "B")
    ok(demo.fill("/sheet/marks", {f"weight.{key}": "6.5"}))
    assert area_of(demo)["weights"][key] == pytest.approx(6.5 * 28.349523125)
    assert f'name="weight.{key}" value="6.5"' in demo.get("/sheet").text


def test_another_resin_shipped_or_of_ones_own(demo: Client) -> None:
    ok(demo.fill("/sheet/make", USUAL | {"resin": "epoxy"}))
    assert "amine" in " ".join(part.hazard for part in kept_of(demo).sheet.resin.parts)
    own = shipped("resins", "urethane.toml").read_text(encoding="utf-8").replace("= 90", "= 80")
    answer = demo.fill("/sheet/make", USUAL, files={"resin_file": ("..\\mine.toml", own.encode())})
    assert answer.status_code == 200
    assert [part.parts_by_weight for part in kept_of(demo).sheet.resin.parts] == [100.0, 80.0]
    assert "Not yet." not in demo.fill("/sheet/make", USUAL | {"resin": "own"}).text
    # It is kept beside those that were typed in, and serves again.
    [own_one] = demo.workspace.now().area("resins")["kept"]
    ok(demo.fill("/sheet/make", USUAL | {"resin": "epoxy"}))
    ok(demo.fill("/sheet/make", USUAL | {"resin": own_one["thing"]}))
    assert [part.parts_by_weight for part in kept_of(demo).sheet.resin.parts] == [100.0, 80.0]
    assert "this sheet is for" in demo.get("/sheet").text
    # One called like the recipe's own is told from it, or is the same and stands there once.
    found = recipe_at_hand(demo.workspace, demo.workspace.now())
    assert found is not None
    assert found.recipe.resin is not None
    its = resin_to_text(found.recipe.resin)
    shown = f">{found.recipe.resin.name}%s</option>"
    for text, words in ((its.replace("= 90", "= 80"), ", as the recipe has it"), (its, "")):
        ok(demo.fill("/sheet/make", USUAL, files={"resin_file": ("mine.toml", text.encode())}))
        page = demo.get("/sheet").text
        assert (page.count(shown % words), page.count(shown % "")) == (1, 1)
    bad = demo.fill("/sheet/make", USUAL, files={"resin_file": ("mine.toml", b"format = 1\nname = 3")})
    assert bad.status_code == 422
    assert "mine.toml" in bad.text
    assert str(demo.workspace.folder) not in bad.text


def test_sheet_and_trial_open_with_the_shipped_epoxy(demo: Client) -> None:
    """Its parts are called resin and hardener, where the demo's are letters."""
    assert demo.fill("/sheet/make", USUAL | {"resin": "epoxy"}).status_code == 200
    assert demo.get("/sheet").status_code == 200
    key = key_of(demo, "part", "resin")
    assert demo.fill("/sheet/marks", {f"weight.{key}": "330"}).status_code == 200
    assert "As weighed, the colour is off" in demo.get("/sheet").text
    text = demo.get("/trial").text
    assert f'name="weight.{key}" value="330"' in text
    answer = demo.fill("/sheet/keep", {"what": "pour"})
    assert "Recorded pour 1" in answer.text


ODD = "Hardener <b>&amp;</b>; 1+30 \N{LATIN SMALL LETTER E WITH ACUTE}\u202e/\\'\"%s{{x}}"


@pytest.mark.parametrize(
    ("tinted", "other"),
    [
        ("B", "A"), ("x", "y"), ("resin side, the one with the long name " * 8, "the hardener of the same long name " * 8),
        (ODD, ODD + " too"), ("azure", "emerald"), ("trial chip", "tinted part"), ("azure 1+30", "stock bottle azure 1+30"),
        ("pigment", "part azure"),
    ],
)  # fmt: skip
def test_parts_of_any_name(demo: Client, book: Path, tinted: str, other: str) -> None:
    """Nothing is told from names: as many grams as with parts called A and B, and every screen opens."""
    ok(demo.fill("/sheet/make", USUAL))
    plain = [line.grams for line in weights_of(kept_of(demo).sheet).values()]
    names = f"takes_pigment = {json.dumps(tinted)}"
    own = (
        shipped("resins", "urethane.toml")
        .read_text(encoding="utf-8")
        .replace('takes_pigment = "B"', names)
        .replace('name = "A"', f"name = {json.dumps(other)}")
        .replace('name = "B"', f"name = {json.dumps(tinted)}")
    )
    answer = demo.fill("/sheet/make", USUAL, files={"resin_file": ("mine.toml", own.encode())})
    assert answer.status_code == 200
    lines = weights_of(kept_of(demo).sheet)
    assert [line.grams for line in lines.values()] == plain
    typed = {f"weight.{key}": f"{line.grams + 0.1:.2f}" for key, line in lines.items()}
    assert demo.fill("/sheet/marks", typed).status_code == 200
    assert demo.get("/trial").status_code == 200
    told = demo.fill("/sheet/keep", {"what": "pour"}).text
    assert "Recorded pour 1" in told
    assert "not on the shelf yet" in told
    with open_book(book) as opened:
        [pour] = opened.pours("sea-green prism")
    into_it = [line.grams + 0.1 for line in lines.values() if line.kind is not Kind.TRIAL]
    assert sorted(pour.pour.weights_g.values()) == pytest.approx(sorted(into_it), abs=0.006)


def test_a_sheet_that_an_earlier_version_kept_goes_on(demo: Client) -> None:
    """tests/reference/written-by-56ccf92: a sheet of the demo's recipe, whose lines were text."""
    page = ROOT / "tests/reference/written-by-56ccf92/page"
    state = json.loads((page / "state.json").read_text(encoding="utf-8"))
    thing = page / "things" / f"{state['areas']['sheet']['sheet']}.json"
    table = json.loads(thing.read_text(encoding="utf-8"))
    assert "kind" not in str(table["sheet"]["stages"])
    area = area_of(demo) | {"sheet": demo.workspace.keep_json(table)}
    demo.workspace.change("an old one", {"sheet": area}, {})
    was = [line for stage in table["sheet"]["stages"] for step in stage["steps"] for line in step["lines"]]
    lines = weights_of(kept_of(demo).sheet)
    assert [(line.what, line.grams, line.shown) for line in lines.values()] == [
        (line["what"].replace("tinted part", "tinted part B"), line["grams"], line["shown"]) for line in was
    ]
    assert [line.kind for line in lines.values()] == [
        *["first", "carrier"] * 3, "part", *["pigment"] * 3, "sample", "trial", "other",
    ]  # fmt: skip
    text = demo.get("/sheet").text
    assert "poured at" in text
    assert demo.get("/trial").status_code == 200


@pytest.mark.parametrize(
    "boxes",
    [
        {"grams": ""}, {"grams": "-1"}, {"grams": "lots"}, {"how": "volume", "volume": "0", "waste_percent": "5"},
        {"how": "water", "water": "", "waste_percent": "5"}, {"how": "volume", "volume": "9", "waste_percent": "201"},
        {"resin_step": "0"}, {"pigment_step": ""}, {"pigment_most": "x"}, {"resin": "own"}, {"grams": "0.5"},
        {"pigment_most": "0.02"}, {"lot.azure": "B" * 200},
    ],
)  # fmt: skip
def test_what_cannot_be_weighed_is_told_and_stays_in_the_boxes(demo: Client, boxes: dict[str, str]) -> None:
    before = demo.workspace.now()
    answer = demo.fill("/sheet/make", USUAL | boxes)
    assert answer.status_code == 422
    assert "Not yet." in answer.text
    assert "--" not in answer.text.partition("Not yet.")[2].partition("</div>")[0]
    assert demo.workspace.now() == before


def test_the_lot_in_hand_stands_on_the_sheet(demo: Client) -> None:
    ok(demo.fill("/sheet/make", USUAL | {"lot.azure": "A-18", "lot.pink": "P-1"}))
    assert kept_of(demo).sheet.lots["azure"] == "A-18"
    assert "pink" not in kept_of(demo).sheet.lots
    assert "nobody has measured how strong it is" in demo.get("/sheet").text


def test_ticks_and_weights_are_kept_and_told(demo: Client) -> None:
    key = key_of(demo, "part", "B")
    asked = weights_of(kept_of(demo).sheet)[key].grams
    boxes = {"tick": ["0-0", key, "nonsense"], f"weight.{key}": f"{asked * 1.01:.2f}".replace(".", ",")}
    answer = demo.fill("/sheet/marks", boxes, headers={"accept": "application/json"}).json()
    assert answer["ticked"] == 2
    assert answer["off"][key] == "+1 %"
    assert "as near to the target" in answer["seen"]["says"]
    assert answer["revision"] == demo.workspace.now().revision_of("sheet")
    text = demo.get("/sheet").text
    assert f'value="{key}" checked' in text
    assert "As weighed, the colour is off" in text
    ok(demo.fill("/undo"))
    assert area_of(demo)["ticks"] == []


def test_a_weight_far_off_says_stop(demo: Client) -> None:
    key = key_of(demo, "pigment", "azure")
    answer = demo.fill("/sheet/marks", {f"weight.{key}": "14"}, headers={"accept": "application/json"}).json()
    assert "times" in answer["off"][key] or "%" in answer["off"][key]
    assert "stop" in answer["seen"]["says"]
    # Alone on the sheet, it is all that the whole is off by; its line shows it in colour.
    effect = answer["effects"].pop(key)
    assert (
        effect["planned"]
        != effect["srgb"]
        == next(one["srgb"] for one in answer["seen"]["places"] if one["srgb"] == effect["srgb"])
    )
    assert answer["effects"] == {}
    assert f'<span class="effect small" id="effect-{key}">' in demo.get("/sheet").text


@pytest.mark.parametrize("text", ["a lot", "-1", "1e9"])
def test_weights_that_cannot_be(demo: Client, text: str) -> None:
    key = key_of(demo, "part", "B")
    before = demo.workspace.now()
    answer = demo.fill("/sheet/marks", {f"weight.{key}": text}, headers={"accept": "application/json"})
    assert answer.status_code == 422
    assert "actual weight of part B" in answer.json()["error"]
    assert answer.json()["box"] == f"weight.{key}"
    answer = demo.fill("/sheet/marks", {f"weight.{key}": text})
    assert f'value="{text}"' in answer.text
    assert demo.workspace.now() == before


def test_a_second_tab_overwrites_nothing(demo: Client) -> None:
    ok(demo.fill("/sheet/marks", {"tick": ["0-0"]}))
    old = {"revision_sheet": "0"}
    assert demo.fill("/sheet/marks", {"tick": []} | old, headers={"accept": "application/json"}).status_code == 409
    assert demo.fill("/sheet/make", USUAL | old).status_code == 409
    assert demo.fill("/sheet/keep", {"what": "pour"} | old).status_code == 409
    assert area_of(demo)["ticks"] == ["0-0"]


def test_what_was_weighed_makes_the_doses_of_physics(demo: Client) -> None:
    """dose = 100 · pigment · share of the part / resin of the part (physics §13), here by hand from the bottle up."""
    kept = kept_of(demo)
    typed = {
        key_of(demo, "first", azure_bottle(demo).name): 1.3,
        key_of(demo, "pigment", "azure"): 1.5,
        key_of(demo, "part", "B"): 210.0,
    }
    pot = pot_of(kept.sheet, typed)
    azure = next(one for one in kept.sheet.weighed.letdowns if one.pigment == "azure")
    w = 1.3 / (1.3 + azure.carrier_g)
    others = [one for one in kept.sheet.weighed.pigments if one.pigment != "azure"]
    shares = {one.name: one.share for one in kept.sheet.weighed.letdowns}
    resin = 210.0 + 1.5 * (1 - w) + sum(one.weigh_g * (1 - shares[one.letdown or ""]) for one in others)
    assert pot.doses_phr["azure"] == pytest.approx(100 * 1.5 * w * (90 / 190) / resin, rel=1e-6)
    assert pot.typed
    plain = pot_of(kept.sheet, {})
    assert not plain.typed
    for name, dose in plain.doses_phr.items():
        assert dose == pytest.approx(kept.sheet.weighed.achieved_phr[name], rel=0.01)


@pytest.mark.parametrize("paper", ["A4", "Letter", "nonsense"])
def test_the_pdf(demo: Client, paper: str) -> None:
    file = demo.get(f"/sheet/sheet.pdf?paper={paper}")
    assert file.content.startswith(b"%PDF")
    assert file.headers["content-disposition"] == 'attachment; filename="sea-green-prism-450-g.pdf"'


def test_recipe_bottles_and_pour_go_into_the_book(demo: Client, book: Path) -> None:
    bottle = azure_bottle(demo).name
    first, azure = key_of(demo, "first", bottle), key_of(demo, "pigment", "azure")
    ok(demo.fill("/sheet/marks", {f"weight.{first}": "1.25", f"weight.{azure}": "1.42"}))
    assert "as revision 1" in demo.fill("/sheet/keep", {"what": "recipe", "note": "the first"}).text
    assert f"On the shelf of the book: {bottle}" in demo.fill("/sheet/keep", {"what": "shelf"}).text
    # A point that slipped is asked about, and nothing is recorded.
    part = key_of(demo, "part", "B")
    ok(demo.fill("/sheet/marks", {f"weight.{first}": "1.25", f"weight.{azure}": "1.42", f"weight.{part}": "2084"}))
    assert demo.fill("/sheet/keep", {"what": "pour", "poured_on": "2025-03-01"}).status_code == 422
    ok(demo.fill("/sheet/marks", {f"weight.{first}": "1.25", f"weight.{azure}": "1.42", f"weight.{part}": ""}))
    answer = demo.fill("/sheet/keep", {"what": "pour", "poured_on": "2025-03-01", "cure": "warm", "note": "well"})
    assert "Recorded pour 1" in answer.text
    assert area_of(demo)["done"]
    with open_book(book) as opened:
        made = kept_of(demo).sheet.weighed.letdowns[0]
        stands = next(one for one in opened.bottles() if one.pigment == "azure")
        assert stands.share == pytest.approx(1.25 / (1.25 + made.carrier_g))
        assert stands.left_g == pytest.approx(1.25 + made.carrier_g - 1.42)
        [pour] = opened.pours("sea-green prism")
        assert pour.pour.batch_g == 450.0
        assert pour.pour.weights_g[bottle] == 1.42
        assert pour.pour.note.startswith("well As planned, neither typed nor ticked off: ")
        assert opened.recipe("sea-green prism").has_model
    again = demo.fill("/sheet/keep", {"what": "pour", "poured_on": "2025-03-01", "cure": "warm", "note": "well"})
    assert "I poured the same once more" in again.text.partition('id="problem"')[2].partition("</div>")[0]
    with open_book(book) as opened:
        assert len(opened.pours("sea-green prism")) == 1
    ok(demo.fill("/sheet/keep", {"what": "pour", "poured_on": "2025-03-01", "cure": "warm", "again": "1"}))
    with open_book(book) as opened:
        assert len(opened.pours("sea-green prism")) == 2


def test_the_next_sheet_takes_the_bottles_of_the_shelf(demo: Client, book: Path) -> None:
    ok(demo.fill("/sheet/keep", {"what": "shelf"}))
    with open_book(book) as opened:
        held = {one.name: one.left_g for one in opened.bottles()}
    ok(demo.fill("/sheet/make", USUAL))
    kept = kept_of(demo)
    assert all(one.existing for one in kept.sheet.weighed.letdowns)
    bottle = azure_bottle(demo).name
    assert f"Take the stock bottle {bottle}" in demo.get("/sheet").text
    ok(demo.fill("/sheet/keep", {"what": "pour"}))
    with open_book(book) as opened:
        used = next(one for one in kept.sheet.weighed.letdowns if one.pigment == "azure").used_g
        left = next(one for one in opened.bottles() if one.pigment == "azure").left_g
        assert left == pytest.approx(held[bottle] - used)
    ok(demo.fill("/sheet/make", USUAL | {"new_bottles": "1"}))
    assert not any(one.existing for one in kept_of(demo).sheet.weighed.letdowns)


def test_bottles_of_one_name_are_not_put_on_the_shelf_twice(demo: Client, book: Path) -> None:
    ok(demo.fill("/sheet/keep", {"what": "shelf"}))
    ok(demo.fill("/undo"))
    answer = demo.fill("/sheet/keep", {"what": "shelf"})
    assert answer.status_code == 422
    assert "on the shelf already" in answer.text


@pytest.mark.parametrize("boxes", [{"poured_on": "yesterday"}, {"note": "x" * 3000}, {"cure": "x" * 300}])
def test_a_pour_that_cannot_be_is_told(demo: Client, boxes: dict[str, str]) -> None:
    answer = demo.fill("/sheet/keep", {"what": "pour"} | boxes)
    assert answer.status_code == 422
    assert "Not yet." in answer.text
    assert not area_of(demo).get("done")


def test_the_tint_is_weighed_out_where_there_is_no_recipe(demo: Client) -> None:
    area = demo.workspace.now().area("recipes")
    demo.workspace.change("none", {"recipes": area | {"kept": [], "chosen": None}, "sheet": {}}, {})
    assert "Use these doses" in demo.get("/sheet").text
    assert demo.fill("/sheet/tint", {"name": ""}).status_code == 422
    answer = demo.fill("/sheet/tint", {"name": "by eye"})
    assert "Make the batch sheet" in answer.text
    assert "Not yet." not in demo.fill("/sheet/make", USUAL).text
    assert kept_of(demo).sheet.title == "by eye"


def test_a_recipe_of_forgotten_chips_is_told(demo: Client) -> None:
    now = demo.workspace.now()
    recipes, pigments = now.area("recipes"), now.area("pigments")
    recipes["kept"] = [{key: value for key, value in one.items() if key != "model"} for one in recipes["kept"]]
    demo.workspace.change("forgotten", {"recipes": recipes, "pigments": pigments | {"model": None}, "sheet": {}}, {})
    answer = demo.fill("/sheet/make", USUAL)
    assert answer.status_code == 422
    assert "found with other chips" in answer.text


def test_a_removed_recipe_leaves_its_sheet(demo: Client) -> None:
    thing = demo.workspace.now().area("recipes")["chosen"]
    ok(demo.fill("/recipes/choose", {"recipe": thing, "remove": "1"}))
    answer = demo.get("/sheet")
    assert "the sheet stays as it was made" in answer.text
    assert demo.fill("/sheet/keep", {"what": "recipe"}).status_code == 404


def test_markup_in_a_name_stays_text(demo: Client) -> None:
    ok(demo.fill("/recipes/keep", {"tint": "1", "name": "<b>bold</b>"}))
    ok(demo.fill("/sheet/make", USUAL | {"lot.azure": "<i>"}))
    text = demo.get("/sheet").text
    assert "<b>bold" not in text
    assert "<i>" not in text
    assert "&lt;b&gt;bold" in text
