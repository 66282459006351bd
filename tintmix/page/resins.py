"""Casting resins on the page: two examples, and the maker's own, kept under their names for plans and batch sheets."""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any

from tintmix.desk.demo import demo
from tintmix.errors import TintmixError
from tintmix.page.errors import by_known_names, not_typed, too_many
from tintmix.page.workspace import Snapshot, Workspace
from tintmix.resin import Resin, read_resin, resin_to_text

EXAMPLES = {"urethane": "urethane.toml", "epoxy": "epoxy.toml"}
"""Shipped resins; both invented."""
MOST_RESINS = 20


@cache
def examples() -> Mapping[str, Resin]:
    """The shipped resins by their keys."""
    return {key: read_resin(demo("resins", name)) for key, name in EXAMPLES.items()}


def own(now: Snapshot) -> list[dict[str, str]]:
    """The maker's own resins, each by the name of its file among the page's things, and its own."""
    found: list[dict[str, str]] = now.area("resins").get("kept", [])
    return found


def choices(now: Snapshot) -> list[tuple[str, str]]:
    """What may be chosen, by key, in words: the maker's own first."""
    mine = [(one["thing"], one["name"]) for one in reversed(own(now))]
    return mine + [(key, f"{resin.name} (example)") for key, resin in examples().items()]


def newest(now: Snapshot) -> str:
    """The key of the own resin that was typed last, until a set is made with one; "" where none was."""
    key = str(now.area("resins").get("newest", ""))
    return key if key in {one["thing"] for one in own(now)} else ""


def path_of(workspace: Workspace, now: Snapshot, key: str) -> Path | None:
    """The file of an example or of an own resin; None for any other key."""
    if key in EXAMPLES:
        return demo("resins", EXAMPLES[key])
    return workspace.file(key) if key in {one["thing"] for one in own(now)} else None


def resin_of(workspace: Workspace, now: Snapshot, key: str) -> Resin | None:
    """An example or an own resin; None for any other key."""
    path = path_of(workspace, now, key)
    return None if path is None else read_resin(path)


def from_upload(workspace: Workspace, name: str, content: bytes) -> tuple[str, Resin]:
    """A resin.toml, kept: its name among the page's things. Raises what is wrong with the file."""
    thing = workspace.keep_content(content)
    place = workspace.file(thing)
    try:
        with by_known_names((place, name)):
            return thing, read_resin(place)
    except TintmixError:
        place.unlink(missing_ok=True)
        raise


def with_own(now: Snapshot, thing: str, name: str, instead: str = "") -> dict[str, Any]:
    """The resins area with a kept file in it, in the place of the one that it corrects. Raises ValueProblem."""
    before = own(now)
    kept = [one for one in before if one["thing"] not in (instead, thing)]
    if any(re.sub(r"\s", "", one["name"]).casefold() == re.sub(r"\s", "", name).casefold() for one in kept):
        raise not_typed("the name of the resin", name, "Another resin of yours is called so; give each its own name.")
    if len(kept) >= MOST_RESINS:
        raise too_many("resins of your own", len(kept) + 1, MOST_RESINS)
    return {"kept": [*kept, {"thing": thing, "name": name}]}


def keep(workspace: Workspace, now: Snapshot, resin: Resin, expected: int, instead: str = "") -> str:
    """Keep a resin as it was typed; its key. instead: the key of the one that it corrects. Raises ValueProblem,
    ChangedElsewhere."""
    if not resin.parts:
        raise not_typed("the parts", "", "Name at least one part of the resin, with its amount.")
    area = with_own(now, "", resin.name, instead)
    thing = area["newest"] = area["kept"][-1]["thing"] = workspace.keep_content(resin_to_text(resin))
    workspace.change(f"the resin {resin.name}", {"resins": area}, {"resins": expected})
    return thing


def without(now: Snapshot, key: str) -> dict[str, Any]:
    """The resins area without one: sheets and sets that were made with it hold what they need of it."""
    return {"kept": [one for one in own(now) if one["thing"] != key]}
