"""Chip sets as the arrays that the fit works on: what was poured, what was read, and which errors they share."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from tintmix.optics.colour import xyz_of_lab
from tintmix.optics.diffuse import DiffuseLight
from tintmix.optics.light import Behind
from tintmix.optics.section import PANEL
from tintmix.optics.spectrum import GRID_NM, Array
from tintmix.optics.tile import Tile

Index = NDArray[np.intp]
Mask = NDArray[np.bool_]

CENSOR_BELOW = 0.01
"""A rendered photo says nothing below this part of the bare light but that it is dark (physics §3)."""
_UNREAD = 50.0
"""Times its spread, at which a reading counts for nothing."""


@dataclass(frozen=True, slots=True)
class Readings:
    """Readings of n chips by one instrument, in one space.

    chips: (n,) rows of `Observations`. weights: (K, C), or None for a spectrum read on `bands`, indices into the grid.
    white: (3,) where the reading is L*a*b*. observed, spread: (n, C). Where `censored` is -1, the chip is known only to
    read at most `observed`, where it is 1, at least. The weights may not quite be known: lean: (K, C, L), directions of
    their logarithms, mix: (K, C, M), of themselves. tone: (2,), contrast and log level of a phone's curve
    (`optics.tone`), and tone_lean: (2,), what a unit of its unknowns adds to them. latents: (L + M, and 2 more with a tone),
    which unknowns of the set these are; None: what is not quite known is taken as it stands. relative: to what the reading
    was divided. regular: (n,), the part of the light that a straight-through instrument still sees past the
    scatter. form says which of the three. tile: what the chip lies on, or the diffuse light that it is suspected to be read in.
    slit_nm: width at half height of the slit that a spectrum was read through, 0 where it shows nothing of one.
    """

    form: Literal["bands", "channels", "lab"]
    chips: Index
    observed: Array
    spread: Array
    relative: Literal["air", "untinted", "faces removed", "white tile"]
    regular: Array
    weights: Array | None = None
    white: Array | None = None
    bands: Index | None = None
    censored: Index | None = None
    lean: Array | None = None
    mix: Array | None = None
    tone: Array | None = None
    tone_lean: Array | None = None
    latents: Index | None = None
    tile: Tile | DiffuseLight | None = None
    slit_nm: float = 0.0

    @property
    def behind(self) -> Behind:
        """What the light of a chip comes from: the tile, the panel, or none where the faces were taken off the reading."""
        if self.tile is not None:
            return self.tile
        return None if self.relative == "faces removed" else PANEL

    def exchanged(self, one: int, other: int) -> Readings:
        """The same, what was read of two rows in each other's place; itself, where not both were read."""
        places = [np.flatnonzero(self.chips == row) for row in (one, other)]
        if not all(map(len, places)):
            return self
        order = np.arange(len(self.chips))
        order[[places[0][0], places[1][0]]] = places[1][0], places[0][0]
        censored = None if self.censored is None else self.censored[order]
        return replace(
            self,
            observed=self.observed[order],
            spread=self.spread[order],
            regular=self.regular[order],
            censored=censored,
        )


@dataclass(frozen=True)
class DoseLoads:
    """The log dose error of a row's pigment that a unit of a shared error brings: an N × P × U table, of which hardly any entry
    is other than zero. Entry e: rows[e], pigments[e], errors[e], and its size[e].

    >>> loads = DoseLoads.of(np.array([[[0.02, 0.0]], [[0.0, 0.01]]]))
    >>> loads.size.tolist(), loads.of_rows([1]).tolist(), loads.take(np.array([1]), np.array([0]))[0].shape
    ([0.02, 0.01], [1], (1, 1, 1))
    """

    rows: Index
    pigments: Index
    errors: Index
    size: Array
    shape: tuple[int, int, int]

    @classmethod
    def of(cls, table: Array) -> DoseLoads:
        """From the whole table (N, P, U)."""
        rows, pigments, errors = np.nonzero(table)
        return cls(
            rows, pigments, errors, table[rows, pigments, errors], (table.shape[0], table.shape[1], table.shape[2])
        )

    @cached_property
    def table(self) -> Array:
        """The whole (N, P, U): of few chips only, for it grows with their square."""
        out = np.zeros(self.shape)
        out[self.rows, self.pigments, self.errors] = self.size
        return out

    def of_rows(self, rows: Sequence[int] | Index) -> Index:
        """The errors that move a dose of any of these rows."""
        return np.unique(self.errors[np.isin(self.rows, rows)])

    def of_pigment(self, pigment: int) -> Index:
        """The errors that move this pigment's dose in any row."""
        return np.unique(self.errors[self.pigments == pigment])

    def largest(self, error: int) -> tuple[int, float]:
        """The pigment that an error moves most, and by how much a unit of it does."""
        mine = np.flatnonzero(self.errors == error)
        most = mine[np.lexsort((self.pigments[mine], -self.size[mine]))[0]]
        return int(self.pigments[most]), float(self.size[most])

    def at(self, row: int, pigment: int, error: int) -> float:
        """One entry of the table."""
        mine = (self.rows == row) & (self.pigments == pigment) & (self.errors == error)
        return float(self.size[mine].sum())

    def rescaled(self, error: int, largest: float) -> DoseLoads:
        """The same, a unit of one error bringing so much at most."""
        size = np.where(self.errors == error, self.size * (largest / self.largest(error)[1]), self.size)
        return DoseLoads(self.rows, self.pigments, self.errors, size, self.shape)

    def take(self, rows: Index, pigments: Index) -> tuple[DoseLoads, Index]:
        """Of some rows and pigments, with the errors that move any of them; and which errors these are."""
        row, pigment = np.full(self.shape[0], -1), np.full(self.shape[1], -1)
        row[rows], pigment[pigments] = np.arange(len(rows)), np.arange(len(pigments))
        kept = np.flatnonzero((row[self.rows] >= 0) & (pigment[self.pigments] >= 0))
        used, errors = np.unique(self.errors[kept], return_inverse=True)
        shape = (len(rows), len(pigments), len(used))
        return DoseLoads(row[self.rows[kept]], pigment[self.pigments[kept]], errors, self.size[kept], shape), used


