"""Which cups to pour, as a chip-set folder with empty readings and all that is to be weighed for it."""

from __future__ import annotations

import time
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any, Literal

import numpy as np

from tintmix.book.book import book_to_ask
from tintmix.chips.chip import Chip, ChipSet, Pigment, Reading, default_reading_spread
from tintmix.chips.folder import CHIPS_NAME, SET_NAME, chips_text, set_text
from tintmix.chips.names import chip_name, cup_in, cup_names
from tintmix.chips.photo.sheet.holder import LAID_NAME, laid_to_text
from tintmix.desk.plan.folder import alone_in_new, check_free
from tintmix.desk.plan.foreseen import colours_foreseen
from tintmix.desk.plan.moulds import moulds_for
from tintmix.desk.plan.text import GoingOn, checklist, plan_body
from tintmix.desk.plan.tile import OnTile, reading_on, said_of_tile, thin_moulds, tile_seen
from tintmix.desk.read.layout import Draw, holder_for, tags_for
from tintmix.errors import Note, Remedy, ValueProblem
from tintmix.files.write import Outputs, Where, write_files
from tintmix.numerals import numeral
from tintmix.optics.detector import eye
from tintmix.optics.spectrum import Array
from tintmix.pigments.design.advice import LARGE, NOT_WHILE_AT_ODDS, rather, what_cups_would_bring
from tintmix.pigments.design.belief import (
    PART_ABSORBANCE,
    Belief,
    model_known,
    nothing_known,
    part_dose_of,
    too_strong_by,
    trial_known,
)
from tintmix.pigments.design.cups import Plan, check_count, least_cups, plan
from tintmix.pigments.design.sight import Instrument, colorimeter, photographed, spectrophotometer
from tintmix.pigments.design.wish import Wish, check_lengths
from tintmix.pigments.model import TintModel
from tintmix.pigments.model_file import load_model
from tintmix.quantities import TOTAL_PHR
from tintmix.resin import Resin, read_resin
from tintmix.sheet.cautions import hazards_unsaid
from tintmix.weighing.bottle import BOTTLES_NAME, StockBottle, bottles_text
from tintmix.weighing.cups import Moulds, PourPlan, weigh_cups
from tintmix.weighing.scales import USUAL, Bench, least_weighable_g, scales_from_text

Kind = Literal["colour", "camera", "spectrum"]
_STRENGTH = 0.5
"""Luminous absorbance of a usual pigment per mm and phr, where nothing tells (common practice; they differ tenfold)."""
_SPECTRUM_NM = tuple(float(nm) for nm in range(400, 701, 10))
_SENSIBLE_BY, _HELPS = 1.25, 0.15
_README, _HOLDER = "README.md", "holder.pdf"


@dataclass(frozen=True, slots=True)
class Order:
    """What a maker asks for. pigments: name → dose meant for the casting in phr, None where they cannot say (of a one-cup
    trial: the doses in that cup). cups, chips_per_cup: None for what suits. on_tile: the white tile that colours will be read
    on, None where they are read through the chips."""

    pigments: Mapping[str, float | None]
    sections_mm: tuple[float, ...]
    cast_mm: tuple[float, ...] = ()
    cast_to_mm: float | None = None
    cups: int | None = None
    chips_per_cup: int | None = None
    kind: Kind = "colour"
    light: str = ""
    observer: int = 10
    camera: str = "unknown"
    bench: Bench | None = None
    moulds: Moulds = field(default_factory=Moulds)
    title: str = ""
    on_tile: OnTile | None = None


@dataclass(frozen=True, slots=True)
class Planned:
    """A plan on paper. body: the same as JSON has it. readme: the text that goes into the folder."""

    chips: ChipSet
    plan: Plan
    pours: PourPlan
    body: dict[str, Any]
    readme: str
    warnings: tuple[Note | str, ...] = field(default=())


