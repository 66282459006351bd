"""The whole job without a shell, in a real browser: demo, photo, fit, drag, solve, sheet, PDF, book, export, import."""

from __future__ import annotations

import io
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image

from tests.faces.web.browsing import draw, overflow, shoot, strip_end
from tests.faces.web.conftest import Served

LIGHT = {
    "clear 3 mm": (0.921, 0.920, 0.918), "clear 12 mm": (0.915, 0.914, 0.904),
    "B1 3 mm": (0.650, 0.867, 0.925), "B1 12 mm": (0.169, 0.726, 0.924),
}  # fmt: skip
"""Linear sRGB of the demo's chips blank-3, blank-12, a2-3, a2-12 before its bare light, from their spectra by colour-science
(CIE 1931, D65): an invented azure at 0.04 phr."""
BOXES = {
    "clear 3 mm": (250, 200, 160, 160),
    "clear 12 mm": (750, 200, 160, 160),
    "B1 3 mm": (250, 550, 160, 160),
    "B1 12 mm": (750, 550, 160, 160),
}
OPEN = [(20, 20, 100, 100), (1080, 20, 100, 100), (20, 780, 100, 100), (1080, 780, 100, 100)]
CARD = (530, 380, 100, 100)
PANEL = 0.83


def photo() -> bytes:
    """The four chips and a black card on a light panel."""
    light = np.full((900, 1200, 3), PANEL)
    for name, (x, y, w, h) in BOXES.items():
        light[y - 20 : y + h + 20, x - 20 : x + w + 20] = PANEL * np.array(LIGHT[name])
    x, y, w, h = CARD
    light[y - 20 : y + h + 20, x - 20 : x + w + 20] = 0.001
    # IEC 61966-2-1.
    codes = np.where(light <= 0.0031308, 12.92 * light, 1.055 * light ** (1 / 2.4) - 0.055)
    stream = io.BytesIO()
    Image.fromarray(np.rint(255 * codes).astype(np.uint8)).save(stream, "PNG")
    return stream.getvalue()


