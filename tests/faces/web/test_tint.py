"""The Tint screen and the one-cup question, as Starlette's client sees them."""

from __future__ import annotations

import re

import pytest

from tests.faces.web.conftest import Client, ok
from tintmix.desk.look import looked
from tintmix.faces.web.render import phr
from tintmix.page.colour.pigments import model_at_hand
from tintmix.page.colour.tint import tint_seen
from tintmix.page.places import part_of
from tintmix.pigments.thickness_strip import strip_end_mm


def look(client: Client, **doses: str) -> dict:
    answer = client.get("/tint/look", params={f"dose.{name}": dose for name, dose in doses.items()})
    assert answer.status_code == 200, answer.text
    return answer.json()


def test_without_pigments_tint_is_the_one_cup_question(client: Client) -> None:
    answer = ok(client.get("/tint"))
    assert "How dark will it be where it is thick?" in answer.text
    assert "Try it with the demo" in answer.text


def test_one_cup_from_typed_readings(client: Client) -> None:
    boxes = {"chip_0_mm": "3", "chip_0_L": "86,74", "chip_0_a": "-22.69", "chip_0_b": "-4,89", "thick_mm": "60"}
    answer = client.finish(client.fill("/tint/cup", boxes))
    assert answer.status_code == 200
    assert "Strength of your cup" in answer.text
    assert "60 mm" in answer.text
    assert client.workspace.now().area("tint")["doses"] == {"mix": 1.0}


@pytest.mark.parametrize("how", ["45/0", "d/8"])
def test_one_cup_read_on_a_white_tile(client: Client, how: str) -> None:
    """What most hand-held instruments give: light that went through the chip twice."""
    boxes = {"chip_0_mm": "3", "chip_0_L": "80", "chip_0_a": "-30", "chip_0_b": "-8", "thick_mm": "60", "how": how}
    assert "bare white tile" in client.fill("/tint/cup", boxes).text
    answer = client.finish(client.fill("/tint/cup", boxes | {"tile_L": "94.7", "tile_a": "0", "tile_b": "0"}))
    assert "Strength of your cup" in answer.text
    area = client.workspace.now().area("chips")
    reading = client.workspace.chip_set(area["sets"][0]["thing"]).reading
    assert (reading.relative_to, reading.geometry, reading.tile_lab) == ("white tile", how, (94.7, 0.0, 0.0))


@pytest.mark.parametrize(
    ("box", "value", "says"),
    [
        ("chip_0_L", "", "L* of chip 1"),
        ("chip_0_L", "120", "from 0 to 100"),
        ("chip_0_mm", "-3", "thickness of chip 1"),
        ("thick_mm", "thick", "thickest place"),
    ],
)  # fmt: skip
def test_what_is_wrong_with_a_cup_is_said_and_what_was_typed_stays(
    client: Client, box: str, value: str, says: str
) -> None:
    boxes = {"chip_0_mm": "3", "chip_0_L": "86,7", "chip_0_a": "-22.69", "chip_0_b": "-4,89", "thick_mm": "60"}
    answer = client.fill("/tint/cup", boxes | {box: value})
    assert answer.status_code == 422
    assert says in answer.text
    assert 'value="-22.69"' in answer.text


def test_the_one_cup_example(client: Client) -> None:
    answer = client.finish(client.fill("/tint/cup", {"demo": "1", "thick_mm": "60"}))
    assert "Strength of your cup" in answer.text


def test_the_page_shows_what_the_shell_says(demo: Client) -> None:
    """The same model, doses and places through desk.look, which `tintmix look` calls."""
    now = demo.workspace.now()
    model = model_at_hand(demo.workspace, now)
    assert model is not None
    body = look(demo, azure="0.02", emerald="0,01")
    shell = looked(model, {"azure": 0.02, "emerald": 0.01}, [8.0, 60.0]).body["sections"]
    for place, section in zip(body["places"], shell, strict=True):
        assert place["srgb"] == section["srgb"]
        assert place["light"] == pytest.approx(section["luminous_transmittance"], rel=1e-12)
        assert place["off"] == pytest.approx(section["delta_e00_95"], rel=1e-12)


def test_the_strip_ends_as_all_strips_do_and_has_the_places_colours(demo: Client) -> None:
    strip = look(demo, azure="0.02", emerald="0.01", rose="0.03")["strip"]
    assert (strip["from_mm"], strip["to_mm"]) == (0.0, strip_end_mm(60.0))
    # The strip is drawn from a quarter of the draws: within two of 255 levels of a place's own colour there.
    model = model_at_hand(demo.workspace, demo.workspace.now())
    assert model is not None
    for at, colour in (strip["stops"][5], strip["stops"][-1]):
        part = part_of({"places": [{"name": "there", "thickness_mm": 65.0 * at}]})
        place = tint_seen(model, {"azure": 0.02, "emerald": 0.01, "rose": 0.03}, part)["places"][0]
        levels = [[int(one[i : i + 2], 16) for i in (1, 3, 5)] for one in (colour, place["srgb"])]
        assert max(abs(a - b) for a, b in zip(*levels, strict=True)) <= 2


