"""Files of instruments: looked at as they were understood, each sample mapped to its chip, then put in."""

from __future__ import annotations

from typing import Any

from tintmix.chips.convert import Wish
from tintmix.chips.instruments.tabular.layout import SHOWN_COLUMNS, Layout
from tintmix.faces.web.routes.chips import QUANTITIES, UNITS, at_hand, put_readings
from tintmix.faces.web.routes.chips import show as show_chips
from tintmix.faces.web.visit import Answer, Routes, Visit
from tintmix.page.chips import instrument as page_instrument
from tintmix.page.chips import sets as page_chips
from tintmix.page.errors import NoSuchThing, not_chosen, not_typed

ROUTES = Routes()
SHOWN_NM = (450, 550, 650)


@ROUTES.get("/chips/instrument")
def show(visit: Visit) -> Answer:
    """The samples of the files at hand, as they were understood."""
    entry, kept = at_hand(visit), _kept(visit)
    files = page_instrument.kept_files(visit.workspace, kept["files"])
    body = page_instrument.looked_into(visit.workspace, entry["thing"], files, _wish(kept))
    samples = [sample for file in body["files"] for sample in file["samples"]]
    for i, sample in enumerate(samples):
        sample["chosen"] = visit.typed.get(f"chip_{i}", sample["chip"] or "")
    chips = page_instrument.chip_names(visit.workspace.chip_set(entry["thing"]))
    return visit.shows(
        "instrument.html", "chips", set=entry, body=body, kept=kept, chips=chips, at=_nearest, shown_nm=SHOWN_NM,
        columns=range(SHOWN_COLUMNS), most=page_instrument.MOST_SHOWN,
    )  # fmt: skip


def _kept(visit: Visit) -> dict[str, Any]:
    """The files at hand. Raises NoSuchThing."""
    kept: dict[str, Any] = visit.now.area("chips").get("instrument", {}).get(at_hand(visit)["id"], {})
    if not kept:
        raise NoSuchThing("instrument's file")
    return kept


def _wish(kept: dict[str, Any]) -> Wish:
    return Wish(quantity=kept.get("quantity") or None, unit=kept.get("unit") or None)


def _nearest(sample: dict[str, Any], nm: float) -> float | None:
    """A spectrum's value near a wavelength."""
    every = sample["wavelengths_nm"] or []
    nearest = min(range(len(every)), key=lambda i: abs(every[i] - nm), default=None)
    return None if nearest is None or abs(every[nearest] - nm) > 25 else sample["values"][nearest]


@ROUTES.post("/chips/instrument", show_chips)
def upload(visit: Visit) -> Answer:
    """Instrument files: to be looked at first, or into the set at hand at once."""
    form, entry = visit.form, at_hand(visit)
    files = form.files("instrument")
    if not files:
        raise not_chosen("instrument", "the instrument's file", "Choose one or more.")
    said = {"quantity": form.choice("quantity", QUANTITIES, ""), "unit": form.choice("unit", UNITS, "")}
    if form.text("look"):
        _keep(visit, {"files": page_instrument.keep_files(visit.workspace, files), **said})
        return "/chips/instrument"
    read = page_chips.uploaded_readings(
        visit.workspace, entry, files, bool(form.text("replace")), bool(form.text("others")),
        said["quantity"] or None, said["unit"] or None,
    )  # fmt: skip
    return put_readings(visit, entry, *read)


def _keep(visit: Visit, kept: dict[str, Any], **more: Any) -> None:
    area = visit.now.area("chips")
    every = {**area.get("instrument", {}), at_hand(visit)["id"]: kept}
    visit.change("a file to look at", chips=area | {"instrument": every} | more)


@ROUTES.post("/chips/instrument/again", show)
def again(visit: Visit) -> Answer:
    """The same files, taken for another quantity or unit."""
    form = visit.form
    said = {"quantity": form.choice("quantity", QUANTITIES, ""), "unit": form.choice("unit", UNITS, "")}
    _keep(visit, {**_kept(visit), **said})
    return "/chips/instrument"


@ROUTES.post("/chips/instrument/layout", show)
def layout(visit: Visit) -> Answer:
    """Which column of a file is what: kept in the set, and tried with the next file that is not understood."""
    form, entry = visit.form, at_hand(visit)
    what = [form.choice(f"column_{i}", ("wave", "reading"), "") for i in range(SHOWN_COLUMNS)]
    values = tuple(i for i, one in enumerate(what) if one == "reading")
    if what.count("wave") != 1 or not values:
        raise not_typed("the columns", "", "Choose one column as the wavelength, and at least one as a reading.")
    said = Layout(
        name=form.line("layout", "the name of the layout") or "my instrument",
        first_line=int(form.number("first_line", "the first line of numbers", 1, 1e6)),
        wave=what.index("wave"), values=values,
        quantity=form.choice("quantity", QUANTITIES, "") or None,  # type: ignore[arg-type]
        unit=form.choice("unit", UNITS, "") or None,
    )  # fmt: skip
    thing = page_instrument.describe(visit.workspace, entry["thing"], said)
    area = page_chips.with_set(visit.now, thing, visit.workspace.chip_set(thing), entry["id"])
    visit.change("which column is what", chips=area)
    return "/chips/instrument"


@ROUTES.post("/chips/instrument/put", show)
def put(visit: Visit) -> Answer:
    """The samples into the set, each into the chip that was chosen for it."""
    form, entry, kept = visit.form, at_hand(visit), _kept(visit)
    chosen = [form.text(f"chip_{i}") for i in range(form.count("samples", 0))]
    if not any(chosen):
        raise not_typed("the chips", "", "Choose for at least one sample which chip it is.")
    files = page_instrument.kept_files(visit.workspace, kept["files"])
    read = page_instrument.put_in(
        visit.workspace, entry["thing"], files, chosen, _wish(kept), bool(form.text("replace"))
    )
    left = {key: one for key, one in visit.now.area("chips").get("instrument", {}).items() if key != entry["id"]}
    return put_readings(visit, entry, *read, instrument=left)
