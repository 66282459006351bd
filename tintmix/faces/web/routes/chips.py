"""Chips: begin a set, plan it, type or upload what was read, and see at once what each chip reads and which is doubtful."""

from __future__ import annotations

import re
from typing import Any

from tintmix.chips.chip import Kind
from tintmix.chips.folder import chips_text, set_text
from tintmix.chips.photo.sheet.holder import laid_to_text
from tintmix.desk.plan.tile import OnTile
from tintmix.faces.web import units
from tintmix.faces.web.forms import Form
from tintmix.faces.web.pigment_lines import names_of
from tintmix.faces.web.units import Units
from tintmix.faces.web.visit import Answer, Routes, Visit, download
from tintmix.faces.web.words import told_in_units
from tintmix.numerals import counted
from tintmix.page import resins as page_resins
from tintmix.page.chips import holder as page_holder
from tintmix.page.chips import sets as page_chips
from tintmix.page.chips import upload as page_upload
from tintmix.page.colour.pigments import model_at_hand
from tintmix.page.errors import about_box, not_typed, too_many
from tintmix.page.places import LIGHTS, part_of
from tintmix.page.steps import is_stale
from tintmix.quantities import CHIP_MM, DOSE_PHR
from tintmix.resin import Resin

ROUTES = Routes()
MOST_THICKNESSES = 20
KINDS = ("colour", "spectrum", "camera")
QUANTITIES = ("transmittance", "absorbance", "reflectance")
UNITS = ("fraction", "percent")
SPACES = ("Lab", "XYZ", "xyY", "LCh", "sRGB")
HAVE = {"phone": "camera", "colorimeter": "45/0", "spectrophotometer": "spectrum"}
"""What the first screen asks a maker for, as the way in which chips are read: most hand-held colorimeters read reflection."""


@ROUTES.get("/chips")
def show(visit: Visit) -> Answer:
    """The set at hand by cup; without one, how to begin. A form that was refused stands open."""
    area, pigments = visit.now.area("chips"), visit.now.area("pigments")
    sets, active = area.get("sets", []), area.get("active")
    have = HAVE.get(visit.form.text("have"), "")
    context: dict[str, Any] = {
        "sets": sets, "active": active, "part": part_of(visit.now.area("part")), "body": None, "plan": None,
        "kinds": list(page_chips.KIND_WORDS.items()), "tile_ways": list(TILE_WAYS.items()), "spaces": SPACES,
        "resins": _resins(visit), "said": "places" in visit.now.area("part"),
        "opened": visit.request.url.path.rpartition("/")[2] if visit.problem else "plan" if have else _asked_open(visit),
        "have": have, "lights": [(key, f"{words} ({key})") for key, words in LIGHTS.items()],
    }  # fmt: skip
    entry = next((one for one in sets if one["id"] == active), None)
    if entry is not None:
        learnt = pigments.get("from", {}).get(active) == entry["thing"]
        model = model_at_hand(visit.workspace, visit.now) if learnt else None
        context |= {
            "body": page_chips.set_body(visit.workspace.chip_set(entry["thing"]), model.report if model else None),
            "learnt": learnt, "stale": is_stale(sets, pigments), "plan": area.get("plans", {}).get(active),
        }  # fmt: skip
    return visit.shows("chips.html", "chips", **context)


def at_hand(visit: Visit) -> dict[str, Any]:
    """The entry of the set at hand. Raises NoSuchThing."""
    return page_chips.find_set(visit.now, visit.now.area("chips").get("active") or "")


def _asked_open(visit: Visit) -> str:
    """The form that the address asks to stand open."""
    return visit.form.choice("open", ("haze", "plan"), "")


TILE_WAYS = {
    "45/0": "colorimeter that measures reflection, 45/0: chips on its white tile",
    "d/8": "colorimeter that measures reflection, a sphere, gloss excluded: chips on its white tile",
}
"""Further ways to read a chip, beside the kinds of a set: by the geometry."""
CONTACTS = ("dry", "wetted")


def way_asked(form: Form, box: str, prefix: str = "") -> tuple[Kind, OnTile | None]:
    """With what the chips of a new set will be read, and on which tile. prefix: of the boxes of the tile. Raises ValueProblem."""
    way = form.choice(box, (*KINDS, *TILE_WAYS), "colour")
    if way not in TILE_WAYS:
        return way, None  # type: ignore[return-value]
    contact = form.choice(f"{prefix}contact", CONTACTS, "dry")
    lab = bare_tile(form, prefix)
    return "colour", OnTile(lab, contact, way)  # type: ignore[arg-type]


