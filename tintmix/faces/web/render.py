"""Templates, and what the routes share."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cache
from pathlib import Path

from jinja2 import Environment, FileSystemLoader, StrictUndefined

from tintmix.faces.remedies import Said
from tintmix.faces.web import drawn
from tintmix.faces.web.units import shown
from tintmix.files.stamp import local_day
from tintmix.numerals import chance, counted, length_mm, percent
from tintmix.page.hexes import wide_of
from tintmix.page.steps import STEPS
from tintmix.page.work import Works
from tintmix.page.workspace import Workspace
from tintmix.sheet.cautions import BEFORE_OPENING, in_short, sources_of
from tintmix.weighing.weighed import part_label, part_named

TEMPLATES = Path(__file__).parent / "templates"


@dataclass(slots=True)
class Page:
    """What the routes share. told: sentences for the next screen, such as "Saved."."""

    workspace: Workspace
    form_token: str
    works: Works = field(default_factory=Works)
    told: list[Said] = field(default_factory=list)


@cache
def make_environment() -> Environment:
    """Templates: everything that is not markup of ours is escaped, and a name that is not there is an error. Nothing in it is one
    page's own: all pages of a process share what was compiled.
    """
    environment = Environment(
        loader=FileSystemLoader(TEMPLATES), autoescape=True, undefined=StrictUndefined, trim_blocks=True,
        lstrip_blocks=True, auto_reload=False,
    )  # fmt: skip
    environment.globals.update(drawn=drawn, steps_words=STEPS, before_opening=BEFORE_OPENING)
    environment.globals.update(sources_of=sources_of, in_short=in_short, wide_of=wide_of)
    environment.filters.update(
        number=shown, light=light_percent, phr=phr, day=local_day, chance=chance, counted=counted
    )
    environment.filters["length_mm"] = length_mm
    environment.filters.update(part_named=part_named, part_label=part_label)
    environment.globals["svg"] = environment.get_template("svg.html").module
    return environment


def light_percent(fraction: float | None) -> str:
    """Light through as it is read; a dash where it is not known."""
    return "–" if fraction is None else percent(fraction)


def phr(dose: float) -> str:
    """A dose without its unit, as short as three digits allow."""
    return shown(dose, 3)
