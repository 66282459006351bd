"""Samples of an instrument's file dragged onto chips, and chosen by keyboard, in a real browser."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.faces.web.browsing import overflow, shoot, small_targets
from tests.faces.web.conftest import Served, violations


@pytest.mark.parametrize("width", [1400, 360])
def test_a_sample_is_dragged_onto_its_chip(
    served_empty: Served, open_page: Callable[..., Any], tmp_path: Path, axe: str, width: int
) -> None:
    tab = open_page(served_empty, "/chips", width=width)
    tab.evaluate(
        """async () => {
          const form = [...document.forms].find((one) => one.action.endsWith("/chips/begin"));
          form.elements.kind.value = "spectrum"; form.elements.pigments.value = "azure"; form.elements.thicknesses.value = "3 12";
          form.requestSubmit();
        }"""
    )
    tab.get_by_text("clear 12 mm").first.wait_for()
    file = tmp_path / "day.csv"
    file.write_text("nm;S 1;S 2\n" + "".join(f"{nm};0.88;0.9\n" for nm in range(400, 701, 10)), "utf-8")
    tab.locator("input[name=instrument]").set_input_files(str(file))
    tab.locator("button[name=look]").evaluate("(button) => button.click()")
    tab.wait_for_url("**/chips/instrument")
    first, second = tab.locator("select.sample-chip").all()
    boxes = tab.locator("[data-chip]")
    assert boxes.count() == 2

    def drag(sample: str, chip: str) -> None:
        grip = tab.locator("[data-sample]", has_text=sample)
        grip.scroll_into_view_if_needed()
        start, end = grip.bounding_box(), tab.locator(f'[data-chip="{chip}"]').bounding_box()
        tab.mouse.move(start["x"] + 5, start["y"] + 5)
        tab.mouse.down()
        tab.mouse.move(end["x"] + 20, end["y"] + 10, steps=4)
        tab.mouse.up()

    drag("S 1", "clear 12 mm")
    drag("S 2", "clear 12 mm")
    assert [one.input_value() for one in (first, second)] == ["clear 12 mm"] * 2
    assert tab.locator(".several:visible").count() == 1
    tab.get_by_role("button", name="Take S 2 off clear 12 mm").click()
    assert second.input_value() == ""
    assert tab.locator(".several:visible").count() == 0
    second.focus()
    tab.keyboard.press("ArrowDown")
    assert second.input_value() == "clear 3 mm"
    assert tab.get_by_role("button", name="Take S 2 off clear 3 mm").is_visible()
    shoot(tab, f"mapping-{width}")
    assert overflow(tab) == 0
    assert not small_targets(tab)
    assert not violations(tab, axe)