def plan_chips(
    folder: str | Path,
    order: Order,
    model_path: str | Path | None = None,
    resin_path: str | Path | None = None,
    *,
    draw_holder: Draw | None = None,
    holder_path: str | Path | None = None,
    going_on: GoingOn | None = None,
    book: Where | None = None,
    new_bottles: bool = False,
    replace_old: bool = False,
) -> Planned:
    """Plan the cups and write the chip-set folder. Nothing is written when anything is wrong.

    draw_holder: makes the holder sheet, which goes into the folder of chips for a camera, or to holder_path. going_on: what the
    bench page says of the work after it, in the words of a face. book: whose stock bottles are used where they serve, unless
    new_bottles. replace_old: write over whatever stands at holder_path. Raises ValueProblem, InUse, CannotWrite, and what is
    wrong with the model or the resin.
    """
    target = Path(folder)
    check_free(target)
    model = None if model_path is None else load_model(model_path)
    known = None if model is None else model.resin
    resin = read_resin(resin_path) if resin_path is not None else known or Resin()
    with book_to_ask(book) as kept:
        shelf = () if kept is None else kept.bottles()
    done = planned(order, model, resin, target.name, str(model_path or ""), going_on, shelf, new_bottles)
    files: dict[str, str | bytes] = {
        CHIPS_NAME: chips_text(done.chips),
        SET_NAME: set_text(done.chips),
        _README: done.readme,
    }
    if done.pours.letdowns or done.pours.from_shelf:
        lots = {pigment.name: pigment.lot for pigment in done.chips.pigments}
        files[BOTTLES_NAME] = bottles_text(
            [one.as_bottle("", lots[one.pigment], resin.name) for one in done.pours.letdowns],
            [(bottle, grams) for bottle, grams in done.pours.from_shelf.values()],
        )
    sheet = b""
    if draw_holder is not None and (order.kind == "camera" or holder_path is not None):
        foreseen = {chip["chip"]: chip["predicted"] for cup in done.body["cups"] for chip in cup["chips"]}
        photos = holder_for(done.chips, foreseen)
        files[LAID_NAME] = laid_to_text(photos, foreseen)
        sheet = draw_holder(photos, target.name, tags_for(done.chips, foreseen))
    reading = (path for path in (model_path, resin_path) if path is not None)
    with alone_in_new(target), Outputs(reading, replace_old) as outputs:
        if holder_path is not None:
            outputs.at(holder_path, "holder sheet").write_bytes(sheet)
        elif sheet:
            files[_HOLDER] = sheet
        write_files(target, files)
    done.body["folder"] = str(folder)
    done.body["files"] = list(files)
    done.body["holder"] = None if not sheet else str(holder_path or target / _HOLDER)
    return done


def planned(
    order: Order,
    model: TintModel | None,
    resin: Resin,
    name: str = "chips",
    model_name: str = "",
    going_on: GoingOn | None = None,
    shelf: Sequence[StockBottle] = (),
    new_bottles: bool = False,
    taken: Collection[str] = (),
) -> Planned:
    """The plan without any file. shelf: stock bottles at hand, used where they serve unless new_bottles. taken: names that no
    cup may have, besides those of the model's. Raises ValueProblem."""
    started = time.perf_counter()
    warnings: list[Note | str] = [*hazards_unsaid(resin)]
    if model is not None and model.health.warning is not None:
        warnings.append(model.health.warning)
    defaults: dict[str, Any] = {}
    names = list(order.pigments) or ([] if model is None or model.is_one_cup else list(model.pigments))
    if not names:
        raise ValueProblem(
            what="no pigment is named",
            remedy=Remedy.NAME_THE_PIGMENTS if model is None else Remedy.NAME_THE_PIGMENTS_OF_THE_CUP,
        )
    check_count(len(names))
    for pigment in names:
        Pigment(pigment)
        if pigment == "mix":
            raise ValueProblem(what="a pigment called mix stands for a whole mix; name the pigments that are in it")
    if order.on_tile is not None and order.kind != "colour":
        raise ValueProblem(what='chips on a white tile are planned for colours only; leave the kind at "colour"')
    if order.cast_mm and order.cast_to_mm is not None:
        raise ValueProblem(what="chips are cast in the moulds that are named, or up to a thickness; say one of the two")
    cast = (
        moulds_for(order.cast_mm, order.cast_to_mm, order.sections_mm, model, defaults)
        if order.on_tile is None
        else thin_moulds(order.cast_mm, order.cast_to_mm, defaults)
    )
    check_lengths(order.sections_mm, cast)
    thickest = max(order.sections_mm)
    part = _part_doses(order, names, model, thickest, defaults, warnings)
    if model is None:
        belief = nothing_known(names, part, thickest, "part_phr" in defaults)
    else:
        belief = (trial_known if model.is_one_cup else model_known)(model, names, part, thickest)
        part = _in_reach(belief, part, thickest, warnings)
    usual_chips = 1 if order.kind == "spectrum" else 2
    bench = order.bench or scales_from_text(USUAL)
    light = order.light or ("unknown" if order.kind == "camera" else "D65")
    limits = {} if model is None else dict(zip(model.pigments, model.max_phr.tolist(), strict=True))
    wish = Wish(
        part_phr=part,
        sections_mm=order.sections_mm,
        cast_mm=cast,
        cups=order.cups or _usual_cups(belief),
        chips_per_cup=min(order.chips_per_cup or usual_chips, len(set(cast))),
        instrument=instrument_of(order.kind, light, order.observer, order.camera, order.on_tile, belief.model),
        refractive_index=resin.refractive_index,
        least_phr=np.full(len(names), 100 * least_weighable_g(bench.pigment) / order.moulds.cup_g),
        max_phr=None if model is None else np.array([limits.get(name, np.inf) for name in names]),
        max_total_phr=resin.max_total_phr,
    )
    found = plan(belief, wish)
    if model is not None and model.health.contradicts:
        found = replace(found, forecasts=())
    if order.on_tile is not None:
        warnings += said_of_tile(order.on_tile, order.cast_mm, cast, order.sections_mm)
    warnings += [*found.warnings, *_buys_little(found, model)]
    pours = weigh_cups(
        cup_names(names, [cup.doses_phr for cup in found.cups], {*_cups_of(model), *taken}),
        [cup.doses_phr for cup in found.cups],
        [cup.thicknesses_mm for cup in found.cups],
        names,
        list(part),
        resin,
        bench,
        order.moulds,
        shelf,
        new_bottles,
    )
    warnings += pours.warnings
    chips = _chip_set(order, names, found, pours, resin, light, model, name)
    body = plan_body(
        chips,
        found,
        pours,
        bench,
        colours=colours_foreseen(model, chips),
        part_phr=dict(zip(names, part.tolist(), strict=True)),
        new_pigments=[p for p, new in zip(names, belief.unknown, strict=True) if new],
        defaults_used=defaults,
        overall=_as_fit_judges(model, belief, wish, found),
        warnings=warnings,
        seconds=time.perf_counter() - started,
    )
    text = checklist(body, resin, name, model_name, order.on_tile, going_on)
    return Planned(chips, found, pours, body, text, tuple(warnings))


