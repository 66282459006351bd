"""The untinted resin as the nearest recipe, on the page."""

from __future__ import annotations

from pathlib import Path

from tests.faces.web.conftest import Client


def test_an_untinted_recipe_goes_through_the_page(demo: Client, book: Path) -> None:
    """Issue 9, fault 1: lighter than the resin where the casting is thin, so that no pigment comes nearer."""
    typed = {"kind": "colour", "colour_0": "100 -0.16 0.48", "tolerance": "1", "most_pigments": "1", "total_phr": "1"}
    answer = demo.finish(demo.fill("/recipes/target", typed))
    assert answer.status_code == 200
    assert "untinted resin is nearest" in answer.text
    assert "Untinted: no pigment" in answer.text
    assert "too much makes: ." not in answer.text
    assert demo.fill("/recipes/tint", {"number": "0"}).status_code == 200
    assert demo.fill("/recipes/keep", {"number": "0", "name": "plain"}).status_code == 200
    for screen in ("/recipes", "/tint", "/sheet", "/trial"):
        assert demo.get(screen).status_code == 200, screen
