"""What the screens with a photo share: uploads, the rows of places drawn or typed, and what each place reads as it is drawn."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from tintmix.chips.photo.sheet.holder import CHIP_WINDOWS, WINDOWS, told_place
from tintmix.errors import TintmixError
from tintmix.faces.web.forms import Form
from tintmix.faces.web.render import light_percent
from tintmix.faces.web.visit import Visit
from tintmix.faces.web.words import told_in_units
from tintmix.files import caps
from tintmix.page.chips import kept_photo, photo
from tintmix.page.chips.kept_photo import Places
from tintmix.page.errors import not_typed

BARE, BLACK = "bare panel", "black card"
MOST_ROWS = 60
MOST_PIXELS = 100_000
LEAST_SAID = 0.001
"""A part of the bare panel's light below which a channel is not told in numbers."""
LINEAR_ENDINGS = (".tif", ".tiff", ".png")
"""Of files that may hold light without a curve, or with one."""
Kept = Mapping[str, Any]


def uploaded(visit: Visit) -> dict[str, Any]:
    """A photo, and that of the bare panel where there is one, kept; and what they show of the holder sheet. Raises what is wrong
    with the files."""
    kept: dict[str, Any] = {"photo": _file(visit, "photo")}
    if visit.form.has_file("panel"):
        kept["panel"] = _file(visit, "panel")
    holder = kept_photo.holder_in(visit.workspace, kept["photo"], kept.get("panel"))
    # What stands with the holder sheet, or is so of both photos, is told once.
    told = {str(kept_photo.said(note)) for note in holder.get("notes", [])}
    for note in (kept_photo.said(note) for one in kept.values() for note in one["warnings"]):
        if str(note) not in told:
            visit.say(note)
            told.add(str(note))
    return {**kept, "holder": holder}


def _file(visit: Visit, box: str) -> dict[str, Any]:
    return kept_photo.keep_photo(visit.workspace, *visit.form.upload(box, "the photo", caps.PHOTO))


def shown(kept: Kept) -> dict[str, Any]:
    """What the template needs of what is kept: the photo, what it is, and the holder sheet in it."""
    one, holder = kept.get("photo"), kept.get("holder") or {"found": False, "says": ""}
    words = ""
    if one is not None:
        seen = holder if holder["found"] else one
        words = "raw" if not seen["rendered"] else "rendered (JPEG or the like): rough"
        if seen.get("open"):
            words = "whether its light is linear its file does not say"
    return {
        "photo": one,
        "panel": kept.get("panel"),
        "what": words,
        "asks_tones": one is not None and one["name"].lower().endswith(LINEAR_ENDINGS),
        "holder": holder | {"notes": [kept_photo.said(note) for note in holder.get("notes", [])]}
        | ({} if holder["found"] else {"says": kept_photo.said(holder["says"])}),
        "outlines": [
            {"name": name, "points": " ".join(f"{x},{y}" for x, y in corners), "filled": name in holder["filled"],
             "at": corners[0]}
            for name, corners in holder.get("windows", {}).items()
        ],
        "kinds": (BARE, BLACK),
    }  # fmt: skip


def windows_told(filled: Mapping[str, Any] | None = None) -> list[tuple[str, str]]:
    """The windows where something may lie, as they are told; those in which something does, first."""
    names = [one.name for one in CHIP_WINDOWS] + [one.name for one in WINDOWS if one.check]
    first = [name for name in names if name in (filled or {})]
    return [(name, told_place(name)) for name in [*first, *(name for name in names if name not in first)]]


def linear_of(form: Form) -> bool | None:
    """Whether the photo's light has no curve, as was said; None where nothing was."""
    return {"linear": True, "curve": False}.get(form.text("tones"))


def rows_of(visit: Visit, places: Any) -> list[dict[str, Any]]:
    """The rows of places: as they were just sent, right or wrong, so that nothing has to be drawn again, or as they are kept.

    drawn: whether it can be drawn.
    """
    if "place_0_what" in visit.typed:
        form = visit.form
        sent = [
            {"what": form.text(f"place_{i}_what"), "box": [form.text(f"place_{i}_{side}") for side in "xywh"]}
            for i in range(MOST_ROWS)
        ]
        return [
            row | {"drawn": all(side.replace(".", "", 1).isdecimal() for side in row["box"])}
            for row in sent
            if row["what"] or any(row["box"])
        ]
    if not places:
        return []
    named = [(name, box) for name, box in places["chips"].items()]
    named += [(BARE, box) for box in places["opened"]] + [(BLACK, box) for box in places["dark"]]
    return [{"what": what, "box": [round(v) for v in box], "drawn": True} for what, box in named]


def places_of(form: Form, one: Kept) -> Places:
    """The places as they were drawn or typed. Raises ValueProblem."""
    places, _, wrong = _gathered(form, one)
    for problem in wrong.values():
        raise problem
    return places


def _gathered(form: Form, one: Kept) -> tuple[Places, dict[int, str], dict[int, TintmixError]]:
    """What the rows say lies where; by which name each row's place goes when it is looked at; and which rows are wrong."""
    chips: dict[str, Any] = {}
    others: dict[str, list[Any]] = {BARE: [], BLACK: []}
    stands: dict[int, str] = {}
    wrong: dict[int, TintmixError] = {}
    for i in range(MOST_ROWS):
        try:
            what, box = _row(form, i, one)
            if what in chips:
                raise not_typed("the places", what, "It has a place already; each chip has one in a photo.")
        except TintmixError as problem:
            wrong[i] = problem
            continue
        if what in others:
            others[what].append(box)
            stands[i] = f"{'open' if what == BARE else 'dark'} place {len(others[what])}"
        elif what:
            chips[what], stands[i] = box, what
    return Places(chips, tuple(others[BARE]), tuple(others[BLACK])), stands, wrong


def _row(form: Form, at: int, one: Kept) -> tuple[str, Any]:
    """What lies in a row's place, and where; nothing for an empty row."""
    what, names = form.text(f"place_{at}_what"), [f"place_{at}_{side}" for side in "xywh"]
    if not what or not any(form.text(name) for name in names):
        return "", None
    words = ("left", "top", "width", "height")
    box = [form.number(name, f"{word} of {what}", 0, MOST_PIXELS) for name, word in zip(names, words, strict=True)]
    return what, kept_photo.checked_box(box, one, f"the place of {what}")


def seen_at(visit: Visit, kept: Kept) -> dict[str, Any]:
    """What each row reads as it is drawn, for the script; nothing is kept."""
    places, stands, wrong = _gathered(visit.form, kept["photo"])
    rows = {i: {"srgb": None, "says": "", "doubt": told_in_units(problem)} for i, problem in wrong.items()}
    body = photo.places_seen(visit.workspace, kept["photo"], kept.get("panel"), places, linear_of(visit.form))
    for i, name in stands.items():
        if one := body["seen"].get(name):
            says = _reads(one) if name in places.chips else ""
            rows[i] = {"srgb": one["srgb"], "says": says, "doubt": told_in_units(one["doubt"])}
    return {"rows": rows, "says": told_in_units(body["says"])}


def _reads(one: dict[str, Any]) -> str:
    if one["values"] is None:
        return "" if one["doubt"] else "mark the bare panel to see what it reads"
    parts = zip(("red", "green", "blue"), one["values"], strict=True)
    said = (f"{name} {light_percent(value) if value >= LEAST_SAID else 'hardly any'}" for name, value in parts)
    return f"reads {', '.join(said)} of the bare panel"