def _as_fit_judges(model: TintModel | None, belief: Belief, wish: Wish, found: Plan) -> dict[str, Any] | None:
    """What the plan would bring by the mixtures that the model's own advice is judged by; None where no model knows them all.

    Where the model's chips contradict each other no figure is promised: which cups to pour can be told, what they bring cannot.
    """
    if model is not None and model.health.contradicts:
        return {"before": None, "after": None, "says": NOT_WHILE_AT_ODDS}
    if model is None or belief.model is None:
        return None
    doses = np.zeros((len(found.cups), len(model.pigments)))
    doses[:, [model.pigments.index(name) for name in belief.pigments]] = [cup.doses_phr for cup in found.cups]
    return what_cups_would_bring(model, wish.reader, doses, np.array([cup.thicknesses_mm for cup in found.cups]))


def instrument_of(
    kind: Kind,
    light: str,
    observer: int,
    camera_name: str,
    on_tile: OnTile | None = None,
    model: TintModel | None = None,
) -> Instrument:
    """How the chips will be read, as far as a plan needs it. model: what its chips told of a camera that nobody measured."""
    spread = default_reading_spread(kind, camera_name)
    if kind == "spectrum":
        return spectrophotometer(spread)
    if kind == "colour":
        tile = None if on_tile is None else tile_seen(on_tile, light, observer)
        return colorimeter(eye(light, observer), spread, tile)
    chips = ChipSet(Reading("camera", light=light, camera=camera_name), (), (), Resin())
    return photographed(chips, *((None, 0) if model is None else (model.camera_latents, len(model.draws_base))))


def _part_doses(
    order: Order,
    names: Sequence[str],
    model: TintModel | None,
    thickest: float,
    defaults: dict[str, Any],
    warnings: list[Note | str],
) -> Array:
    doses, guessed = [], []
    together = min(len(names), 3)
    for pigment in names:
        dose = order.pigments.get(pigment)
        if dose is not None:
            doses.append(TOTAL_PHR.check(f"the dose of {pigment} for the casting", dose))
        elif model is not None and model.is_one_cup:
            raise ValueProblem(
                what=f"the model is of one cup of a mix, and the dose of {pigment} in it is not said",
                remedy=Remedy.DOSE_IN_THE_CUP,
                pigment=pigment,
            )
        elif model is not None and pigment in model.pigments:
            doses.append(float(f"{part_dose_of(model, pigment, len(names), thickest):.2g}"))
        else:
            doses.append(float(f"{PART_ABSORBANCE / together / _STRENGTH / thickest:.2g}"))
            guessed.append(pigment)
    if guessed:
        defaults["part_phr"] = {p: doses[names.index(p)] for p in guessed}
        listed = ", ".join(f"{p} {numeral(doses[names.index(p)])} phr" for p in guessed)
        warnings.append(
            Note(
                says="the dose for the casting was not said, so it is a guess of a usual strength, which may be out by ten "
                f"times: {listed}.",
                remedy=Remedy.SAY_THE_DOSES,
            )
        )
    return np.array(doses)


