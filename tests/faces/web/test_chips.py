"""The Chips and Pigments screens, as Starlette's client sees them."""

from __future__ import annotations

import html
import re
from pathlib import Path

import pytest

from tests.faces.web.conftest import Client, ok
from tintmix.book.book import open_book
from tintmix.chips.chip import ChipSet
from tintmix.chips.folder import read_chips
from tintmix.desk.demo import demo as shipped
from tintmix.resin import read_resin


def at_hand(client: Client) -> ChipSet:
    area = client.workspace.now().area("chips")
    entry = next(one for one in area["sets"] if one["id"] == area["active"])
    return client.workspace.chip_set(entry["thing"])


def begun(client: Client) -> ChipSet:
    ok(
        client.fill(
            "/chips/begin", {"title": "mine", "kind": "colour", "pigments": "azure, emerald", "thicknesses": "3 12"}
        )
    )
    return at_hand(client)


def test_a_photo_set_begun_by_hand_claims_no_light(client: Client) -> None:
    ok(client.fill("/chips/begin", {"title": "mine", "kind": "camera", "pigments": "azure", "thicknesses": "3 12"}))
    assert at_hand(client).reading.light == "unknown"


def test_the_empty_screen_says_what_to_do(client: Client) -> None:
    text = client.get("/chips").text
    for words in ("Try it with the demo", "Plan which chips to pour", "Start a set by hand", "Import a set"):
        assert words in text


def test_a_set_by_hand_then_a_cup_then_readings(client: Client) -> None:
    chips = begun(client)
    assert [chip.name for chip in chips.chips] == ["clear 3 mm", "clear 12 mm"]
    ok(client.fill("/chips/cup", {"cup_name": "B1", "cup_thicknesses": "3; 12,5", "cup_dose.azure": "0,02"}))
    chips = at_hand(client)
    assert [chip.name for chip in chips.chips][2:] == ["B1 3 mm", "B1 12.5 mm"]
    assert chips.chips[2].doses_phr == (0.02, 0.0)
    answer = client.fill(
        "/chips/readings", {"colours": "clear 3 mm 96,1 -0,2 0,6\nB1 3 mm\t78.2\t-12.5\t-20.1", "space": "Lab"}
    )
    assert "2 chips read." in answer.text
    assert at_hand(client).chips[2].values == (78.2, -12.5, -20.1)
    assert "2 not read yet" in answer.text
    ok(client.fill("/undo"))
    assert not at_hand(client).chips[2].is_read


def test_how_clear_chips_are_is_asked_and_kept(client: Client) -> None:
    begun(client)
    ok(client.fill("/chips/readings", {"colours": "clear 3 mm 96 0 1"}))
    asked = client.get("/chips").text
    assert "look through it at a printed page" in asked
    assert "sharp is clear" in asked
    ok(client.fill("/chips/haze", {"haze_0": "clear", "haze_1": "slight"}))
    assert [(chip.haze, chip.haze_word) for chip in at_hand(client).chips] == [(0.01, "clear"), (0.05, "slight")]
    assert "haze unknown" not in client.get("/chips").text
    ok(client.fill("/chips/haze", {"haze_0": "", "haze_1": ""}))
    assert [chip.haze for chip in at_hand(client).chips] == [None, None]
    assert "It is clear or slight" in html.unescape(client.fill("/chips/haze", {"haze_0": "foggy"}).text)
    ok(client.fill("/chips/haze", {"sphere": "1"}))
    assert at_hand(client).reading.geometry == "total"
    assert "printed page" not in client.get("/chips").text


@pytest.mark.parametrize(
    ("box", "typed", "says"),
    [
        ("plan_places", "rim eight", "eight"), ("cast", "3 mm, thin", "thin"), ("cast", "1/8 inch", "1/8"),
        ("cups", "2.5", "whole number"), ("plan_pigments", "azure 200", "200"),
    ],
)  # fmt: skip
def test_what_is_wrong_with_a_plan_marks_its_box(client: Client, box: str, typed: str, says: str) -> None:
    wish = {"plan_places": "rim 8\npoint 60", "plan_pigments": "azure 0.02", "cast": "3 mm, 12 mm", box: typed}
    told = client.fill("/chips/plan", wish)
    assert told.status_code == 422
    assert says in told.text.partition('id="problem"')[2].partition("</div>")[0]
    assert re.findall(r'name="(\w+)"[^>]*aria-invalid="true"', told.text) == [box]


