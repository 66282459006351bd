"""The page in a real browser: every screen by keyboard, against WCAG 2.2 AA, at three widths; and the way through the job."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from tests.faces.web.browsing import DRAG, draw, overflow, shoot, small_targets, strip_end
from tests.faces.web.conftest import Client, Served, ok, violations
from tintmix.page.bench.trial import USUAL

WIDTHS = {360: 640, 800: 1000, 1400: 900}
NAME = "sea-green prism"
PLAN = {"plan_pigments": "azure 0.02\nemerald", "plan_title": "planned", "plan_kind": "colour"}
Open = Callable[..., Any]


def test_the_strip_follows_the_keyboard(served_demo: Served, open_page: Open) -> None:
    tab = open_page(served_demo)
    before = strip_end(tab)
    slider = tab.get_by_label("rose, slider")
    slider.focus()
    for _ in range(5):
        tab.keyboard.press("PageUp")
    tab.wait_for_function(
        "before => [...document.querySelectorAll('#strip stop')].at(-1).getAttribute('stop-color') !== before",
        arg=before,
    )
    box = tab.get_by_label("rose", exact=True)
    assert float(box.input_value()) > 0
    assert "g per 100 g mixed" in slider.get_attribute("aria-valuetext")
    tab.wait_for_function("() => document.getElementById('tint-live').textContent.includes('light through')")
    assert tab.locator("#undo").is_visible()


def test_a_typed_dose_with_a_comma_is_kept_over_reload_and_back(served_demo: Served, open_page: Open) -> None:
    tab = open_page(served_demo)
    box = tab.get_by_label("lemon", exact=True)
    box.fill("0,045")
    box.press("Tab")
    tab.wait_for_timeout(600)
    tab.reload()
    assert tab.get_by_label("lemon", exact=True).input_value() == "0.045"
    box = tab.get_by_label("lemon", exact=True)
    box.fill("0.05")
    tab.get_by_role("link", name="Chips").first.click()
    tab.wait_for_url("**/chips")
    tab.wait_for_timeout(400)
    tab.go_back()
    tab.wait_for_url("**/tint")
    assert tab.get_by_label("lemon", exact=True).input_value() == "0.05"


def test_a_dose_that_cannot_be_is_told_and_not_kept(served_demo: Served, open_page: Open) -> None:
    tab = open_page(served_demo)
    before = served_demo.workspace.now()
    box = tab.get_by_label("azure", exact=True)
    box.fill("-3")
    box.press("Tab")
    tab.get_by_text("azure: type a dose from 0 to 100").wait_for()
    tab.get_by_label("Save as a recipe called").fill("wrong")
    tab.get_by_role("button", name="Save", exact=True).click()
    tab.wait_for_timeout(400)
    assert tab.url.endswith("/tint")
    assert box.input_value() == "-3"
    assert served_demo.workspace.now() == before
    # A dose far beyond the chips moves the slider's end, and a usual one moves it back.
    for typed in ("99", "0,3"):
        box.fill(typed)
        tab.wait_for_timeout(50)
    assert int(tab.get_by_label("azure, slider").input_value()) == 1000
    tab.get_by_text("Stronger than any chip").wait_for()


def test_half_a_form_survives_reload(served_empty: Served, open_page: Open) -> None:
    tab = open_page(served_empty)
    tab.locator("#chip_0_L").fill("86,7")
    tab.reload()
    assert tab.locator("#chip_0_L").input_value() == "86,7"


def test_what_a_photo_read_wins_over_an_older_draft(served_demo: Served, open_page: Open, tmp_path: Path) -> None:
    """A thickness typed on Trial goes along to the photo; what was read there is shown, beside what else was typed."""
    from tests.faces.web.test_photo import picture

    (tmp_path / "trial.png").write_bytes(picture())
    tab = open_page(served_demo, "/trial")
    tab.locator("#chip_0_mm").fill("40")
    tab.locator("#left").fill("123.4")
    tab.get_by_role("link", name="Read the chip in a photo").click()
    tab.locator("#photo").set_input_files(str(tmp_path / "trial.png"))
    tab.get_by_role("button", name="Open").click()
    tab.get_by_text(DRAG).wait_for()
    assert tab.locator("#thing_0_mm").input_value() == "40"
    workspace = served_demo.workspace
    area = workspace.now().area("trial")
    chips = [{"thickness_mm": 40.0, "colour": [41.0, 62.5, 38.0]}]
    asked = {**USUAL, **area.get("asked", {}), "space": "camera", "chips": chips}
    workspace.change("a trial chip from a photo", {"trial": {**area, "asked": asked}}, {})
    tab.get_by_role("link", name="Back to the trial").click()
    tab.wait_for_url("**/trial")
    boxes = ("#chip_0_mm", "#chip_0_colour", "#space", "#left")
    assert [tab.locator(box).input_value() for box in boxes] == ["40", "41 62.5 38", "camera", "123.4"]


def test_a_second_tab_is_told_and_may_choose(served_demo: Served, open_page: Open) -> None:
    first = open_page(served_demo)
    second = first.context.new_page()
    second.goto(served_demo.address + "/tint")
    first.get_by_label("azure", exact=True).fill("0.03")
    first.get_by_label("azure", exact=True).press("Tab")
    first.wait_for_timeout(600)
    second.get_by_label("azure", exact=True).fill("0.09")
    second.get_by_label("azure", exact=True).press("Tab")
    second.get_by_text("changed in another tab").wait_for()
    assert served_demo.workspace.now().area("tint")["doses"]["azure"] == 0.03
    second.get_by_role("button", name="Use mine instead").click()
    second.wait_for_timeout(600)
    assert served_demo.workspace.now().area("tint")["doses"]["azure"] == 0.09


def test_undo_by_keyboard(served_demo: Served, open_page: Open) -> None:
    tab = open_page(served_demo)
    before = tab.get_by_label("azure", exact=True).input_value()
    tab.get_by_label("azure", exact=True).fill("0.06")
    tab.get_by_label("azure", exact=True).press("Tab")
    tab.wait_for_timeout(600)
    tab.locator("#undo button").focus()
    tab.keyboard.press("Enter")
    tab.wait_for_url("**/tint")
    tab.get_by_text("Undone:").wait_for()
    assert tab.get_by_label("azure", exact=True).input_value() == before


def test_focus_is_seen_and_reaches_everything(served_demo: Served, open_page: Open) -> None:
    tab = open_page(served_demo)
    reached = set()
    for _ in range(60):
        tab.keyboard.press("Tab")
        seen = tab.evaluate(
            """() => { const one = document.activeElement; const style = getComputedStyle(one);
              const name = one.tagName + (one.name || one.id || one.textContent.trim().slice(0, 20));
              return [name, style.outlineStyle !== "none" && parseFloat(style.outlineWidth) >= 2]; }"""
        )
        if seen[0].startswith("BODY"):
            break
        assert seen[1], seen[0]
        reached.add(seen[0])
    assert any("dose.azure" in name for name in reached)
    assert any("Recipes" in name for name in reached)


def test_the_page_works_without_scripts(served_demo: Served, open_page: Open) -> None:
    tab = open_page(served_demo, java_script_enabled=False)
    tab.locator("#dose-0").fill("0,04")
    tab.get_by_role("button", name="Show these doses").click()
    tab.wait_for_url("**/tint")
    assert tab.locator("#dose-0").input_value() == "0.04"
    assert served_demo.workspace.now().area("tint")["doses"]["azure"] == 0.04


def test_a_drag_is_asked_for_only_once_it_is_taken(
    demo: Client, serve: Callable[[Path], Served], open_page: Open
) -> None:
    """On a slow line the picture stands there before the script that takes a drag."""
    from tests.faces.web.test_photo import camera_set, picture

    ok(camera_set(demo, picture()))
    held: list[Any] = []
    tab = open_page(serve(demo.workspace.folder))
    tab.route("**/static/photo.js", lambda route: held.append(route))
    tab.goto(f"{tab.url.removesuffix('/tint')}/chips/photo", wait_until="commit")
    tab.get_by_role("button", name="Read these places").wait_for()
    photo = tab.locator("svg.photo")
    assert not tab.get_by_text(DRAG).is_visible()
    assert photo.evaluate("one => getComputedStyle(one).cursor") == "auto"
    held[0].continue_()
    draw(tab, (300, 200, 160, 160))
    assert photo.evaluate("one => getComputedStyle(one).cursor") == "crosshair"
    first = tab.locator("[data-row]").first
    assert [first.locator(f"[data-side={side}]").input_value() for side in "xywh"] == ["300", "200", "160", "160"]


def test_a_photo_is_marked_by_pointer_and_by_keys(
    served_empty: Served, open_page: Open, axe: str, tmp_path: Path
) -> None:
    """Photo → places drawn and keyed → readings, at a phone's and at a desk's width."""
    from tests.faces.web.test_photo import CHIPS, OPEN, picture

    (tmp_path / "panel.png").write_bytes(picture())
    tab = open_page(served_empty, "/chips", width=800, height=1000)
    tab.locator("summary", has_text="Start a set by hand").click()
    tab.locator("#title").fill("by photo")
    tab.locator("#kind").select_option("camera")
    tab.locator("#pigments").fill("azure")
    tab.locator("#thicknesses").fill("3 12")
    tab.get_by_role("button", name="Start", exact=True).click()
    tab.get_by_role("link", name="Read them from a photo").click()
    tab.locator("#photo").set_input_files(str(tmp_path / "panel.png"))
    tab.get_by_role("button", name="Open").click()
    photo = tab.locator("svg.photo")
    photo.wait_for()
    for place in ((300, 200, 160, 160), (700, 500, 160, 160), *OPEN):
        draw(tab, place)
    # The black card by keys: a new place in the middle, then named.
    photo.focus()
    tab.keyboard.press("Enter")
    last = tab.locator("[data-row]").nth(6)
    last.locator("select").select_option("black card")
    for side, value in (("x", "570"), ("y", "390"), ("w", "60"), ("h", "60")):
        last.locator(f"[data-side={side}]").fill(value)
    assert tab.locator("svg.photo rect.box").count() == 7
    kept = [tab.locator("[data-row] select").nth(i).input_value() for i in range(3)]
    assert kept == ["clear 3 mm", "clear 12 mm", "bare panel"]
    # What was drawn is there again after a reload, and what each place reads is told.
    tab.reload()
    tab.get_by_text("of the bare panel").first.wait_for()
    assert tab.locator("svg.photo rect.box").count() == 7
    shoot(tab, "photo-800")
    assert violations(tab, axe) == []
    assert overflow(tab) <= 0
    tab.set_viewport_size({"width": 360, "height": 640})
    shoot(tab, "photo-360")
    assert overflow(tab) <= 0
    assert small_targets(tab) == []
    tab.get_by_role("button", name="Read these places").click()
    tab.get_by_text("2 chips read from the photo.").wait_for()
    area = served_empty.workspace.now().area("chips")
    chips = served_empty.workspace.chip_set(area["sets"][0]["thing"]).chips
    for chip in chips:
        lightest = max(range(3), key=lambda c: CHIPS[chip.name][c])
        assert max(range(3), key=lambda c: chip.values[c]) == lightest
