"""The Trial screen, as Starlette's client sees it."""

from __future__ import annotations

import math
import re
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from tests.faces.cli.test_sheet import words_of
from tests.faces.web.conftest import Client, ok
from tintmix.book.book import open_book
from tintmix.desk.bench.adjust import History, Shop, adjust_for
from tintmix.desk.bench.trial_reading import TrialReading
from tintmix.page.bench import sheet as page_sheet
from tintmix.page.bench import trial as page_trial
from tintmix.page.bench.weights import weights_of
from tintmix.sheet.lines import Kind, shown
from tintmix.weighing.scales import Scale
from tintmix.weighing.weighed import PigmentWeight

READ = {
    "space": "Lab",
    "chip_0_mm": "12",
    "chip_0_colour": "86,1 -17,4; 0.2",
    "left": "195",
    "light": "D65",
    "observer": "10",
}
pytestmark = pytest.mark.usefixtures("book")


def asked(client: Client, **boxes: Any) -> Any:
    return client.finish(client.fill("/trial/ask", READ | boxes))


def area_of(client: Client) -> dict[str, Any]:
    return client.workspace.now().area("trial")


def body_of(client: Client) -> dict[str, Any]:
    body: dict[str, Any] = client.workspace.json(area_of(client)["answer"])["body"]
    return body


def key_of(client: Client, kind: str, name: str) -> str:
    kept = page_sheet.kept_sheet(client.workspace, client.workspace.now().area("sheet"))
    assert kept is not None
    return next(key for key, one in weights_of(kept.sheet).items() if (one.kind, one.into or one.of) == (kind, name))


def azure_of(client: Client) -> PigmentWeight:
    """What the demo's sheet weighs of azure."""
    kept = page_sheet.kept_sheet(client.workspace, client.workspace.now().area("sheet"))
    assert kept is not None
    return next(one for one in kept.sheet.weighed.pigments if one.pigment == "azure")


def test_without_a_recipe_it_says_what_to_do(client: Client) -> None:
    text = client.get("/trial").text
    assert "needs a recipe" in text
    assert "Try it with the demo" in text
    assert client.fill("/trial/ask", READ).status_code == 422
    assert client.fill("/trial/topped", {}).status_code == 422
    assert client.fill("/trial/lots", {"keep": "azure", "lot.azure": "B"}).status_code == 422


def test_the_weights_come_from_the_sheet(demo: Client) -> None:
    key = key_of(demo, "pigment", "azure")
    trial = key_of(demo, "sample", "B")
    ok(demo.fill("/sheet/marks", {f"weight.{key}": "2.16", f"weight.{trial}": "9.5"}))
    text = demo.get("/trial").text
    assert f'name="weight.{key}" value="2.16"' in text
    assert "as typed on Sheet" in text
    left = re.search(r'name="left" value="([\d.]+)"', text)
    assert left
    kept = page_sheet.kept_sheet(demo.workspace, demo.workspace.now().area("sheet"))
    assert kept is not None
    assert float(left[1]) == pytest.approx(
        kept.sheet.weighed.tinted_part_g + 2.16 - azure_of(demo).weigh_g - 9.5, abs=0.05
    )


def test_the_answer_is_that_of_the_shell(demo: Client) -> None:
    """The same pot, reading and scales through `desk.adjust.adjust_for`, which `tintmix adjust` calls."""
    answer = asked(demo)
    assert answer.status_code == 200
    page = body_of(demo)
    now = demo.workspace.now()
    kept = page_sheet.kept_sheet(demo.workspace, now.area("sheet"))
    assert kept is not None
    weighed = tuple((one.letdown or one.pigment, one.weigh_g) for one in kept.sheet.weighed.pigments)
    shell = adjust_for(
        demo.workspace.file(now.area("recipes")["chosen"]),
        TrialReading((12.0,), ((86.1, -17.4, 0.2),)),
        History(195.0, None, weighed, kept.sheet.weighed.tinted_part.grams_to_weigh),
        Shop(("resin=0.1", "pigment=0.01")),
        demo.workspace.file(now.area("pigments")["model"]),
    )
    assert page["outcome"] == shell["outcome"]
    for ours, theirs in zip(page["additions"], shell["additions"], strict=True):
        assert ours == pytest.approx(theirs)
    assert page["says"] == shell["says"]
    assert page["doses_in_pot_phr"] == pytest.approx(shell["doses_in_pot_phr"], rel=1e-6)
    title = {"keep": "Leave it", "top-up": "Top it up", "dilute": "Dilute it", "start again": "Start again"}[
        page["outcome"]
    ]
    assert title in answer.text
    assert "Before you mix" in answer.text