def _in_reach(belief: Belief, part: Array, thickest: float, warnings: list[Note | str]) -> Array:
    """The doses as they are, or those of the strength at which the part is neither black nor clear."""
    if not any(part > 0):
        return part
    factor = too_strong_by(belief, part, thickest)
    if len(part) > 3 or 1 / _SENSIBLE_BY < factor < _SENSIBLE_BY:
        return part
    what = "let almost no light through" if factor > 1 else "hardly show"
    warnings.append(
        f"at these doses the casting would {what} at {numeral(thickest)} mm; the plan is made for "
        f"{numeral(1 / factor, 2)} times their strength."
    )
    return part / factor


def _buys_little(found: Plan, model: TintModel | None) -> list[str]:
    gains = [1 - f.after / f.before for f in found.forecasts if f.before]
    if not gains or max(gains) >= _HELPS:
        return []
    at_most = f"these cups would lessen the typical error by {100 * max(gains):.0f} % at most"
    if max(f.before or 0.0 for f in found.forecasts) < LARGE:
        return [f"the chips already tell these colours well: {at_most}."]
    other = ({} if model is None else model.report.get("forecast") or {}).get("instead", {})
    return [f"pouring more of these pigments will not help much: {at_most}.{rather(other)}"]


def _usual_cups(belief: Belief) -> int:
    """Two cups for each new pigment, one for their mixtures and the untinted one; with a model two more."""
    fresh = sum(belief.unknown)
    return 2 + 2 * fresh if fresh else max(2, least_cups(belief))


def _cups_of(model: TintModel | None) -> set[str]:
    """The cups that the model's chips were poured from: others of these names would be taken for them."""
    report = {} if model is None else model.report
    named = [str(row.get(kind[:-1], "")) for kind in ("cups", "chips") for row in report.get(kind) or ()]
    return {*named, *map(cup_in, named)}


def _chip_set(
    order: Order,
    names: Sequence[str],
    found: Plan,
    pours: PourPlan,
    resin: Resin,
    light: str,
    model: TintModel | None,
    name: str,
) -> ChipSet:
    bottles = {letdown.pigment: letdown.name for letdown in pours.letdowns}
    bottles |= {pigment: bottle.name for pigment, (bottle, _) in pours.from_shelf.items()}
    # As sets of the same bottle have it: what is wrong with it is then one error for all of them.
    stock = {pigment: name.removeprefix(f"{pigment} ") for pigment, name in bottles.items()}
    lots = {} if model is None else dict(model.lots)
    lots |= {pigment: bottle.lot for pigment, (bottle, _) in pours.from_shelf.items() if bottle.lot}
    pigments = tuple(Pigment(p, lot=lots.get(p, ""), stock=stock.get(p, "")) for p in names)
    spread = pours.dose_spread
    if order.kind == "spectrum":
        reading = Reading("spectrum", wavelengths_nm=_SPECTRUM_NM, dose_spread=spread)
    elif order.on_tile is not None:
        reading = reading_on(order.on_tile, light, order.observer, spread)
    elif order.kind == "colour":
        reading = Reading("colour", light=light, observer=order.observer, space="Lab", dose_spread=spread)
    else:
        if order.camera not in ("unknown", "rendered"):
            raise ValueProblem(
                what=f'camera {order.camera!r} cannot be planned for; write "unknown" (raw photos) or "rendered" (JPEG)'
            )
        reading = Reading("camera", light=light, camera=order.camera, dose_spread=spread)
    poured = [
        (pour, cup.why, mm) for pour, cup in zip(pours.pours, found.cups, strict=True) for mm in cup.thicknesses_mm
    ]
    chips = [Chip(chip_name(pour.name, mm), pour.name, pour.doses_phr, mm, note=why) for pour, why, mm in poured]
    return ChipSet(reading, pigments, tuple(chips), resin, order.title or f"{name}: planned")
