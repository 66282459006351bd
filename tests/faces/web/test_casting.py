"""Casting: bodies, meshes and inserts; the picture that the script asks for; what is kept; the screen in a real browser."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tests.faces.web.conftest import Client, ok
from tintmix.page.casting.paint import SEES
from tintmix.page.colour.pigments import model_at_hand

BLOCK = {"kind": "block", "block_length_mm": "60", "block_width_mm": "40", "block_height_mm": "20"}
ABOVE = {"turn": "0", "tilt": "90", "lit": "panel"}
CORNER = b"\n".join([
    b"v 0 0 0", b"v 20 0 0", b"v 0 20 0", b"v 0 0 20", b"f 1 3 2", b"f 1 2 4", b"f 2 3 4", b"f 3 1 4",
])  # fmt: skip
"""A corner of a cube, 20 mm along its edges, as OBJ."""
Open = Callable[..., Any]


def unpacked(content: bytes) -> tuple[dict[str, Any], list[np.ndarray[Any, Any]]]:
    """What the script reads: the table; weights, straight depths, counts, bins."""
    size = int.from_bytes(content[:4], "little")
    head, at, parts = json.loads(content[4 : 4 + size]), 4 + size, []
    pixels = head["width"] * head["height"]
    for kind, count in (("<f4", head["rows"]), ("<f4", pixels), ("<u2", pixels), ("<u2", head["rows"])):
        parts.append(np.frombuffer(content, kind, count, at))
        at += parts[-1].nbytes
    assert at == len(content)
    return head, parts


def test_a_block_is_coarse_at_once_and_then_finer(client: Client) -> None:
    assert client.finish(client.fill("/casting/body", BLOCK)).url.path == "/casting"
    head, (weights, straight, counts, bins) = unpacked(ok(client.get("/casting/picture?turn=0&tilt=90")).content)
    assert (head["width"], head["fine"]) == (64, 0)
    assert int((counts & (SEES - 1)).sum()) == head["rows"]
    middle = 64 * (head["height"] // 2) + 32
    # A block of 20 mm seen from above: its height, straight and as seen, and the light of a plate in air (n = 1.5: 0.923).
    assert straight[middle] == pytest.approx(20.0, abs=0.01)
    assert head["colours"][0] == pytest.approx([1.0, 1.0, 1.0], abs=1e-3)
    first = int((counts[:middle] & (SEES - 1)).sum())
    some = slice(first, first + int(counts[middle] & (SEES - 1)))
    assert np.array(head["lengths_mm"])[bins[some]] @ weights[some] / weights[some].sum() == pytest.approx(
        20.0, rel=0.02
    )
    assert unpacked(ok(client.get("/casting/picture?turn=0&tilt=90&samples=1")).content)[0]["fine"] == 1


def test_traced_it_is_kept_with_its_places_and_undone(client: Client) -> None:
    ok(client.finish(client.fill("/casting/body", BLOCK)))
    said = ok(client.finish(client.fill("/casting/view", ABOVE))).text
    assert "20 mm of resin, seen through 20." in said
    assert "48 cm³ of resin" in said
    shape = client.workspace.shape(client.workspace.now().area("casting")["shape"])
    assert [place.name for place in shape.places] == ["palest", "typical", "deepest"]
    ok(client.fill("/undo"))
    assert client.workspace.now().area("casting")["shape"] is None


def test_a_mesh_an_insert_and_what_is_wrong_with_them(client: Client) -> None:
    wrong = client.fill("/casting/mesh", {"mesh_unit": "mm"}, files={"mesh": ("a.stl", b"no mesh")})
    assert wrong.status_code == 422
    assert "a.stl: it is not an STL file" in wrong.text
    assert (
        client.finish(client.fill("/casting/mesh", {"mesh_unit": ""}, files={"mesh": ("c.obj", CORNER)})).status_code
        == 422
    )
    ok(client.finish(client.fill("/casting/mesh", {"mesh_unit": "mm"}, files={"mesh": ("c.obj", CORNER)})))
    assert client.workspace.now().area("casting")["body"]["name"] == "c.obj"
    ring = {"insert": "ring", "insert_srgb": "#b08d4c", "ring_across_mm": "4", "ring_wide_mm": "1", "ring_high_mm": "1"}
    out = client.finish(client.fill("/casting/insert", ring | {"ring_under_mm": "5"}))
    assert out.status_code == 422
    assert "The ring: it lies beside the casting" in out.text
    assert "so that resin covers all of it" in out.text
    ok(client.finish(client.fill("/casting/body", BLOCK)))
    ok(client.finish(client.fill("/casting/insert", ring | {"ring_under_mm": "5"})))
    # Another body may have no room for what is cast in: nobody is stuck, and it is said.
    thin = ok(client.finish(client.fill("/casting/body", BLOCK | {"block_height_mm": "3"}))).text
    assert "The ring was taken out: it would stick out of this body" in thin
    ok(client.fill("/undo"))
    assert client.workspace.now().area("casting")["insert"]["body"]["kind"] == "ring"
    head, _ = unpacked(ok(client.get("/casting/picture?turn=0&tilt=90")).content)
    assert len(head["colours"]) == 3 * len(head["lengths_mm"])
    assert client.fill("/casting/insert", ring | {"insert_srgb": "brass", "ring_under_mm": "5"}).status_code == 422
    assert client.get("/casting/picture?turn=0&tilt=91").status_code == 422


def test_places_seen_stand_wherever_a_thickness_does(demo: Client, book: Path) -> None:
    ok(demo.finish(demo.fill("/casting/insert", {"insert": "none"})))
    ok(demo.finish(demo.fill("/casting/body", BLOCK)))
    wrong = demo.finish(demo.fill("/casting/place", ABOVE | {"name": "corner", "across": "40", "up": "0"}))
    assert wrong.status_code == 422
    assert "There the casting is not" in wrong.text
    said = ok(demo.finish(demo.fill("/casting/place", ABOVE | {"name": "corner", "across": "-20", "up": "10"}))).text
    assert 'value="corner" checked' in said
    area = demo.workspace.now().area("casting")
    assert area["points_mm"]["corner"] == pytest.approx([-20, 10, 20], abs=0.01)
    ok(demo.fill("/casting/sections", {"place": ["corner", "deepest"]}))
    assert "20 mm, seen through 20" in ok(demo.get("/tint")).text
    doses = {"dose.azure": "0.02", "dose.emerald": "0.01"}
    look = ok(demo.get("/tint/look", params=doses)).json()
    # A slab of the block's height and the block as it is seen from above differ by what leaves it at its sides.
    slabs = model_at_hand(demo.workspace, demo.workspace.now()).look({"azure": 0.02, "emerald": 0.01}, [20.0])
    light = {one["name"]: one["light"] for one in look["places"]}
    assert light["corner"] == pytest.approx(float(slabs.luminous_transmittance[0]), rel=0.03)
    assert "seen through" in ok(demo.finish(demo.fill("/recipes/find"))).text
    ok(demo.fill("/recipes/keep", {"tint": "1", "name": "as seen"}))
    ok(demo.fill("/recipes/keep", {"number": "0", "name": "found"}))
    sheet = {"resin": "recipe", "how": "batch", "grams": "450", "resin_step": "0.1", "pigment_step": "0.01"}
    for name in ("as seen", "found"):
        thing = next(one["thing"] for one in demo.workspace.now().area("recipes")["kept"] if one["name"] == name)
        ok(demo.fill("/recipes/choose", {"recipe": thing}))
        assert "seen through" in ok(demo.fill("/sheet/make", sheet)).text
        ok(demo.get("/trial"))
        assert ok(demo.get("/sheet/casting.png")).content.startswith(b"\x89PNG")
    assert 'alt="Block, seen from above' in ok(demo.get("/sheet")).text
    assert ok(demo.get("/sheet/sheet.pdf")).content.count(b"/Subtype /Image") == 1
    ok(demo.fill("/sheet/keep", {"what": "recipe", "note": ""}))
    kept = {"name": "found", "revision": "1"}
    assert 'alt="Block, seen from above' in ok(demo.get("/book/recipe", params=kept)).text
    assert ok(demo.get("/book/casting.png", params=kept)).content.startswith(b"\x89PNG")


def test_which_paint_the_insert_must_have(demo: Client) -> None:
    ok(demo.finish(demo.fill("/casting/insert", {"insert": "none"})))
    ok(demo.finish(demo.fill("/casting/body", BLOCK)))
    sizes = {"ring_across_mm": "16", "ring_wide_mm": "4", "ring_high_mm": "4", "ring_under_mm": "8"}
    ok(demo.finish(demo.fill("/casting/insert", {"insert": "ring", "insert_srgb": "#b08d4c"} | sizes)))
    sky = {"turn": "0", "tilt": "90", "lit": "sky"}
    ok(demo.finish(demo.fill("/casting/place", sky | {"name": "band", "across": "6", "up": "0"})))
    # As it looks now it looks with the paint that it has.
    at_hand = demo.workspace.now().area("tint")["doses"]
    doses = {f"dose.{pigment}": str(dose) for pigment, dose in at_hand.items()}
    places = ok(demo.get("/tint/look", params=doses)).json()["places"]
    [now] = [one["srgb"] for one in places if one["name"] == "band"]
    asked = ok(demo.get("/casting", params={"should_look": now, "seen_at": "band"})).text
    paint = re.search(r"Paint it #(\w{6})", asked)
    assert paint is not None
    assert list(bytes.fromhex(paint[1])) == pytest.approx(list(bytes.fromhex("b08d4c")), abs=8)
    assert "from what the chips show" in asked
    assert "No paint does." in ok(demo.get("/casting", params={"should_look": "#ff0000", "seen_at": "band"})).text
    assert demo.get("/casting", params={"should_look": "brass", "seen_at": "band"}).status_code == 422
