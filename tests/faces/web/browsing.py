"""What the browser's tests share: screenshots, measures of a screen, a hand that draws in a photo."""

from __future__ import annotations

import os
from collections.abc import Sequence
from pathlib import Path
from typing import Any

DRAG = "Drag over a place to mark it"
"""What the page says once its script takes a drag; until then the picture may still move, too."""


def shoot(tab: Any, name: str) -> None:
    """A screenshot, where TINTMIX_SHOTS names a folder for them."""
    folder = os.environ.get("TINTMIX_SHOTS")
    if folder:
        Path(folder).mkdir(parents=True, exist_ok=True)
        tab.screenshot(path=str(Path(folder) / f"{name}.png"), full_page=True)


def overflow(tab: Any) -> int:
    """By how many pixels a screen is wider than the window."""
    found: int = tab.evaluate("() => document.documentElement.scrollWidth - document.documentElement.clientWidth")
    return found


def small_targets(tab: Any) -> list[str]:
    """What can be pressed and is smaller than 24 by 24 pixels (WCAG 2.2, 2.5.8; links within a sentence are exempt)."""
    found: list[str] = tab.evaluate(
        """() => [...document.querySelectorAll("a, button, input, select, textarea, summary")].filter((one) => {
          const box = one.getBoundingClientRect();
          const inline = one.tagName === "A" && getComputedStyle(one).display === "inline";
          const small = box.width > 0 && (box.width < 24 || box.height < 24);
          return small && !inline && one.type !== "hidden" && !one.matches(".skip");
        }).map((one) => one.outerHTML.slice(0, 120))"""
    )
    return found


def draw(tab: Any, box: Sequence[float]) -> None:
    """Drag a place (x, y, width, height, in the photo's own pixels) in the photo that is shown, once the page says how."""
    tab.get_by_text(DRAG).wait_for()
    x, y, w, h = box
    # What lies below the window's edge cannot be dragged over.
    scale, left, top = tab.evaluate(
        "() => { const one = document.querySelector('svg.photo'); one.scrollIntoView({ block: 'center' });"
        " const m = one.getScreenCTM(); return [m.a, m.e, m.f]; }"
    )
    tab.mouse.move(left + x * scale, top + y * scale)
    tab.mouse.down()
    tab.mouse.move(left + (x + w / 2) * scale, top + (y + h / 2) * scale)
    tab.mouse.move(left + (x + w) * scale, top + (y + h) * scale)
    tab.mouse.up()


def strip_end(tab: Any) -> str:
    """The colour of the thick end of the thickness strip on Tint."""
    found: str = tab.locator("#strip stop").last.get_attribute("stop-color")
    return found
