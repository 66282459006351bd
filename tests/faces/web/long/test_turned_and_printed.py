"""The casting turned by hand, and the screens that are printed, in a real browser."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from tests.faces.web.browsing import overflow, shoot, small_targets
from tests.faces.web.conftest import Served, violations
from tests.faces.web.long.test_bench_browser import fill
from tests.faces.web.long.test_browser import NAME

PATHS = ("/sheet", "/trial", "/chips/plan", "/book", f"/book/recipe?name={NAME}", "/cautions")
Open = Callable[..., Any]


def test_the_casting_at_three_widths_turned_by_hand_and_by_keys(served_demo: Served, open_page: Open, axe: str) -> None:
    tab = open_page(served_demo, "/casting")
    tab.wait_for_selector("canvas[data-fine='16']")
    for width in (360, 800, 1400):
        tab.set_viewport_size({"width": width, "height": 900})
        shoot(tab, f"casting-{width}")
        assert overflow(tab) <= 0, width
        assert small_targets(tab) == [], width
    tab.evaluate("() => document.querySelectorAll('main details').forEach((fold) => { fold.open = true; })")
    assert violations(tab, axe) == []
    canvas = tab.locator("#casting")
    canvas.click(position={"x": 200, "y": 200})
    assert "seen through" in tab.locator("#casting-here").inner_text()
    before = canvas.evaluate("(one) => one.toDataURL()")
    canvas.focus()
    tab.keyboard.press("Shift+ArrowDown")
    assert tab.get_by_label("Tilted by").input_value() == "75"
    tab.wait_for_function("(before) => document.getElementById('casting').toDataURL() !== before", arg=before)
    # The words are those of the view that is seen, once it is known.
    tab.get_by_text("Deck prism with a ring in it, seen from 75° above").wait_for()
    tab.get_by_role("button", name="Trace the light from here").click()
    tab.get_by_text("Its places, as they are seen").wait_for()
    served_demo.workspace.change("dark", {"settings": {"surround": "dark"}}, {})
    tab.reload()
    tab.wait_for_selector("canvas[data-fine='16']")
    shoot(tab, "casting-dark-traced")
    assert violations(tab, axe) == []


@pytest.mark.usefixtures("book")
@pytest.mark.parametrize("surround", ["grey", "dark"])
def test_on_paper_all_of_it_is_there_in_full_ink(served_demo: Served, open_page: Open, surround: str) -> None:
    """As it prints: each sentence has room, stands above the first table of weights, and what kills or maims is as large as
    the rest of the text, in black."""
    fill(served_demo.workspace)
    served_demo.workspace.change("surround", {"settings": {"surround": surround}}, {})
    tab = open_page(served_demo)
    tab.goto(served_demo.address + "/chips")
    tab.click("summary:has-text('Plan which chips to pour')")
    tab.fill("#plan_pigments", "azure 0.02")
    tab.click("button:has-text('Plan the chips')")
    tab.wait_for_url("**/chips/plan")
    tab.emulate_media(media="print")
    for path in PATHS:
        tab.goto(served_demo.address + path)
        shoot(tab, f"print{path.partition('?')[0].replace('/', '-')}-{surround}")
        said = tab.evaluate(
            """() => [...document.querySelectorAll("ol.cautions > li")].map((one) => {
              const style = getComputedStyle(one), room = one.getBoundingClientRect();
              return [one.className, style.color, parseFloat(style.fontSize), room.width * room.height];
            })"""
        )
        size = tab.evaluate("() => parseFloat(getComputedStyle(document.querySelector('main p')).fontSize)")
        assert len(said) >= 10, path
        for kind, colour, letters, room in said:
            assert colour == "rgb(0, 0, 0)", path
            assert room > 0, path
            assert kind != "grave" or letters >= size, path
