"""Chips read on a white tile, after the fit: a lot, a trial, a pour are read as the chips of the model's set were."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from tests.faces.web.conftest import Client, ok
from tintmix.book.book import open_book
from tintmix.desk.book import pours
from tintmix.desk.plan.tile import OnTile, reading_on, tile_seen
from tintmix.optics.colour import lab
from tintmix.optics.detector import eye
from tintmix.optics.light import light
from tintmix.page.recipe import recipe_at_hand

TILE = OnTile((94.2, -0.3, 1.4), "wetted", "d/8")
BOXES = {
    "space": "tile", "tile_L": "94.2", "tile_a": "-0.3", "tile_b": "1.4", "contact": "wetted", "tile_geometry": "d/8",
    "light": "D65", "observer": "10", "tile_light": "D65", "tile_observer": "10",
}  # fmt: skip


@pytest.fixture
def on_tile(demo: Client, book: Path) -> Client:
    """The demo, its chips read on a tile as far as the page knows."""
    workspace, now = demo.workspace, demo.workspace.now()
    area = now.area("chips")
    for one in area["sets"]:
        chips = workspace.chip_set(one["thing"])
        unread = tuple(replace(chip, values=()) for chip in chips.chips)
        one["thing"] = workspace.keep_set(
            replace(chips, reading=reading_on(TILE, "D65", 10), chips=unread, light_curve=None, camera_curve=None)
        )
    workspace.change("a tile", {"chips": area}, {"chips": now.revision_of("chips")})
    return demo


def read_on_tile(client: Client, doses: dict[str, float], mm: float, tile: bool = True) -> list[float]:
    """What a cup of these doses reads, as the model has it."""
    model = client.workspace.model(client.workspace.now().area("pigments")["model"])
    behind = {"behind": tile_seen(TILE, "D65", 10)} if tile else {}
    seen: Any = light(model.mean_resin, model.dose_vector(doses), mm, **behind)
    return [float(v) for v in lab(seen @ eye("D65", 10).weights, eye("D65", 10).bare)]


def said(values: list[float]) -> str:
    return " ".join(f"{v:.2f}" for v in values)


def test_a_lot_a_trial_and_a_pour_are_read_on_the_tile(on_tile: Client, book: Path) -> None:
    client, now = on_tile, on_tile.workspace.now()
    # What the chips were read by stands in the boxes before anything is typed.
    for path in ("/trial", "/book/lot"):
        text = client.get(path).text
        assert '<option value="tile" selected>' in text
        assert 'value="94.2"' in text
        assert '<option value="wetted" selected>' in text
        assert '<option value="d/8" selected>' in text
    asked = BOXES | {"pigment": "azure", "dose": "0.1", "lot": "A-9", "mm": "3"}
    read = read_on_tile(client, {"azure": 0.08}, 3.0)
    ok(client.finish(client.fill("/book/lot", asked | {"colour": said(read)})))
    answer = client.workspace.json(client.workspace.now().area("lot")["answer"])["body"]
    assert answer["strengths"]["azure"]["factor"] == pytest.approx(0.8, abs=0.04)
    found = recipe_at_hand(client.workspace, now)
    assert found is not None
    doses = dict(found.recipe.doses_phr)
    trial = BOXES | {"chip_0_mm": "3", "chip_0_colour": said(read_on_tile(client, doses, 3.0)), "left": "190"}
    ok(client.finish(client.fill("/trial/ask", trial)))
    body = client.workspace.json(client.workspace.now().area("trial")["answer"])["body"]
    assert body["surprise"] < 1
    assert all(one["factor"] == pytest.approx(1.0, abs=0.03) for one in body["lot_strengths"].values())
    refused = client.fill("/trial/ask", trial | {"tile_L": ""})
    assert refused.status_code == 422
    assert "L* of the bare white tile" in refused.text
    # A pour's chip: kept as it looks against the bare light.
    ok(client.fill("/sheet/keep", {"what": "pour", "poured_on": "2025-03-01"}))
    name, section = found.recipe.name, found.recipe.sections[0]
    mm = float(section["thickness_mm"])
    weak = {pigment: 0.9 * dose for pigment, dose in doses.items()}
    L, a, b = (f"{v:.2f}" for v in read_on_tile(client, weak, mm))
    boxes = BOXES | {
        "name": name,
        "revision": "1",
        "number": "1",
        "place": section["name"],
        "L_0": L,
        "a_0": a,
        "b_0": b,
    }
    ok(client.fill("/book/add", boxes))
    with open_book(book) as opened:
        kept = opened.pours(name)[0].readings[0]
    assert list(kept.lab) == pytest.approx(read_on_tile(client, weak, mm, tile=False), abs=1.0)
    assert "on a white tile" in kept.note
    # The shell's way, by the set itself, tells the same.
    like = client.workspace.set_folder(client.workspace.now().area("chips")["sets"][0]["thing"])
    read_there = (str(section["name"]), (float(L), float(a), float(b)))
    pours.add(name, 1, pours.Found([read_there], like=like), book=book)
    with open_book(book) as opened:
        assert opened.pours(name)[0].readings[-1].lab == pytest.approx(kept.lab, abs=1e-6)
