"""Help: the pages of docs/ as the page serves them; and the first screen, which asks what there is."""

from __future__ import annotations

import re
from html.parser import HTMLParser

import pytest

from tests.faces.web.conftest import ROOT, Client, ok
from tintmix.faces.web import guide
from tintmix.faces.web.routes.home import WAYS
from tintmix.page.steps import STEPS

PAGES = sorted(path.stem for path in (ROOT / "docs").glob("*.md"))


class Marks(HTMLParser):
    """What a page leads to, and what can be led to on it."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.links: list[str] = []
        self.ids: set[str] = set()
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        told = dict(attrs)
        self.ids.add(told.get("id") or "")
        self.links += [value for name in ("href", "src") if (value := told.get(name))]


def test_every_link_and_picture_of_help_leads_somewhere(client: Client) -> None:
    contents = ok(client.get("/help")).text
    assert sorted(re.findall(r'href="/help/([\w-]+)"', contents)) == PAGES
    pages = {name: Marks(str(guide.shown(name)[1])) for name in PAGES}
    for name, page in pages.items():
        for link in page.links:
            where, _, anchor = link.partition("#")
            if where.startswith("/help/pictures/"):
                assert guide.picture(where.rpartition("/")[2]), (name, link)
            elif not re.match("https?:", link):
                there = where.removeprefix("/help").strip("/") if where else name
                assert there == "" or there in PAGES, (name, link)
                assert not anchor or anchor in pages[there].ids, (name, link)
    shown = ok(client.get("/help/the-page")).text
    for title in STEPS.values():
        assert f'id="{guide.slug(title)}"' in shown
    assert ok(client.get("/help/pictures/strip.png")).headers["content-type"] == "image/png"


@pytest.mark.parametrize(
    "path", ["/help/nothing", "/help/pictures/nothing.png", "/help/..%2Fpyproject", "/help/pictures/..%2Fthe-page.md"]
)
def test_nothing_else_is_served(client: Client, path: str) -> None:
    assert client.get(path).status_code == 404


def test_the_first_screen_leads_on_from_what_there_is(client: Client) -> None:
    first = ok(client.get("/"))
    assert "✓" not in first.text
    for key, name, _, page in WAYS:
        assert name in first.text
        assert page in PAGES
        plan = ok(client.get(f"/chips?have={key}"))
        assert '<details id="plan" open>' in plan.text
    assert re.search(
        r'name="plan_kind".*?value="spectrum" selected', ok(client.get("/chips?have=spectrophotometer")).text, re.DOTALL
    )
    assert "Try it with the demo" in first.text


def test_a_job_on_its_way_is_gone_on_with(demo: Client) -> None:
    first = ok(demo.get("/")).text
    assert "Go on to Sheet" in first
    assert re.search(r"0 of \d+ ticked", first)
