"""docs/the-page.md goes through every screen, and its pictures are there, small, and all of them the script's."""

from __future__ import annotations

import re

import pytest
from PIL import Image

from tests.faces.web.conftest import ROOT
from tintmix.page.steps import STEPS

GUIDE = (ROOT / "docs" / "the-page.md").read_text(encoding="utf-8")
PICTURES = ROOT / "docs" / "pictures"
SHOWN = re.findall(r"!\[([^\]]+)\]\(pictures/(page-[a-z-]+\.png)\)", GUIDE)


@pytest.mark.parametrize("title", STEPS.values())
def test_every_screen_has_its_section_and_a_picture(title: str) -> None:
    section = re.search(rf"^## {title}\n(.*?)(?=^## |\Z)", GUIDE, re.MULTILINE | re.DOTALL)
    assert section is not None
    assert "pictures/page-" in section[1]


@pytest.mark.parametrize(("words", "name"), SHOWN)
def test_every_picture_is_there_and_small(words: str, name: str) -> None:
    assert len(words) > 20
    assert (PICTURES / name).stat().st_size <= 120_000
    with Image.open(PICTURES / name) as picture:
        assert picture.format == "PNG"
        assert 300 <= picture.width <= 1000


def test_all_pictures_of_the_script_are_shown() -> None:
    script = (ROOT / "docs" / "make_screenshots.py").read_text(encoding="utf-8")
    taken = set(re.findall(r'take\("([a-z-]+)"', script))
    taken |= {
        name
        for listed in re.findall(r"for name in \(([^)]+)\):", script)
        for name in re.findall(r'"([a-z-]+)"', listed)
    }
    shown = {name.removeprefix("page-").removesuffix(".png") for _, name in SHOWN}
    assert shown == taken
    assert {path.name for path in PICTURES.glob("page-*.png")} == {name for _, name in SHOWN}


def test_the_readme_leads_there() -> None:
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    section = readme.split("## On a page\n")[1].split("\n## ")[0]
    assert "tintmix serve" in section
    assert "(docs/the-page.md)" in section
