"""The order of work of a batch sheet, as common practice has it, with the weights in their places."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from tintmix.errors import Note, Remedy
from tintmix.numerals import capital, listed, numeral
from tintmix.resin import Part, Resin
from tintmix.sheet.cautions import BEFORE_OPENING, told_again_at
from tintmix.sheet.lines import Blank, Kind, Line, Stage, Step, grams_plain
from tintmix.sheet.looks import Looks, stronger
from tintmix.weighing.scales import Scale, decimals, shown
from tintmix.weighing.weighed import (
    LetdownMade,
    WeighOut,
    minutes,
    opens_for_trial,
    part_label,
    part_named,
    tinted_named,
)

TRIAL_G = 20.0
"""Mixed resin for a trial chip; less where that would be more than a tenth of the batch."""
_TRIAL_SHARE = 0.1
_LEAST_TRIAL_G = 5.0
_TRIAL_STEPS = 20
"""Steps of the scale below which a trial is not worth weighing: it would be off by more than 2.5 %."""
_DENSITY = 1.1
"""g/cm³ where the resin does not say it: for the size of a pot only."""
_CUP_TIMES = (3, 4)
_LAST = ("peroxide", "isocyanate")


def stages_of(
    name: str,
    resin: Resin,
    weighed: WeighOut,
    looks: Looks,
    lots: Mapping[str, str],
    per_tinted: Mapping[str, float],
) -> tuple[Stage, ...]:
    """The whole order of work. name: of the recipe. per_tinted: grams of each other part for a gram of finished tinted part."""
    tinted = weighed.tinted_part.name
    others = others_last(resin, tinted)
    before = [_ready(weighed), *_bottles(weighed, lots), _weigh_tinted(resin, weighed), _add_pigment(weighed, lots)]
    # Without pigment there is no tint to stir in, to look at or to try.
    if weighed.pigments:
        before += [_stir(weighed), _look(tinted, looks, resin, weighed)]
        if others:
            before.append(_trial(others, weighed, per_tinted, resin))
    stages = [
        _beforehand(resin, weighed, others, tuple(before)),
        Stage("On the day", "Before the clock starts." if others else "", (_lay_out(weighed, others),)),
    ]
    if others:
        stages.append(_clock(others, weighed, per_tinted, resin))
    stages.append(Stage("The pour", "", _pour(name, looks, resin)))
    return tuple(stages)


def _in_pot(weighed: WeighOut) -> str:
    """What stands in the pot before the other parts go in, as it is named in a sentence."""
    name = weighed.tinted_part.name
    return tinted_named(name) if weighed.pigments else part_named(name)


def _beforehand(resin: Resin, weighed: WeighOut, others: Sequence[Part], steps: tuple[Step, ...]) -> Stage:
    """How far the work may be done the day before: up to the second part, if the tinted part does not mind the air."""
    tinted = weighed.tinted_part.name
    if next(part.hazard for part in resin.parts if part.name == tinted) == "isocyanate":
        return Stage(
            capital(_in_pot(weighed)),
            f"No hurry yet; but moisture spoils {part_named(tinted)}: do this shortly before the pour, and keep every vessel of "
            "it shut.",
            steps,
        )
    if not others:
        return Stage("The day before", "No hurry yet.", steps)
    others_listed = listed([part_named(part.name) for part in others])
    return Stage(
        "The day before",
        f"No hurry yet. Everything up to {others_listed} can be done the day before; keep {_in_pot(weighed)} covered.",
        steps,
    )


def others_last(resin: Resin, tinted: str) -> tuple[Part, ...]:
    """The parts that take no pigment, in the order in which they go in: the one that minds moisture last.

    >>> resin = Resin(parts=(Part("A", 1, "isocyanate"), Part("B", 1), Part("C", 0.1)), takes_pigment="B")
    >>> [part.name for part in others_last(resin, "B")]
    ['C', 'A']
    """
    others = [part for part in resin.parts if part.name != tinted]
    return tuple(sorted(others, key=lambda part: _LAST.index(part.hazard) if part.hazard in _LAST else -1))


def _ready(weighed: WeighOut) -> Step:
    says = [
        BEFORE_OPENING,
        "Resin, bottles and room warm and dry, as the data sheet says. Let the scales warm up; stand them level and out of the "
        "draught.",
        "Stir every bottle and every paste to the bottom: pigment settles."
        if weighed.pigments
        else "Stir every bottle to the bottom.",
        "Tick a box when the thing is in, and write what the scale showed on the line beside it. If it is not the number that "
        "stands there, what you write down is what counts.",
    ]
    coarse, fine = weighed.scales.resin, weighed.scales.pigment
    if not weighed.scales.are_one and decimals(coarse) != decimals(fine):
        says.append(
            f"Two scales: grams with {_decimals_told(coarse)} go on the one that shows {coarse.readability_g:g} g, those with "
            f"{_decimals_told(fine)} on the one that shows {fine.readability_g:g} g."
        )
    made = [one.carrier_g for one in weighed.letdowns if not one.existing]
    if made:
        part = weighed.tinted_part
        whole = shown(part.grams_to_weigh + sum(made), weighed.scale(part.scale))
        stock = "stock bottle" if len(made) == 1 else "stock bottles"
        says.append(f"Needed of {part_named(part.name)} in all, with the new {stock}: {whole}.")
    if weighed.pigments:
        says.append(
            "Small weights by difference: bottle and dropper on the scale, set it to zero, take out, read what is missing. Drops "
            "that fall slowly onto a pocket scale are swallowed by its own zeroing."
        )
    return Step("Get ready", tuple(says))


def _bottles(weighed: WeighOut, lots: Mapping[str, str]) -> list[Step]:
    """The stock bottles: how they are made, once, then each of them."""
    made = [one for one in weighed.letdowns if not one.existing]
    steps = []
    if made:
        n = f"{numeral(made[0].n, 4)}"
        steps.append(
            Step(
                "Make the stock bottles" if len(made) > 1 else "Make the stock bottle",
                (
                    f"1+{n} means one part of pigment in {n} parts of {part_named(made[0].carrier)}, by mass. Empty bottle on "
                    "the scale, zero; what stands first; zero again; then the rest. Missed a weight? Write it down, and weigh "
                    "the other as planned: the bottle is then what you wrote.",
                    "Stir or shake each for some minutes, down to the bottom. Write name, lot and date on it, and keep it: "
                    "trials and the next pour are dosed from the same bottle, so that what is wrong with it cancels.",
                ),
            )
        )
    return steps + [_bottle(one, weighed, lots) for one in weighed.letdowns]


def _bottle(one: LetdownMade, weighed: WeighOut, lots: Mapping[str, str]) -> Step:
    if one.existing:
        return _old_bottle(one)
    says = (f"About {grams_plain(one.left_g)} will be left over.",) if one.left_g >= 0.5 else ()
    strong, lot = one.from_letdown or "", lots.get(one.pigment, "")
    lines = (
        _line(weighed, Kind.FIRST, one.pigment, one.first_g, "pigment", out_of=strong, into=one.name, lot=lot),
        _line(
            weighed, Kind.CARRIER, one.carrier, one.carrier_g, one.carrier_scale, one.carrier_portions, into=one.name
        ),
    )
    return Step(f"Stock bottle {one.name}", says, lines)


def _old_bottle(one: LetdownMade) -> Step:
    age = "" if one.age_days is None else ", a day old" if one.age_days == 1 else f", {one.age_days} days old"
    made = f", made on {one.made_on}{age}" if one.made_on else ""
    says = [f"You have it{made}. Stir or shake it down to the bottom: what is in it settles."]
    if abs(one.strength - 1.0) > 0.001:
        says.append(
            f"It is {100 * one.strength:.0f} % as strong as the chips' pigment; the weights below allow for that."
        )
    return Step(f"Take the stock bottle {one.name}", tuple(says))


def _weigh_tinted(resin: Resin, weighed: WeighOut) -> Step:
    part = weighed.tinted_part
    volume = weighed.batch_g / (resin.density_g_per_cm3 or _DENSITY)
    low, high = (_volume(times * volume) for times in _CUP_TIMES)
    says = [f"Into a clean, dry pot. One that holds {low} to {high}, if the mix will be degassed in it."]
    if part.carrier_g > 0:
        says.append(
            f"Another {shown(part.carrier_g, weighed.scales.pigment)} of {part_named(part.name)} come with the stock bottles; "
            "they are taken off already."
        )
    line = _line(weighed, Kind.PART, part.name, part.grams_to_weigh, part.scale, part.portions)
    return Step(f"Weigh {part_named(part.name)}", tuple(says), (line,))


def _add_pigment(weighed: WeighOut, lots: Mapping[str, str]) -> Step:
    tinted = part_named(weighed.tinted_part.name)
    lines = []
    for one in weighed.pigments:
        brings = f"brings {one.grams:.3g} g of {one.pigment}" if one.letdown else "as supplied"
        out_of, lot = one.letdown or "", lots.get(one.pigment, "")
        lines.append(
            _line(
                weighed, Kind.PIGMENT, one.pigment, one.weigh_g, one.scale, one.portions, brings, out_of=out_of, lot=lot
            )
        )
    if not lines:
        return Step("Add no pigment", ("This recipe is the untinted resin.",))
    return Step(
        f"Add the pigment to {tinted}",
        (f"All of it goes into {tinted}, before anything else.",),
        tuple(lines),
    )


def _stir(weighed: WeighOut) -> Step:
    part = weighed.tinted_part
    return Step(
        f"Stir {tinted_named(part.name)}",
        (
            "Slowly, for three minutes at least, scraping sides and bottom, until no streak is left. Let the bubbles rise.",
            f"Without its pot it should weigh {shown(weighed.tinted_part_g, weighed.scale(part.scale))}.",
        ),
        blanks=(Blank("the empty pot weighs"), Blank(f"{tinted_named(part.name)} weighs")),
    )


def _look(tinted: str, looks: Looks, resin: Resin, weighed: WeighOut) -> Step:
    times = stronger(resin, tinted)
    says = [
        "Pour some into a flat clear dish on the light panel, 10 to 20 mm deep, and look down through it. "
        + (
            f"It holds the whole batch's pigment, so it is {times:.2f} times as strong as the mixed resin. "
            if times > 1
            else ""
        )
        + "It should look about like this:",
        f"A coarse check: it is liquid, {part_named(tinted)} has a colour of its own, and cure shifts colour. It finds a wrong "
        "bottle or a slipped decimal, no more. Plainly another colour? Stop, and go over the weights. Pour it back afterwards.",
    ]
    if any(cup.beyond for cup in looks.cups):
        says.append("As strong a tint as this was never measured on a chip: an even rougher guide here.")
    return Step(f"Look at {tinted_named(tinted)} alone", tuple(says), shows_cups=True)


def _trial(others: Sequence[Part], weighed: WeighOut, per_tinted: Mapping[str, float], resin: Resin) -> Step:
    tinted = weighed.tinted_part.name
    title = "If you like: a trial chip"
    # It comes before the day of the pour.
    opens = opens_for_trial([part.name for part in others], resin.pot_life_min)
    mixed = min(TRIAL_G, _TRIAL_SHARE * weighed.batch_g)
    fine: Scale = min((weighed.scales.resin, weighed.scales.pigment), key=lambda scale: scale.readability_g)
    sample = fine.rounded(mixed / (1.0 + sum(per_tinted.values())))
    adds = {part.name: fine.rounded(sample * per_tinted[part.name]) for part in others}
    too_coarse = min(sample, *adds.values()) < _TRIAL_STEPS * fine.readability_g
    if mixed < _LEAST_TRIAL_G or too_coarse:
        why = "This batch is too small" if mixed < TRIAL_G else "The scale is too coarse"
        aside = f"{why} to take one from it. Make it from the same bottles, in a batch of its own."
        return Step(title, (aside, opens))
    lines = [Line(kind=Kind.SAMPLE, of=tinted, grams=sample, scale=fine, note="from the pot")]
    lines += [Line(kind=Kind.TRIAL, of=name, grams=grams, scale=fine) for name, grams in adds.items()]
    return Step(
        title,
        (
            "Mix a little with what belongs to it, cast it as thick as a place on the casting, and cure it as the casting will "
            "be cured. Only then is the colour what it will be.",
            Note(
                says=f"The batch gets {grams_plain(mixed)} smaller by it. Is its colour not the one you want? Do not mix "
                "the batch.",
                remedy=Remedy.TOP_UP_WHAT_IS_LEFT,
                facts={"tinted": tinted_named(tinted)},
            ),
            opens,
        ),
        tuple(lines),
    )


def _lay_out(weighed: WeighOut, others: Sequence[Part]) -> Step:
    says = [
        "Mould clean, dry, level and as warm as the data sheet asks; release agent and insert in place.",
        "Within reach: a second pot, a stirring stick, a timer, a mould for a chip. Gloves and goggles on, extraction running.",
    ]
    if weighed.pigments:
        says.append(f"Stir {tinted_named(weighed.tinted_part.name)} once more, down to the bottom.")
    wet = [part_named(part.name) for part in others if part.hazard == "isocyanate"]
    if wet:
        until = "but for a trial it" if weighed.pigments else "it"
        says.append(f"Moisture spoils {listed(wet)}: {until} stays shut until now, and is shut again at once.")
    return Step("Lay everything out", tuple(says))


def _clock(others: Sequence[Part], weighed: WeighOut, per_tinted: Mapping[str, float], resin: Resin) -> Stage:
    parts = {part.name: part for part in weighed.parts}
    in_pot = _in_pot(weighed).removeprefix("the ")
    took = "you poured too much, or took a trial" if weighed.pigments else "you poured too much"
    lines = [
        _line(weighed, Kind.OTHER, part.name, part.grams_to_weigh, part.scale, part.portions)
        for part in (parts[one.name] for one in others)
    ]
    times = {one.name: _times(per_tinted[one.name]) for one in others}
    rule = "; ".join(f"{part_label(name)} = this × {factor}" for name, factor in times.items())
    says = [
        f"If the pot does not hold as much {in_pot} as planned ({took}), weigh it: {rule}.",
        "Pour in a thin stream and stop short: what is too much cannot be taken out.",
    ]
    if len(others) > 1:
        says.insert(0, "In this order, each stirred in to the last streak before the next is opened.")
    blanks = (
        Blank(f"{in_pot} in the pot"),
        *(Blank(f"× {factor} = {part_label(name)}") for name, factor in times.items()),
    )
    life = resin.pot_life_min
    told = (
        f"The mix stays pourable for about {minutes(life)} from here, less when it is warm or much."
        if life is not None
        else "The data sheet says how long the mix stays pourable; the resin file does not."
    )
    steps = (
        Step(f"Add {listed([part_named(one.name) for one in others])}", tuple(says), tuple(lines), blanks),
        Step(
            "Mix",
            (
                "Slowly, as long as the data sheet says, scraping sides and bottom. Then all into the second pot, without "
                "scraping out what clings to the first, and mix again.",
            ),
        ),
        Step(
            "Degas, if you have a vacuum chamber",
            (
                "In a pot three to four times as large as the mix. The foam rises, then falls back into itself; then a minute or "
                "two more. Stop in time to pour.",
                *told_again_at("vacuum", resin),
            ),
        ),
    )
    title = "CLOCK STARTS" if life is None else f"CLOCK STARTS: {minutes(life)}"
    return Stage(title, f"{told} From here on nothing can be corrected.", steps, clock=True)


def _pour(name: str, looks: Looks, resin: Resin) -> tuple[Step, ...]:
    thin = min(place.thickness_mm for place in looks.places)
    cure = f"{capital(resin.cure).rstrip('.')}." if resin.cure else "As the data sheet says."
    if resin.demould_h is not None:
        cure += f" Out of the mould after {numeral(resin.demould_h)} h."
    return (
        Step(
            "Pour, and keep a chip",
            (
                "In a thin stream, at the lowest place; let the resin find its way.",
                f"What is left goes into the chip mould, {numeral(thin)} mm deep or as deep as it allows. Write on "
                f"it: {name}, this "
                "sheet's fingerprint, the date. It is the proof of this pour and the start of the next.",
                *told_again_at("leftovers", resin),
            ),
        ),
        Step(
            "Cure",
            (cure, "The chip beside the casting, cured alike.", *told_again_at("cure", resin)),
            blanks=(Blank("poured at", ""), Blank("out of the mould at", "")),
        ),
    )


def _line(
    weighed: WeighOut,
    kind: Kind,
    of: str,
    grams: float,
    on: str,
    portions: Sequence[float] = (),
    *notes: str,
    **more: str,
) -> Line:
    """A weight on the scale of that name; in how many goes where it cannot take it at once, and on which scale where there are
    two and the number of decimals does not tell."""
    scale, scales = weighed.scale(on), weighed.scales
    said = [*notes]
    if len(portions) > 1:
        said.append(f"in {len(portions)} goes: {' + '.join(shown(one, scale)[:-2] for one in portions)} g")
    if not scales.are_one and decimals(scales.resin) == decimals(scales.pigment):
        said.append(f"on the {scale.readability_g:g} g scale")
    return Line(kind=kind, of=of, grams=grams, scale=scale, note="; ".join(said), **more)


def _decimals_told(scale: Scale) -> str:
    count = decimals(scale)
    return f"{('no', 'one', 'two', 'three', 'four', 'five', 'six')[count]} decimal{'s' * (count > 1)}"


def _times(factor: float) -> str:
    """A factor to reckon with on paper: four decimals, more where it is small."""
    return f"{factor:.4f}" if factor >= 0.1 else f"{numeral(factor, 4)}"


def _volume(cm3: float) -> str:
    if cm3 >= 950:
        return f"{cm3 / 1000:.{1 if cm3 < 9950 else 0}f} l"
    return f"{round(cm3, -1 if cm3 >= 100 else 0):.0f} ml"
