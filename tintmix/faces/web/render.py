"""Templates, and what every screen has: the steps with what is missing, the units, the way back."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from tintmix.faces.remedies import Said
from tintmix.faces.web import svg
from tintmix.faces.web.units import Units, shown
from tintmix.faces.web.words import told_in_units
from tintmix.files.stamp import local_day
from tintmix.numerals import percent
from tintmix.page.steps import STEPS, steps_of
from tintmix.page.work import Works
from tintmix.page.workspace import Snapshot, Workspace
from tintmix.sheet.cautions import BEFORE_OPENING, sources_of
from tintmix.weighing.weighed import part_label, part_named

TEMPLATES = Path(__file__).parent / "templates"


@dataclass(slots=True)
class Page:
    """What the routes share. told: a sentence for the next screen, such as "Saved."."""

    workspace: Workspace
    form_token: str
    works: Works = field(default_factory=Works)
    told: list[Said] = field(default_factory=list)

    def say(self, sentence: Said) -> None:
        """Tell the maker on the next screen."""
        self.told.append(sentence)


def page_of(request: Request) -> Page:
    """The page of a request."""
    page: Page = request.app.state.page
    return page


def make_environment() -> Environment:
    """Templates: everything that is not markup of ours is escaped, and a name that is not there is an error."""
    environment = Environment(
        loader=FileSystemLoader(TEMPLATES), autoescape=True, undefined=StrictUndefined, trim_blocks=True,
        lstrip_blocks=True, auto_reload=False,
    )  # fmt: skip
    environment.globals.update(svg=svg, steps_words=STEPS, sources_of=sources_of, before_opening=BEFORE_OPENING)
    environment.filters.update(number=shown, light=light_percent, phr=phr, day=local_day)
    environment.filters.update(part_named=part_named, part_label=part_label)
    return environment


def render(
    request: Request,
    template: str,
    screen: str,
    context: Mapping[str, Any] | None = None,
    *,
    status: int = 200,
    problem: Said = "",
    typed: Mapping[str, Any] | None = None,
    snapshot: Snapshot | None = None,
) -> HTMLResponse:
    """A screen. problem: what is wrong with what was just sent; typed: that, to stand in its boxes again."""
    page = page_of(request)
    now = page.workspace.now() if snapshot is None else snapshot
    settings = now.area("settings")
    units = Units.of(settings)
    told, page.told = [told_in_units(sentence, units) for sentence in page.told], []
    values: dict[str, Any] = {
        "screen": screen,
        "steps": steps_of(now),
        "settings": settings,
        "units": units,
        "words": lambda sentence: told_in_units(sentence, units),
        "surround": settings.get("surround", "grey"),
        "undo": now.undo[-1][1] if now.undo else "",
        "redo": now.redo[-1][1] if now.redo else "",
        "revisions": _Revisions(now),
        "form_token": page.form_token,
        "works": page.works.running,
        "told": told,
        "problem": told_in_units(problem, units),
        "typed": dict(typed or {}),
        "here": request.url.path,
        **(context or {}),
    }
    text = request.app.state.templates.get_template(template).render(values)
    return HTMLResponse(text, status)


def go(path: str) -> Response:
    """On to another screen, so that loading again sends nothing twice."""
    return RedirectResponse(path, 303)


class _Revisions:
    """The hidden boxes that say from which revisions a form was made: {{ revisions('part', 'tint') }}."""

    def __init__(self, now: Snapshot) -> None:
        self._now = now

    def __call__(self, *areas: str) -> Markup:
        boxes = "".join(
            f'<input type="hidden" name="revision_{area}" value="{self._now.revision_of(area)}">' for area in areas
        )
        return Markup(boxes)


def light_percent(fraction: float | None) -> str:
    """Light through as it is read; a dash where it is not known."""
    return "–" if fraction is None else percent(fraction)


def phr(dose: float) -> str:
    """A dose without its unit, as short as three digits allow."""
    return shown(dose, 3)