def test_a_chip_beyond_the_screen_is_there_for_a_wider_one(client: Client) -> None:
    """Its nearest sRGB colour for all, and beside it Display P3's for who can show it; no such thing within sRGB."""
    begun(client)
    ok(client.fill("/chips/readings", {"colours": "clear 3 mm 60 -90 40"}))
    for path in ("/chips", "/chips/chip?chip=clear 3 mm"):
        assert ok(client.get(path)).text.count('data-wide="color(display-p3 ') == 1, path
    ok(client.fill("/chips/readings", {"colours": "clear 3 mm 60 -9 4", "replace": "1"}))
    assert "data-wide" not in ok(client.get("/chips")).text


def test_a_reading_that_is_there_is_kept_unless_it_is_to_be_replaced(client: Client) -> None:
    begun(client)
    ok(client.fill("/chips/readings", {"colours": "clear 3 mm 96 0 1"}))
    answer = client.fill("/chips/readings", {"colours": "clear 3 mm 90 0 1"})
    assert "kept it" in answer.text
    assert at_hand(client).chips[0].values[0] == 96.0
    ok(client.fill("/chips/readings", {"colours": "clear 3 mm 90 0 1", "replace": "1"}))
    assert at_hand(client).chips[0].values[0] == 90.0
    # One that no chip can have is told by the line that was typed, and by its chip.
    bad = client.fill("/chips/readings", {"colours": "\n\nclear 12 mm 668 0 1"})
    assert "line 3, chip clear 12 mm, L: 668" in bad.text
    assert "file" not in bad.text.partition("668")[2].partition("</p>")[0]


@pytest.mark.parametrize("colours", ["", "clear 3 mm 1 2", "nobody 1 2 3", "clear 3 mm x y z"])
def test_readings_that_cannot_be_used_are_refused_and_stay_in_the_box(client: Client, colours: str) -> None:
    begun(client)
    before = client.workspace.now()
    answer = client.fill("/chips/readings", {"colours": colours})
    assert answer.status_code == 422
    assert colours in answer.text
    assert client.workspace.now() == before


def test_an_instruments_file(client: Client) -> None:
    begun(client)
    file = ("../../evil.csv", b"sample,L*,a*,b*\nclear 3 mm,96.1,-0.2,0.6\nclear 12 mm,93.0,-0.9,2.1\n")
    answer = client.fill("/chips/instrument", files={"instrument": file})
    assert "2 chips read." in answer.text
    bad = client.fill("/chips/instrument", files={"instrument": ("my.csv", b"\x00\x01")})
    assert bad.status_code == 422
    assert "my.csv" in bad.text
    assert str(client.workspace.folder) not in bad.text
    assert client.fill("/chips/instrument").status_code == 422


def test_a_set_is_uploaded_and_downloaded_the_same(client: Client) -> None:
    folder = shipped("deck-prism-colours")
    files = [("files", ((name, (folder / name).read_bytes()))) for name in ("chips.csv", "set.toml")]
    answer = client.fill("/chips/upload", files=files)
    assert "60 chips from 20 cups" in answer.text
    assert at_hand(client) == read_chips(folder)
    table = client.get("/chips/chips.csv")
    assert (
        table.headers["content-disposition"] == 'attachment; filename="deck-prism-tints-l-a-b-invented-chips-chips.csv"'
    )
    again = [
        ("files", ("chips.csv", table.content)),
        ("files", ("set.toml", client.get("/chips/set.toml").content)),
    ]
    ok(client.fill("/chips/upload", files=again))
    assert at_hand(client) == read_chips(folder)


@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("chips.csv", b""),
        ("chips.csv", b"chip,thickness_mm,L,a,b\nb1,x,1,2,3\n"),
        ("set.toml", b"format = 1"),
        ("chips.csv", b"\xff\xfe"),
    ],
)  # fmt: skip
def test_a_set_that_cannot_be_read_is_told(client: Client, name: str, content: bytes) -> None:
    answer = client.fill("/chips/upload", {"upload_kind": "colour"}, files={"files": (name, content)})
    assert answer.status_code == 422
    assert str(client.workspace.folder) not in answer.text


