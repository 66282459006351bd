"""No screen and no print of the page shows a weight without the cautions before it, in short; the whole list is further down, on
Sheet before the first step (issue 9, fault 5; issue 15, item 5)."""

from __future__ import annotations

import html
import re
from collections.abc import Callable
from typing import Any

import pytest

from tests.faces.web.conftest import Client
from tests.faces.web.long.test_bench_browser import NAME, fill
from tests.faces.web.long.test_browser import PLAN
from tests.faces.web.test_trial import READ
from tintmix.sheet.cautions import Caution, cautions, cautions_for, in_short

Open = Callable[..., Any]
pytestmark = pytest.mark.usefixtures("book")


def main_of(text: str) -> str:
    return html.unescape(text.partition('<main id="main"')[2].partition("</main>")[0])


def assert_first(text: str, expected: tuple[Caution, ...], first_weight: str) -> None:
    """In short before the first weight; the list, whole and in its order, and behind it the sources. None of it can be folded."""
    main = main_of(text)
    at = main.index(first_weight)
    short = [main.index(said) for said in in_short(expected)]
    assert 0 < len(short) == len(in_short(expected))
    assert short == sorted(short)
    assert short[-1] < at
    start = main.index('<ol class="cautions">')
    listed = main[start : main.index("</ol>", start)]
    said = re.findall(r"<li( class=\"grave\")?>(.*?)</li>", listed)
    assert [sentence for _, sentence in said] == [one.sentence for one in expected]
    assert [bool(grave) for grave, _ in said] == [one.grave for one in expected]
    for place in (short[0], start):
        assert main[:place].count("<details") == main[:place].count("</details")
    assert all(main.rindex(one.cited) > start for one in expected)


def own(demo: Client) -> tuple[Caution, ...]:
    name = demo.workspace.now().area("pigments")["model"]
    found = cautions_for(demo.workspace.model(name).resin)
    assert {one.hazard for one in found} == {"isocyanate", "all"}
    return found


def test_the_sheet(demo: Client) -> None:
    text = demo.get("/sheet").text
    assert_first(text, own(demo), "What goes in")
    assert main_of(text).index('<ol class="cautions">') < main_of(text).index('id="stage-1"')


def test_the_sheet_of_another_resin(demo: Client) -> None:
    made = demo.fill(
        "/sheet/make", {"resin": "epoxy", "how": "batch", "grams": "450", "resin_step": "0.1", "pigment_step": "0.01"}
    )
    assert made.status_code == 200
    assert "Epoxy resin and what thins it" in made.text
    assert "Isocyanate, in the hardener" not in made.text


def test_the_trial_before_and_after_its_answer(demo: Client) -> None:
    assert_first(demo.get("/trial").text, own(demo), "asked:")
    answered = demo.finish(demo.fill("/trial/ask", READ))
    assert answered.status_code == 200
    assert_first(answered.text, own(demo), "asked:")
    assert main_of(answered.text).index("Before any bottle is opened") < main_of(answered.text).index('id="answer"')


def test_the_plan(demo: Client) -> None:
    planned = demo.finish(demo.fill("/chips/plan", PLAN))
    assert planned.status_code == 200
    assert_first(planned.text, own(demo), "<table>")
    main = main_of(planned.text)
    # Drawings may be folded; what is to be weighed may not.
    assert "<details" not in main.replace('<details class="drawing no-print">', "")
    assert main.index("Before any bottle is opened") < main.index("<table>")
    for words in ("implode", "in a heap", "down the drain", "gauge stands at zero", "never used for food"):
        assert main.count(words) == 2, words


def test_a_plan_where_no_resin_is_known(client: Client) -> None:
    planned = client.finish(client.fill("/chips/plan", PLAN))
    assert planned.status_code == 200
    assert_first(planned.text, cautions(), "<table>")


def test_the_book(demo: Client) -> None:
    fill(demo.workspace)
    assert_first(demo.get("/book").text, cautions(), 'name="left"')
    assert_first(demo.get(f"/book/recipe?name={NAME}").text, own(demo), "Pour 1,")


def test_one_line_on_the_first_screen_leads_to_all(client: Client) -> None:
    first = client.get("/")
    assert first.status_code == 200
    assert main_of(first.text).index('<a href="/cautions">') < main_of(first.text).index("<section")
    found = client.get("/cautions")
    assert found.status_code == 200
    assert "Before any bottle is opened" in found.text
    said = main_of(found.text)
    assert [one for one in cautions() if one.sentence not in said or one.cited not in said] == []