def test_too_dark_begins_where_the_light_falls_below_the_floor(demo: Client) -> None:
    body = look(demo, rose="0.1", azure="0.05")
    dark = body["strip"]["dark_from_mm"]
    assert 8.0 < dark < 60.0
    assert [place["too_dark"] for place in body["places"]] == [False, True]
    now = demo.workspace.now()
    model = model_at_hand(demo.workspace, now)
    assert model is not None
    at = model.look({"rose": 0.1, "azure": 0.05}, [dark]).luminous_transmittance[0]
    assert at == pytest.approx(part_of(now.area("part")).floor, rel=0.03)


def test_the_target_stands_beside_the_tint(demo: Client) -> None:
    assert all(place["target"]["srgb"] for place in look(demo, azure="0.02")["places"])
    said = demo.get("/tint").text
    assert "target" in said
    # And the demo's casting, traced before anybody asked for it.
    assert 'aria-label="Deck prism with a ring in it, seen from above' in said


def test_the_three_likely_colours_widen_with_doubt(demo: Client) -> None:
    now = demo.workspace.now()
    model = model_at_hand(demo.workspace, now)
    assert model is not None
    body = tint_seen(model, {"azure": 0.02}, part_of({}))
    assert all(len(place["like"]) == 3 for place in body["places"])
    assert body["places"][0]["like"][1] == body["places"][0]["srgb"]


@pytest.mark.parametrize("dose", ["-1", "x", "1e9", "", "nan", "0.02.1", "1" * 60])
def test_a_dose_that_is_none_is_422(demo: Client, dose: str) -> None:
    answer = demo.get("/tint/look", params={"dose.azure": dose}, headers={"accept": "application/json"})
    assert answer.status_code == 422
    assert answer.json()["error"]


def test_a_pigment_that_is_none_is_422(demo: Client) -> None:
    assert demo.get("/tint/look", params={"dose.pink": "1"}).status_code == 422


def test_a_look_without_chips_is_422(client: Client) -> None:
    assert client.get("/tint/look").status_code == 422


def test_doses_are_kept_and_can_be_taken_back(demo: Client) -> None:
    before = demo.workspace.now().area("tint")["doses"]
    # As the boxes have them, with three digits; what is not changed keeps all of its digits.
    boxes = {f"dose.{name}": phr(dose) for name, dose in before.items()} | {"dose.azure": "0,03"}
    answer = demo.fill("/tint/doses", boxes)
    assert 'value="0.03"' in answer.text
    assert "dose of azure" in answer.text
    assert demo.workspace.now().area("tint")["doses"] == before | {"azure": 0.03}
    ok(demo.fill("/undo", {"back": "tint"}))
    assert demo.workspace.now().area("tint")["doses"] == before
    ok(demo.fill("/redo", {"back": "tint"}))
    assert demo.workspace.now().area("tint")["doses"] == before | {"azure": 0.03}


def test_a_second_tab_does_not_overwrite_the_first(demo: Client) -> None:
    old = demo.workspace.now().revision_of("tint")
    ok(demo.fill("/tint/doses", {"dose.azure": "0.03"}))
    late = {"dose.azure": "0.09", "revision_tint": str(old)}
    answer = demo.fill("/tint/doses", late)
    assert answer.status_code == 409
    assert "another tab" in answer.text
    by_script = demo.fill("/tint/doses", late, headers={"accept": "application/json"})
    assert by_script.status_code == 409
    assert "another tab" in by_script.json()["error"]
    assert demo.workspace.now().area("tint")["doses"] == {"azure": 0.03}
    assert demo.get("/tint/now").json() == {"revision": old + 1, "doses": {"azure": 0.03}}


def test_places_are_typed_in_the_units_of_choice_and_kept_in_mm(demo: Client) -> None:
    ok(demo.fill("/settings", {"length": "inch", "mass": "oz", "surround": "dark"}))
    page = demo.get("/tint")
    assert "surround-dark" in page.text
    assert "2.362 inch" in page.text
    boxes = {
        "place_0_name": "flange",
        "place_0_mm": "0.315",
        "place_1_name": "point",
        "place_1_mm": "2,5",
        "floor_percent": "5",
        "light": "A",
    }
    ok(demo.fill("/tint/places", boxes))
    part = part_of(demo.workspace.now().area("part"))
    # 0.315 inch is how 8 mm is shown: unchanged, it stays 8 mm. 2.5 inch is 63.5 mm exactly.
    assert part.thicknesses_mm == (8.0, 63.5)
    assert (part.floor, part.light) == (0.05, "A")


@pytest.mark.parametrize(
    "boxes", [{"place_0_mm": "0"}, {"place_0_mm": "1001"}, {"floor_percent": "100"}, {"place_0_mm": "", "place_1_mm": ""}]
)  # fmt: skip
def test_places_that_cannot_be_are_refused(demo: Client, boxes: dict[str, str]) -> None:
    usual = {"place_0_mm": "8", "place_1_mm": "60", "floor_percent": "8", "light": "D65"}
    answer = demo.fill("/tint/places", usual | boxes)
    assert answer.status_code == 422
    assert "Not yet." in answer.text
    # The box is marked; of two that may not both be empty, the last.
    wrong = re.findall(r'name="(\w+)"[^>]*aria-invalid="true"', answer.text)
    assert wrong == list(boxes)[-1:]