def test_a_plan_becomes_a_set_with_a_page_for_the_bench(client: Client) -> None:
    boxes = {
        "plan_pigments": "azure 0,02\nemerald 0.01",
        "plan_kind": "colour",
        "cast": "3 12",
        "scale": "0,01",
        "cups": "4",
    }
    answer = client.fill("/chips/plan", boxes)
    assert answer.url.path == "/chips/plan"
    # A box to tick before each weight, and before each step at the bench.
    plan = client.workspace.json(*client.workspace.now().area("chips")["plans"].values())
    weights = 2 * len(plan["letdowns"]) + sum(len(cup["weigh"]) + (len(cup["parts"]) or 1) for cup in plan["cups"])
    steps = answer.text.partition('<ol class="order">')[2].partition("</ol>")[0]
    assert answer.text.count('class="tick"') == weights + steps.count("<li>")
    assert steps.count('<li><span class="tick">') == steps.count("<li>") > 0
    assert "stock bottles" in answer.text
    assert "respirator" in answer.text
    chips = at_hand(client)
    assert {pigment.name for pigment in chips.pigments} == {"azure", "emerald"}
    assert not any(chip.is_read for chip in chips.chips)
    assert len({chip.cup for chip in chips.chips}) <= 4


@pytest.mark.parametrize(
    "boxes",
    [
        {"plan_pigments": ""},
        {"plan_pigments": "azure 0.x"},
        {"plan_pigments": "deep blue 0,03\ndeep red 0,02\nDeep  Blue 0,01"},
        {"plan_pigments": "azure 0.02 emerald 0.01"},
        {"plan_pigments": "azure", "scale": "heavy"},
        {"plan_pigments": "azure", "plan_places": ""},
        {"plan_pigments": "azure", "plan_places": "rim thick"},
        {"plan_pigments": "azure\nemerald", "plan_places": "8 45", "cups": "1"},
    ],
)
def test_a_plan_that_cannot_be_made_is_told(client: Client, boxes: dict[str, str]) -> None:
    assert client.fill("/chips/plan", {"cast": "3 12"} | boxes).status_code == 422


def test_a_chip_is_corrected_without_harm_to_what_was_not_touched(client: Client) -> None:
    folder = shipped("deck-prism-colours")
    files = [("files", ((name, (folder / name).read_bytes()))) for name in ("chips.csv", "set.toml")]
    ok(client.fill("/chips/upload", files=files))
    page = client.get("/chips/chip?chip=a2-12")
    assert page.status_code == 200
    old = next(chip for chip in at_hand(client).chips if chip.name == "a2-12")
    boxes = {"thickness": "11,8", "dose.azure": "0.05", "value_0": f"{old.values[0]:g}", "value_1": f"{old.values[1]:g}",
             "value_2": f"{old.values[2]:g}", "use": "1", "note": "measured again"}  # fmt: skip
    ok(client.fill("/chips/chip?chip=a2-12", boxes))
    new = {chip.name: chip for chip in at_hand(client).chips}
    assert new["a2-12"].thickness_mm == 11.8
    assert new["a2-12"].values == old.values
    assert new["a2-12"].note == "measured again"
    assert {new[name].doses_phr[0] for name in ("a2-3", "a2-12", "a2-25")} == {0.05}
    ok(client.fill("/chips/chip?chip=a2-12", {"use_only": "no"}))
    assert not next(chip for chip in at_hand(client).chips if chip.name == "a2-12").use
    ok(client.fill("/chips/chip?chip=a2-12", {"remove": "1"}))
    assert client.get("/chips/chip?chip=a2-12").status_code == 404


def test_a_chip_with_a_bad_number_is_told_on_its_own_page(demo: Client) -> None:
    answer = demo.fill("/chips/chip?chip=a1-3", {"thickness": "thin"})
    assert answer.status_code == 422
    assert "Chip a1-3" in answer.text
    assert 'value="thin"' in answer.text