def test_weights_typed_here_are_on_the_sheet_too(demo: Client) -> None:
    key, other = key_of(demo, "pigment", "azure"), key_of(demo, "part", "B")
    text = demo.get("/trial").text
    as_asked = dict(re.findall(r'name="(weight\.[^"]*)" value="([^"]*)"', text))
    asked(demo, **(as_asked | {f"weight.{key}": "1,60"}))
    weights = demo.workspace.now().area("sheet")["weights"]
    assert weights == {key: 1.6}
    assert other not in weights
    assert body_of(demo)["doses_in_pot_phr"]["azure"] == pytest.approx(
        1.6 / azure_of(demo).weigh_g * azure_of(demo).dose_phr, rel=0.01
    )


def test_srgb_and_xyz_are_read_as_they_are(demo: Client) -> None:
    """White of IEC 61966-2-1 is L* 100, a* 0, b* 0 (CIE 15); the XYZ of the bare light is its own white."""
    now = demo.workspace.now()
    found = page_trial.recipe_at_hand(demo.workspace, now)
    assert found is not None
    for space, colour in (("sRGB", [255.0, 255.0, 255.0]), ("XYZ", [94.81, 100.0, 107.32])):
        reading = page_trial._reading(
            {"chips": [{"thickness_mm": 3.0, "colour": colour}], "space": space, "light": "D65", "observer": 10}, found
        )
        if space == "sRGB":
            assert reading.colours[0] == pytest.approx((100.0, 0.0, 0.0), abs=1e-6)
        assert reading.space == ("XYZ" if space == "XYZ" else "Lab")
    assert asked(demo, space="sRGB", chip_0_colour="#c0e0d8").status_code == 200
    assert area_of(demo)["asked"]["chips"][0]["colour"] == [192.0, 224.0, 216.0]
    assert asked(demo, space="XYZ", chip_0_colour="54 65 70").status_code == 200


def test_a_bottle_has_its_own_name_and_its_own_strength(demo: Client) -> None:
    """What the maker reads is the name on the bottle; the ratio behind it is what was typed: 1.3 g in its carrier."""
    first, carrier = key_of(demo, "first", azure_of(demo).letdown), key_of(demo, "carrier", azure_of(demo).letdown)
    ok(demo.fill("/sheet/marks", {f"weight.{first}": "1.3"}))
    answer = asked(demo, chip_0_colour="90 -8 1")
    assert answer.status_code == 200
    assert not re.search(r"1\s*\+\s*\d+\.\d{4}", answer.text)
    now = demo.workspace.now()
    kept = page_sheet.kept_sheet(demo.workspace, now.area("sheet"))
    assert kept is not None
    pot = page_trial.pot_now(kept, now.area("sheet"), [])
    [azure] = [one for one in pot.stocks if one.name == azure_of(demo).letdown]
    assert azure.n == pytest.approx(weights_of(kept.sheet)[carrier].grams / 1.3)
    assert azure_of(demo).letdown in [name for name, _ in pot.weighed]


def test_two_tellings_of_a_weight_agree(demo: Client) -> None:
    """On a scale that shows 0.25 g the sheet says 1.25 g; so do the answer's sentences, and the boxes to note it in."""
    boxes = {"resin": "recipe", "how": "batch", "grams": "2000", "resin_step": "1", "pigment_step": "0.25"}
    assert demo.fill("/sheet/make", boxes).status_code == 200
    answer = asked(demo, chip_0_colour="91 -6 -1.5", left="900")
    body = body_of(demo)
    assert body["additions"]
    for one in body["additions"]:
        told = f"Weigh in {shown(one['weigh_g'], Scale(0.25))} of {one['letdown'] or one['pigment']}"
        assert any(sentence.startswith(told) for sentence in body["order"])
        assert f'value="{one["weigh_g"]:g}"' in answer.text


def test_thickness_in_inches(demo: Client) -> None:
    ok(demo.fill("/settings", {"length": "inch", "mass": "g", "back": "trial"}))
    asked(demo, chip_0_mm="0.5")
    assert area_of(demo)["asked"]["chips"][0]["thickness_mm"] == pytest.approx(12.7)


