"""What the pours of a recipe came out as, charted, with a drift said in words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np

from tintmix import pictures
from tintmix.book.book import open_book
from tintmix.book.chart import SETTLED, TITLES, Chart, individuals, says
from tintmix.book.errors import no_such_place
from tintmix.book.pours import KeptPour
from tintmix.book.recipes import KeptRecipe
from tintmix.desk.book.recipes import BookDone, damage_of
from tintmix.files.plain import finite, table_of
from tintmix.files.write import Outputs, Where
from tintmix.numerals import length_mm, numeral, told_depth
from tintmix.optics.difference import delta_e00


def history(
    name: str,
    revision: int | None = None,
    place: str | None = None,
    book: Where | None = None,
    picture: Where | None = None,
    replace_old: bool = False,
) -> BookDone:
    """The control chart of a recipe's pours, for each place on the casting: ΔE00 from what it should be, L*, a* and b*.

    What it should be is the target's colour at that place, or what was predicted where the target gives none. Pours that were
    set aside, and readings under another light than the target's, are left out and named. picture: of `place`, or of the
    thickest place that was read. Raises NotInBook, ValueProblem, NotThere.
    """
    with Outputs(replace=replace_old) as outputs:
        drawn = None if picture is None else outputs.picture(picture)
        with open_book(book, create=False) as opened:
            kept = {one.revision: one for one in opened.revisions(name)}
            newest = kept[max(kept)] if revision is None and kept else opened.recipe(name, revision)
            pours = [one for one in opened.pours(name, revision) if one.revision in kept]
            damage = damage_of(opened)
        counted = sorted((one for one in pours if not one.set_aside), key=lambda one: (one.pour.poured_on, one.number))
        names = [str(section["name"]) for section in newest.recipe.sections]
        if place is not None and place not in names:
            raise no_such_place(place, name, names)
        shown = names if place is None else [place]
        charts: dict[str, dict[str, Chart]] = {}
        places: list[dict[str, Any]] = []
        told: list[str] = []
        for one in shown:
            rows = _rows(one, counted, kept)
            charts[one] = {
                what: individuals([row[what] for row in rows], what, 0.0 if what == "delta_e00" else None)
                for what in TITLES
            }
            called = [f"pour {row['number']}" for row in rows]
            broken = [line for chart in charts[one].values() for line in says(chart, called, one)]
            told += broken
            places.append({
                "place": one, "against": _against(newest, one), "pours": rows,
                "charts": {what: table_of(chart, ("what",)) for what, chart in charts[one].items()}, "says": broken,
            })  # fmt: skip
        body = {
            "name": name,
            "revisions": sorted({one.revision for one in counted}),
            "places": places,
            "steady": not told,
            "says": [*(told or [_summary(places)]), *_notes(places, counted, kept)],
            "left_out": _left_out(pours, kept),
            **damage,
        }
        if drawn is not None:
            read = [one for one in places if one["pours"]] or places
            chosen = max(read, key=lambda one: length_mm(one["against"]))
            _draw(name, chosen, charts[chosen["place"]], told, drawn)
    return BookDone(finite(body), () if picture is None else (str(picture),))


def _draw(name: str, table: Mapping[str, Any], charts: Mapping[str, Chart], told: Sequence[str], where: Path) -> None:
    from tintmix.pictures.chart import ChartRow  # matplotlib: most ask for no picture

    rows = [
        ChartRow(
            title=TITLES[what],
            **table_of(chart, ("what", "signals")),
            marked=tuple(sorted({at for signal in chart.signals for at in signal.at})),
        )
        for what, chart in charts.items()
    ]
    place, against = table["place"], table["against"]
    wanted = "what was wanted" if against["what"] == "target" else "what was predicted"
    under = f"{place}, {told_depth(against)}. ΔE00 from {wanted}; each dot is a pour."
    labels = [f"{row['number']}" for row in table["pours"]]
    mine = [line for line in told if line.startswith(f"{place}, ")]
    figure = pictures.chart_picture(f"Pours of {name}", under, rows, labels, mine or ["No drift."])
    pictures.save_picture(figure, where)


def _rows(place: str, pours: Sequence[KeptPour], kept: Mapping[int, KeptRecipe]) -> list[dict[str, Any]]:
    """A row for each pour with a reading of that place; several readings are averaged."""
    rows = []
    for pour in pours:
        recipe = kept[pour.revision].recipe
        section = next((one for one in recipe.sections if one["name"] == place), None)
        readings = [one.lab for one in pour.readings if one.place == place and _seen_alike(one, recipe.target)]
        if section is None or not readings:
            continue
        lab = np.mean(np.array(readings), axis=0)
        aim = np.array(section.get("target_lab") or section["lab"], dtype=np.float64)
        rows.append({
            "number": pour.number, "revision": pour.revision, "poured_on": pour.pour.poured_on, "readings": len(readings),
            "delta_e00": float(delta_e00(aim, lab)), **dict(zip("Lab", lab.tolist(), strict=True)),
        })  # fmt: skip
    return rows


def _seen_alike(reading: Any, target: Mapping[str, Any]) -> bool:
    return bool(reading.light == target.get("light", "D65") and reading.observer == target.get("observer", 10))


def _against(kept: KeptRecipe, place: str) -> dict[str, Any]:
    section = next(one for one in kept.recipe.sections if one["name"] == place)
    what = "target" if section.get("target_lab") else "prediction"
    return {
        "what": what, "lab": list(section.get("target_lab") or section["lab"]), "tolerance": section.get("tolerance"),
        "thickness_mm": section["thickness_mm"],
        **{key: section[key] for key in ("straight_mm", "path_mm") if key in section},
    }  # fmt: skip


def _summary(places: Sequence[Mapping[str, Any]]) -> str:
    most = max((len(one["pours"]) for one in places), default=0)
    if most == 0:
        return "No pour has a reading of the casting yet, so there is nothing to chart."
    if most == 1:
        return "One pour has a reading; a chart needs two at least."
    return f"No drift: the {most} pours with readings differ from each other as pours of this recipe usually do."


def _notes(places: Sequence[Mapping[str, Any]], pours: Sequence[KeptPour], kept: Mapping[int, KeptRecipe]) -> list[str]:
    told = []
    most = max((len(one["pours"]) for one in places), default=0)
    if 2 <= most < SETTLED:
        told.append(f"The limits rest on {most} pours; they count as settled from about {SETTLED} (common practice).")
    for one in places:
        rows, tolerance = one["pours"], one["against"]["tolerance"]
        if rows and tolerance:
            inside = sum(row["delta_e00"] <= tolerance for row in rows)
            what = "what was wanted" if one["against"]["what"] == "target" else "what was predicted"
            told.append(f"{one['place']}: {inside} of {len(rows)} within ΔE00 {numeral(tolerance)} of {what}.")
    used = sorted({pour.revision for pour in pours})
    if len(used) > 1:
        starts = ", ".join(
            f"revision {number} with pour {next(p.number for p in pours if p.revision == number)}"
            for number in used[1:]
        )
        told.append(f"The recipe changed in between: {starts}.")
    if len({kept[number].recipe.model for number in used}) > 1:
        told.append("The revisions come from different models.")
    return told


def _left_out(pours: Sequence[KeptPour], kept: Mapping[int, KeptRecipe]) -> list[dict[str, Any]]:
    out = [{"number": one.number, "why": f"set aside: {one.set_aside}"} for one in pours if one.set_aside]
    for one in pours:
        target = kept[one.revision].recipe.target
        if not one.set_aside and any(not _seen_alike(reading, target) for reading in one.readings):
            out.append({"number": one.number, "why": "a reading under another light or observer than the target's"})
    return out
