"""A reading that lots and scales do not explain: what would come nearest, and so what kind of fault it is."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from tintmix.chips.appearance import as_lab
from tintmix.numerals import listed, numeral
from tintmix.optics.spectrum import Array
from tintmix.pigments.model import TintModel
from tintmix.recipes.adjust.belief import Trial, observations_of, problem, recalibrate

FREE = 1.0
"""Relative spread of a strength of which nothing is taken for granted: the most that may be said of one."""
_FACTORS = np.geomspace(0.05, 20.0, 121)
"""Strengths that are looked through: those that may be told, in steps of 5 %, which is what hue and depth are told apart by."""
_SEEN = 1.0
"""A part of a difference that is less than so many units of L*, a* or b* is not told: hardly seen."""
_TURNS = (("lighter", "darker"), ("redder", "greener"), ("yellower", "bluer"))


def nearest_labs(model: TintModel, trial: Trial) -> tuple[float | None, Array, Array] | None:
    """The factor on all doses at which the model, its mean spectra, comes nearest to the chips, and its L*a*b* and theirs (N, 3).
    Where the nearest is beyond all that is looked through: None, and the L*a*b* of the doses as weighed, which say more.

    None for spectra that are not on the model's bands: those are not told by three numbers.
    """
    count = len(model.pigments)
    observations = observations_of(model, [trial], np.ones(count), np.ones(count))
    forward, start, _ = problem(model, observations)
    z = np.repeat(start[-1:], len(_FACTORS), axis=0)
    z[:, forward.layout.doses.start : forward.layout.doses.start + count] = np.log(_FACTORS)[:, None]
    residual, _ = forward.take(np.full(len(z), len(start) - 1)).residuals(z)
    best = int((residual**2).sum(axis=1).argmin())
    factor = None if best in (0, len(_FACTORS) - 1) else float(_FACTORS[best])
    best = len(_FACTORS) // 2 if factor is None else best
    reading = observations.readings[0]
    own = residual[best][: reading.observed.size].reshape(reading.observed.shape)
    foreseen = reading.observed + reading.spread * own
    if reading.form == "lab":
        return factor, foreseen, reading.observed
    if foreseen.shape[1] != trial.chips.reading.channels:
        return None
    return factor, as_lab(trial.chips, foreseen), as_lab(trial.chips, reading.observed)


def fault(model: TintModel, trial: Trial, limit: float) -> tuple[str, str]:
    """What is wrong with a check cup that no likely strength explains, and what to do, two sentences.

    limit: surprise up to which a reading counts as explained. In this order: a strength far from any lot's would do; each chip
    would do alone, but not together; else its hue, its depth of colour, or its lightness is another.
    """
    free = dict.fromkeys(model.pigments, (1.0, FREE))
    found = recalibrate(model, [trial], free)
    if max(one.surprise for one in found.values()) <= limit:
        told = listed(f"{pigment} {numeral(one.factor, 2)} times" for pigment, one in found.items())
        return (
            f"only strengths far from what is known would explain it: {told} the pigment of the chips",
            "check the dose that was weighed and how thick the chip is, and that the bottle was stirred, then pour a second cup",
        )
    chips = [(one, chip) for one in trial.sets for chip in one.chips]
    if len(chips) > 1:
        alone = [replace(trial, chips=replace(one, chips=(chip,)), beside=()) for one, chip in chips]
        each = [recalibrate(model, [one], free) for one in alone]
        if all(one.surprise <= limit for told_by in each for one in told_by.values()):
            first = next(iter(each[0]))
            told = listed(
                f"{numeral(chip.thickness_mm)} mm: {told_by[first].factor:.2f} times"
                for (_, chip), told_by in zip(chips, each, strict=True)
            )
            return (
                f"the chips of the cup contradict each other: taken alone they make {first} of unlike strength ({told})",
                "measure how thick they are where they were read, see that each is of this cup, and read them again",
            )
    return _unlike(nearest_labs(model, trial))


def _unlike(nearest: tuple[float | None, Array, Array] | None) -> tuple[str, str]:
    again = "check the chip's label and the light it was read under, and read it again"
    other = (
        "if it stays so, it is another pigment to this resin: learn it from chips of its own, under a name of its own"
    )
    if nearest is None:
        return "at no strength do the pigments of the chips give this spectrum", f"{again}; {other}"
    factor, foreseen, read = nearest
    off = (read - foreseen).mean(axis=0)
    turns = [turns[0 if value > 0 else 1] for value, turns in zip(off, _TURNS, strict=True) if abs(value) >= _SEEN]
    hue, depth = _hue_and_depth(read, foreseen)
    parts = {"its hue": hue, "its depth of colour": depth, "how light it is": float(abs(off[0]))}
    what = max(parts, key=lambda part: parts[part])
    comes = (
        "the doses as weighed give" if factor is None else f"the nearest, {numeral(factor, 2)} times the dose, gives"
    )
    shown = ", ".join(f"{name} {value:.0f}" for name, value in zip(("L*", "a*", "b*"), foreseen[0], strict=True))
    reads = ", ".join(f"{value:.0f}" for value in read[0])
    return (
        f"at no strength do the pigments of the chips give this colour: {comes} {shown}, where the chip reads {reads}"
        + (f" ({listed(turns)})" if turns else "")
        + f"; what differs most there is {what}",
        f"{again}; see that the chip is clear, for a clouded one looks duller; {other}",
    )


def _hue_and_depth(read: Array, foreseen: Array) -> tuple[float, float]:
    """Mean differences along the hue circle at the chroma that is read, 2 C sin(Δh/2), and of the chroma."""
    one, two = read[:, 1] + 1j * read[:, 2], foreseen[:, 1] + 1j * foreseen[:, 2]
    hue = 2 * np.abs(one * np.sin(np.angle(one * two.conj()) / 2))
    return float(hue.mean()), float(np.abs(np.abs(one) - np.abs(two)).mean())
