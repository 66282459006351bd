"""The screens of photos in a real browser, against WCAG 2.2 AA at three widths: before and after what is read, and refused."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from tests.faces.web.browsing import overflow, shoot, small_targets
from tests.faces.web.conftest import Client, Served, ok, violations
from tests.faces.web.long.test_browser import NAME, WIDTHS
from tests.faces.web.test_photo import ALL, BOXES, DARK, OPEN, boxes, picture
from tests.photo_simulation import Shot, draw_camera, jpeg, photographed
from tintmix.files import caps
from tintmix.optics.detector import light, rendered_ways
from tintmix.page.recipe import keep_model

AFTER = (
    "/recipes/photo", "/recipes", "/trial/photo", "/trial", "/book/lot/photo", "/book/lot",
    f"/book/pour/photo?name={NAME}&number=1", "/chips/photo", "/chips",
)  # fmt: skip
"""Of the glass, the trial, a lot, a pour, a set: the photo as it was read, and the screen that it was read for."""
BARE = [("bare panel", OPEN[0]), ("black card", DARK[0])]


@pytest.fixture
def read(demo: Client, book: object) -> Client:
    """The demo with a camera that makes JPEGs, by which everything that has a colour was read."""
    pigments = demo.workspace.now().area("pigments")
    learnt = demo.workspace.model(pigments["model"])
    seen = replace(learnt, camera_weights=rendered_ways(light("D65")).mean(axis=0), camera_tone=np.array([0.0, -0.2]))
    thing = keep_model(demo.workspace, seen)
    demo.workspace.change("a camera", {"pigments": {**pigments, "model": thing}}, {})
    ok(demo.fill("/sheet/keep", {"what": "recipe", "note": "first"}))
    ok(demo.fill("/book/pour", {"name": NAME, "poured_on": "2026-01-02"}))
    lying = {
        "/recipes/photo": ("the glass", "clear 12 mm", {"thing_0_mm": "6", "piece_name": "shard"}),
        "/trial/photo": ("the trial chip", "clear 3 mm", {"thing_0_mm": "12"}),
        "/book/lot/photo": ("the check chip", "clear 12 mm", {"thing_0_mm": "12"}),
    }
    for path, (what, where, typed) in lying.items():
        ok(demo.fill(path, files={"photo": ("one.png", picture())}))
        ok(demo.fill(f"{path}/read", boxes([(what, BOXES[where]), *BARE]) | typed))
    ok(demo.fill("/book/pour/photo", {"name": NAME, "number": "1"}, files={"photo": ("pour.jpg", of_the_holder())}))
    ok(demo.fill("/chips/begin", {"kind": "camera", "pigments": "azure", "thicknesses": "3 12"}))
    ok(demo.fill("/chips/photo", files={"photo": ("chips.png", picture())}))
    ok(demo.fill("/chips/photo/read", boxes(ALL)))
    return demo


def of_the_holder() -> bytes:
    """A JPEG of the holder sheet, a chip in each window."""
    rng = np.random.default_rng(5)
    camera, shot = draw_camera(rng), Shot(width=1200, height=900, turn=3.0, exposure=0.7)
    return jpeg(photographed(rng, shot, camera).chips, camera, shot, rng)


def check(tab: Any, axe: str, name: str, path: str) -> None:
    shoot(tab, name)
    assert overflow(tab) <= 0, path
    assert small_targets(tab) == [], path
    tab.evaluate("() => document.querySelectorAll('main details').forEach((fold) => { fold.open = true; })")
    assert overflow(tab) <= 0, path
    assert violations(tab, axe) == [], path


def test_what_was_read(read: Client, serve: Callable[[Any], Served], open_page: Callable[..., Any], axe: str) -> None:
    served = serve(read.workspace.folder)
    tab = open_page(served)
    for width, height in WIDTHS.items():
        tab.set_viewport_size({"width": width, "height": height})
        for path in AFTER:
            assert tab.goto(served.address + path).status == 200, path
            check(tab, axe, f"photo{path.partition('?')[0].replace('/', '-')}-{width}", path)


def test_a_photo_that_is_too_large_has_a_way_back(
    served_demo: Served, open_page: Callable[..., Any], axe: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(caps, "PHOTO", 1000)
    tab = open_page(served_demo, "/recipes/photo")
    tab.locator("#photo").set_input_files({"name": "huge.jpg", "mimeType": "image/jpeg", "buffer": b"a" * 1001})
    tab.get_by_role("button", name="Open", exact=True).click()
    tab.get_by_text("larger than 0.001 MB").wait_for()
    open_page.complaints.clear()  # type: ignore[attr-defined]
    for width, height in WIDTHS.items():
        tab.set_viewport_size({"width": width, "height": height})
        check(tab, axe, f"photo-too-large-{width}", "too large")
    tab.get_by_role("link", name="Back to the recipes").click()
    tab.wait_for_url("**/recipes")