def test_doubtful_chips_are_named_and_can_be_left_out(demo: Client) -> None:
    """The shipped set's README: one chip is plainly wrong; it is v2-12."""
    assert "Doubtful: v2-12" in demo.get("/chips").text
    pigments = demo.get("/pigments").text
    assert "v2-12" in pigments
    answer = demo.fill("/chips/chip?chip=v2-12", {"use_only": "no", "back": "pigments"})
    assert answer.url.path == "/pigments"
    assert "The chips have changed since." in answer.text
    assert ("Leave it out" in answer.text, "Use it again" in answer.text) == (False, True)
    answer = demo.fill("/chips/chip?chip=v2-12", {"use_only": "yes", "back": "pigments"})
    assert ("Leave it out" in answer.text, "Use it again" in answer.text) == (True, False)
    ok(demo.fill("/chips/chip?chip=v2-12", {"use_only": "no", "back": "pigments"}))
    active = demo.workspace.now().area("chips")["active"]
    answer = demo.finish(demo.fill("/pigments/learn", {"set": active}))
    assert "No chip stands out." in answer.text


def test_doubtful_chips_are_found_while_another_set_is_at_hand(demo: Client) -> None:
    """Pigments tells of the sets that were learnt from; which one is at hand on Chips is another matter."""
    learnt = demo.workspace.now().area("chips")["active"]
    begun(demo)
    other = demo.workspace.now().area("chips")["active"]
    assert other != learnt
    text = demo.get("/pigments").text
    links = [html.unescape(link) for link in re.findall(r'href="(/chips/chip[?][^"]*)"', text)]
    assert links
    for link in dict.fromkeys(links[:3]):
        assert demo.get(link).status_code == 200, link
    [form] = re.findall(r'<form method="post" action="(/chips/chip[?][^"]*)".*?</form>', text)
    inside = text.partition(f'action="{form}"')[2].partition("</form>")[0]
    hidden = dict(re.findall(r'name="(set|use_only|back)" value="([^"]*)"', inside))
    answer = demo.fill(html.unescape(form), hidden)
    assert answer.url.path == "/pigments"
    assert demo.workspace.now().area("chips")["active"] == other
    sets = demo.workspace.now().area("chips")["sets"]
    chips = demo.workspace.chip_set(next(one["thing"] for one in sets if one["id"] == learnt))
    assert [chip.name for chip in chips.chips if not chip.use] == [form.rpartition("=")[2]]
    # Corrected on its own page, its set is the one at hand.
    boxes = {"set": learnt, "thickness": "3.1", "use": "1", "note": "again"}
    name = next(chip.name for chip in chips.chips if chip.use)
    assert demo.fill(f"/chips/chip?chip={name}", boxes).status_code == 200
    assert demo.workspace.now().area("chips")["active"] == learnt
    assert next(chip.note for chip in at_hand(demo).chips if chip.name == name) == "again"
    assert demo.fill("/chips/chip?chip=x", {"set": "nobody"}).status_code == 404
    # Of a set that is gone only the names are left.
    ok(demo.fill("/chips/remove", {"set": learnt}))
    assert "/chips/chip?" not in demo.get("/pigments").text


@pytest.mark.parametrize("cup", ["B/1", "..", ".hidden", "a/../b", "/", "a&set=x", "50 % + ?#"])
def test_a_chip_of_any_name_is_reached(client: Client, cup: str) -> None:
    begun(client)
    ok(client.fill("/chips/cup", {"cup_name": cup, "cup_thicknesses": "3"}))
    name = at_hand(client).chips[-1].name
    links = [html.unescape(one) for one in re.findall(r'href="(/chips/chip[?][^"]*)"', client.get("/chips").text)]
    shown = ok(client.get(links[-1])).text
    [save, _] = [html.unescape(one) for one in re.findall(r'action="(/chips/chip[?][^"]*)"', shown)]
    ok(client.fill(save, {"thickness": "4", "use": "1"}))
    assert (at_hand(client).chips[-1].name, at_hand(client).chips[-1].thickness_mm) == (name, 4.0)


def test_more_thicknesses_than_a_cup_takes_are_not_dropped(client: Client) -> None:
    begun(client)
    answer = client.fill("/chips/cup", {"cup_name": "many", "cup_thicknesses": " ".join(map(str, range(2, 23)))})
    assert answer.status_code == 422
    assert "21 thicknesses" in answer.text


