"""Chips that look exchanged: two whose readings go better with each other's label than with their own.

Told from the set itself, by Lambert and Beer: the absorbance of a chip is its thickness times what its doses give; and, where
its colours were foreseen, from these.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np

from tintmix.chips.appearance import as_lab
from tintmix.chips.chip import Chip, ChipSet
from tintmix.chips.photo.foreseen import foreseen_hex, foreseen_lab
from tintmix.optics.plate import face_reflectance
from tintmix.optics.spectrum import Array

_SPREAD, _PART = 0.05, 0.15
"""Of an absorbance (natural log), and of it a part: what doses, thickness and a broad channel's bending of the law do to it."""
_CAP = 16.0
"""Squared deviations of one channel count up to four spreads: a spoilt chip explains nothing else."""
_WORTH, _LEFT = 25.0, 0.5
"""An exchange has to take away so much of the squared deviations of its two chips, and leave at most this part. Of 200 sets as
they lie none is asked about (tests/desk/read/test_exchanged.py)."""
_SOUND = 11.0
"""Squared deviations a chip, of three channels, at most when all is put right: of 60 simulated sets 0.3 to 10.8, of readings
that belong to no doses 18 and more."""
_LEAST_FREE = 3
"""More chips than unknowns: with fewer an exchange is no news."""
_LEAST = 0.003
"""Part of the panel's light below which a channel says only that little came through."""
_APART, _AGAINST = 12.0, -0.6
"""Distance in L*a*b* of two chips, as read and as foreseen, from which their difference has a direction; and the cosine between
the two directions from which they look exchanged. What a camera makes of all colours alike turns no direction round."""
_MOVED, _AS_OTHER = 0.15, 0.33
"""Of a channel's natural logarithm: repeats of a sound chip stay within 10 % of each other, and an exchanged one comes within a
third of what it moved by to what the other was."""
_MOST_PAIRS = 4
"""Told at once: who must look at more than four pairs lays the whole sheet anew."""


@dataclass(frozen=True, slots=True)
class _Told:
    """Chips with their absorbances (N, 3), and what doses and thickness say of them: (N, P + 1)."""

    chips: tuple[Chip, ...]
    absorbance: Array
    amounts: Array


def look_exchanged(
    chips: ChipSet, fresh: Sequence[str], foreseen: Mapping[str, str] | None = None
) -> tuple[tuple[str, str], ...]:
    """Pairs of the fresh chips, by name, that look exchanged; the likeliest first. chips: a camera's, read. foreseen: chip →
    "#rrggbb"; what is no colour tells nothing.

    >>> from tintmix.chips.chip import Pigment, Reading
    >>> rows = [("clear", 0.0, 3.0), ("a", 0.1, 3.0), ("b", 0.1, 12.0), ("c", 0.3, 3.0), ("d", 0.3, 12.0), ("e", 0.2, 6.0)]
    >>> read = {name: 0.92 * np.exp(-mm * dose * np.array([2.0, 0.5, 0.1])) for name, dose, mm in rows}
    >>> read["a"], read["d"] = read["d"], read["a"]
    >>> poured = [Chip(name, name, (dose,), mm, tuple(read[name])) for name, dose, mm in rows]
    >>> look_exchanged(ChipSet(Reading("camera"), (Pigment("p"),), tuple(poured)), list("abcde"))
    (('a', 'd'),)
    """
    known = tuple(chip for chip in chips.chips if chip.is_read and chip.use)
    by_name = {chip.name: n for n, chip in enumerate(known)}
    new = [by_name[name] for name in dict.fromkeys(fresh) if name in by_name]
    pairs = _against_the_law(chips, known, new) or _against_what_was_foreseen(chips, known, new, foreseen or {})
    return tuple((known[i].name, known[j].name) for i, j in pairs)


def exchanged_between(photos: Sequence[Mapping[str, Array]]) -> tuple[tuple[str, str], ...]:
    """Pairs of chips of which each reads in a later photo as the other did in the first. photos: chip → channels (3,).

    >>> one = {"a": np.array([0.9, 0.5, 0.2]), "b": np.array([0.3, 0.6, 0.8]), "c": np.array([0.9, 0.9, 0.9])}
    >>> exchanged_between([one, {"a": one["b"] * 1.01, "b": one["a"], "c": one["c"]}]), exchanged_between([one, one])
    ((('a', 'b'),), ())
    """
    first = {name: np.log(np.maximum(values, _LEAST)) for name, values in photos[0].items()}
    pairs: dict[tuple[str, str], None] = {}
    for photo in photos[1:]:
        later = {name: np.log(np.maximum(values, _LEAST)) for name, values in photo.items() if name in first}
        moved = {name: float(np.abs(later[name] - first[name]).max()) for name in later}
        for i, j in combinations([name for name, by in moved.items() if by > _MOVED], 2):
            as_other = max(float(np.abs(later[i] - first[j]).max()), float(np.abs(later[j] - first[i]).max()))
            if as_other < _AS_OTHER * min(moved[i], moved[j]):
                pairs[i, j] = None
    return tuple(pairs)[:_MOST_PAIRS]