def test_too_late_where_all_is_mixed(demo: Client) -> None:
    answer = asked(demo, mixed="1", mixed_min="30", chip_0_colour="80 -20 2")
    assert body_of(demo)["outcome"] in ("too late", "keep")
    assert "Add nothing to this pot" in answer.text or "Leave it" in answer.text


@pytest.mark.parametrize(
    "boxes",
    [
        {"chip_0_mm": ""}, {"chip_0_mm": "", "chip_0_colour": ""}, {"chip_0_colour": ""}, {"chip_0_colour": "1 2"},
        {"chip_0_colour": "a b c"}, {"chip_0_colour": "120 0 0"}, {"space": "sRGB", "chip_0_colour": "300 0 0"},
        {"space": "XYZ", "chip_0_colour": "-1 5 5"}, {"left": ""}, {"left": "0"}, {"left": "9999"}, {"pot": "10"},
        {"mixed": "1", "mixed_min": ""}, {"mixed": "1", "mixed_min": "-2"}, {"need": "x"}, {"chip_0_mm": "9999"},
    ],
)  # fmt: skip
def test_what_cannot_be_is_told_and_stays_in_the_boxes(demo: Client, boxes: dict[str, str]) -> None:
    answer = asked(demo, **boxes)
    assert answer.status_code == 422
    sentence = answer.text.partition("Not yet.")[2].partition("</p>")[0]
    assert sentence
    assert "--" not in sentence
    assert not area_of(demo).get("answer")
    for name, value in boxes.items():
        if name in ("left", "pot", "need") and value not in ("",):
            assert f'value="{value}"' in answer.text


def test_a_weight_that_cannot_be(demo: Client) -> None:
    key = key_of(demo, "part", "B")
    assert "weight of part B" in asked(demo, **{f"weight.{key}": "much"}).text
    answer = demo.fill("/trial/ask", READ | {f"weight.{key}": "2084"})
    assert (answer.status_code, area_of(demo).get("answer")) == (422, None)
    assert 'name="as_weighed"' in answer.text
    assert key not in demo.workspace.now().area("sheet").get("weights", {})


def test_a_second_tab_overwrites_nothing(demo: Client) -> None:
    asked(demo)
    assert demo.fill("/trial/ask", READ | {"revision_trial": "0"}).status_code == 409
    assert demo.fill("/trial/lots", {"keep": "azure", "lot.azure": "A-17", "revision_trial": "0"}).status_code == 409
    assert demo.fill("/trial/topped", {"revision_trial": "0"}).status_code == 409
    assert demo.fill("/trial/anew", {"revision_trial": "0"}).status_code == 409


def test_an_answer_to_an_earlier_reading_says_so(demo: Client) -> None:
    asked(demo)
    assert "earlier reading" not in demo.get("/trial").text
    asked(demo, left="9999")
    assert "earlier reading" in demo.get("/trial").text


def test_topped_up_the_pot_is_what_it_then_is(demo: Client) -> None:
    """Mass balance by hand: what was left, plus what went in; pigment scaled with what was left."""
    asked(demo)
    before = body_of(demo)
    top = {"added": [azure_of(demo).letdown], "added_grams": ["0,62"], "plain": "10"}
    # The answer asked for far other weights: whether it was so is asked first.
    answer = demo.fill("/trial/topped", top)
    assert (answer.status_code, area_of(demo).get("rounds")) == (422, None)
    assert 'name="as_weighed"' in answer.text
    answer = demo.fill("/trial/topped", top | {"as_weighed": "1"})
    assert "205.6 g should be in the pot" in answer.text
    area = area_of(demo)
    assert area["answer"] is None
    # What the trial taught about the lots can still be saved.
    assert 'name="keep" value="emerald"' in answer.text
    assert "lot E-04 is" in demo.fill("/trial/lots", {"keep": ["emerald"], "lot.emerald": "E-04"}).text
    assert area["rounds"][0]["left_g"] == 195.0
    now = demo.workspace.now()
    kept = page_sheet.kept_sheet(demo.workspace, now.area("sheet"))
    assert kept is not None
    pot = page_trial.pot_now(kept, now.area("sheet"), area["rounds"])
    assert pot.made_g == pytest.approx(205.62)
    assert pot.strengths["emerald"] == pytest.approx(
        (before["lot_strengths"]["emerald"]["factor"], before["lot_strengths"]["emerald"]["spread"])
    )
    asked(demo, left="200", chip_0_colour="86 -17.5 0")
    # 0.62 g of 1+50 bring 0.0122 g of azure: to the sheet's dose · what 195 g make, over what 205.62 g make.
    mixed_before, mixed_after = 195 / (90 / 190), 205.62 / (90 / 190)
    dose = (azure_of(demo).dose_phr * mixed_before / 100 + 0.62 / 51) / mixed_after * 100
    assert body_of(demo)["doses_in_pot_phr"]["azure"] == pytest.approx(dose, rel=0.01)
    ok(demo.fill("/trial/anew"))
    assert area_of(demo) == {}
    ok(demo.fill("/undo"))
    assert area_of(demo)["rounds"]


