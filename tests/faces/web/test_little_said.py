"""Every screen with recipes that say only what they must: what a file may leave out, a screen must not ask for."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from tests.faces.web.conftest import Client
from tintmix.files.canonical import canonical_json
from tintmix.files.write import write_file

RESINS: dict[str, Any] = {
    "none": None,
    "only a name": {"name": "r", "refractive_index": 1.5},
    "no cure": {
        "name": "r",
        "takes_pigment": "B",
        "part": [{"name": "A", "parts_by_weight": 100.0}, {"name": "B", "parts_by_weight": 90.0}],
    },
    "does not say which part takes it": {
        "part": [{"name": "A", "parts_by_weight": 1.0}, {"name": "B", "parts_by_weight": 1.0}]
    },
    "one part": {"takes_pigment": "B", "part": [{"name": "B", "parts_by_weight": 1.0}]},
}
SHEET = {"how": "batch", "grams": "450", "resin_step": "0.1", "pigment_step": "0.01"}
TRIAL = {"space": "Lab", "chip_0_mm": "12", "chip_0_colour": "86 -17 0", "left": "195"}
SCREENS = ("/chips", "/pigments", "/tint", "/recipes", "/sheet", "/trial", "/book")


def only_what_it_must(demo: Client, resin: Any) -> str:
    """The demo's recipe with nothing in it that may be left out, chosen; its name."""
    now = demo.workspace.now()
    area = now.area("recipes")
    [entry] = [one for one in area["kept"] if one["thing"] == area["chosen"]]
    table = json.loads(demo.workspace.file(entry["thing"]).read_text(encoding="utf-8"))
    must = ("name", "thickness_mm", "lab", "target_lab", "tolerance", "delta_e00")
    table["sections"] = [{key: section[key] for key in must} for section in table["sections"]]
    table |= {"resin": resin, "lots": {}, "limits": {}, "glass": None, "name": "bare", "made_by": "", "made_at": ""}
    table["target"] = {key: value for key, value in table["target"].items() if key not in ("light", "observer", "name")}
    thing, place = demo.workspace.place()
    write_file(place, canonical_json(table))
    new = {**entry, "thing": thing, "name": "bare"}
    demo.workspace.change("bare", {"recipes": area | {"kept": [new], "chosen": thing}, "sheet": {}, "trial": {}}, {})
    return "bare"


def through_every_screen(demo: Client, name: str) -> None:
    """Sheet, trial, pour and book of the recipe of this name, chosen, with its own resin and with another one."""
    for screen in SCREENS:
        assert demo.get(screen).status_code == 200, screen
    # A resin that cannot be weighed out or adjusted is told in a sentence; another one can be chosen for the sheet.
    for chosen in ("recipe", "epoxy"):
        answer = demo.fill("/sheet/make", SHEET | {"recipe": "", "resin": chosen})
        assert answer.status_code in ((200, 422) if chosen == "recipe" else (200,)), chosen
        assert ("Not yet." in answer.text) is (answer.status_code == 422)
        trial = demo.finish(demo.fill("/trial/ask", TRIAL))
        assert trial.status_code in (200, 422), chosen
        # Why all cautions are told stands at the head of the page and, once answered, not with the answer too.
        assert demo.get("/trial").text.count("file does not say what") <= 1
        for screen in SCREENS:
            assert demo.get(screen).status_code == 200, (chosen, screen)
    assert demo.get("/sheet/sheet.pdf").content.startswith(b"%PDF")
    assert "as revision 1" in demo.fill("/sheet/keep", {"what": "recipe"}).text
    assert "Recorded pour 1" in demo.fill("/book/pour", {"name": name, "poured_on": "2025-03-01"}).text
    assert demo.get("/book/recipe", params={"name": name}).status_code == 200
    assert demo.get("/book/recipe.json", params={"name": name}).status_code == 200
    assert demo.fill("/book/use", {"name": name, "revision": "1"}).status_code == 200
    for screen in SCREENS:
        assert demo.get(screen).status_code == 200, screen


def test_every_screen_opens(demo: Client, book: Path) -> None:
    """The other resins: long/test_little_said.py."""
    through_every_screen(demo, only_what_it_must(demo, RESINS["no cure"]))


def test_two_revisions_that_say_little_are_compared(demo: Client, book: Path) -> None:
    for resin in RESINS.values():
        name = only_what_it_must(demo, resin)
        assert demo.fill("/sheet/make", SHEET | {"recipe": "", "resin": "epoxy"}).status_code == 200
        assert demo.fill("/sheet/keep", {"what": "recipe"}).status_code == 200
    for first in range(1, len(RESINS) + 1):
        shown = demo.get("/book/compare", params={"name": name, "first": str(first), "second": "2"})
        assert shown.status_code == 200
        assert demo.get("/book/recipe", params={"name": name, "revision": str(first)}).status_code == 200