def _against_the_law(chips: ChipSet, known: tuple[Chip, ...], new: Sequence[int]) -> list[tuple[int, int]]:
    if not known:
        return []
    amounts = np.array([(1.0, *chip.doses_phr) for chip in known]) * [[chip.thickness_mm] for chip in known]
    if len(known) < np.linalg.matrix_rank(amounts) + _LEAST_FREE:
        return []
    faces = -2 * np.log1p(-float(face_reflectance(chips.resin.refractive_index)))
    values = np.array([chip.values for chip in known])
    told = _Told(known, -np.log(np.maximum(values, _LEAST)) - faces, amounts)
    return _by_exchanging(told, new)


def _by_exchanging(told: _Told, new: Sequence[int]) -> list[tuple[int, int]]:
    pairs: list[tuple[int, int]] = []
    left = list(new)
    misfit = _misfit(told)
    while len(left) > 1 and len(pairs) < _MOST_PAIRS:
        tried = {pair: _misfit(_exchanged(told, *pair)) for pair in combinations(left, 2)}
        best = min(tried, key=lambda pair: float(tried[pair].sum()))
        before, after = float(misfit.sum()), float(tried[best].sum())
        if before - after < _WORTH or tried[best][list(best)].sum() > _LEFT * misfit[list(best)].sum():
            break
        told, misfit = _exchanged(told, *best), tried[best]
        pairs.append(best)
        left = [n for n in left if n not in best]
    # What goes by no law even so tells nothing of labels.
    return pairs if misfit.mean() <= _SOUND else []


def _exchanged(told: _Told, i: int, j: int) -> _Told:
    order = np.arange(len(told.absorbance))
    order[[i, j]] = j, i
    return replace(told, absorbance=told.absorbance[order])


def _misfit(told: _Told) -> Array:
    """Squared deviations of each chip (N,) from what absorbs alike in all of them, over their spreads."""
    spread = _SPREAD + _PART * np.abs(told.absorbance)
    off = np.empty_like(told.absorbance)
    for c in range(told.absorbance.shape[1]):
        weight = 1 / spread[:, c]
        # Twice: what does not go with the others must not pull the rest with it.
        for _ in range(2):
            found, *_ = np.linalg.lstsq(told.amounts * weight[:, None], told.absorbance[:, c] * weight, rcond=None)
            off[:, c] = (told.absorbance[:, c] - told.amounts @ np.maximum(found, 0.0)) / spread[:, c]
            weight = 1 / (spread[:, c] * np.maximum(1.0, np.abs(off[:, c])))
    return np.asarray(np.minimum(off**2, _CAP).sum(axis=1))


def _against_what_was_foreseen(
    chips: ChipSet, known: tuple[Chip, ...], new: Sequence[int], foreseen: Mapping[str, str]
) -> list[tuple[int, int]]:
    told = [n for n in new if foreseen_hex(foreseen.get(known[n].name, "")) and foreseen[known[n].name].startswith("#")]
    if len(told) < 2:
        return []
    wanted = {n: np.asarray(foreseen_lab(foreseen[known[n].name])) for n in told}
    seen = dict(zip(told, as_lab(chips, np.array([known[n].values for n in told])), strict=True))
    pairs: list[tuple[int, int]] = []
    turned = []
    for i, j in combinations(told, 2):
        read, meant = seen[i] - seen[j], wanted[i] - wanted[j]
        long = float(np.linalg.norm(read)), float(np.linalg.norm(meant))
        if min(long) >= _APART and float(read @ meant) < _AGAINST * long[0] * long[1]:
            turned.append((float(read @ meant), i, j))
    for _, i, j in sorted(turned):
        if not any(n in pair for pair in pairs for n in (i, j)):
            pairs.append((i, j))
    return pairs[:_MOST_PAIRS]