def seen_for(form: Form, prefix: str = "") -> tuple[str, int]:
    """The light and the observer that the colours of a new set will be for."""
    return form.choice(f"{prefix}light", LIGHTS, "D65"), 2 if form.text(f"{prefix}observer") == "2" else 10


def bare_tile(form: Form, prefix: str = "") -> tuple[float, float, float]:
    """What the bare tile reads. Raises ValueProblem."""
    for axis in "Lab":
        if not form.text(f"{prefix}tile_{axis}"):
            says = "Read the tile without a chip, and type its L*, a* and b*, such as 95.2 -0.4 1.1."
            raise not_typed(f"{axis}* of the bare white tile", "", says)
    return form.lab(f"{prefix}tile_*", "the bare white tile")


def tile_asked(form: Form, space: str, before: Any = None) -> dict[str, Any] | None:
    """The white tile of a reading that is typed; as it was before where it was not read on one. Raises ValueProblem."""
    if space != "tile":
        return before  # type: ignore[no-any-return]
    contact, geometry = form.choice("contact", CONTACTS, "dry"), form.choice("tile_geometry", TILE_WAYS, "45/0")
    return {"lab": list(bare_tile(form)), "contact": contact, "geometry": geometry}


@ROUTES.post("/chips/begin", show)
def begin(visit: Visit) -> Answer:
    """A set by hand, with an untinted cup."""
    form = visit.form
    kind, on_tile = way_asked(form, "kind")
    chips = page_chips.begin(
        form.line("title", "the name of the set"),
        kind,
        names_of(form.text("pigments")),
        form.line("cup", "the name of the cup"),
        thicknesses(form.text("thicknesses"), visit.units),
        resin_asked(visit),
        on_tile,
        *(seen_for(form) if kind == "colour" else ()),
    )
    page_chips.put_set(visit.workspace, visit.now, "a new chip set", chips, form.revision("chips"))
    return "/chips"


def _resins(visit: Visit) -> list[tuple[str, str]]:
    """What a new set may be of: the own resin that was just typed first, then that at hand, where its parts are known, then the
    other own ones; an example is never chosen unasked."""
    resin = page_chips.resin_at_hand(visit.workspace, visit.now)
    at_hand = [("at hand", f"{resin.name}, as the set at hand")] if resin is not None and resin.parts else []
    choices, newest = page_resins.choices(visit.now), page_resins.newest(visit.now)
    own = [one for one in choices if one[0] not in page_resins.EXAMPLES]
    first = [one for one in own if one[0] == newest]
    # A set that is made of the one just typed has it at hand.
    first = [] if at_hand and resin is not None and first and first[0][1] == resin.name else first
    rest = [one for one in own if one not in first]
    other = ("", "another, not said: then its parts are not weighed out")
    return [*first, *at_hand, *rest, other, *(one for one in choices if one[0] in page_resins.EXAMPLES)]


def resin_asked(visit: Visit) -> Resin | None:
    """The resin that was chosen for a new set; None where none is at hand."""
    key = visit.form.text("resin", "at hand")
    if key == "at hand":
        return page_chips.resin_at_hand(visit.workspace, visit.now)
    return page_resins.resin_of(visit.workspace, visit.now, key) if key else Resin()


@ROUTES.post("/chips/upload", show)
def upload(visit: Visit) -> Answer:
    """A whole set: chips.csv, set.toml where there is one, and the files that this names."""
    form = visit.form
    chips, passed_over, laid = page_upload.uploaded_set(
        form.files("files"),
        form.choice("upload_kind", KINDS, "colour"),  # type: ignore[arg-type]
        form.line("upload_title", "the name of the set") or "my chips",
    )
    page_chips.put_set(visit.workspace, visit.now, "an uploaded chip set", chips, form.revision("chips"), laid=laid)
    if passed_over:
        visit.say(f"Not imported, because set.toml does not name them: {', '.join(passed_over)}.")
    return "/chips"


@ROUTES.post("/chips/choose")
def choose(visit: Visit) -> Answer:
    """Another set at hand."""
    entry = page_chips.find_set(visit.now, visit.form.text("set"))
    visit.change("the set at hand", chips={**visit.now.area("chips"), "active": entry["id"]})
    return "/chips"


@ROUTES.post("/chips/remove")
def remove_set(visit: Visit) -> Answer:
    """Remove the set at hand from the page."""
    entry = page_chips.find_set(visit.now, visit.form.text("set"))
    visit.change(f"removing {entry['title']}", chips=page_chips.without_set(visit.now, entry["id"]))
    visit.say(f"Removed: {entry['title']}. Undo brings it back.")
    return "/chips"