@dataclass(frozen=True, slots=True, eq=False)
class Observations:
    """N readings' worth of chips, P pigments, U shared dose errors, M poured chips.

    doses: (N, P) as volume concentration. dose_loads: the log dose error a unit of each nuisance brings.
    heavy: (U,), nuisances with Student-t tails (a cup may simply be wrong), the others Gaussian (bottles). poured:
    (N,), which poured chip a row read: the same chip read twice has one thickness. thickness_spread: (M,), relative.
    known_per_mm: (N, K), absorption of what is not fitted here. thick: (N,), how far each row's base is that of a thick pour;
    empty where one base serves all. is_one_cup: the whole mix is the one pigment. A chip read by two instruments has two rows.
    """

    pigments: tuple[str, ...]
    doses: Array
    thickness_mm: Array
    dose_loads: DoseLoads
    heavy: Mask
    poured: Index
    thickness_spread: Array
    known_per_mm: Array
    readings: tuple[Readings, ...]
    refractive_index: float
    latent_count: int = 0
    cups: tuple[str, ...] = ()
    thick: Array = field(default_factory=lambda: np.zeros(0))
    is_one_cup: bool = False

    def restrict(self, rows: Index, pigments: Sequence[int], known_per_mm: Array | None = None) -> Observations:
        """The same, of some rows and some pigments only; the absorption of what is left out may be given."""
        columns = np.asarray(pigments, dtype=np.intp)
        place = np.full(len(self.doses), -1)
        place[rows] = np.arange(len(rows))
        loads, used = self.dose_loads.take(rows, columns)
        poured, where = np.unique(self.poured[rows], return_inverse=True)
        readings = []
        for reading in self.readings:
            kept = np.flatnonzero(place[reading.chips] >= 0)
            if not len(kept):
                continue
            readings.append(
                replace(
                    reading,
                    chips=place[reading.chips[kept]],
                    observed=reading.observed[kept],
                    spread=reading.spread[kept],
                    regular=reading.regular[kept],
                    censored=None if reading.censored is None else reading.censored[kept],
                )
            )
        return replace(
            self,
            pigments=tuple(self.pigments[p] for p in pigments),
            doses=self.doses[np.ix_(rows, columns)],
            thickness_mm=self.thickness_mm[rows],
            dose_loads=loads,
            heavy=self.heavy[used],
            poured=where,
            thickness_spread=self.thickness_spread[poured],
            known_per_mm=self.known_per_mm[rows] if known_per_mm is None else known_per_mm,
            readings=tuple(readings),
            cups=tuple(self.cups[r] for r in rows),
            thick=self.thick[rows] if len(self.thick) else self.thick,
        )

    def unread(self, rows: Index) -> Observations:
        """The same, these rows' readings counting for nothing."""
        readings = tuple(
            replace(one, spread=np.where(np.isin(one.chips, rows)[:, None], one.spread * _UNREAD, one.spread))
            for one in self.readings
        )
        return replace(self, readings=readings)

    def exchanged(self, one: int, other: int) -> Observations:
        """The same, the readings of two rows in each other's place; itself, where no instrument read both."""
        readings = tuple(reading.exchanged(one, other) for reading in self.readings)
        if all(new is old for new, old in zip(readings, self.readings, strict=True)):
            return self
        return replace(self, readings=readings)


def grey_absorbance(observations: Observations) -> Array:
    """A first guess (N,) of each row's internal absorbance, as if it were grey: from the middle of what was read.

    The geometric mean of X, Y and Z, of the channels, or of the bands, over the clear plate's. Good to a factor of
    two, which is all that the level's prior needs.
    """
    n = observations.refractive_index
    clear = 2 * n / (n * n + 1)
    guess = np.zeros(len(observations.doses))
    for reading in observations.readings:
        if reading.form == "lab":
            channels = xyz_of_lab(reading.observed, np.ones(3))
            part = np.exp(np.log(np.maximum(channels, 1e-3)).mean(axis=1))
        else:
            part = np.exp(np.log(np.maximum(reading.observed, 1e-3)).mean(axis=1))
        top, passes = clear if reading.relative == "air" else 1.0, 1.0
        if reading.tile is not None:
            # Off the tile light goes through the chip twice, once or twice at a slant.
            top, passes = float(reading.tile.factor(np.ones(len(GRID_NM)), n)[0].mean()), 2.2
            passes = 1.0 if isinstance(reading.tile, DiffuseLight) else passes
        guess[reading.chips] = np.maximum(-np.log10(part / top) / passes, 1e-4)
    return guess
