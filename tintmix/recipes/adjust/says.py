"""An adjustment in words: one sentence of what to do, and what a maker should know beside it."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

from tintmix.errors import Note, Remedy
from tintmix.numerals import chance, listed, numeral
from tintmix.recipes.adjust.answer import Adjustment, Outcome
from tintmix.recipes.adjust.belief import Belief
from tintmix.recipes.adjust.pot import ROOM
from tintmix.recipes.adjust.question import Question
from tintmix.recipes.adjust.weigh import Addition
from tintmix.weighing.weighed import opens_for_trial, part_label, part_named, tinted_label, tinted_named

_ROUGHLY = 0.05
"""Relative spread of a weight beyond which it is called a rough one."""
_EVEN = 0.5
"""Less chance than this, and a pot that nothing helps is not to be poured."""
_VALUES = {"colour": ("L*", "a*", "b*"), "camera": ("R", "G", "B")}
PROMISED = (
    "the recipe itself does not bring every place within its tolerance, so the adjustment aims there at the colour that the "
    "recipe promised."
)


def with_words(found: Adjustment, question: Question, warnings: tuple[str | Note, ...]) -> Adjustment:
    """The same with its sentence and warnings."""
    said = {Outcome.KEEP: _keep, Outcome.START_AGAIN: _start_again, Outcome.TOO_LATE: _too_late}
    words = said.get(found.outcome, _add)(found, question)
    if found.is_doubtful:
        words = f"read the chip again first, it is far from what this pot can well give; taken at its word, {words}"
    return replace(found, says=words, order=tuple(order(found, question)), warnings=warnings)


def order(found: Adjustment, question: Question) -> Iterator[str]:
    """What to do at the bench, in the order in which it is done."""
    if found.outcome in (Outcome.TOO_LATE, Outcome.START_AGAIN) or not _worth_pouring(found):
        return
    if question.part.mixed_minutes_ago is not None:
        if found.additions:
            yield f"Stir in {_list(found, question)} at once, scraping sides and bottom, and pour."
        return
    part, is_changed = found.part, bool(found.additions or found.plain_g)
    if found.is_doubtful:
        yield "Read the trial chip again. Only if it reads the same, and its label, thickness and light are right, go on."
    if found.slips:
        yield (
            f"Think back how {listed(found.slips)} {'was' if len(found.slips) == 1 else 'were'} weighed: the right bottle, the "
            "right weight? If not, say what went in and ask again before you add anything."
        )
    for one in found.additions:
        if one.made is not None:
            yield (
                f"Make the stock bottle {one.letdown}: {_pigment(one.made.first_g, question)} of {one.pigment} in "
                f"{_resin(one.made.carrier_g, question)} of {part_named(part)}. Stir it to the bottom, write its name on it."
            )
    if is_changed:
        yield f"Stir {tinted_named(part)} to the bottom."
        if found.aside_g:
            aside = _resin(found.aside_g, question)
            yield f"Take {aside} of it out, into a closed jar with a label: it does for another day."
        for one in found.additions:
            yield f"Weigh in {_pigment(one.weigh_g, question)} of {one.letdown or one.pigment}{_where(one, question)}."
        if found.plain_g:
            yield f"Weigh in {_resin(found.plain_g, question)} of untinted {part_label(part)}."
        yield "Stir until no streak is left, sides and bottom too."
        sample = "If you can wait, mix, cure and read another small sample."
        if found.other_parts:
            sample += f" {opens_for_trial([name for name, _ in found.other_parts], question.pot_life_min)}"
        yield sample
    if found.other_parts:
        named = {part_named(name): grams for name, grams in found.other_parts}
        others = " and ".join(named)
        first = f"Only then open {others} for the pot" if is_changed else f"Open {others} when all else is ready"
        ratio = " and ".join(f"{100 * grams / found.tinted_g:.4g} g of {name}" for name, grams in named.items())
        yield (
            f"{first}. The {_resin(found.tinted_g, question)} in the pot take {_others(found, question)}. If you mix less of "
            f"it: {ratio} to each 100 g of {tinted_label(part)}."
        )


def _where(one: Addition, question: Question) -> str:
    """Of a bottle that is there: how much it holds, where that is known."""
    bottle = next((b for b in question.bottles if b.name == one.letdown), None)
    if bottle is None or one.made is not None:
        return ""
    known = f", {bottle.left_g:.4g} g in it" if math.isfinite(bottle.left_g) else ""
    return f" (the bottle that is there already{known})"


def _pigment(grams: float, question: Question) -> str:
    return question.bench.shown(grams, question.bench.pigment_place(grams))


def _resin(grams: float, question: Question) -> str:
    return question.bench.shown(grams, question.bench.part_place(grams))


def _worth_pouring(found: Adjustment) -> bool:
    """Whether a pot that is left as it is may well come out within tolerance."""
    return found.outcome is not Outcome.KEEP or found.chance_before >= _EVEN


def too_thick_for_tile(thickness_mm: float, limit_mm: float) -> str:
    """Of a trial chip that is thicker than what can be read on a tile."""
    return (
        f"the trial chip is {numeral(thickness_mm)} mm thick and was read on a white tile, where it should be "
        f"{numeral(limit_mm)} mm at most: from a thicker one light is lost beside the instrument's opening, and it reads too "
        f"dark. Pour one of {numeral(limit_mm)} mm before you add anything."
    )


def _keep(found: Adjustment, question: Question) -> str:
    if found.chance_before >= question.good:
        likely = "is likely" if found.tells_chance else "is"
        return f"leave it: it {likely} within tolerance at every place{_with(found, found.chance_before)}."
    so_far = f"the chance that every place is within tolerance is {chance(found.chance_before)}, and "
    so_far = so_far if found.tells_chance else ""
    if _worth_pouring(found):
        more = ""
        if all(one.delta_e00 <= one.tolerance for one in found.before):
            more = " As it reads it is right; only another reading makes that surer: of a second chip" + (
                "." if _is_on_tile(question) else ", thicker if you can."
            )
        return f"leave it: {so_far}nothing that can be added makes it much better.{more}"
    return (
        f"leave it, and do not pour it yet: {so_far}neither what can be added nor a fresh batch of the same pigments "
        f"makes it much better{_with(found, found.chance_fresh, 'fresh: ')}. Allow it another pigment, or find a new recipe."
    )


def _is_on_tile(question: Question) -> bool:
    return any(one.reading.on_tile for trial in question.trials for one in trial.sets)


def _with(found: Adjustment, value: float, what: str = "chance ") -> str:
    """A chance in brackets; none where reading or chips cannot be right, for it rests on them."""
    return f" ({what}{chance(value)})" if found.tells_chance else ""


def _list(found: Adjustment, question: Question) -> str:
    told = [f"{_pigment(one.weigh_g, question)} of {one.letdown or one.pigment}" for one in found.additions]
    if found.plain_g:
        told.append(f"{_resin(found.plain_g, question)} of untinted {part_label(found.part)}")
    return listed(told)


def _others(found: Adjustment, question: Question) -> str:
    return " and ".join(f"{_resin(grams, question)} of {part_named(name)}" for name, grams in found.other_parts)


def _add(found: Adjustment, question: Question) -> str:
    """What to stir in, the other parts, and what comes of it."""
    tinted = tinted_named(found.part)
    out = f"Take {_resin(found.aside_g, question)} of {tinted} out, then stir" if found.aside_g else ""
    then = f"; then mix all of it with {_others(found, question)}" if found.other_parts else ""
    into = "the mix" if question.part.mixed_minutes_ago is not None else "the rest" if out else tinted
    makes = f", which makes {found.mixed_g:.0f} g" if then and found.plain_g else ""
    said = "top it up"
    if found.outcome is Outcome.DILUTE:
        said = "it is too strong, and pigment cannot be taken out: dilute it"
    comes = (
        f" Every place is then within tolerance with a chance of {chance(found.chance_after)} (as it is: "
        f"{chance(found.chance_before)})."
    )
    stir = f"{said}. {out or 'Stir'} {_list(found, question)} into {into}{then}{makes}."
    return stir + comes if found.tells_chance else stir


def _start_again(found: Adjustment, question: Question) -> str:
    here, again, part = found.costs.get("adjust"), found.costs["start_again"], found.part
    doses = ", ".join(f"{pigment} {numeral(dose, 3, zeros=True)}" for pigment, dose in found.next_doses_phr.items())
    money = "" if again.money is None else f", {again.money:.2f} in money"
    why = "nothing that is worth putting into it brings it within tolerance"
    if here is not None:
        spent = "" if here.money is None else f", {here.money:.2f} in money"
        why = f"putting it right would take {rough_g(here.resin_g)} of {part_named(part)}{spent}, and be dearer"
    return (
        f"start again: {why}. A fresh batch takes {rough_g(again.resin_g)} of {part_named(part)}{money}; weigh for these "
        f"lots, in g per 100 g of mixed resin: {doses or 'no pigment'}{_with(found, found.chance_fresh)}."
    )


def rough_g(grams: float) -> str:
    """Grams of a cost, as fine as it is small.

    >>> rough_g(179.7), rough_g(7.24), rough_g(0.31)
    ('180 g', '7.2 g', '0.31 g')
    """
    return f"{grams:.{0 if grams >= 10 else 1 if grams >= 1 else 2}f} g"


def _too_late(found: Adjustment, question: Question) -> str:
    age, life = question.part.mixed_minutes_ago, question.pot_life_min
    if life is None:
        return (
            "add nothing to it: it is mixed, and the resin's file does not say how long it stays open, so whether anything "
            "may still go in cannot be told."
        )
    if age is not None and age >= life:
        why = f"mixed {numeral(age)} minutes ago, and its pot life is {numeral(life)}"
    else:
        why = "it is mixed, and what it needs cannot be put in without spoiling the mixing ratio or in the time that is left"
    return f"too late: {why}. Add nothing to it."


def times_chance(surprise: float) -> str:
    """How many times as far off as errors of this size lie on average, from a chi-square a value.

    >>> times_chance(110.0), times_chance(2.6)
    ('10', '1.6')
    """
    return numeral(math.sqrt(surprise), 2)


def surprise(belief: Belief, kind: str) -> str:
    """Of a reading that lots and scales do not explain. kind: of the reading; a spectrum's numbers are too many to tell."""
    foreseen = ""
    if kind in _VALUES:
        pairs = zip(_VALUES[kind], belief.expected, belief.observed, strict=True)
        each = ", ".join(f"{name} {numeral(seen, 3)} (read {numeral(read, 3)})" for name, seen, read in pairs)
        foreseen = f": predicted was {each}"
    return (
        f"this reading is not what these weights and lots can well give{foreseen}; it differs by {times_chance(belief.surprise)} "
        "times what chance allows. Before adding anything, check what was weighed, the chip's label, its thickness, the "
        "light it was read under, and that every bottle was stirred; read it again."
    )