@pytest.mark.parametrize("boxes", [{"added": ["azure"], "added_grams": ["x"]}, {"plain": "-1"}])
def test_top_ups_that_cannot_be(demo: Client, boxes: dict[str, Any]) -> None:
    asked(demo)
    assert demo.fill("/trial/topped", boxes).status_code == 422
    assert not area_of(demo).get("rounds")


def test_the_lots_go_into_the_book_and_onto_the_next_sheet(demo: Client, book: Path) -> None:
    asked(demo)
    one = body_of(demo)["lot_strengths"]["emerald"]
    # Ticked beforehand is what differs from what it was weighed by, by more than chance may bring.
    far = {p for p, s in body_of(demo)["lot_strengths"].items() if abs(math.log(s["factor"])) > 1.96 * s["spread"]}
    shown = re.findall(r'name="keep" value="(\w+)"( checked)?', demo.get("/trial").text)
    assert {name for name, ticked in shown if ticked} <= far < {name for name, _ in shown}
    answer = demo.fill("/trial/lots", {"keep": ["emerald"], "lot.emerald": "E-04", "lot.azure": "A-17"})
    assert "lot E-04 is" in answer.text
    assert "kept in the book for lot E-04" in answer.text
    with open_book(book) as opened:
        assert opened.lot_strengths({"emerald": "E-04"}).get("emerald") == pytest.approx((one["factor"], one["spread"]))
        assert opened.lot_strengths({"azure": "A-17"}).get("azure") is None
    # Asked again of the same reading, the lots are not believed twice.
    asked(demo, left="194")
    assert body_of(demo)["lot_strengths"]["emerald"] == pytest.approx(one, rel=1e-6)
    boxes = {"resin": "recipe", "how": "batch", "grams": "450", "resin_step": "0.1", "pigment_step": "0.01"}
    ok(demo.fill("/sheet/make", boxes))
    kept = page_sheet.kept_sheet(demo.workspace, demo.workspace.now().area("sheet"))
    assert kept is not None
    emerald = next(p for p in kept.sheet.weighed.pigments if p.pigment == "emerald")
    assert emerald.grams == pytest.approx(emerald.dose_phr / 100 * 450 / one["factor"], rel=1e-6)


def test_lots_without_a_name_or_a_tick(demo: Client) -> None:
    asked(demo)
    assert "Tick those" in demo.fill("/trial/lots", {"lot.emerald": "G"}).text
    assert demo.fill("/trial/lots", {"keep": ["emerald"], "lot.emerald": ""}).status_code == 422
    assert demo.fill("/trial/lots", {"keep": ["pink"], "lot.pink": "P"}).status_code == 404


def test_without_a_sheet_the_recipe_is_taken_as_weighed(demo: Client) -> None:
    dose = azure_of(demo).dose_phr
    demo.workspace.change("none", {"sheet": {}}, {})
    assert "just as the recipe asks" in demo.get("/trial").text
    assert asked(demo).status_code == 200
    assert body_of(demo)["doses_in_pot_phr"]["azure"] == pytest.approx(dose, rel=1e-5)