@ROUTES.post("/chips/readings", show)
def readings(visit: Visit) -> Answer:
    """Typed or pasted colours into the set at hand."""
    form, entry = visit.form, at_hand(visit)
    space, replace = form.choice("space", SPACES, "Lab"), bool(form.text("replace"))
    with about_box("colours"):
        read = page_chips.typed_readings(visit.workspace, entry, form.lines("colours"), space, replace)
    return put_readings(visit, entry, *read)


def put_readings(
    visit: Visit, entry: Any, thing: str, body: Any, label: str = "new readings", how: str = "read", **more: Any
) -> str:
    """A set with what was read for it, in its own place; and what is told of it. more: of the chips area."""
    area = page_chips.with_set(visit.now, thing, visit.workspace.chip_set(thing), entry["id"])
    visit.change(label, chips=area | more)
    actions = [row["action"] for row in body["chips"]]
    new, same = sum(action in ("new", "replaced") for action in actions), actions.count("same")
    if new or not same:
        visit.say(f"{counted(new, 'chip')} {how}.")
    if same:
        visit.say(
            f"{counted(same, 'chip')} {how} just as {'they stand' if same > 1 else 'it stands'} in the set already."
        )
    for note in body["notes"][:8]:
        visit.say(f"{told_in_units(note).rstrip('.')}.")
    return "/chips"


@ROUTES.post("/chips/haze", show)
def say_haze(visit: Visit) -> Answer:
    """How clear the chips are, in words."""
    form, entry = visit.form, at_hand(visit)
    chips = visit.workspace.chip_set(entry["thing"])
    # By number: a chip's name may hold anything.
    words = {chip.name: form.text(f"haze_{at}") for at, chip in enumerate(chips.chips) if f"haze_{at}" in form.data}
    chips = page_chips.with_haze(chips, words, bool(form.text("sphere")))
    page_chips.put_set(
        visit.workspace, visit.now, "how clear the chips are", chips, form.revision("chips"), entry["id"]
    )
    return "/chips"


@ROUTES.post("/chips/cup", show)
def add_cup(visit: Visit) -> Answer:
    """A cup more."""
    form, entry = visit.form, at_hand(visit)
    chips = visit.workspace.chip_set(entry["thing"])
    doses = {
        pigment.name: form.maybe(f"cup_dose.{pigment.name}", f"the dose of {pigment.name}", *DOSE_PHR.bounds) or 0.0
        for pigment in chips.pigments
    }
    mm = thicknesses(form.text("cup_thicknesses"), visit.units)
    chips = page_chips.with_cup(chips, form.line("cup_name", "the name of the cup"), doses, mm)
    page_chips.put_set(visit.workspace, visit.now, "a cup more", chips, form.revision("chips"), entry["id"])
    return "/chips"


@ROUTES.get("/chips/chips.csv", "/chips/set.toml", "/chips/set.zip")
def taken(visit: Visit) -> Answer:
    """The set at hand: its table, its setting, or both with the curves in one file."""
    entry, path = at_hand(visit), visit.request.url.path
    chips, title = visit.workspace.chip_set(entry["thing"]), entry["title"]
    if path.endswith(".csv"):
        return download(chips_text(chips), "text/csv", f"{title} chips", "csv")
    if path.endswith(".toml"):
        return download(set_text(chips), "application/toml", f"{title} set", "toml")
    laid = ""
    if chips.reading.kind == "camera":
        foreseen = page_holder.foreseen_of(visit.workspace, visit.now.area("chips"), entry["id"])
        laid = laid_to_text(page_holder.layout_of(chips, visit.now.area("chips"), entry["id"], foreseen), foreseen)
    zipped = page_upload.set_as_zip(visit.workspace, entry["thing"], laid)
    return download(zipped, "application/zip", title, "zip")


def thicknesses(text: str, chosen: Units, may_be_empty: bool = False) -> list[float]:
    """Thicknesses parted by blanks or semicolons, or by commas that no digits touch on both sides; each may have its unit."""
    text = re.sub(rf"(?<=\d)\s*({units.TYPED_UNIT[chosen.length_unit]})(?=[\s,;]|$)", "", text)
    cells = units.cells(text.rstrip(","))
    if len(cells) == 1 and cells[0].count(",") > 1:
        cells = cells[0].split(",")
    if not cells and not may_be_empty:
        raise not_typed("the thicknesses", "", "Type them with blanks between, such as 3 12.")
    if len(cells) > MOST_THICKNESSES:
        raise too_many("thicknesses", len(cells), MOST_THICKNESSES)
    return [chosen.mm(cell, "a thickness", None, CHIP_MM) for cell in cells]
