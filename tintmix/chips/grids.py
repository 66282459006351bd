"""Spectra of a file on the wavelengths of a set."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from tintmix.chips.chip import ChipSet
from tintmix.chips.columns import MUST_COVER_NM, WIDEST_GAP_NM
from tintmix.chips.instruments.errors import grids_mixed, not_all_seen
from tintmix.files.words import plain
from tintmix.numerals import numeral
from tintmix.optics.spectrum import GRID_NM, Array, interpolation_matrix, to_grid

MOST_COLUMNS = 420
"""Finer spectra than one every nanometre are brought to every 10 nm, their noise averaged."""
_FLOOR = 1e-5
"""A transmittance read as zero or below it is taken as this: as dark as a bench instrument can tell."""
_SAME_NM = 1e-6
"""Wavelengths as near are one: files give three decimals at most, and the rest is rounding."""


def onto_grid(
    chips: ChipSet,
    nm: Sequence[Array],
    values: Sequence[Array],
    where: str,
    sources: Sequence[str],
    names: Sequence[str],
    keeps_old: bool,
    notes: list[str],
) -> tuple[ChipSet, Array]:
    """The set, and the spectra (N, M) on its wavelengths. sources: where each spectrum stands; names: of its samples.

    Where no old reading stays, the set takes the file's wavelengths. Else the file's are picked where they hold the
    set's, and interpolated in absorbance where they are fine enough; so are those of a file onto the coarsest of its own. Raises
    FileProblem.
    """
    for at, source, name in zip(nm, sources, names, strict=True):
        _check_cover(at, source or where, name if len({*names}) > 1 else "")
    if keeps_old and chips.reading.wavelengths_nm:
        target = np.array(chips.reading.wavelengths_nm)
        return chips, np.stack([_to(target, at, v, where, notes) for at, v in zip(nm, values, strict=True)])
    at = nm[0]
    other = next((one for one in nm if len(one) != len(at) or np.abs(one - at).max() >= _SAME_NM), None)
    if other is not None:
        at = _shared(nm)
        values = [_to(at, one, v, where, notes, "the file") for one, v in zip(nm, values, strict=True)]
    regular = np.abs(at - np.round(at, 3)).max() < 1e-9
    if len(at) <= MOST_COLUMNS and regular:
        return _regridded(chips, at), np.stack(values)
    notes.append(f"its {len(at)} wavelengths ({_describe(at)}) are brought to every 10 nm")
    light = np.clip(np.stack(values), _FLOOR, None)
    absorbance = to_grid(at, -np.log10(light), weight=light**2)
    kept = np.isfinite(absorbance).all(axis=0)
    return _regridded(chips, GRID_NM[kept]), 10.0 ** -absorbance[:, kept]


def _regridded(chips: ChipSet, nm: Array) -> ChipSet:
    """A set on other wavelengths, without the readings that do not fit them: all are read anew, or were never read."""
    fits = (0, len(nm))
    kept = [c if len(c.values) in fits else replace(c, values=(), reading_spread=None) for c in chips.chips]
    return replace(chips, reading=replace(chips.reading, wavelengths_nm=tuple(nm.tolist())), chips=tuple(kept))


def _shared(nm: Sequence[Array]) -> Array:
    """The wavelengths of the coarsest spectrum, where all have light."""
    coarsest = min(nm, key=lambda one: float(len(one)) / float(one[-1] - one[0]))
    low, high = max(one[0] for one in nm), min(one[-1] for one in nm)
    kept = coarsest[(coarsest >= low - _SAME_NM) & (coarsest <= high + _SAME_NM)]
    # A coarsest one that ends a step inside is no reason to lose what is seen.
    covers = len(kept) > 0 and kept[0] <= MUST_COVER_NM[0] and kept[-1] >= MUST_COVER_NM[1]
    return np.asarray(kept if covers else GRID_NM[(low <= GRID_NM) & (high >= GRID_NM)])


def _to(target: Array, at: Array, values: Array, where: str, notes: list[str], whose: str = "the set") -> Array:
    place = np.minimum(np.searchsorted(at, target - _SAME_NM), len(at) - 1)
    if np.abs(at[place] - target).max() < _SAME_NM:
        return values[place]
    if at[0] > target[0] + _SAME_NM or at[-1] < target[-1] - _SAME_NM:
        needed = f"{numeral(target[0])} to {numeral(target[-1])} nm"
        raise grids_mixed(where, f"it covers {_describe(at)}, and {whose}'s other readings need {needed}")
    step = float(np.median(np.diff(at)))
    if step > 10.0 + _SAME_NM:
        others = f"{whose}'s others ({_describe(target)})"
        said = f"its wavelengths ({_describe(at)}) are not {others}, and too coarse to be brought to them"
        raise grids_mixed(where, said)
    note = f"wavelengths ({_describe(at)}) are brought to {whose}'s ({_describe(target)})"
    if note not in notes:
        notes.append(note)
    light = np.clip(values, _FLOOR, None)
    absorbance = -np.log10(light)
    if np.isin(target, GRID_NM).all() and step < 5:
        found = to_grid(at, absorbance, weight=light**2)[np.searchsorted(GRID_NM, target)]
    else:
        found = interpolation_matrix(at, np.clip(target, at[0], at[-1])) @ absorbance
    return np.asarray(10.0**-found)


def _check_cover(at: Array, where: str, name: str) -> None:
    """name: of the sample, where there are others that may be read without it."""
    whose = f"the spectrum of {plain(name, 40)}" if name else "the spectrum"
    low, high = MUST_COVER_NM
    needed = f"{numeral(low)} to {numeral(high)} nm are needed"
    if at[0] > low + _SAME_NM or at[-1] < high - _SAME_NM:
        begins = f"begins at {numeral(at[0])} nm" if at[0] > low + _SAME_NM else f"ends at {numeral(at[-1])} nm"
        raise not_all_seen(where, f"{whose} {begins}, and {needed}", name)
    inside = at[(at >= low - WIDEST_GAP_NM) & (at <= high + WIDEST_GAP_NM)]
    widest = int(np.diff(inside).argmax())
    if inside[widest + 1] - inside[widest] > WIDEST_GAP_NM:
        gap = f"has no value between {numeral(inside[widest])} and {numeral(inside[widest + 1])} nm"
        raise not_all_seen(where, f"{whose} {gap}, and at most {numeral(WIDEST_GAP_NM)} nm may lie between two", name)


def _describe(at: Array) -> str:
    step = np.diff(at)
    every = f" every {step[0]:g}" if np.abs(step - step[0]).max() < 1e-3 else ""
    return f"{numeral(at[0])} to {numeral(at[-1])} nm{every}"