def slipped(pigment: str, weighed: float, strength: float) -> Note:
    """Of a pigment that may have been weighed wrong. weighed: times what it is taken for; strength: of its lot, if not."""
    return Note(
        says=f"it may be that {pigment} was weighed wrong: the trial reads as if {numeral(weighed, 2)} times as much of it had "
        f"gone in, or as if its lot were {numeral(strength, 2)} times as strong as the chips'. The reading alone does not tell "
        "which, and each asks for another top-up; the 95 % that are told of this one allow for both.",
        remedy=Remedy.SAY_WHAT_WENT_IN,
        facts={"pigment": pigment},
    )


def bench_warnings(found: Adjustment, question: Question) -> Iterator[str]:
    """Of the pot, the mix and the scale."""
    part = question.part
    if part.pot_g is None and (found.plain_g or found.outcome is Outcome.START_AGAIN):
        yield (
            f"how much fits into the pot is not said; taken as {part.full_g:g} g of {tinted_label(found.part)}, "
            f"{ROOM:g} times the {part.left_g:g} g that are in it."
        )
    if part.mixed_minutes_ago is not None and found.outcome is Outcome.TOP_UP and question.pot_life_min is not None:
        left = question.pot_life_min - part.mixed_minutes_ago
        yield (
            f"it is mixed already, and {left:.0f} minutes of its pot life are left: if there is any doubt, leave it alone. "
            "Never thin a mix that has begun to thicken."
        )
    for one in found.additions:
        if one.spread > _ROUGHLY:
            better = "a finer scale" if one.letdown else "a finer scale or a stock bottle"
            yield (
                f"{_pigment(one.weigh_g, question)} of {one.letdown or one.pigment} are weighed only to "
                f"{100 * one.spread:.0f} %; {better} would do better."
            )
    bench = question.bench
    weights = [(one.letdown or one.pigment, one.weigh_g, bench.pigment_place(one.weigh_g)) for one in found.additions]
    parts = (
        (f"untinted {part_label(found.part)}", found.plain_g),
        *((part_named(name), grams) for name, grams in found.other_parts),
    )
    weights += [(what, grams, bench.part_place(grams)) for what, grams in parts]
    for what, grams, place in weights:
        most = bench.on(place.scale).most_g
        goes = max(place.portions, math.ceil(grams / most - 1e-9))
        if goes > 1:
            yield (
                f"{bench.shown(grams, place)} of {what} are more than the scale takes at once ({most:g} g, its vessel "
                f"besides): weigh them in {goes} goes."
            )
    if question.need_g is not None and found.mixed_g < question.need_g * 0.995 and not part.mixed_minutes_ago:
        yield (
            f"it makes {found.mixed_g:.0f} g of mixed resin and the pour needs {question.need_g:g} g: make up the rest by the "
            "doses for the next pour."
        )
