"""A large chip set in parts, a few cups each: the errors of a cup touch no other cup's chips, so that work grows as chips do.

The unknowns are of two kinds: those that many chips share (spectra, departures, detectors, stock bottles, a thick base), and a
part's own (dose errors of its cups, thickness errors of its chips). In that order the normal equations are an arrow,

    [ C   Bᵀ ] [x]     [g]
    [ B   M  ] [y] = − [h],    M block by block,

and a part's own unknowns go out by themselves: (C − Σ BᵀM⁻¹B) x = −(g − Σ BᵀM⁻¹h), y = −M⁻¹(h + B x) (Schur's complement;
Nocedal & Wright, *Numerical Optimization* (2006), A.1). A part knows no pigment but those in its cups.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from tintmix.optics.spectrum import Array
from tintmix.pigments.inference.observations import Index, Mask, Observations

MOST_WHOLE, MOST_WHOLE_CHIPS = 150, 60
"""Dose and thickness errors, and chips, up to which a set stays whole: of 60 chips in 30 cups parts take half as long again, of
100 in 50 four fifths of the time (spectra: half of it)."""
_CHIPS = 16
"""Of a part, about, cups being kept together: with 8 a fit of 1000 chips takes a third longer, with 32 or 64 as long."""


@dataclass(frozen=True, slots=True)
class Layout:
    """Where each unknown stands in z."""

    absorbers: tuple[slice, ...]
    departures: slice
    latents: slice
    doses: slice
    thicknesses: slice
    thick: slice
    size: int


@dataclass(frozen=True, slots=True)
class Piece:
    """Chips of a few cups and their pigments, as observations of their own. errors, poured: which dose errors and poured chips of
    the whole these are; residuals: which of its numbers."""

    chips: Index
    pigments: tuple[int, ...]
    seen: Observations
    errors: Index
    poured: Index
    residuals: Index


@dataclass(frozen=True, slots=True)
class Part:
    """A piece under a model. unknowns: its places in z, in the order of its own model. shared, own: which of these are of either
    kind. core: the places of the shared ones among all that are shared."""

    piece: Piece
    departures: tuple[int, ...]
    unknowns: Index
    shared: Index
    own: Index
    core: Index


@dataclass(frozen=True, slots=True)
class Division:
    """All parts, and which unknowns of z are shared (G,)."""

    shared: Index
    parts: tuple[Part, ...]


# Of the last few: every model of the same observations asks.
@lru_cache(maxsize=4)
def pieces_of(seen: Observations) -> tuple[Piece, ...]:
    """The pieces of a large set; none of one that stays whole."""
    unknown = len(seen.heavy) + len(seen.thickness_spread)
    if unknown <= MOST_WHOLE or len(seen.doses) <= MOST_WHOLE_CHIPS or len(seen.cups) != len(seen.doses):
        return ()
    starts = np.cumsum([0, *(one.observed.size for one in seen.readings)])
    pieces = []
    for chips in _grouped(seen):
        pigments = tuple(np.flatnonzero(np.any(seen.doses[chips] > 0, axis=0)).tolist())
        _, errors = seen.dose_loads.take(chips, np.array(pigments, dtype=np.intp))
        residuals = [
            (start + np.arange(one.observed.size).reshape(one.observed.shape)[np.isin(one.chips, chips)]).ravel()
            for start, one in zip(starts, seen.readings, strict=False)
        ]
        part, numbers = seen.restrict(chips, pigments), np.concatenate(residuals)
        # Of a set told by some of its readings alone, some chips may be silent.
        if len(numbers):
            pieces.append(Piece(chips, pigments, part, errors, np.unique(seen.poured[chips]), numbers))
    return tuple(pieces)


def divided(seen: Observations, layout: Layout, pieces: Sequence[Piece], departures: Sequence[int]) -> Division | None:
    """The parts under a model of this layout. departures: the pigments that may depart, as the model lists them."""
    if not pieces:
        return None
    own_error = np.flatnonzero(_is_own(seen))
    own = np.concatenate([layout.doses.start + own_error, np.arange(layout.thicknesses.start, layout.thicknesses.stop)])
    shared = np.setdiff1d(np.arange(layout.size), own)
    parts = []
    for piece in pieces:
        asked = tuple(j for j, pigment in enumerate(departures) if pigment in piece.pigments)
        spans = [layout.absorbers[a] for a in (0, *(p + 1 for p in piece.pigments))]
        unknowns = np.concatenate(
            [
                *(np.arange(span.start, span.stop) for span in spans),
                layout.departures.start + np.array(asked, dtype=np.intp),
                np.arange(layout.latents.start, layout.latents.stop),
                layout.doses.start + piece.errors,
                layout.thicknesses.start + piece.poured,
                np.arange(layout.thick.start, layout.thick.stop),
            ]
        )
        mine = np.isin(unknowns, own)
        common = np.flatnonzero(~mine)
        core = np.searchsorted(shared, unknowns[common])
        parts.append(Part(piece, asked, unknowns, common, np.flatnonzero(mine), core))
    return Division(shared, tuple(parts))


def _is_own(seen: Observations) -> Mask:
    """Whether a dose error (U,) is one cup's: a bottle's, or one that is told of several cups, is shared."""
    loads = seen.dose_loads
    cup = np.unique(np.array(seen.cups), return_inverse=True)[1][loads.rows]
    low, high = np.full(loads.shape[2], loads.shape[0]), np.full(loads.shape[2], -1)
    np.minimum.at(low, loads.errors, cup)
    np.maximum.at(high, loads.errors, cup)
    return np.asarray(low >= high)


def _grouped(seen: Observations) -> Iterator[Index]:
    """Rows that go together: cups, and whatever a poured chip ties, of the same pigments, up to about so many chips."""
    ties = _tied(seen)
    alike: dict[bytes, list[Index]] = {}
    for tie in np.unique(ties):
        rows = np.flatnonzero(ties == tie)
        alike.setdefault(np.any(seen.doses[rows] > 0, axis=0).tobytes(), []).append(rows)
    for cups in alike.values():
        together: list[Index] = []
        for rows in cups:
            if together and sum(map(len, together)) + len(rows) > _CHIPS:
                yield np.sort(np.concatenate(together))
                together = []
            together.append(rows)
        yield np.sort(np.concatenate(together))


def _tied(seen: Observations) -> Index:
    """A number (N,) that rows share where an error of their own ties them: of a cup's dose, or of a chip's thickness."""
    loads, own = seen.dose_loads, _is_own(seen)
    mine = own[loads.errors]
    count = len(seen.doses)
    ends = [(loads.rows[mine], loads.errors[mine]), (np.arange(count), loads.shape[2] + seen.poured)]
    row, error = (np.concatenate(side) for side in zip(*ends, strict=True))
    number = np.arange(count)
    while True:
        # Each error takes the least number of its rows, and each row the least of its errors, until nothing moves.
        least = np.full(loads.shape[2] + len(seen.thickness_spread), count)
        np.minimum.at(least, error, number[row])
        before = number.copy()
        np.minimum.at(number, row, least[error])
        if np.array_equal(number, before):
            return number


@dataclass(frozen=True, slots=True)
class Reduced:
    """What is left for the shared unknowns of B candidates. precision: C − Σ BᵀM⁻¹B (B, G, G). Of each part: inner, M (B, O, O),
    and reach, M⁻¹B (B, O, k)."""

    division: Division
    precision: Array
    inner: tuple[Array, ...]
    reach: tuple[Array, ...]

    def solve(self, pull: Array) -> Array:
        """P⁻¹ pull (B, D, n), of the whole precision P."""
        shared, parts = self.division.shared, self.division.parts
        left, out, owns = pull[:, shared], np.zeros_like(pull), list[Array]()
        for part, inner, reach in zip(parts, self.inner, self.reach, strict=True):
            own = pull[:, part.unknowns[part.own]]
            left[:, part.core] -= np.matmul(reach.swapaxes(1, 2), own)
            owns.append(np.asarray(np.linalg.solve(inner, own), dtype=np.float64))
        found = np.linalg.solve(self.precision, left)
        out[:, shared] = found
        for part, reach, own in zip(parts, self.reach, owns, strict=True):
            out[:, part.unknowns[part.own]] = own - np.matmul(reach, found[:, part.core])
        return out

    def log_determinant(self) -> Array:
        """log |P| (B,)."""
        every = [np.linalg.slogdet(one)[1] for one in (self.precision, *self.inner)]
        return np.asarray(np.sum(every, axis=0))


def reduced(jacobians: Sequence[Array], division: Division, ridge: Array) -> Reduced:
    """JᵀJ + diag(ridge) without the parts' own unknowns. jacobians: (B, R, D) of each part; ridge: (B, D).

    A test holds it against the whole.
    """
    at = np.arange(len(division.shared))
    core = np.zeros((len(ridge), len(at), len(at)))
    core[:, at, at] = ridge[:, division.shared]
    inners, reaches = [], []
    for part, jacobian in zip(division.parts, jacobians, strict=True):
        common, own = jacobian[..., span(part.shared)], jacobian[..., span(part.own)]
        inner = np.matmul(own.swapaxes(1, 2), own)
        inner[:, np.arange(len(part.own)), np.arange(len(part.own))] += ridge[:, part.unknowns[part.own]]
        border = np.matmul(own.swapaxes(1, 2), common)
        reach = np.linalg.solve(inner, border)
        own_part = np.matmul(common.swapaxes(1, 2), common) - np.matmul(border.swapaxes(1, 2), reach)
        core[:, part.core[:, None], part.core] += own_part
        inners.append(inner)
        reaches.append(reach)
    return Reduced(division, core, tuple(inners), tuple(reaches))


def span(places: Index) -> slice | Index:
    """Places that follow one another as a slice, which copies nothing."""
    if len(places) and places[-1] - places[0] == len(places) - 1:
        return slice(int(places[0]), int(places[-1]) + 1)
    return places
