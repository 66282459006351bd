"""Every screen in a real browser: against WCAG 2.2 AA at three widths and in both surrounds."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.faces.web.browsing import overflow, shoot, small_targets
from tests.faces.web.conftest import Client, Served, ok, violations
from tests.faces.web.long.test_browser import NAME, PLAN, WIDTHS

SCREENS = (
    "/tint", "/chips", "/chips/chip?chip=a1-3", "/chips/poured", "/resin?from=epoxy", "/pigments", "/recipes", "/recipes/photo",
    f"/book/compare?name={NAME}&first=1&second=2", "/nowhere",
)  # fmt: skip
"""All but those of test_bench_browser.py and test_photo_screens.py."""
SHEET = {"resin": "recipe", "how": "batch", "grams": "450", "resin_step": "0.1", "pigment_step": "0.01"}
Open = Callable[..., Any]


@pytest.fixture(scope="session")
def filled_folders(demo_folder: Path, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """A page's folder with the demo, and a recipe book with two revisions of its recipe; to be copied."""
    folder = tmp_path_factory.mktemp("filled")
    shutil.copytree(demo_folder, folder / "page")
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("TINTMIX_BOOK", str(folder / "book.db"))
        with Client(folder / "page") as client:
            ok(client.fill("/sheet/keep", {"what": "recipe", "note": "first"}))
            ok(client.fill("/recipes/keep", {"number": "1", "name": NAME}))
            ok(client.fill("/sheet/make", SHEET))
            ok(client.fill("/sheet/keep", {"what": "recipe", "note": "second"}))
    return folder / "page", folder / "book.db"


@pytest.fixture
def filled(
    filled_folders: tuple[Path, Path], tmp_path: Path, serve: Callable[[Path], Served], monkeypatch: pytest.MonkeyPatch
) -> Served:
    """The demo, its recipes found, with that book, served."""
    page, book = filled_folders
    shutil.copytree(page, tmp_path / "page")
    shutil.copy(book, tmp_path / "book.db")
    monkeypatch.setenv("TINTMIX_BOOK", str(tmp_path / "book.db"))
    return serve(tmp_path / "page")


def called(path: str) -> str:
    """A screenshot's name."""
    return path.partition("?")[0].strip("/").replace("/", "-")


@pytest.mark.parametrize("width", [360, 1400])
def test_screens_with_the_demo(filled: Served, open_page: Open, axe: str, width: int) -> None:
    tab = open_page(filled, width=width, height=WIDTHS[width])
    for path in SCREENS:
        missing = path == "/nowhere"
        status = tab.goto(filled.address + path).status
        assert status == (404 if missing else 200), path
        if missing:
            # The browser itself puts a 404 into its console.
            open_page.complaints.clear()  # type: ignore[attr-defined]
        shoot(tab, f"demo-{called(path)}-{width}")
        assert overflow(tab) <= 0, path
        assert small_targets(tab) == [], path
        tab.evaluate("() => document.querySelectorAll('main details').forEach((fold) => { fold.open = true; })")
        assert overflow(tab) <= 0, path
        assert violations(tab, axe) == [], path


@pytest.mark.parametrize("width", [360, 1400])
def test_empty_screens(served_empty: Served, open_page: Open, axe: str, width: int) -> None:
    tab = open_page(served_empty, width=width, height=WIDTHS[width])
    for path in ("/tint", "/chips", "/pigments", "/recipes"):
        tab.goto(served_empty.address + path)
        shoot(tab, f"empty-{called(path)}-{width}")
        assert overflow(tab) <= 0, path
        assert small_targets(tab) == [], path
        assert violations(tab, axe) == [], path


def test_a_plan_at_all_widths(demo: Client, serve: Callable[[Path], Served], open_page: Open, axe: str) -> None:
    assert demo.finish(demo.fill("/chips/plan", PLAN)).url.path == "/chips/plan"
    served = serve(demo.workspace.folder)
    tab = open_page(served, "/chips/plan")
    for width, height in WIDTHS.items():
        tab.set_viewport_size({"width": width, "height": height})
        shoot(tab, f"demo-plan-{width}")
        assert overflow(tab) <= 0, width
        assert violations(tab, axe) == [], width


def test_the_dark_surround_is_as_readable(filled: Served, open_page: Open, axe: str) -> None:
    filled.workspace.change("dark", {"settings": {"surround": "dark"}}, {})
    tab = open_page(filled)
    for path in ("/tint", "/chips", "/pigments", "/recipes"):
        tab.goto(filled.address + path)
        shoot(tab, f"dark-{called(path)}")
        assert violations(tab, axe) == [], path


def test_two_sizes_of_letters_beside_the_title(filled: Served, open_page: Open) -> None:
    tab = open_page(filled)
    for path in SCREENS[:-1]:
        tab.goto(filled.address + path)
        sizes = tab.evaluate(
            """() => [...new Set([...document.querySelectorAll("body *")].filter((one) => !one.closest("h1, .afar") &&
              [...one.childNodes].some((node) => node.nodeType === 3 && node.textContent.trim()) && one.getClientRects().length)
              .map((one) => getComputedStyle(one).fontSize))]"""
        )
        assert len(sizes) <= 2, (path, sizes)
