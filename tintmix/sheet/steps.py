"""The order of work of a batch sheet, with the weights in their places. The words of each step are data: steps.toml."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from string import Formatter
from typing import Any

from tintmix.errors import Note, Remedy
from tintmix.numerals import capital, listed, numeral
from tintmix.resin import Part, Resin
from tintmix.sheet.cautions import BEFORE_OPENING, told_again_at
from tintmix.sheet.lines import Blank, Kind, Line, Stage, Step, grams_plain
from tintmix.sheet.looks import Looks, stronger
from tintmix.weighing.cups import SPILL
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
"""Mixed resin for a trial at least: less cannot be mixed well; less where that would be more than a tenth of the batch."""
_TRIAL_SHARE = 0.1
"""Of the batch, at most: what the trial takes, the casting goes without."""
_LEAST_TRIAL_G = 5.0
_CHIP_MM = 30.0
"""Edge of a trial chip: what the opening of a hand-held instrument and a window of the holder sheet ask (common practice)."""
_TRIAL_STEPS = 20
"""Steps of the scale below which a trial is not worth weighing: it would be off by more than 2.5 %."""
_DENSITY = 1.1
"""g/cm³ where the resin does not say it: for the size of a pot only."""
_CUP_TIMES = (3, 4)
_LAST = ("peroxide", "isocyanate")

Facts = Mapping[str, str | None]
"""What the words of steps.toml may name; None: not so of this batch."""


def stages_of(
    name: str,
    resin: Resin,
    weighed: WeighOut,
    looks: Looks,
    lots: Mapping[str, str],
    per_tinted: Mapping[str, float],
) -> tuple[Stage, ...]:
    """The whole order of work. name: of the recipe. per_tinted: grams of each other part for a gram of finished tinted part."""
    others = others_last(resin, weighed.tinted_part.name)
    work = _Work(resin, weighed, lots, per_tinted, others, _facts(name, resin, weighed, looks, others), looks)
    before = [work.step("ready"), *work.bottles(), work.weigh_part(), work.add_pigment()]
    # Without pigment there is no tint to stir in, to look at or to try.
    if weighed.pigments:
        before += [work.step("stir"), work.step("look")]
        if others:
            before.append(work.trial())
    alone = "" if others else "-alone"
    # The day before, up to the second part, if the tinted part does not mind the air.
    minds_air = next(part.hazard for part in resin.parts if part.name == weighed.tinted_part.name) == "isocyanate"
    stages = [
        work.stage("shortly-before" if minds_air else f"day-before{alone}", *before),
        work.stage(f"on-the-day{alone}", work.step("lay-out")),
    ]
    if others:
        clock = "clock" if resin.pot_life_min is not None else "clock-unsaid"
        stages.append(work.stage(clock, work.add_others(), work.step("mix"), work.step("degas"), clock=True))
    return (*stages, work.stage("pour", work.step("pour"), work.step("cure")))


def others_last(resin: Resin, tinted: str) -> tuple[Part, ...]:
    """The parts that take no pigment, in the order in which they go in: the one that minds moisture last.

    >>> resin = Resin(parts=(Part("A", 1, "isocyanate"), Part("B", 1), Part("C", 0.1)), takes_pigment="B")
    >>> [part.name for part in others_last(resin, "B")]
    ['C', 'A']
    """
    others = [part for part in resin.parts if part.name != tinted]
    return tuple(sorted(others, key=lambda part: _LAST.index(part.hazard) if part.hazard in _LAST else -1))


def _facts(name: str, resin: Resin, weighed: WeighOut, looks: Looks, others: Sequence[Part]) -> Facts:
    """What holds for the whole batch."""
    part, pigments = weighed.tinted_part, bool(weighed.pigments)
    scale, coarse, fine = weighed.scale(part.scale), weighed.scales.resin, weighed.scales.pigment
    in_pot = tinted_named(part.name) if pigments else part_named(part.name)
    volume = weighed.batch_g / (resin.density_g_per_cm3 or _DENSITY)
    small_cm3, large_cm3 = (times * volume for times in _CUP_TIMES)
    made = [one for one in weighed.letdowns if not one.existing]
    needed = part.grams_to_weigh + sum(one.carrier_g for one in made)
    tell_apart = not weighed.scales.are_one and decimals(coarse) != decimals(fine)
    times = stronger(resin, part.name)
    as_strong = f"It holds the whole batch's pigment, so it is {times:.2f} times as strong as the mixed resin. "
    wet = listed([part_named(one.name) for one in others if one.hazard == "isocyanate"])
    cure = f"{capital(resin.cure).rstrip('.')}." if resin.cure else "As the data sheet says."
    if resin.demould_h is not None:
        cure += f" Out of the mould after {numeral(resin.demould_h)} h."
    return {
        "name": name,
        "pigments": "" if pigments else None,
        "part": part_named(part.name),
        "tinted": tinted_named(part.name),
        "in_pot": in_pot,
        "In_pot": capital(in_pot),
        "label_in_pot": in_pot.removeprefix("the "),
        "others": listed([part_named(one.name) for one in others]),
        "many": "" if len(others) > 1 else None,
        "pot_life": None if resin.pot_life_min is None else minutes(resin.pot_life_min),
        "before_opening": BEFORE_OPENING,
        "coarse_decimals": _decimals_told(coarse) if tell_apart else None,
        "fine_decimals": _decimals_told(fine),
        "coarse_g": f"{coarse.readability_g:g}",
        "fine_g": f"{fine.readability_g:g}",
        "n": numeral(made[0].n, 4) if made else None,
        "stock_bottles": "stock bottle" if len(made) == 1 else "stock bottles",
        "needed": shown(needed, scale) if made else None,
        "pot_from_to": _volumes(small_cm3, large_cm3),
        "carrier": shown(part.carrier_g, fine) if part.carrier_g > 0 else None,
        "tinted_g": shown(weighed.tinted_part_g, scale),
        "stronger": as_strong if times > 1 else "",
        "beyond": "" if any(cup.beyond for cup in looks.cups) else None,
        "wet": wet or None,
        "until": "but for a trial it" if pigments else "it",
        "took": "you poured too much, or took a trial" if pigments else "you poured too much",
        "thin": numeral(min(place.length_mm for place in looks.places), 3),
        "cure": cure,
        "on_tile": None if looks.thickest_trial_mm is None else "",
    }


@dataclass(frozen=True, slots=True)
class _Work:
    """A batch, and what is done for it. others: the parts that take no pigment, in the order in which they go in."""

    resin: Resin
    weighed: WeighOut
    lots: Mapping[str, str]
    per_tinted: Mapping[str, float]
    others: Sequence[Part]
    facts: Facts
    looks: Looks

    def stage(self, key: str, *steps: Step, clock: bool = False) -> Stage:
        words = _words()["stage"][key]
        return Stage(words["title"].format_map(self.facts), words["says"].format_map(self.facts), steps, clock)

    def step(self, key: str, lines: Sequence[Line] = (), more: Sequence[Blank] = (), **own: str | None) -> Step:
        """A step in its words. own: facts of this step alone; more: blanks besides those of the words."""
        words, facts = _words()["step"][key], {**self.facts, **own}
        cautions = told_again_at(words["caution"], self.resin) if "caution" in words else ()
        blanks = [Blank(what.format_map(facts)) for what in words.get("blanks", ())]
        times = [Blank(what, "") for what in words.get("times", ())]
        return Step(
            words["title"].format_map(facts),
            (*_told(words["says"], facts), *cautions),
            tuple(lines),
            (*blanks, *more, *times),
            words.get("shows_cups", False),
        )

    def bottles(self) -> Iterator[Step]:
        """The stock bottles: how they are made, once, then each of them."""
        if not all(one.existing for one in self.weighed.letdowns):
            yield self.step("make-bottles")
        for one in self.weighed.letdowns:
            yield self._old_bottle(one) if one.existing else self._new_bottle(one)

    def _old_bottle(self, one: LetdownMade) -> Step:
        age = "" if one.age_days is None else ", a day old" if one.age_days == 1 else f", {one.age_days} days old"
        made = f", made on {one.made_on}{age}" if one.made_on else ""
        strong = f"{100 * one.strength:.0f}" if abs(one.strength - 1.0) > 0.001 else None
        return self.step("old-bottle", bottle=one.name, made=made, strong=strong)

    def _new_bottle(self, one: LetdownMade) -> Step:
        strong, lot = one.from_letdown or "", self.lots.get(one.pigment, "")
        put_to_it = (one.carrier, one.carrier_g, one.carrier_scale, one.carrier_portions)
        lines = [
            self._line(Kind.FIRST, one.pigment, one.first_g, "pigment", out_of=strong, into=one.name, lot=lot),
            self._line(Kind.CARRIER, *put_to_it, into=one.name),
        ]
        left = grams_plain(one.left_g) if one.left_g >= 0.5 else None
        return self.step("new-bottle", lines, bottle=one.name, left=left)

    def weigh_part(self) -> Step:
        part = self.weighed.tinted_part
        return self.step(
            "weigh-part", [self._line(Kind.PART, part.name, part.grams_to_weigh, part.scale, part.portions)]
        )

    def add_pigment(self) -> Step:
        lines = []
        for one in self.weighed.pigments:
            brings = f"brings {one.grams:.3g} g of {one.pigment}" if one.letdown else "as supplied"
            to_weigh = (one.pigment, one.weigh_g, one.scale, one.portions, brings)
            lot = self.lots.get(one.pigment, "")
            lines.append(self._line(Kind.PIGMENT, *to_weigh, out_of=one.letdown or "", lot=lot))
        return self.step("add-pigment" if lines else "no-pigment", lines)

    def trial(self) -> Step:
        scales, tinted = self.weighed.scales, self.weighed.tinted_part.name
        # It comes before the day of the pour.
        opens = opens_for_trial([part.name for part in self.others], self.resin.pot_life_min)
        thick, mixed = _trial_chip(self.looks, self.resin, _TRIAL_SHARE * self.weighed.batch_g)
        fine: Scale = min((scales.resin, scales.pigment), key=lambda scale: scale.readability_g)
        sample = fine.rounded(mixed / (1.0 + sum(self.per_tinted.values())))
        adds = {part.name: fine.rounded(sample * self.per_tinted[part.name]) for part in self.others}
        if mixed < _LEAST_TRIAL_G or min(sample, *adds.values()) < _TRIAL_STEPS * fine.readability_g:
            why = "This batch is too small" if mixed < TRIAL_G else "The scale is too coarse"
            return self.step("trial-apart", why=why, opens=opens)
        lines = [Line(kind=Kind.SAMPLE, of=tinted, grams=sample, scale=fine, note="from the pot")]
        lines += [Line(kind=Kind.TRIAL, of=name, grams=grams, scale=fine) for name, grams in adds.items()]
        return self.step(
            "trial", lines, mixed=grams_plain(mixed), thick=numeral(thick, 3), edge=f"{_CHIP_MM:g}", opens=opens
        )

    def add_others(self) -> Step:
        parts = {part.name: part for part in self.weighed.parts}
        lines = [
            self._line(Kind.OTHER, part.name, part.grams_to_weigh, part.scale, part.portions)
            for part in (parts[one.name] for one in self.others)
        ]
        shares = {part_label(one.name): self.per_tinted[one.name] for one in self.others}
        # To reckon with on paper: four decimals, more where it is small.
        times = {label: f"{share:.4f}" if share >= 0.1 else numeral(share, 4) for label, share in shares.items()}
        rule = "; ".join(f"{label} = this × {factor}" for label, factor in times.items())
        blanks = [Blank(f"× {factor} = {label}") for label, factor in times.items()]
        return self.step("add-others", lines, blanks, rule=rule)

    def _line(
        self, kind: Kind, of: str, grams: float, on: str, portions: Sequence[float] = (), *notes: str, **more: str
    ) -> Line:
        """A weight on the scale of that name; in how many goes where it cannot take it at once, and on which scale where
        there are two and the number of decimals does not tell."""
        scale, scales = self.weighed.scale(on), self.weighed.scales
        said = [*notes]
        if len(portions) > 1:
            said.append(f"in {len(portions)} goes: {' + '.join(shown(one, scale)[:-2] for one in portions)} g")
        if not scales.are_one and decimals(scales.resin) == decimals(scales.pigment):
            said.append(f"on the {scale.readability_g:g} g scale")
        return Line(kind=kind, of=of, grams=grams, scale=scale, note="; ".join(said), **more)


def _trial_chip(looks: Looks, resin: Resin, most_g: float) -> tuple[float, float]:
    """How thick a trial chip is cast, mm, and the mixed resin for it, g: as thick as the thickest place for whose chip there
    is enough, or as what there is allows; on a white tile no thicker than the model's own chips."""
    grams_per_mm = _CHIP_MM**2 / 1000 * (resin.density_g_per_cm3 or _DENSITY) * SPILL
    fitting = [place.length_mm for place in looks.places if grams_per_mm * place.length_mm <= most_g]
    thick = max(fitting, default=0.0) or math.floor(most_g / grams_per_mm)
    thick = min(thick, looks.thickest_trial_mm or thick)
    return thick, max(grams_per_mm * thick, min(TRIAL_G, most_g))


