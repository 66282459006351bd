"""Spectra of a file on the wavelengths of a set."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from tintmix.chips.chip import ChipSet
from tintmix.chips.columns import MUST_COVER_NM, WIDEST_GAP_NM
from tintmix.chips.instruments.errors import grids_mixed
from tintmix.numerals import numeral
from tintmix.optics.spectrum import GRID_NM, Array, interpolation_matrix, to_grid

MOST_COLUMNS = 420
"""Finer spectra than one every nanometre are brought to every 10 nm, their noise averaged."""
_FLOOR = 1e-5
"""A transmittance read as zero or below it is taken as this: as dark as a bench instrument can tell."""
_SAME_NM = 1e-6
"""Wavelengths as near are one: files give three decimals at most, and the rest is rounding."""


def onto_grid(
    chips: ChipSet, nm: Sequence[Array], values: Sequence[Array], where: str, keeps_old: bool, notes: list[str]
) -> tuple[ChipSet, Array]:
    """The set, and the spectra (N, M) on its wavelengths.

    Where no old reading stays, the set takes the file's wavelengths. Else the file's are picked where they hold the
    set's, and interpolated in absorbance where they are fine enough. Raises FileProblem.
    """
    for at in nm:
        _check_cover(at, where)
    if keeps_old and chips.reading.wavelengths_nm:
        target = np.array(chips.reading.wavelengths_nm)
        return chips, np.stack([_to(target, at, v, where, notes) for at, v in zip(nm, values, strict=True)])
    at = nm[0]
    other = next((one for one in nm if len(one) != len(at) or np.abs(one - at).max() >= _SAME_NM), None)
    if other is not None:
        said = f"its spectra are on different wavelengths ({_describe(at)}, but also {_describe(other)})"
        raise grids_mixed(where, said)
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


def _to(target: Array, at: Array, values: Array, where: str, notes: list[str]) -> Array:
    place = np.minimum(np.searchsorted(at, target - _SAME_NM), len(at) - 1)
    if np.abs(at[place] - target).max() < _SAME_NM:
        return values[place]
    if at[0] > target[0] + _SAME_NM or at[-1] < target[-1] - _SAME_NM:
        needed = f"{numeral(target[0])} to {numeral(target[-1])} nm"
        raise grids_mixed(where, f"it covers {_describe(at)}, and the set's other readings need {needed}")
    step = float(np.median(np.diff(at)))
    if step > 10.0 + _SAME_NM:
        said = f"its wavelengths ({_describe(at)}) are not the set's ({_describe(target)}), and too coarse for that"
        raise grids_mixed(where, said)
    note = f"its wavelengths ({_describe(at)}) are brought to the set's ({_describe(target)})"
    if note not in notes:
        notes.append(note)
    light = np.clip(values, _FLOOR, None)
    absorbance = -np.log10(light)
    if np.isin(target, GRID_NM).all() and step < 5:
        found = to_grid(at, absorbance, weight=light**2)[np.searchsorted(GRID_NM, target)]
    else:
        found = interpolation_matrix(at, np.clip(target, at[0], at[-1])) @ absorbance
    return np.asarray(10.0**-found)


def _check_cover(at: Array, where: str) -> None:
    low, high = MUST_COVER_NM
    if at[0] > low + _SAME_NM or at[-1] < high - _SAME_NM:
        said = f"it covers {numeral(at[0])} to {numeral(at[-1])} nm"
        raise grids_mixed(where, f"{said}, and {numeral(low)} to {numeral(high)} nm are needed")
    inside = (at >= low - WIDEST_GAP_NM) & (at <= high + WIDEST_GAP_NM)
    if np.diff(at[inside]).max() > WIDEST_GAP_NM:
        raise grids_mixed(where, f"its wavelengths lie more than {numeral(WIDEST_GAP_NM)} nm apart")


def _describe(at: Array) -> str:
    step = np.diff(at)
    every = f" every {step[0]:g}" if np.abs(step - step[0]).max() < 1e-3 else ""
    return f"{numeral(at[0])} to {numeral(at[-1])} nm{every}"
