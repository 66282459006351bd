"""The pages of docs/ as HTML: beside the package in the repository, inside it in an installed wheel."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from markupsafe import Markup

from tintmix.errors import NotThere, Remedy

_PACKAGE = Path(__file__).resolve().parents[2]
HOMES = (_PACKAGE / "docs", _PACKAGE.parent / "docs")
FIRST = (
    "the-page",
    "plan-your-chips",
    "measure-with-a-phone",
    "measure-with-a-colorimeter",
    "measure-with-an-instrument",
)
"""The order of a job; all other pages follow by name."""
_OUTSIDE = re.compile(r"[a-z][a-z0-9+.-]*:", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Page:
    """A page of Help by its name, without .md."""

    name: str
    title: str


def home() -> Path:
    """The folder of the pages. Raises NotThere."""
    for folder in HOMES:
        if (folder / "the-page.md").is_file():
            return folder
    raise NotThere(what=f"the pages of Help are in none of {', '.join(map(str, HOMES))}", remedy=Remedy.INSTALL_AGAIN)


def titles() -> list[Page]:
    """All pages, in the order of a job."""
    found = sorted(home().glob("*.md"))
    order = {name: at for at, name in enumerate(FIRST)}
    pages = [Page(path.stem, _title(path.read_text(encoding="utf-8"))) for path in found]
    return sorted(pages, key=lambda one: (order.get(one.name, len(order)), one.name == "CHANGELOG"))


def picture(name: str) -> Path | None:
    """A picture of theirs; None where there is none of that name."""
    return next((one for one in (home() / "pictures").iterdir() if one.name == name), None)


@cache
def shown(name: str) -> tuple[str, Markup]:
    """A page's title, and what stands below it. Raises NotThere."""
    found = next((one for one in home().glob("*.md") if one.stem == name), None)
    if found is None:
        raise NotThere(what=f"there is no page {name} of Help")
    return _title(text := found.read_text(encoding="utf-8")), Markup(_rendered(text))


def _title(text: str) -> str:
    return re.sub(r"[*`\\]", "", text.partition("\n")[0].removeprefix("# "))


def _rendered(text: str) -> str:
    # Here, since only who reads Help waits for it.
    from markdown_it import MarkdownIt

    markdown = MarkdownIt("commonmark", {"html": False}).enable("table")
    # A comment names the program that puts figures there; it is for those who run it.
    tokens = markdown.parse(re.sub(r"<!--.*?-->\n", "", text))
    if tokens and tokens[0].tag == "h1":
        tokens = tokens[3:]  # its opening, its words and its end: they are the screen's title
    for at, token in enumerate(tokens):
        if token.type == "heading_open":
            token.attrSet("id", slug(tokens[at + 1].content))
        for one in token.children or ():
            _lead_within(one)
    html: str = markdown.renderer.render(_scrolling(tokens), markdown.options, {})
    return html


def slug(heading: str) -> str:
    """A heading as an address, as the pages' own links have it.

    >>> slug("Trial chip"), slug("`set.toml`: what was read")
    ('trial-chip', 'settoml-what-was-read')
    """
    return re.sub(r"[^\w -]", "", heading.lower()).strip().replace(" ", "-")


def _lead_within(token: Any) -> None:
    """Links among the pages, and their pictures, by their addresses here; one to what is no page of Help leads nowhere else."""
    if token.type == "image":
        token.attrSet("src", f"/help/{token.attrGet('src')}")
    target = token.attrGet("href") if token.type == "link_open" else None
    if target and not target.startswith("#") and not _OUTSIDE.match(target):
        name, hash_mark, anchor = target.partition("#")
        token.attrSet(
            "href", f"/help/{name.removesuffix('.md')}{hash_mark}{anchor}" if name.endswith(".md") else "/help"
        )


def _scrolling(tokens: Sequence[Any]) -> list[Any]:
    """Tables and blocks of commands that are wider than the window scroll within themselves, and are reached by keys."""
    from markdown_it.token import Token

    made: list[Any] = []
    tables = 0
    for token in tokens:
        if token.type == "table_open":
            tables += 1
            around = f'<div class="scrolls" tabindex="0" role="region" aria-label="Table {tables}">'
            made.append(Token("html_block", "", 0, content=around))
        if token.type in ("fence", "code_block"):
            content = str(Markup.escape(token.content))
            made.append(Token("html_block", "", 0, content=f'<pre tabindex="0"><code>{content}</code></pre>\n'))
            continue
        made.append(token)
        if token.type == "table_close":
            made.append(Token("html_block", "", 0, content="</div>\n"))
    return made