def test_sets_are_chosen_and_removed(demo: Client) -> None:
    first = demo.workspace.now().area("chips")["active"]
    begun(demo)
    ok(demo.fill("/chips/choose", {"set": first}))
    assert demo.workspace.now().area("chips")["active"] == first
    answer = demo.fill("/chips/remove", {"set": first})
    assert "Undo brings it back" in answer.text
    assert demo.fill("/chips/remove", {"set": first}).status_code == 404
    ok(demo.fill("/undo"))
    assert len(demo.workspace.now().area("chips")["sets"]) == 2


def test_pigments_without_chips_say_what_is_missing(client: Client) -> None:
    text = client.get("/pigments").text
    assert "no chips to learn from yet" in text
    assert client.fill("/pigments/learn").status_code == 422


def test_what_is_wrong_with_the_chips_is_told_by_the_work(client: Client) -> None:
    begun(client)
    ok(client.fill("/chips/readings", {"colours": "clear 3 mm 96 0 1\nclear 12 mm 93 -1 2"}))
    active = client.workspace.now().area("chips")["active"]
    answer = client.finish(client.fill("/pigments/learn", {"set": active}))
    assert answer.status_code == 200
    assert "azure" in answer.text
    assert "Traceback" not in answer.text
    assert client.workspace.now().area("pigments") == {}


def test_what_is_read_already_is_learnt_from(client: Client) -> None:
    """Chips of emerald are poured and not read yet: azure is known all the same, and the screen says what is not."""
    ok(client.fill("/chips/begin", {"pigments": "azure, emerald", "thicknesses": "3 12"}))
    for name, dose in (("B1", {"cup_dose.azure": "0.02"}), ("G1", {"cup_dose.emerald": "0.02"})):
        ok(client.fill("/chips/cup", {"cup_name": name, "cup_thicknesses": "3 12"} | dose))
    text = "clear 3 mm 96.3 -0.2 0.6\nclear 12 mm 95.1 -0.6 1.9\nB1 3 mm 92.2 -6 -5\nB1 12 mm 80 -19 -16"
    ok(client.fill("/chips/readings", {"colours": text}))
    active = client.workspace.now().area("chips")["active"]
    answer = client.finish(client.fill("/pigments/learn", {"set": active}))
    assert "Not known yet: <strong>emerald</strong>" in answer.text
    assert client.workspace.now().area("pigments")["names"] == ["azure"]
    # The set itself is as it was poured.
    assert [pigment.name for pigment in at_hand(client).pigments] == ["azure", "emerald"]


def test_work_can_be_stopped_and_changes_nothing(demo: Client) -> None:
    active = demo.workspace.now().area("chips")["active"]
    before = demo.workspace.now()
    answer = demo.fill("/pigments/learn", {"set": active})
    assert "<button>Stop</button>" in answer.text
    assert demo.get(answer.url.path, headers={"accept": "application/json"}).json()["state"] == "running"
    stopped = demo.fill(f"{answer.url.path}/stop")
    assert stopped.url.path == "/pigments"
    assert "nothing was changed" in stopped.text
    assert demo.workspace.now() == before


MY_RESIN = {
    "name": "my clear", "refractive_index": "1,51", "density_g_per_cm3": "1.05", "measure": "volume", "takes_pigment": "B",
    "part_0_name": "A", "part_0_amount": "1", "part_0_density": "1,1", "part_0_hazard": "isocyanate",
    "part_1_name": "B", "part_1_amount": "2", "part_1_density": "1.0", "pot_life_min": "12", "cure": "a day", "back": "chips",
}  # fmt: skip


