"""A recipe on the scale at hand: parts, pigments, letdowns, rounding, and what the weighing may do to the colour.

What is put on a scale is never below ten of its steps nor above nine tenths of its capacity. The carrier in a letdown is
resin of the tinted part and counts toward it, so the mix ratio stays exact (physics §13).
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import numpy as np

from tintmix.errors import Remedy
from tintmix.files.words import plain
from tintmix.optics.spectrum import Array
from tintmix.quantities import BATCH_G, DELTA_E00, DOSE_PHR, SHARE, STRENGTH
from tintmix.resin import Resin
from tintmix.weighing.advice import advise
from tintmix.weighing.bottle import StockBottle
from tintmix.weighing.budget import COVERS_95, WEIGHING_RESIN
from tintmix.weighing.choice import largest_moves
from tintmix.weighing.layout import Job, Laid, lay, no_scale, refusal, tinted_part, unplaced
from tintmix.weighing.letdown import Need, with_shelf
from tintmix.weighing.scales import Bench, shown
from tintmix.weighing.weighed import BudgetLine, LetdownMade, PigmentWeight, WeighOut, bottles_of, part_named


def weigh_out(
    doses_phr: Mapping[str, float],
    resin: Resin,
    batch_g: float,
    scales: Bench,
    *,
    moves: Array,
    shelf: Sequence[StockBottle] = (),
    today: str = "",
    strengths: Mapping[str, tuple[float, float]] | None = None,
    lots: Mapping[str, str] | None = None,
    is_other_resin: bool = False,
    aim_delta_e00: float = 0.5,
) -> WeighOut:
    """What to put on which scale for a batch.

    doses_phr: grams of the model's pigment per 100 g of mixed resin, all parts, before pigment. batch_g: mixed resin, without
    pigment. moves (sections, 3, pigments, in the order of doses_phr): derivative of the three residuals of CIEDE2000
    (`tintmix.optics.difference`) by ln dose, so that ΔE00 ≈ |moves @ relative error|; no sections: nothing is known of the
    colour, and all is weighed neat that a scale can show. shelf: stock bottles at hand; those made with the tinted part are
    used where neat pigment would break the aim, the oldest first. today: ISO date, for their age. strengths: of each
    pigment's lot in hand against the model's (factor, relative spread); the weight is dose/strength. lots: their names.
    is_other_resin: than the one that the recipe was found for: then bottles whose resin nobody says stay on the shelf.
    aim_delta_e00: what rounding and weighing may do to the colour, within 95 %, at any section.

    Raises ValueProblem, NotThere, CannotBeWeighed. An aim
    that the scale cannot keep is no error: meets_aim is False, and advice says what would help.

    0.0945 g of azure on a pocket scale of 0.01 g, for a part where 1 % of azure is ΔE00 0.1:

    >>> from tintmix.resin import Part
    >>> from tintmix.weighing.scales import scales_from_text
    >>> resin = Resin(parts=(Part("A", 100, "isocyanate"), Part("B", 90)), takes_pigment="B")
    >>> moves = np.array([[[10.0], [0.0], [0.0]]])
    >>> out = weigh_out({"azure": 0.021}, resin, 450.0, scales_from_text(["0.01"]), moves=moves)
    >>> out.letdowns[0].name, out.pigments[0].weigh_g, out.meets_aim
    ('azure 1+30', 2.93, True)
    >>> [round(part.grams_total, 2) for part in out.parts], [part.grams_to_weigh for part in out.parts]
    ([236.84, 213.16], [236.84, 210.32])
    """
    strengths, lots = strengths or {}, lots or {}
    BATCH_G.check("the batch", batch_g)
    tinted = tinted_part(resin).name
    for pigment, dose in doses_phr.items():
        DOSE_PHR.check(f"the dose of {plain(pigment)}", dose)
        factor, spread = strengths.get(pigment, (1.0, 0.0))
        STRENGTH.check(f"the strength of {plain(pigment)}", factor, remedy=Remedy.READ_THE_CHECK_CHIP_AGAIN)
        SHARE.check(f"the relative spread of {plain(pigment)}'s strength", spread)
    moves = np.asarray(moves, dtype=np.float64)
    if moves.ndim != 3 or moves.shape[1:] != (3, len(doses_phr)) or not np.isfinite(moves).all():
        raise ValueError(f"moves must be finite and (sections, 3, {len(doses_phr)}), not {moves.shape}")
    used = [p for p, dose in enumerate(doses_phr.values()) if dose > 0]
    moves = np.ascontiguousarray(moves[:, :, used])
    doses = {pigment: float(dose) for pigment, dose in doses_phr.items() if dose > 0}
    needs = tuple(
        with_shelf(
            Need(pigment, dose * batch_g / 100.0, *strengths.get(pigment, (1.0, 0.0)), (), lots.get(pigment, "")),
            shelf, tinted, resin.name, is_other_resin,
        )
        for pigment, dose in doses.items()
    )  # fmt: skip
    moved_by: list[list[float]] = np.sqrt((moves * moves).sum(axis=1)).tolist()
    job = Job(doses, needs, moves, moved_by, resin, tinted, float(batch_g), scales)
    DELTA_E00.check("the aim", aim_delta_e00)
    if too_much := unplaced(job):
        raise no_scale(*too_much, job)
    laid = lay(job, aim_delta_e00)
    if isinstance(laid, str):
        raise refusal(job, laid)
    return _told(job, laid, aim_delta_e00, today, {bottle.name for bottle in shelf})


def _told(job: Job, laid: Laid, aim: float, today: str, taken: set[str]) -> WeighOut:
    names, letdowns = bottles_of(job.needs, laid.options, laid.weights, job.tinted, taken, today)
    pigments = tuple(
        PigmentWeight(
            need.pigment, dose, option.grams, name, weight, option.spread, option.place.split(weight), option.place.scale,
            option.source.strength, option.source.strength_spread,
        )
        for need, dose, option, name, weight in zip(
            job.needs, job.doses_phr.values(), laid.options, names, laid.weights, strict=True
        )
    )  # fmt: skip
    lines = _budget(job, laid, letdowns, names)
    with_lots = laid.delta_e00
    if any(option.source.strength_spread for option in laid.options):
        with_lots = laid.moved(job.moves, with_lots=True)
    ratio_error, ratio_spread = _mix_ratio(job, laid)
    meets = laid.worst <= aim
    return WeighOut(
        batch_g=job.batch_g,
        batch_weighed_g=laid.weighed_g,
        parts=laid.parts,
        pigments=pigments,
        letdowns=letdowns,
        achieved_phr={
            pigment: dose * (1.0 + error)
            for (pigment, dose), error in zip(job.doses_phr.items(), laid.errors.tolist(), strict=True)
        },
        mix_ratio_error=ratio_error,
        mix_ratio_spread=ratio_spread,
        delta_e00_95=tuple(laid.delta_e00.tolist()),
        delta_e00_95_worst=laid.worst,
        delta_e00_95_with_lots=tuple(with_lots.tolist()),
        budget=lines,
        advice=tuple(advise(job, laid, aim, lines, ratio_spread, letdowns)),
        aim_delta_e00=aim,
        meets_aim=meets,
        scales=job.scales,
    )


def _budget(
    job: Job, laid: Laid, letdowns: Sequence[LetdownMade], names: Sequence[str | None]
) -> tuple[BudgetLine, ...]:
    """Each: 1.96 × its spread × the largest ΔE00 by ln dose of the sections."""
    lines: list[tuple[str, float, float, bool]] = []
    largest = largest_moves(job.moved_by, len(job.needs))
    made = [letdown for letdown in letdowns if not letdown.existing]
    for need, option, name, weight, most in zip(job.needs, laid.options, names, laid.weights, largest, strict=True):
        weighing = f"weighing {job.scales.shown(weight, option.place)} of {name or need.pigment}"
        lines.append((weighing, option.portion_spread, most, True))
        source = option.source
        own = [letdown for letdown in made if letdown.pigment == need.pigment]
        for step, letdown in zip(source.made, own, strict=True):
            into = f"into bottle {letdown.name}"
            first = f"{shown(step.first_g, job.scales.pigment)} of {letdown.from_letdown or need.pigment} {into}"
            carrier = f"{job.scales.shown(step.carrier_g, step.carrier_place)} of {part_named(letdown.carrier)} {into}"
            lines += [(first, step.first_spread, most, True), (carrier, step.carrier_spread, most, True)]
        shelf, strength_of = source.shelf, f"the lot of {need.pigment}"
        if shelf is not None and shelf.is_measured:
            strength_of = f"bottle {shelf.name}"
        elif shelf is not None:
            lines.append((f"how bottle {shelf.name} was made", shelf.spread(job.scales.pigment.spread_g), most, True))
        if source.strength_spread > 0:
            lines.append((f"the strength of {strength_of}", source.strength_spread, most, False))
    if laid.options:
        together = np.sqrt((job.moves.sum(axis=2) ** 2).sum(axis=1)).max(initial=0.0)
        lines.append((WEIGHING_RESIN, laid.resin_spread_g / laid.weighed_g, float(together), True))
    budget = [BudgetLine(what, spread, COVERS_95 * spread * by, weighing) for what, spread, by, weighing in lines]
    return tuple(sorted(budget, key=lambda line: (-line.delta_e00, -line.relative_spread, line.what)))


def _mix_ratio(job: Job, laid: Laid) -> tuple[float, float]:
    """Largest relative error of a part's share from rounding, and its largest standard uncertainty.

    share = g/G, so u²(share)/share² = (u/g)²(1 − 2 g/G) + Σ u²/G² (GUM 5.1.2).
    """
    grams = [part.grams_to_weigh + part.carrier_g for part in laid.parts]
    whole = math.fsum(grams)
    error = max(
        abs(g / part.grams_total * (job.batch_g / whole) - 1.0) for g, part in zip(grams, laid.parts, strict=True)
    )
    if len(grams) == 1:
        return 0.0, 0.0
    shared = math.fsum(place.spread_g**2 for place in laid.places) / whole**2
    squares = [
        (place.spread_g / g) ** 2 * (1.0 - 2.0 * g / whole) + shared
        for place, g in zip(laid.places, grams, strict=True)
    ]
    return error, math.sqrt(max(*squares, 0.0))
