"""What the "?" of the page answer: two sentences each, with a picture that is there, and each asked for somewhere."""

from __future__ import annotations

import re

import pytest

from tests.faces.conftest import ROOT
from tintmix.faces.explained import Asked, Explanation, explanations

TEMPLATES = ROOT / "tintmix" / "faces" / "web" / "templates"


@pytest.mark.parametrize("one", explanations().values(), ids=explanations())
def test_an_answer_is_two_sentences_and_its_picture_is_there(one: Explanation) -> None:
    assert one.ask.endswith("?")
    assert len(re.findall(r"[.?](?: |$)", one.says)) == 2
    assert bool(one.picture) == bool(one.shows)
    assert not one.picture or (ROOT / "docs" / "pictures" / one.picture).is_file()


def test_each_is_asked_for_and_none_is_lacking() -> None:
    text = "".join(path.read_text(encoding="utf-8") for path in TEMPLATES.glob("*.html"))
    asked = set(re.findall(r'what_is\("([\w-]+)"\)', text)) | set(re.findall(r'what="([\w-]+)"', text))
    assert asked - {""} == set(explanations())


def test_the_docs_have_the_same_answers() -> None:
    page = (ROOT / "docs" / "words.md").read_text(encoding="utf-8").replace("\\*", "*")
    for one in explanations().values():
        assert f"## {one.ask}\n\n{one.says}\n" in page, "run docs/make_words.py"


def test_a_screen_holds_the_answer_of_each_once() -> None:
    screen = Asked()
    assert [screen.ask(key).ask for key in ("phr", "light", "phr")].count("What is phr?") == 2
    assert [key for key, _ in screen.answers] == ["phr", "light"]