def test_the_sheet_knows_of_the_trial_and_the_top_up_and_so_does_the_book(demo: Client, book: Path) -> None:
    """The part that is added last is that for what is in the pot by then; bottles and batch are told as they became."""
    ok(demo.fill("/sheet/keep", {"what": "shelf"}))
    with open_book(book) as opened:
        shelf = {one.name: one.left_g for one in opened.bottles()}
    sample, other = key_of(demo, "sample", "B"), key_of(demo, "other", "A")
    kept = page_sheet.kept_sheet(demo.workspace, demo.workspace.now().area("sheet"))
    assert kept is not None
    lines, weighed = weights_of(kept.sheet), kept.sheet.weighed
    said = demo.fill("/sheet/marks", {"tick": sample}, headers={"accept": "application/json"}).json()
    left = page_sheet.pot_at_hand(kept, {}).made_g - lines[sample].grams
    per_gram = lines[other].grams / weighed.tinted_part_g
    assert said["day"]["grams"][other] == pytest.approx(left * per_gram, rel=1e-6)
    ok(asked(demo, chip_0_colour="90 -9 -2"))
    body = body_of(demo)
    assert "The trial asks for this to be added first: " in ok(demo.get("/sheet")).text
    [name] = [one["letdown"] for one in body["additions"] if one["letdown"] in shelf][:1]
    ok(demo.fill("/trial/topped", {"added": [name], "added_grams": ["1.63"], "plain": "2.93", "as_weighed": "1"}))
    now = 195.0 + 1.63 + 2.93
    text = ok(demo.get("/sheet")).text
    assert shown(now * per_gram, lines[other].scale) in text
    assert f"Already added after the trial: {name} 1.63 g and untinted part B 2.93 g." in text
    (book.parent / "sheet.pdf").write_bytes(ok(demo.get("/sheet/sheet.pdf")).content)
    printed = " ".join(words_of(book.parent / "sheet.pdf").split())
    assert "do not weigh the batch again" in printed
    assert f"Still to be added, for the {now:.1f} g in the pot" in printed
    assert printed.count(shown(now * per_gram, lines[other].scale)) == 2
    typed = f"{now * per_gram:.1f}"
    boxes = {"tick": sample, f"weight.{other}": typed}
    said = demo.fill("/sheet/marks", boxes, headers={"accept": "application/json"}).json()
    assert said["off"][other] == ""
    ok(demo.fill("/sheet/keep", {"what": "pour", "poured_on": "2025-03-01"}))
    with open_book(book) as opened:
        [pour] = opened.pours(kept.sheet.title)
        left_now = {one.name: one.left_g for one in opened.bottles()}
    assert pour.pour.batch_g == pytest.approx(weighed.batch_g * now / weighed.tinted_part_g, rel=1e-4)
    assert pour.pour.weights_g[f"top-up: {name}"] == 1.63
    # Ahead of it what the batch took of that bottle, which nobody ticked off; the two are summed nowhere.
    took = next(line.grams for line in lines.values() if line.kind is Kind.PIGMENT and line.out_of == name)
    assert pour.pour.weights_g[f"as planned: {name}"] == took
    assert name not in pour.pour.weights_g
    assert pour.pour.note.startswith("As planned, neither typed nor ticked off: ")
    assert any("trial" in what and grams == lines[sample].grams for what, grams in pour.pour.weights_g.items())
    assert left_now[name] == pytest.approx(shelf[name] - 1.63)


def test_a_pot_that_weighs_something_else_is_remarked_on(demo: Client) -> None:
    kept = page_sheet.kept_sheet(demo.workspace, demo.workspace.now().area("sheet"))
    assert kept is not None
    made = page_sheet.pot_at_hand(kept, {}).made_g
    key = next(
        key for key, what in page_sheet.blanks_of(kept).items() if what.startswith("tinted") and what.endswith("weighs")
    )
    far = f"{made + 38:.1f}"
    said = demo.fill("/sheet/marks", {f"note.{key}": far}, headers={"accept": "application/json"}).json()
    assert "38 g more" in said["day"]["told"][key]


def test_what_the_recipe_promised_is_not_called_the_target() -> None:
    recipe: Any = SimpleNamespace(recipe=SimpleNamespace(sections=[{"name": "rim", "target_lab": [80.0, -5.0, 3.0]}]))
    pot = {"name": "rim", "lab": [80.0, -5.0, 3.0], "target_lab": [80.0, -5.0, 3.0]}
    promised = {**pot, "target_lab": [78.0, -6.0, 3.0]}
    assert page_trial._wanted(pot, pot, recipe, False)["aimed_at"] == "the target"
    told = page_trial._wanted(promised, promised, recipe, False)
    assert told == {"aimed_at": "what the recipe promised", "target_off": 0.0, "target_off_after": 0.0}
    assert page_trial._wanted(promised, pot, recipe, True)["aimed_at"] == "what it should be"