def test_a_resin_of_ones_own_is_typed_kept_and_used(client: Client) -> None:
    begin = client.get("/resin?from=epoxy").text
    assert 'value="1.15"' in begin
    assert 'value="volume" checked' in begin
    for wrong in (
        {"name": ""},
        {"takes_pigment": "C"},
        {"part_1_density": ""},
        {"part_1_name": ""},
        {"part_0_amount": "x"},
    ):
        answer = client.fill("/resin", MY_RESIN | wrong)
        assert answer.status_code == 422
        assert 'value="12"' in answer.text
    answer = client.fill("/resin", MY_RESIN)
    assert answer.url.path == "/chips"
    assert client.fill("/resin", MY_RESIN).status_code == 422
    [kept] = client.workspace.now().area("resins")["kept"]
    told = read_resin(client.workspace.file(kept["thing"]))
    assert [part.parts_by_weight for part in told.parts] == [1.1, 2.0]
    assert [part.hazard for part in told.parts] == ["isocyanate", None]
    opened = client.get("/resin", params={"from": kept["thing"]}).text
    assert 'value="my clear"' in opened
    ok(client.fill("/resin", MY_RESIN | {"from": kept["thing"], "pot_life_min": "9"}))
    [kept] = client.workspace.now().area("resins")["kept"]
    assert read_resin(client.workspace.file(kept["thing"])).pot_life_min == 9
    toml = client.get("/resin/resin.toml", params={"from": kept["thing"]})
    assert 'takes_pigment = "B"' in toml.text
    boxes = {"plan_pigments": "azure 0,02", "plan_places": "8 45", "cast": "3 12", "resin": kept["thing"], "cups": "3"}
    answer = ok(client.fill("/chips/plan", boxes))
    assert "part A" in answer.text
    assert at_hand(client).resin.name == "my clear"
    ok(client.fill("/resin", {"from": kept["thing"], "keep": "remove"}))
    assert client.workspace.now().area("resins")["kept"] == []
    assert client.get("/resin", params={"from": kept["thing"]}).status_code == 404


