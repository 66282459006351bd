"""Sheet, Trial and Book in a real browser: at three widths, against WCAG 2.2 AA, and the way through them."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.faces.web.browsing import overflow, shoot, small_targets
from tests.faces.web.conftest import Served, violations
from tests.faces.web.long.test_browser import WIDTHS
from tintmix.desk.book.pours import Weighed
from tintmix.page.bench import book as page_book
from tintmix.page.bench import pouring
from tintmix.page.bench import sheet as page_sheet
from tintmix.page.bench import trial as page_trial
from tintmix.page.work import Works
from tintmix.page.workspace import Workspace

NAME = "sea-green prism"
Open = Callable[..., Any]
pytestmark = pytest.mark.usefixtures("book")


def fill(workspace: Workspace) -> None:
    """A trial answered, the pour recorded, two more read."""
    now = workspace.now()
    asked = page_trial.USUAL | {"chips": [{"thickness_mm": 12.0, "colour": [86.1, -17.4, 0.2]}], "left_g": 195.0}
    workspace.change("asked", {"trial": {"asked": asked}}, {})
    work = Works().start("asking", "/", lambda work: page_trial.ask(workspace, work))
    assert work.wait(60.0)
    assert work.state == "done", work.says
    kept = page_sheet.kept_sheet(workspace, now.area("sheet"))
    assert kept is not None
    page_sheet.put_on_shelf(kept, now.area("sheet"))
    pouring.record_pour(workspace, now, kept, "2025-01-01", "", "")
    for day in ("2025-02-01", "2025-03-01"):
        page_book.record(NAME, None, Weighed(450.0, {"A": 236.7}), day, "", "")
    for number, lightness in enumerate((57.0, 58.0, 57.5), 1):
        page_book.add_to_pour(NAME, number, [("point", (lightness, -56.0, 5.5))], "", "", "")


def look(tab: Any, served: Served, axe: str, kind: str, paths: list[str], width: int | str) -> None:
    for path in paths:
        tab.goto(served.address + path)
        tab.wait_for_load_state("load")
        shoot(tab, f"{kind}{path.partition('?')[0].replace('/', '-')}-{width}")
        assert overflow(tab) <= 0, path
        assert small_targets(tab) == [], path
        for fold in tab.query_selector_all("main details:not([open]) > summary"):
            fold.click()
        assert overflow(tab) <= 0, path
        assert violations(tab, axe) == [], path


@pytest.mark.parametrize("width", [360, 1400])
def test_screens_filled(served_demo: Served, open_page: Open, axe: str, width: int) -> None:
    fill(served_demo.workspace)
    tab = open_page(served_demo, width=width, height=WIDTHS[width])
    look(tab, served_demo, axe, "demo", ["/sheet", "/trial", "/book", f"/book/recipe?name={NAME}"], width)


@pytest.mark.parametrize("width", [360, 1400])
def test_empty_screens(served_empty: Served, open_page: Open, axe: str, width: int) -> None:
    tab = open_page(served_empty, width=width, height=WIDTHS[width])
    look(tab, served_empty, axe, "empty", ["/sheet", "/trial", "/book"], width)


def test_the_dark_surround_and_the_sizes(served_demo: Served, open_page: Open, axe: str) -> None:
    fill(served_demo.workspace)
    served_demo.workspace.change("dark", {"settings": {"surround": "dark"}}, {})
    tab = open_page(served_demo)
    paths = ["/sheet", "/trial", "/book", f"/book/recipe?name={NAME}"]
    look(tab, served_demo, axe, "dark", paths, "dark")
    for path in paths:
        tab.goto(served_demo.address + path)
        sizes = tab.evaluate(
            """() => [...new Set([...document.querySelectorAll("body *")].filter((one) => !one.closest("h1, .afar") &&
              [...one.childNodes].some((node) => node.nodeType === 3 && node.textContent.trim()) && one.getClientRects().length)
              .map((one) => getComputedStyle(one).fontSize))]"""
        )
        assert len(sizes) <= 2, (path, sizes)


def test_sheet_then_trial_then_book(served_demo: Served, open_page: Open, tmp_path: Path) -> None:
    """Made anew → ticked and weighed → reloaded → PDF → bottles → trial → lots → pour → read → exported → brought in."""
    tab = open_page(served_demo, "/sheet")
    tab.locator("summary", has_text="Another batch").click()
    tab.get_by_role("radio", name="water that fills the mould").check()
    tab.locator("#grams").wait_for(state="hidden")
    tab.get_by_role("radio", name="mixed resin").check()
    tab.locator("#grams").fill("300")
    tab.get_by_role("button", name="Make the sheet again").click()
    tab.get_by_text("300 g of mixed").first.wait_for()

    tab.get_by_label("Get ready").check()
    box = tab.get_by_label("actual weight of part B, Weigh part B")
    box.fill("140,5")
    box.press("Tab")
    tab.get_by_text("As weighed, the colour is off").wait_for()
    tab.get_by_text("1 of").first.wait_for()
    tab.reload()
    assert tab.get_by_label("actual weight of part B, Weigh part B").input_value() == "140.5"
    assert tab.get_by_label("Get ready").is_checked()
    with tab.expect_download() as download:
        tab.get_by_role("link", name="PDF, A4").click()
    assert download.value.suggested_filename == "sea-green-prism-300-g.pdf"
    tab.get_by_role("button", name="Add the stock bottles to the shelf").click()
    tab.get_by_text("On the shelf of the book:").wait_for()

    tab.get_by_role("link", name="Trial chip").first.click()
    assert tab.get_by_label(re.compile(r"^\s*part B")).first.input_value() == "140.5"
    tab.locator("#mixed_min").wait_for(state="hidden")
    tab.locator("#chip_0_mm").fill("12")
    tab.locator("#chip_0_colour").fill("86,1 -17,4 0,2")
    tab.reload()
    assert tab.locator("#chip_0_colour").input_value() == "86,1 -17,4 0,2"
    tab.locator("#left").fill("130")
    tab.get_by_role("button", name="Work out what to do").click()
    tab.locator("#answer").wait_for(timeout=30_000)
    tab.get_by_label("emerald:", exact=False).check()
    tab.get_by_role("button", name="Save the ticked ones in the book").click()
    tab.get_by_text("emerald lot E-04 is").wait_for()

    tab.get_by_role("link", name="Sheet").first.click()
    tab.locator("#note").fill("with a new lot")
    tab.get_by_role("button", name="Record the pour").click()
    tab.get_by_text("Recorded pour 1").wait_for()
    tab.get_by_role("link", name="Recipe book").first.click()
    tab.get_by_role("link", name=NAME).click()
    tab.get_by_text("with a new lot").wait_for()
    tab.locator("summary", has_text="Add a reading").click()
    for axis, value in (("L", "57,2"), ("a", "-56"), ("b", "5.5")):
        tab.locator(f"#{axis}_1-1").fill(value)
    tab.get_by_role("button", name="Add to pour 1").click()
    tab.get_by_text("Added to pour 1").wait_for()
    tab.get_by_role("link", name="All recipes").click()
    with tab.expect_download() as download:
        tab.get_by_role("link", name="Export as one file").click()
    download.value.save_as(tmp_path / "export.json")
    tab.locator("#export-file").set_input_files(str(tmp_path / "export.json"))
    tab.get_by_role("button", name="Import", exact=True).click()
    tab.get_by_text("New in the book: nothing").wait_for()


def test_printed_it_is_a_sheet_without_the_page(served_demo: Served, open_page: Open) -> None:
    tab = open_page(served_demo, "/sheet")
    tab.emulate_media(media="print")
    assert not tab.locator("nav").is_visible()
    assert not tab.locator("#into-book").is_visible()
    assert tab.locator(".print-only").is_visible()
    pdf = tab.pdf(format="A4", print_background=True)
    assert pdf.startswith(b"%PDF")
    assert 1 < pdf.count(b"/Type /Page\n") <= 6


def test_a_second_tab_of_the_sheet_is_told(served_demo: Served, open_page: Open) -> None:
    first = open_page(served_demo, "/sheet")
    second = first.context.new_page()
    second.goto(served_demo.address + "/sheet")
    first.get_by_label("Get ready").check()
    first.get_by_text("1 of").first.wait_for()
    second.get_by_label("Make the stock bottles").check()
    second.get_by_text("changed in another tab").wait_for()
    assert served_demo.workspace.now().area("sheet")["ticks"] == ["0-0"]


def test_the_sheet_works_without_scripts(served_demo: Served, open_page: Open) -> None:
    tab = open_page(served_demo, "/sheet", java_script_enabled=False)
    tab.get_by_label("actual weight of part B, Weigh part B").fill("209,1")
    tab.get_by_role("button", name="Save ticks and weights").click()
    tab.wait_for_load_state()
    assert tab.get_by_label("actual weight of part B, Weigh part B").input_value() == "209.1"
    assert "As weighed, the colour is off" in tab.content()


OVERLAPS = """() => {
  const bad = [];
  const inside = (a, b) => a.left < b.right - 1 && b.left < a.right - 1 && a.top < b.bottom - 1 && b.top < a.bottom - 1;
  for (const weight of document.querySelectorAll(".weight")) {
    const seen = [...weight.querySelectorAll("input, label, .asked > *, .unit, .off, .blank-label")]
      .filter((one) => !one.querySelector("input"))
      .map((one) => [one.className || one.localName, one.getBoundingClientRect()])
      .filter(([, box]) => box.width > 1 && box.height > 1);
    for (let i = 0; i < seen.length; i++) for (let j = i + 1; j < seen.length; j++)
      if (inside(seen[i][1], seen[j][1])) bad.push(`${seen[i][0]} on ${seen[j][0]}: ${weight.textContent.trim().slice(0, 40)}`);
  }
  return bad;
}"""


@pytest.mark.parametrize("mass", ["g", "oz"])
def test_nothing_is_printed_on_top_of_a_weight(served_demo: Served, open_page: Open, mass: str) -> None:
    """At the width of A4 and of Letter between margins of 1 cm, 718 and 740 px of 96 to the inch, and without margins."""
    workspace = served_demo.workspace
    workspace.change("unit", {"settings": workspace.now().area("settings") | {"mass": mass}}, {})
    tab = open_page(served_demo, "/sheet")
    tab.emulate_media(media="print")
    for width in (718, 740, 794, 816):
        tab.set_viewport_size({"width": width, "height": 1000})
        assert tab.locator(".weight").count() > 5
        assert tab.evaluate(OVERLAPS) == [], width
        assert overflow(tab) <= 0
