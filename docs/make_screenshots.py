"""Makes the pictures of docs/the-page.md anew: `.venv/bin/python docs/make_screenshots.py`.

It serves the page on a folder and a recipe book of its own, fills it with the demo, and takes each screen with Debian's Chromium
by Playwright (`TINTMIX_CHROMIUM` names another). Nothing of the user's is read or written.
"""

from __future__ import annotations

import io
import os
import sys
import tempfile
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import numpy as np
from PIL import Image

PICTURES = Path(__file__).resolve().parent / "pictures"
CHROMIUM = ("/usr/bin/chromium", "/usr/bin/chromium-browser", "/usr/bin/google-chrome")
WIDE, PHONE = (1000, 820), (360, 740)
COLOURS, FEW_COLOURS = 200, 20
"""Few for a traced picture: its noise does not pack."""
MOST_BYTES = 120_000
TOKEN = "for-screenshots-only"


@contextmanager
def served(folder: Path) -> Iterator[str]:
    """The page on a free port of this machine; its address with the token."""
    import uvicorn

    from tintmix.faces.web.app import create_app
    from tintmix.faces.web.serve import listen

    listening = listen(0)
    port = listening.getsockname()[1]
    server = uvicorn.Server(
        uvicorn.Config(create_app(folder, TOKEN, port), log_level="critical", lifespan="off", ws="none")
    )
    thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]}, daemon=True)
    thread.start()
    while not server.started:
        time.sleep(0.01)
    yield f"http://127.0.0.1:{port}"
    server.should_exit = True
    thread.join(5.0)
    listening.close()


def save(shot: bytes, path: Path, colours: int = COLOURS, rare: bool = False) -> None:
    """A screenshot with few colours, so that it stays small. rare: those of a few pixels count as much as those of many: a
    traced picture beside the dots of pigments."""
    method = Image.Quantize.MAXCOVERAGE if rare else Image.Quantize.MEDIANCUT
    with Image.open(io.BytesIO(shot)) as image:
        few = image.convert("RGB").quantize(colours, method, dither=Image.Dither.NONE)
    few.save(path, optimize=True)
    print(f"{path} {path.stat().st_size // 1000} kB")
    assert path.stat().st_size <= MOST_BYTES, path