@cache
def _words() -> dict[str, Any]:
    return tomllib.loads(Path(__file__).with_name("steps.toml").read_text(encoding="utf-8"))


def _told(sentences: Sequence[str | Mapping[str, str]], facts: Facts) -> Iterator[Note | str]:
    """The sentences that hold of this batch, with its facts in them."""
    for one in sentences:
        table = {"says": one} if isinstance(one, str) else one
        needed = [field for _, field, _, _ in Formatter().parse(table["says"]) if field]
        needed += [table["if"]] if "if" in table else []
        if any(facts[fact] is None for fact in needed) or facts.get(table.get("unless", "")) is not None:
            continue
        says = table["says"].format_map(facts)
        if "remedy" in table:
            yield Note(says=says, remedy=Remedy[table["remedy"]], facts={"tinted": facts["tinted"]})
        else:
            yield says


def _decimals_told(scale: Scale) -> str:
    count = decimals(scale)
    return f"{('no', 'one', 'two', 'three', 'four', 'five', 'six')[count]} decimal{'s' * (count > 1)}"


def _volumes(small_cm3: float, large_cm3: float) -> str:
    """From one volume to another, the unit once where it is one.

    >>> _volumes(1347.0, 1711.0), _volumes(450.0, 600.0), _volumes(800.0, 1020.0)
    ('1.3 to 1.7 litres', '450 to 600 ml', '800 ml to 1 litre')
    """
    (small, small_unit), (large, large_unit) = _volume(small_cm3), _volume(large_cm3)
    same = small_unit.removesuffix("s") == large_unit.removesuffix("s")
    return f"{small} to {large} {large_unit}" if same else f"{small} {small_unit} to {large} {large_unit}"


def _volume(cm3: float) -> tuple[str, str]:
    if cm3 >= 950:
        told = numeral(round(cm3 / 1000, 1 if cm3 < 9950 else 0))
        return told, "litre" if told == "1" else "litres"
    return f"{round(cm3, -1 if cm3 >= 100 else 0):.0f}", "ml"
