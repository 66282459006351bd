"""The bodies of `tintmix book … --json` as text."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from tintmix.faces.cli import text
from tintmix.faces.cli.cautions import with_cautions
from tintmix.faces.cli.options import Done
from tintmix.faces.remedies import Said
from tintmix.files.stamp import local_day
from tintmix.numerals import counted as so_many
from tintmix.numerals import numeral, told_depth
from tintmix.weighing.bottle import CANCELS

if TYPE_CHECKING:
    from tintmix.desk.book.recipes import BookDone

_KINDS = {
    "recipes": ("recipe", "recipes"), "recipe": ("recipe", "recipes"), "models": ("model", "models"),
    "model": ("model", "models"), "photos": ("photo", "photos"), "photo": ("photo", "photos"),
    "pour": ("pour", "pours"), "pour_addition": ("addition to a pour", "additions to pours"),
    "bottle": ("stock bottle", "stock bottles"), "bottle_event": ("use of a bottle", "uses of bottles"),
    "lot": ("entry of a lot", "entries of lots"), "check_chip": ("check chip", "check chips"),
}  # fmt: skip
_TITLES = {"delta_e00": "ΔE00", "L": "L*", "a": "a*", "b": "b*"}


def told_by(done: BookDone, tell: Callable[[Mapping[str, Any]], str]) -> Done:
    """What was done to the book as an answer; tell: its body as text, which names what was written after it."""
    damaged = text.noted([done.body["damaged"]]) if "damaged" in done.body else []
    on_disk = done.recorded or text.written_as(done.written)
    return Done(done.body, text.page([tell(done.body), *damaged, *text.written(done.written)]), on_disk)


def counted(counts: Mapping[str, int]) -> str:
    """How many of each kind, those that there are.

    >>> counted({"recipes": 2, "models": 1, "photos": 0})
    '2 recipes, 1 model'
    """
    told = [f"{counts[key]} {names[counts[key] != 1]}" for key, names in _KINDS.items() if counts.get(key)]
    return ", ".join(told) or "nothing"


def kept(body: Mapping[str, Any]) -> text.Laid:
    """A recipe that was kept."""
    return text.page([body["says"], f"Fingerprint {body['digest'][:12]}, in {body['book']}."])


def listed(body: Mapping[str, Any]) -> text.Laid:
    """The recipes as a table."""
    recipes = body["recipes"]
    if not recipes:
        return text.wrapped(f"No recipe is kept in {body['book']} yet: `tintmix book keep RECIPE` keeps one.")
    rows = [
        [
            one["name"], one["revision"], text.doses(one["doses_phr"]) or "untinted", one["pours"] or "",
            local_day(one["kept_at"]), one["digest"][:8], one["note"],
        ]
        for one in recipes
    ]  # fmt: skip
    heads = ["recipe", "rev.", "doses, phr", "pours", "kept", "fingerprint", "note"]
    rest = body["count"] - len(recipes)
    more = [f"And {rest} more: --most 0 shows all, words after `list` only some."] if rest else []
    table = text.table(heads, rows, left=(0, 2, 4, 5, 6))
    return text.page([table, "", *more, "Doses in phr: g per 100 g of mixed resin."])


def shown(body: Mapping[str, Any]) -> text.Laid:
    """A recipe on a page."""
    kept = f"Fingerprint {body['digest'][:12]}, kept {local_day(body['kept_at'])} by {body['kept_by']}."
    lines = [f"{body['name']}, revision {body['revision']} of {len(body['revisions'])}", text.wrapped(kept, "  ")]
    if body["note"]:
        lines.append(text.wrapped(body["note"], "  "))
    lots, strengths = body["lots"], body["lot_strengths"]
    rows = [
        [pigment, dose, lots.get(pigment, ""), _strength(strengths.get(pigment))]
        for pigment, dose in zip(body["doses_phr"], text.phr_column(body["doses_phr"].values()), strict=True)
    ]
    if rows:
        lines += ["", text.table(["pigment", "phr", "lot", "strength of the lot"], rows, left=(0, 2, 3))]
        lines.append(text.wrapped("phr: g per 100 g of mixed resin, all parts, before pigment.", "  "))
    else:
        lines += ["", text.wrapped("No pigment goes in: this recipe is the untinted resin.", "  ")]
    rows = [
        [
            one["name"], told_depth(one), text.triple(one["lab"]), text.triple(one.get("target_lab")),
            "" if one.get("delta_e00") is None else f"{one['delta_e00']:.2f} of {numeral(one['tolerance'])}",
        ]
        for one in body["sections"]
    ]  # fmt: skip
    in_book = "in the book" if body["has_model"] else "NOT in the book"
    lines += [
        "",
        text.table(["place", "at", "predicted L* a* b*", "wanted", "ΔE00"], rows),
        "",
        f"Resin: {body['resin']['name'] if body['resin'] else 'not said'}.",
        f"Model {body['model'][:12]}, {in_book}; chips {body['chips'][:12]}.",
        *_shapes(body.get("casting", ())),
        f"Made by {body['made_by']} on {local_day(body['made_at'])}.",
    ]
    lines += text.noted(body["warnings"])
    if not body["pours"]:
        return text.page(lines)
    return with_cautions(body, [*lines, "", _pours(body["pours"])])


def _shapes(casting: Sequence[Mapping[str, Any]]) -> list[str]:
    """The shapes whose places the recipe was found for."""
    told = (f"Shape {one['shape']}, fingerprint {one['digest'][:12]}, traced from {one['mesh']}." for one in casting)
    return list(dict.fromkeys(told))


def _pours(pours: Sequence[Mapping[str, Any]]) -> text.Laid:
    rows = [
        [
            one["number"], one["poured_on"], one["revision"], "" if one["batch_g"] is None else f"{one['batch_g']:g} g",
            _named(one["lots"]) if any(one["lots"].values()) else "",
            ", ".join(dict.fromkeys(reading["place"] for reading in one["readings"])),
            f"set aside: {one['set_aside']}" if one["set_aside"] else one["note"],
        ]
        for one in pours
    ]  # fmt: skip
    return text.table(["pour", "on", "rev.", "batch", "lots", "read at", ""], rows, left=(1, 4, 5, 6))


def compared(body: Mapping[str, Any]) -> text.Laid:
    """Two revisions side by side."""
    first, second = body["first"], body["second"]
    heads = [f"revision {first['revision']}", f"revision {second['revision']}"]
    amounts = text.phr_column([one[key] for one in body["doses"] for key in ("first_phr", "second_phr")])
    doses = [[one["pigment"], amounts[2 * i], amounts[2 * i + 1], _change(one)] for i, one in enumerate(body["doses"])]
    rows = [
        [
            one["name"], f"{numeral(one['second_mm'] or one['first_mm'])} mm", text.triple(one["first_lab"]),
            text.triple(one["second_lab"]), text.figure(one["delta_e00"]),
        ]
        for one in body["sections"]
    ]  # fmt: skip
    lines = [
        f"{body['name']}: kept {local_day(first['kept_at'])} and {local_day(second['kept_at'])}.",
        "",
        text.table(["phr", *heads, "change"], doses),
        "",
        text.table(["predicted", "at", *heads, "ΔE00"], rows),
    ]
    told = [f"Changed too: {', '.join(body['changed'])}."] if body["changed"] else []
    if "lots" in body["changed"]:
        told += [
            f"Lots of revision {body[key]['revision']}: {_named(body['lots'][key])}." for key in ("first", "second")
        ]
    told += text.noted(body["says"])
    return text.page([*lines, "", *told] if told else lines)


def charted(body: Mapping[str, Any]) -> text.Laid:
    """The control charts as text."""
    lines: list[Said] = [*body["says"]]
    for place in body["places"]:
        if not place["pours"]:
            continue
        against = place["against"]
        wanted = "wanted" if against["what"] == "target" else "predicted"
        head = f"{place['place']}, {told_depth(against)}; {wanted} {text.triple(against['lab'])}"
        rows = [[one["number"], one["poured_on"], one["revision"], *_charted(one)] for one in place["pours"]]
        for title, key in (("mean", "middle"), ("from", "low"), ("to", "high")):
            limits = {what: chart[key] for what, chart in place["charts"].items()}
            if limits["L"] is not None:
                rows.append([title, "", "", *_charted(limits)])
        lines += ["", head, text.table(["pour", "on", "rev.", *_TITLES.values()], rows, left=(0, 1))]
    if any(len(place["pours"]) > 1 for place in body["places"]):
        lines += [
            "",
            "from, to: where pours of this recipe usually stay, the mean ± 2.66 mean steps from pour to pour.",
        ]
    return text.page([*lines, *(f"Left out: pour {one['number']}, {one['why']}." for one in body["left_out"])])


def rescaled(body: Mapping[str, Any]) -> text.Laid:
    """A recipe for another resin or lot."""
    names = list(body["doses_phr"])
    amounts = text.phr_column([*body["doses_phr"].values(), *body["weighed_phr"].values()])
    rows = [[name, amounts[i], amounts[len(names) + i], body["lots"].get(name, "")] for i, name in enumerate(names)]
    lines = [
        f"{body['name']}, from revision {body['from_revision']}:",
        "",
        text.table(["pigment", "dose, phr", "to weigh, phr", "lot"], rows, left=(0, 3)),
        "",
        *body["says"],
    ]
    if kept := body["kept"]:
        number = kept["revision"]
        lines.append(f"Kept as revision {number}." if kept["is_new"] else f"That is revision {number} already.")
    elif not body["written"]:
        lines.append("Nothing was kept: --keep makes it a new revision, --out FILE a recipe file.")
    return with_cautions(body, lines)


def poured(body: Mapping[str, Any]) -> text.Laid:
    """A pour that was recorded."""
    lines = [body["says"], "", _pours([body])]
    if body["weights_g"]:
        lines += ["", text.table(["weighed", "g"], [[name, f"{g:g}"] for name, g in body["weights_g"].items()])]
    if not body["readings"] and not body["set_aside"]:
        command = f"tintmix book pour {_quoted(body['name'])} --number {body['number']} --reading PLACE=L,a,b"
        lines += ["", f"When it is cast and read: `{command}`."]
    lines += text.noted(body.get("warnings", ()))
    # Nothing is to be weighed any more: what came of it first, then what to mind while it cures.
    return with_cautions(body, (), at_once=lines)


def lots(body: Mapping[str, Any]) -> text.Laid:
    """The lots as a table."""
    if not body["lots"]:
        return text.wrapped("The book knows no lot yet: `tintmix book lot PIGMENT LOT` enters one.")
    rows = [
        [
            one["pigment"], one["lot"], "not measured yet" if one["strength"] is None else _strength(one),
            one["check_chips"] or "", one["on"], one["note"],
        ]
        for one in body["lots"]
    ]  # fmt: skip
    return text.table(["pigment", "lot", "strength", "check chips", "on", "note"], rows, left=(0, 1, 2, 4, 5))


def on_shelf(body: Mapping[str, Any]) -> text.Laid:
    """What was done to the stock bottles, or else all that have something in them."""
    told = [body["says"] if "says" in body else _bottles(body), *text.noted(body.get("warnings", ()))]
    return with_cautions(body, told) if body.get("bottles", body.get("left_g")) else text.page(told)


def _bottles(body: Mapping[str, Any]) -> text.Laid:
    if not body["bottles"]:
        return text.wrapped("No stock bottle is on the shelf.")
    rows = [
        [
            one["name"], one["pigment"], f"1+{numeral(one['n'], 4)}", one["carrier"], f"{one['left_g']:.4g} g", one["lot"],
            one["made_on"], "" if one["age_days"] is None else so_many(one["age_days"], "day"), _bottle_strength(one),
        ]
        for one in body["bottles"]
    ]  # fmt: skip
    heads = ["bottle", "pigment", "", "in", "left", "lot", "made", "age", "strength"]
    return text.table(heads, rows, left=(0, 1, 2, 3, 5, 6, 8))


def _bottle_strength(bottle: Mapping[str, Any]) -> str:
    if bottle["strength"] == 1 and bottle["strength_spread"] <= CANCELS:
        return "the chips' own" if bottle["strength_spread"] else "as weighed"
    return _strength(bottle, "strength_spread")


def imported(body: Mapping[str, Any]) -> text.Laid:
    """What an import brought."""
    lines = [f"New in the book: {counted(body['added'])}. There already: {counted(body['already'])}."]
    lines += [
        f"{one['name']}: revision {one['revision_there']} of the export is revision {one['revision']} here, since another recipe "
        "has that number."
        for one in body["renumbered"]
    ]
    return text.page(lines)


def checked(body: Mapping[str, Any]) -> text.Laid:
    """What a check found."""
    head = (
        "All is as it was written"
        if body["sound"]
        else f"{so_many(len(body['problems']), 'thing')} {'is' if len(body['problems']) == 1 else 'are'} wrong"
    )
    lines = [f"{head}: {body['book']}, format {body['format']}, {counted(body['counts'])}."]
    lines += [f"- {one}." for one in body["problems"]]
    if gone := ", ".join(body["without_model"]):
        lines.append(f"Kept without their model, so they cannot be weighed out from here: {gone}.")
    return text.page(lines)


def _charted(figures: Mapping[str, Any]) -> list[str]:
    return [format(figures[what], ".2f" if what == "delta_e00" else ".1f") for what in _TITLES]


def _named(lots: Mapping[str, str]) -> str:
    return ", ".join(f"{pigment} {lot}" for pigment, lot in lots.items() if lot) or "none said"


def _strength(one: Mapping[str, Any] | None, spread: str = "spread") -> str:
    if one is None:
        return ""
    return f"{numeral(one['strength'], 4)}" + (f" ± {numeral(100 * one[spread], 2)} %" if one[spread] else "")


def _change(one: Mapping[str, Any]) -> str:
    if one["change_percent"] is None:
        return "new" if one["second_phr"] else ""
    if one["first_phr"] == one["second_phr"]:
        return "same"
    return f"{one['change_percent']:+.1f} %" if one["second_phr"] else "left out"


def _quoted(name: str) -> str:
    return f'"{name}"' if " " in name else name