def test_the_whole_job(
    served_empty: Served, open_page: Callable[..., Any], book: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    tab = open_page(served_empty)

    def step(name: str) -> None:
        tab.get_by_role("navigation").get_by_role("link", name=name).click()
        tab.wait_for_url(f"**/{name.lower().split()[-1]}")

    # The first screen asks what there is: nothing yet
    tab.goto(served_empty.address)
    assert tab.get_by_role("heading", name="What do you have?").is_visible()
    # Demo
    tab.get_by_role("button", name="Try it with the demo").click()
    tab.wait_for_url("**/tint", timeout=60_000)
    # Photo: chips of one's own, read where they are drawn
    step("Chips")
    tab.locator("summary", has_text="Start a set by hand").click()
    for box, text in (("title", "my phone"), ("pigments", "azure"), ("thicknesses", "3 12")):
        tab.locator(f"#{box}").fill(text)
    tab.locator("#kind").select_option("camera")
    tab.get_by_role("button", name="Start", exact=True).click()
    tab.locator("summary", has_text="Add a cup").click()
    for box, text in (("cup_name", "B1"), ("cup_thicknesses", "3 12"), ("cup-dose-1", "0,04")):
        tab.locator(f"#{box}").fill(text)
    tab.get_by_role("button", name="Add the cup").click()
    tab.get_by_role("link", name="Read them from a photo").click()
    tab.locator("#photo").set_input_files({"name": "panel.png", "mimeType": "image/png", "buffer": photo()})
    tab.get_by_role("button", name="Open").click()
    tab.locator("svg.photo").wait_for()
    for place in (*BOXES.values(), *OPEN, CARD):
        draw(tab, place)
    tab.locator("[data-row] select").last.select_option("black card")
    # What the deepest chip reads is told while it is drawn: 16.9 % in red.
    tab.wait_for_function(
        "() => [...document.querySelectorAll('[data-says]')].some((one) => /red 1[67] %/.test(one.textContent))"
    )
    shoot(tab, "job-photo")
    tab.get_by_role("button", name="Read these places").click()
    tab.get_by_text("4 chips read from the photo.").wait_for()
    # Fit: the demo's chips and the phone's together
    step("Pigments")
    assert tab.get_by_label("my phone").count() == 1
    tab.get_by_label("my phone").check()
    tab.get_by_role("button", name="Learn again").click()
    tab.get_by_text("Learnt from").wait_for(timeout=120_000)
    assert "my phone" in tab.get_by_text("Learnt from").inner_text()
    # Drag
    step("Tint")
    before = strip_end(tab)
    slider = tab.get_by_label("rose, slider")
    slider.scroll_into_view_if_needed()
    box = slider.bounding_box()
    tab.mouse.move(box["x"] + 8, box["y"] + box["height"] / 2)
    tab.mouse.down()
    tab.mouse.move(box["x"] + box["width"] * 0.3, box["y"] + box["height"] / 2, steps=5)
    tab.mouse.up()
    tab.wait_for_function(
        "before => [...document.querySelectorAll('#strip stop')].at(-1).getAttribute('stop-color') !== before",
        arg=before,
    )
    assert float(tab.get_by_label("rose", exact=True).input_value()) > 0
    tab.get_by_text("dose of rose").wait_for()
    # Solve
    step("Recipes")
    fold = tab.locator("#wish")
    if fold.get_attribute("open") is None:
        fold.locator("summary").first.click()
    tab.get_by_role("button", name="Find recipes", exact=True).click()
    tab.wait_for_url("**/recipes#found", timeout=60_000)
    tab.get_by_role("button", name="Open in Tint").first.click()
    tab.wait_for_url("**/tint")
    tab.get_by_label("Save as a recipe called").fill("as on Tint")
    tab.get_by_role("button", name="Save", exact=True).click()
    tab.get_by_text("Saved: as on Tint").wait_for()
    first = tab.locator(".proposal").first
    first.get_by_label("Save it as").fill("whole job")
    first.get_by_role("button", name="Save").click()
    tab.get_by_text("Saved: whole job").wait_for()
    # Sheet: made, weighed, printed
    step("Sheet")
    another = tab.locator("summary", has_text="Another batch")
    if another.count() and not tab.locator("input[name=grams]").is_visible():
        another.click()
    tab.locator("#recipe").select_option(label="whole job")
    tab.locator("input[name=grams]").fill("300")
    tab.get_by_role("button", name="the sheet again").or_(
        tab.get_by_role("button", name="Make the batch sheet")
    ).click()
    tab.get_by_role("heading", name="whole job: what to weigh").wait_for()
    weight = tab.locator("input[name^='weight.']").first
    weight.fill("1,9")
    weight.press("Tab")
    tab.wait_for_function("() => document.querySelector('.off.small').textContent !== ''")
    with tab.expect_download() as download:
        tab.get_by_role("link", name="PDF, A4").click()
    sheet = Path(download.value.path()).read_bytes()
    assert sheet.startswith(b"%PDF-")
    assert len(sheet) > 20_000
    assert tab.pdf(format="A4").startswith(b"%PDF-")
    assert overflow(tab) <= 0
    tab.get_by_role("button", name="Record the pour").click()
    tab.get_by_text("Recorded as pour 1").wait_for()
    # Recipe book: there, exported, and into an empty one
    step("Recipe book")
    tab.get_by_role("link", name="whole job").wait_for()
    with tab.expect_download() as download:
        tab.get_by_role("link", name="Export as one file").click()
    export = Path(download.value.path()).read_bytes()
    assert json.loads(export)
    monkeypatch.setenv("TINTMIX_BOOK", str(tmp_path / "another.db"))
    tab.reload()
    tab.get_by_text("Nothing is kept in the book yet").wait_for()
    tab.locator("#export-file").set_input_files({"name": "book.json", "mimeType": "application/json", "buffer": export})
    tab.get_by_role("button", name="Import", exact=True).click()
    tab.get_by_role("link", name="whole job").click()
    tab.get_by_role("heading", name="Pour 1").wait_for()
    shoot(tab, "job-book")
    assert book.exists()
    assert (tmp_path / "another.db").exists()