def test_the_bottles_of_a_plan_go_on_the_shelf_once(client: Client, book: Path) -> None:
    boxes = {"plan_pigments": "azure 0.02\nemerald 0.01", "plan_kind": "colour", "cast": "3 12", "cups": "4"}
    boxes |= {"plan_places": "rim 8\n45 mm", "resin": "urethane", "chip_edge": "40", "cup_least": "80"}
    planned = ok(client.fill("/chips/plan", boxes)).text
    places = client.workspace.now().area("part")["places"]
    assert [(one["name"], one["thickness_mm"]) for one in places] == [("rim", 8.0), ("place 2", 45.0)]
    assert "45 mm" in planned.partition("What these chips are worth")[2]
    assert {chip.cup for chip in at_hand(client).chips} >= {"clear", "azure-1", "emerald-1"}
    area = client.workspace.now().area("chips")
    plan = client.workspace.json(area["plans"][area["active"]])
    # What was really weighed counts: for the doses and for what is left in the bottles.
    assert "azure-1 3 mm" in client.get("/chips/poured").text
    before = {chip.name: chip for chip in at_hand(client).chips}
    cups = [cup["cup"] for cup in plan["cups"]]
    at = cups.index("azure-1")
    poured = {f"poured_{i}": "1" for i, cup in enumerate(cups) if cup != cups[-1]}
    asked = plan["cups"][at]["weigh"][0]["grams"]
    poured |= {f"cup_{at}_weigh_0": f"{1.1 * asked:.6g}", f"thick_{2 * at}": "3,2"}
    slipped = client.fill("/chips/poured", poured | {f"cup_{at}_weigh_0": f"{10 * asked:.6g}"})
    assert slipped.status_code == 422
    assert 'name="as_weighed"' in slipped.text
    ok(client.fill("/chips/poured", poured))
    after = {chip.name: chip for chip in at_hand(client).chips}
    ratio = after["azure-1 3 mm"].doses_phr[0] / before["azure-1 3 mm"].doses_phr[0]
    assert ratio == pytest.approx(1.1, rel=0.01)
    assert [after[f"azure-1 {mm} mm"].thickness_mm for mm in (3, 12)] == [3.2, 12.0]
    assert {chip.cup for chip in after.values() if not chip.use} == {cups[-1]}
    same = [name for name, chip in after.items() if chip.doses_phr != before[name].doses_phr]
    assert same == ["azure-1 3 mm", "azure-1 12 mm"]
    assert client.fill("/chips/poured", poured | {"thick_0": "thin"}).status_code == 422
    assert client.fill("/chips/poured", {"thick_0": "3"}).status_code == 422
    assert f'value="{1.1 * asked:.6g}"' in client.get("/chips/poured").text
    ok(client.fill("/chips/plan/shelf"))
    with open_book(book, create=False) as opened:
        shelf = {one.name: one for one in opened.bottles()}
    assert set(shelf) == {one["name"] for one in plan["letdowns"]} != set()
    for one in plan["letdowns"]:
        bottle = shelf[one["name"]]
        assert (bottle.pigment_g, bottle.carrier_g, bottle.carrier) == (one["pigment_g"], one["carrier_g"], "B")
        more = 0.1 * asked if one["pigment"] == "azure" else 0.0
        assert bottle.left_g == pytest.approx(bottle.total_g - one["used_g"] - more)
    # What was weighed into a bottle is typed after it was put there: the shelf follows, and follows again.
    for times in (1.05, 0.95):
        typed = {"bottle_0_pigment_g": f"{times * plan['letdowns'][0]['pigment_g']:.6g}"}
        assert "On the shelf too" in ok(client.fill("/chips/poured", poured | typed)).text
        with open_book(book, create=False) as opened:
            now = next(one for one in opened.bottles() if one.name == plan["letdowns"][0]["name"])
        assert now.strength == pytest.approx(times, rel=0.01)
        assert now.left_g - shelf[now.name].left_g == pytest.approx((times - 1) * now.pigment_g, abs=1e-4)
    ok(client.fill("/chips/poured", poured | {"bottle_0_pigment_g": f"{plan['letdowns'][0]['pigment_g']}"}))
    # A second plan takes what is left of them; its cups are called otherwise than the first's.
    first = {chip.cup for chip in at_hand(client).chips}
    ok(client.fill("/chips/plan", boxes | {"cups": "3", "plan_pigments": "azure 0.02\nemerald 0.01", "cast": "3"}))
    assert not first & {chip.cup for chip in at_hand(client).chips}
    area = client.workspace.now().area("chips")
    second = client.workspace.json(area["plans"][area["active"]])
    assert [one["name"] for one in second["from_shelf"]]
    ok(client.fill("/chips/plan/shelf"))
    with open_book(book, create=False) as opened:
        left = {one.name: one.left_g for one in opened.bottles()}
    for one in second["from_shelf"]:
        assert (
            left[one["name"]]
            == pytest.approx(shelf[one["name"]].left_g - one["used_g"])
            == pytest.approx(one["left_g"])
        )
    ok(client.fill("/chips/plan", boxes | {"new_bottles": "1"}))
    ok(client.fill("/chips/plan/shelf"))
    with open_book(book, create=False) as opened:
        assert any(one.name.endswith(" (2)") for one in opened.bottles())
    again = client.fill("/chips/plan/shelf")
    assert again.status_code in (409, 422)
    assert "on the shelf already" in again.text


def test_a_set_on_a_white_tile_is_begun_typed_and_planned(client: Client) -> None:
    asked = {"kind": "d/8", "pigments": "azure", "thicknesses": "2"}
    assert "tile" in client.fill("/chips/begin", asked).text
    assert not client.workspace.now().areas
    tile = {"tile_L": "95,2", "tile_a": "-0,4", "tile_b": "1.1", "contact": "wetted"}
    ok(client.fill("/chips/begin", asked | tile))
    reading = at_hand(client).reading
    assert (reading.on_tile, reading.geometry, reading.contact) == (True, "d/8", "wetted")
    assert reading.tile_lab == (95.2, -0.4, 1.1)
    ok(client.fill("/chips/readings", {"colours": f"{at_hand(client).chips[0].name}: 93 -0.5 1.5"}))
    assert at_hand(client).chips[0].values == (93.0, -0.5, 1.5)
    order = {
        "plan_kind": "45/0",
        "plan_pigments": "azure 0,02",
        "plan_places": "rim 8\npoint 60",
        "cast": "2 4",
        "cups": "3",
    }
    ok(client.finish(client.fill("/chips/plan", order | {f"plan_{key}": one for key, one in tile.items()})))
    planned = at_hand(client).reading
    assert (planned.on_tile, planned.geometry, planned.tile_lab) == (True, "45/0", (95.2, -0.4, 1.1))