def panel_photo() -> bytes:
    """A made-up photo: six chips of an azure, a black card and the bare panel."""
    light = np.full((900, 1200, 3), 0.82)
    for i, strength in enumerate((0.003, 0.006, 0.012, 0.15, 0.3, 0.6)):
        x, y = 210 + 300 * (i % 3), 190 + 340 * (i // 3)
        light[y : y + 190, x : x + 190] *= 0.92 * np.exp(-strength * np.array([1.6, 0.45, 0.05]))
    light[410:490, 560:640] = 0.001
    # IEC 61966-2-1.
    codes = np.where(light <= 0.0031308, 12.92 * light, 1.055 * light ** (1 / 2.4) - 0.055)
    stream = io.BytesIO()
    Image.fromarray(np.rint(255 * codes).astype(np.uint8)).save(stream, "PNG")
    return stream.getvalue()


def draw(tab: Any, *box: float) -> None:
    """Drag a place, x, y, width, height in the photo's pixels."""
    x, y, w, h = box
    scale, left, top = tab.evaluate(
        "() => { const one = document.querySelector('svg.photo'); one.scrollIntoView({ block: 'center' });"
        " const m = one.getScreenCTM(); return [m.a, m.e, m.f]; }"
    )
    tab.mouse.move(left + x * scale, top + y * scale)
    tab.mouse.down()
    tab.mouse.move(left + (x + w) * scale, top + (y + h) * scale, steps=2)
    tab.mouse.up()


def main(folder: Path = PICTURES) -> None:
    """All screens, from the empty page to the filled book."""
    from playwright.sync_api import sync_playwright

    folder.mkdir(parents=True, exist_ok=True)
    path = os.environ.get("TINTMIX_CHROMIUM") or next(path for path in CHROMIUM if Path(path).exists())
    with tempfile.TemporaryDirectory() as place, sync_playwright() as playwright:
        os.environ["TINTMIX_BOOK"] = str(Path(place) / "book.db")
        browser = playwright.chromium.launch(executable_path=path, args=["--no-sandbox", "--disable-gpu"])
        with served(Path(place) / "page") as address:
            tab = browser.new_page(viewport={"width": WIDE[0], "height": WIDE[1]})
            tab.goto(f"{address}/?token={TOKEN}")
            tab.wait_for_url(f"{address}/")

            def take(
                name: str, top: str = "", height: int = WIDE[1], colours: int = COLOURS, rare: bool = False
            ) -> None:
                tab.set_viewport_size({"width": tab.viewport_size["width"], "height": height})
                if top:
                    tab.locator(top).first.evaluate("one => one.scrollIntoView()")
                else:
                    tab.evaluate("() => scrollTo(0, 0)")
                tab.evaluate("() => document.activeElement.blur()")
                tab.mouse.move(0, 0)
                tab.wait_for_timeout(200)
                save(tab.screenshot(), folder / f"page-{name}.png", colours, rare)

            take("first", height=860)
            tab.goto(f"{address}/tint")
            take("one-cup", height=760)
            photo(tab, address, take)
            demo(tab, address, take)
            bench(tab, address, take)
        browser.close()


Take = Callable[..., None]


def photo(tab: Any, address: str, take: Take) -> None:
    """A set by hand, its chips read in a photo."""
    tab.goto(f"{address}/chips")
    tab.locator("summary", has_text="Start a set by hand").click()
    for box, text in (("title", "my phone"), ("pigments", "azure"), ("thicknesses", "3 6 12")):
        tab.locator(f"#{box}").fill(text)
    tab.locator("#kind").select_option("camera")
    tab.get_by_role("button", name="Start", exact=True).click()
    tab.locator("summary", has_text="Add a cup").click()
    for box, text in (("cup_thicknesses", "3 6 12"), ("cup-dose-1", "0.02")):
        tab.locator(f"#{box}").fill(text)
    tab.get_by_role("button", name="Add the cup").click()
    tab.get_by_role("link", name="Read them from a photo").click()
    tab.locator("#photo").set_input_files({"name": "panel.png", "mimeType": "image/png", "buffer": panel_photo()})
    tab.get_by_role("button", name="Open").click()
    tab.locator("svg.photo").wait_for()
    tab.wait_for_timeout(500)
    for i in range(6):
        draw(tab, 230 + 300 * (i % 3), 210 + 340 * (i // 3), 150, 150)
    for x, y in ((20, 20), (1080, 20), (20, 780), (1080, 780)):
        draw(tab, x, y, 100, 100)
    draw(tab, 570, 420, 60, 60)
    tab.locator("[data-row] select").last.select_option("black card")
    tab.wait_for_timeout(1500)
    take("photo", height=1100)
    for button in ("Undo", "Undo", "Undo"):
        tab.locator("#undo button", has_text=button).click()


def demo(tab: Any, address: str, take: Take) -> None:
    """The demo on Chips, Pigments, Tint, Recipes, and Tint on a phone."""
    tab.goto(f"{address}/tint")
    tab.get_by_role("button", name="Try it with the demo").click()
    tab.get_by_role("heading", name="Tint: thin and thick").wait_for(timeout=120_000)
    for name in ("chips", "pigments", "tint"):
        tab.goto(f"{address}/{name}")
        if name == "tint":
            take(name, height=980, colours=250, rare=True)
        else:
            take(name)
    casting(tab, address, take)
    tab.goto(f"{address}/recipes")
    tab.locator("#wish > summary").click()
    take("recipes", "#wish", height=760)
    tab.goto(f"{address}/recipes")
    take("recipes-found", "#found", 1000)
    tab.set_viewport_size({"width": PHONE[0], "height": PHONE[1]})
    tab.goto(f"{address}/tint")
    take("phone", height=PHONE[1])
    tab.set_viewport_size({"width": WIDE[0], "height": WIDE[1]})


def casting(tab: Any, address: str, take: Take) -> None:
    """A deck prism, traced from above."""
    tab.goto(f"{address}/casting")
    tab.wait_for_selector("canvas[data-fine='16']", timeout=60_000)
    take("casting", height=900, colours=FEW_COLOURS)


def bench(tab: Any, address: str, take: Take) -> None:
    """The batch sheet, a trial, the book after some pours."""
    tab.goto(f"{address}/sheet")
    take("sheet")
    take("sheet-steps", "section.stage", 900)
    tab.get_by_role("button", name="Record the pour").click()
    tab.goto(f"{address}/trial")
    tab.locator("#chip_0_mm").fill("12")
    tab.locator("#chip_0_colour").fill("88.2 -11.6 -3.8")
    tab.locator("#left").fill("195")
    tab.get_by_role("button", name="Work out what to do").click()
    tab.locator("#answer").wait_for(timeout=60_000)
    take("trial", "#answer")
    tab.goto(f"{address}/book")
    tab.get_by_role("link", name="sea-green prism").click()
    for i, light in enumerate((57.9, 58.4, 57.6, 58.1, 57.8, 58.3)):
        if i:
            tab.locator("summary", has_text="Record a pour of revision").click()
            tab.locator("#new-on").fill(f"2025-0{i + 1}-02")
            tab.get_by_role("button", name="Record the pour").click()
        at = tab.locator(f"#pour-{i + 1}")
        at.locator("summary").click()
        for box, value in (("L_1", light), ("a_1", -57.0), ("b_1", 5.6)):
            at.locator(f"input[name={box}]").fill(str(value))
        at.get_by_role("button", name=f"Add to pour {i + 1}").click()
        tab.get_by_text("Added to pour").first.wait_for()
    tab.goto(f"{address}/book")
    take("book", height=620)
    tab.get_by_role("link", name="sea-green prism").click()
    take("book-recipe", "#history", 620)


if __name__ == "__main__":
    main(*map(Path, sys.argv[1:2]))
