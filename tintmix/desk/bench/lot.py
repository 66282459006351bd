"""A check chip: how strong a new lot or a bottle is against the pigment that the model learnt."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from tintmix.book.book import open_book, open_book_if_there
from tintmix.book.errors import no_such_bottle
from tintmix.book.values import CheckChip
from tintmix.desk.bench.trial_reading import Told, TrialReading, read_trial
from tintmix.errors import Remedy, ValueProblem
from tintmix.files.plain import finite
from tintmix.files.stamp import check_day, today
from tintmix.files.write import Where
from tintmix.numerals import capital, listed
from tintmix.pigments.model_file import load_model
from tintmix.quantities import SHARE
from tintmix.recipes.adjust.belief import SURPRISE, WEIGH_SPREAD, LotStrength, Trial, recalibrate
from tintmix.recipes.adjust.errors import one_cup_only
from tintmix.recipes.adjust.nearest import fault
from tintmix.recipes.adjust.says import times_chance
from tintmix.sheet.cautions import cautions_for, cautions_table, hazards_unsaid

NEW_LOT_SPREAD = 0.3
"""A lot that is checked may well be another: nothing is taken for granted of it."""
HARDLY = 0.7
"""Part of what was unknown before, beyond which a chip tells hardly anything."""
WELL = 0.05
"""A strength that is known to this is known well, however little the chip added."""
NOT_KEPT = 2 * SURPRISE
"""Chi-square a value from which on nothing is told of a strength, nor kept in the book."""
AS_THE_LAST = 0.05
"""A lot within this of 1 is called as strong as the last one."""


def lot_for(
    model: Where,
    doses_phr: Mapping[str, float],
    trial: TrialReading,
    lots: Mapping[str, str] | None = None,
    bottle: str = "",
    keep: bool = False,
    strengths: Mapping[str, tuple[float, float]] | None = None,
    lot_spread: float = NEW_LOT_SPREAD,
    weigh_spread: float = WEIGH_SPREAD,
    book: Where | None = None,
    read_on: str = "",
) -> dict[str, Any]:
    """How strong each pigment in a check cup is, as formats.md has its JSON. doses_phr: as weighed.

    keep: put it into the book, as the strength of these lots (pigment → lot), or of a bottle of the book. A reading that
    nothing explains gives no strength (None), is not kept, and `says` tells what is wrong. What the book knows of a lot or
    bottle already is where it starts from, so that a second cup's chip refines the first's. Raises what is wrong with
    the model, the doses, the reading, the book, or the bottle, and ValueProblem where it is not said whose strength is to be
    kept.
    """
    SHARE.check("how well the check cup was weighed (2 % is 0.02)", weigh_spread)
    learnt = load_model(model)
    if learnt.is_one_cup:
        raise one_cup_only()
    check_day("the day of the reading", read_on)
    named = dict(lots or {})
    learnt.dose_vector({**doses_phr, **dict.fromkeys(named, 0.0)})
    used = [p for p, dose in doses_phr.items() if dose > 0]
    if keep and not (bottle and len(used) == 1):
        missing = [p for p in used if not named.get(p)]
        if missing:
            raise ValueProblem(
                what=f"the lot of {', '.join(missing)} is not named, so nothing can be kept of it",
                remedy=Remedy.NAME_LOT,
                pigment=missing[0],
            )
    told = read_trial(trial, doses_phr, learnt, "check")
    known = {**_known(used, named, bottle, keep, book), **(strengths or {})}
    trials = [Trial(doses_phr, told.chips, dict.fromkeys(doses_phr, weigh_spread), beside=told.beside)]
    found = recalibrate(learnt, trials, known, lot_spread)
    table = {p: {"lot": named.get(p, ""), "factor": s.factor, "spread": s.spread} for p, s in found.items()}
    surprise = max(one.surprise for one in found.values())
    doubtful = surprise > NOT_KEPT
    kept = _keep(table, doses_phr, told, trial, bottle, book, read_on) if keep and not doubtful else []
    whose = {
        p: (bottle if len(table) == 1 else "") or f"{p} lot {one['lot']}".removesuffix(" lot ")
        for p, one in table.items()
    }
    telling = {p: one.spread <= max(HARDLY * known.get(p, (1.0, lot_spread))[1], WELL) for p, one in found.items()}
    said = [_says(whose[p], one, telling[p], surprise <= SURPRISE) for p, one in found.items()]
    says, remedy = " ".join((said[0], *map(capital, said[1:]))), ""
    off = f"the readings differ by {times_chance(surprise)} times what chance allows"
    if doubtful:
        wrong, remedy = fault(learnt, trials[0], SURPRISE)
        says = f"{off}: {wrong}. What this chip tells of {listed(whose.values())} is not to be weighed by."
    elif surprise > SURPRISE:
        remedy = "read the chip again, and pour a second check cup"
        says = f"{off}. Taken at its word, {says}"
    notes = [*hazards_unsaid(learnt.resin), *_doubts(telling, remedy), *told.notes]
    if doubtful:
        table = {p: {**one, "factor": None, "spread": None} for p, one in table.items()}
    if keep and doubtful:
        notes.insert(0, "nothing was kept in the book of this chip.")
    body: dict[str, Any] = finite(
        {
            "strengths": table,
            "bottle": bottle,
            "says": says,
            "started_from": {p: {"factor": f, "spread": s} for p, (f, s) in known.items() if p in table},
            "kept": kept,
            "surprise": surprise,
            "notes": notes,
            **cautions_table(cautions_for(learnt.resin)),
        }
    )
    return body


def _doubts(telling: Mapping[str, bool], remedy: str) -> list[str]:
    doubts = [f"before you weigh by it, {remedy}."] if remedy else []
    return doubts + [
        f"this chip hardly tells how strong {pigment} is: it is too pale, too dark, or too mixed. Pour one of that "
        "pigment alone that lets about half of the light through."
        for pigment, tells in telling.items()
        if not tells and not remedy
    ]


def _known(
    used: Sequence[str], lots: Mapping[str, str], bottle: str, keep: bool, book: Where | None
) -> dict[str, tuple[float, float]]:
    """What the book says of these lots and this bottle. A spread is never taken as smaller than two weighings leave it."""
    # A book that is named has to be there, unless it is to be begun with this.
    named = bottle or (book is not None and not keep)
    opened = open_book(book, create=False) if named else open_book_if_there(book) if lots else None
    if opened is None:
        return {}
    with opened:
        found = opened.lot_strengths(lots)
        if bottle:
            shelf = {one.name: one for one in opened.bottles()}
            if bottle not in shelf:
                raise no_such_bottle(bottle, shelf)
            one = shelf[bottle]
            if one.pigment not in used:
                raise ValueProblem(
                    what=f"stock bottle {bottle!r} holds {one.pigment}, but the check cup was tinted with {', '.join(used)}",
                    remedy=Remedy.NAME_BOTTLE_OF_CUP,
                )
            if one.is_measured:
                found[one.pigment] = one.strength, one.strength_spread
    return {p: (strength, max(spread, 0.005)) for p, (strength, spread) in found.items()}


def _keep(
    table: Mapping[str, Mapping[str, Any]],
    doses_phr: Mapping[str, float],
    told: Told,
    trial: TrialReading,
    bottle: str,
    book: Where | None,
    read_on: str,
) -> list[str]:
    on = read_on or today()
    kept = []
    with open_book(book, create=not bottle) as opened:
        for pigment, one in table.items():
            if bottle and not one["lot"]:
                opened.set_bottle_strength(bottle, one["factor"], one["spread"], "from a check chip")
                kept.append(bottle)
                continue
            opened.set_lot_strength(pigment, one["lot"], one["factor"], one["spread"], on, "from a check chip")
            kept.append(f"{pigment} lot {one['lot']}")
            seen, of = told.chips.reading, (pigment, one["lot"], doses_phr[pigment])
            # The book keeps a check chip's colour as it is against the bare light.
            if len(table) > 1 or trial.kind != "colour" or trial.space != "Lab" or seen.on_tile:
                continue
            for chip in told.chips.chips:
                lab = chip.values[0], chip.values[1], chip.values[2]
                opened.add_check_chip(CheckChip(*of, chip.thickness_mm, lab, seen.light, seen.observer, on))
    return kept


def _says(whose: str, one: LotStrength, tells: bool, weighed_by: bool) -> str:
    """weighed_by: whether the reading is likely enough to weigh by it."""
    sure = f"{one.factor:.3f} ± {one.factor * one.spread:.3f}"
    if not tells:
        return f"how strong {whose} is, this chip does not tell ({sure} times the pigment of the chips)."
    if abs(one.factor - 1) < AS_THE_LAST and abs(one.factor - 1) < 2 * one.spread:
        before = "; weigh as before" if weighed_by else ""
        return f"{whose} is as strong as the pigment of the chips, as far as this chip tells ({sure} times){before}."
    turn = "stronger" if one.factor > 1 else "weaker"
    divided = f": weigh its dose divided by {one.factor:.3f}" if weighed_by else ""
    return f"{whose} is {100 * abs(one.factor - 1):.0f} % {turn} than the pigment of the chips ({sure} times){divided}."
