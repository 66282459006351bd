"""The forward model of a whole chip set: unknowns in, whitened residuals and their analytic Jacobian out, in batches.

Unknowns z of one candidate, all with a unit prior: the base's coordinates, each pigment's, the departures from Beer's
law that are being asked about, the shared dose errors, the thickness errors. B candidates are worked at once.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

import numpy as np

from tintmix.optics.absorption import LN10, MOST_BENT
from tintmix.optics.colour import lab_with_slope
from tintmix.optics.light import through_with_slope
from tintmix.optics.spectrum import GRID_NM, Array
from tintmix.optics.tone import toned
from tintmix.pigments.inference.observations import Index, Observations, Readings
from tintmix.pigments.inference.parts import Division, Layout, Part, divided, pieces_of
from tintmix.pigments.inference.prior import THICK_RANK, thick_basis

LOGS = -30.0, 8.0
"""Log ε, per mm and phr, least and most: far beyond any dye. A wild step, or a draw that was spread, must not overflow."""


@dataclass(frozen=True, slots=True)
class SpectrumPrior:
    """x = mean + basis @ z for one absorber. mean: (B or 1, K); basis: (B or 1, K, rank); left_out: (B or 1, K, rest), what
    readings hardly see, added to draws alone."""

    mean: Array
    basis: Array
    left_out: Array = field(default_factory=lambda: np.zeros((1, len(GRID_NM), 0)))

    def of_each(self, count: int) -> SpectrumPrior:
        """The same, once for each of `count` candidates."""
        parts = (np.broadcast_to(part, (count, *part.shape[1:])) for part in (self.mean, self.basis, self.left_out))
        return SpectrumPrior(*parts)

    def take(self, keep: Index) -> SpectrumPrior:
        """The priors of some candidates only."""
        mean, basis, left_out = (
            part if len(part) == 1 else part[keep] for part in (self.mean, self.basis, self.left_out)
        )
        return SpectrumPrior(mean, basis, left_out)


@dataclass(frozen=True, slots=True)
class Forward:
    """The model of these observations under these priors; departures: ((pigment, spread of k), …). is_part: it is not divided."""

    observations: Observations
    priors: tuple[SpectrumPrior, ...]
    departures: tuple[tuple[int, float], ...] = ()
    is_part: bool = False
    division: Division | None = field(init=False, repr=False, compare=False)
    """How a large set is worked part by part; None: it is worked whole."""
    layout: Layout = field(init=False, repr=False, compare=False)
    rows: Index = field(init=False, repr=False, compare=False)
    """Which observation row each residual belongs to (R,)."""

    def __post_init__(self) -> None:
        # Asked for at every step.
        object.__setattr__(self, "layout", self._laid_out())
        pieces = () if self.is_part else pieces_of(self.observations)
        departing = [pigment for pigment, _ in self.departures]
        object.__setattr__(self, "division", divided(self.observations, self.layout, pieces, departing))
        rows = [np.repeat(r.chips, r.observed.shape[1]) for r in self.observations.readings]
        object.__setattr__(self, "rows", np.concatenate(rows))

    def _laid_out(self) -> Layout:
        """Slices of z: base and pigments, departures, detectors, dose errors, thickness errors, the thick base."""
        at, absorbers = 0, []
        for prior in self.priors:
            absorbers.append(slice(at, at := at + prior.basis.shape[-1]))
        departures = slice(at, at := at + len(self.departures))
        latents = slice(at, at := at + self.observations.latent_count)
        doses = slice(at, at := at + len(self.observations.heavy))
        thicknesses = slice(at, at := at + len(self.observations.thickness_spread))
        thick = slice(at, at := at + (THICK_RANK if len(self.observations.thick) else 0))
        return Layout(tuple(absorbers), departures, latents, doses, thicknesses, thick, at)

    def take(self, keep: Index) -> Forward:
        """The model of some candidates only."""
        # As `copy.copy`, in a fifth of its time: every step takes some.
        out = object.__new__(Forward)
        for name in self.__slots__:
            object.__setattr__(out, name, getattr(self, name))
        object.__setattr__(out, "priors", tuple(prior.take(keep) for prior in self.priors))
        return out

    def of_part(self, part: Part) -> Forward:
        """The model of a part's chips alone."""
        priors = tuple(self.priors[absorber] for absorber in (0, *(p + 1 for p in part.piece.pigments)))
        place = {pigment: p for p, pigment in enumerate(part.piece.pigments)}
        departures = tuple((place[p], spread) for p, spread in (self.departures[j] for j in part.departures))
        return Forward(part.piece.seen, priors, departures, is_part=True)

    def by_parts(self, z: Array) -> Iterator[tuple[Part, Forward, Array, Array]]:
        """Each part with its model, its whitened residuals (B, R), and their Jacobian by its own unknowns."""
        for part in self.division.parts if self.division is not None else ():
            here = self.of_part(part)
            yield part, here, *here.residuals(z[:, part.unknowns])

    def misfits(self, z: Array) -> Array:
        """Whitened residuals (B, R) alone."""
        if self.division is None:
            return self.residuals(z)[0]
        out = np.empty((len(z), len(self.rows)))
        for part, _, residual, _ in self.by_parts(z):
            out[:, part.piece.residuals] = residual
        return out

    @property
    def shared(self) -> Index:
        """The unknowns that a fit's precision is of: all, or those that the parts share."""
        return np.arange(self.layout.size) if self.division is None else self.division.shared

    def absorptivities(self, z: Array) -> list[Array]:
        """ε (B, K) of the base and of each pigment."""
        spectra = []
        for prior, at in zip(self.priors, self.layout.absorbers, strict=True):
            log = prior.mean + np.matmul(prior.basis, z[:, at, None])[..., 0]
            spectra.append(np.exp(np.clip(log, *LOGS)))
        return spectra

    def log_thick(self, z: Array) -> Array:
        """Log ratio (B, K) of the base of a thick pour to that of a thin one; zero where one serves all."""
        own = z[:, self.layout.thick]
        return np.asarray(own @ thick_basis().columns[:, : own.shape[1]].T, dtype=np.float64)

    def departure(self, z: Array) -> Array:
        """k (B, P) of each pigment; zero where it is not asked about."""
        k = np.zeros((len(z), len(self.observations.pigments)))
        for j, (pigment, spread) in enumerate(self.departures):
            k[:, pigment] = spread * z[:, self.layout.departures.start + j]
        return k

    def residuals(self, z: Array) -> tuple[Array, Array]:
        """Whitened residuals (B, R) and their Jacobian (B, R, D), in the order of `rows`."""
        seen, layout = self.observations, self.layout
        spectra = self.absorptivities(z)
        batch, log_thick = len(z), self.log_thick(z)
        loads = seen.dose_loads.table
        error = np.einsum("npu,bu->bnp", loads, z[:, layout.doses])
        poured = seen.doses * np.exp(np.clip(error, -3.0, 3.0))
        k = self.departure(z)
        kc = np.maximum(k[:, None, :] * poured, MOST_BENT)
        doses = poured / (1 + kc)
        stretch = seen.thickness_spread[seen.poured] * z[:, layout.thicknesses][:, seen.poured]
        thickness = seen.thickness_mm * np.exp(np.clip(stretch, -1.0, 1.0))

        total = sum(int(reading.observed.size) for reading in seen.readings)
        residual = np.empty((batch, total))
        jacobian = np.zeros((batch, total, layout.size))
        at = 0
        for reading in seen.readings:
            rows, count = reading.chips, reading.observed.size
            base = spectra[0][:, None, :]
            if len(seen.thick):
                base = base * np.exp(seen.thick[rows, None] * log_thick[:, None, :])
            part = _Part(
                [thickness[:, rows, None] * base]
                + [
                    (thickness[:, rows] * doses[:, rows, p])[..., None] * spectra[p + 1][:, None]
                    for p in range(doses.shape[-1])
                ],
                thickness[:, rows, None] * seen.known_per_mm[rows],
                seen.thick[rows] if len(seen.thick) else None,
            )
            value, by_log = _read(
                reading, part, z[:, layout.latents], seen.refractive_index, self.priors, layout, seen.doses[rows]
            )
            misfit = (value - reading.observed) / reading.spread
            scale = np.broadcast_to(1 / reading.spread, misfit.shape[1:])
            if reading.censored is not None:
                idle = (reading.censored != 0) & (reading.censored * misfit >= 0)
                misfit = np.where(idle, 0.0, misfit)
                scale = np.where(idle, 0.0, scale)
            residual[:, at : at + count] = misfit.reshape(batch, count)
            block = jacobian[:, at : at + count].reshape(batch, *reading.observed.shape, layout.size)
            for where, slope in by_log.spectra:
                block[:, where[0], :, where[1]] = slope
            # by_log.dose: d reading / d log effective dose, (B, n, C, P).
            slowed = by_log.dose / (1 + kc[:, rows, None, :])
            block[..., layout.doses] = np.matmul(slowed, loads[rows][None])
            for j, (pigment, spread) in enumerate(self.departures):
                block[..., layout.departures.start + j] = (
                    -by_log.dose[..., pigment]
                    * (spread * poured[:, rows, pigment] / (1 + kc[:, rows, pigment]))[..., None]
                )
            if by_log.latents is not None and reading.latents is not None:
                block[..., layout.latents.start + reading.latents] = by_log.latents
            columns = layout.thicknesses.start + seen.poured[rows]
            index = np.arange(len(rows))
            block[:, index, :, columns] = np.moveaxis(
                by_log.thickness * seen.thickness_spread[seen.poured[rows]][:, None], 1, 0
            )
            block *= scale[..., None]
            at += count
        return residual, jacobian


@dataclass(frozen=True, slots=True)
class _Part:
    """Absorbance of some chips, by absorber [(B, n, K), …], and by what is known (B, n, K); thick (n,) as in `Observations`."""

    by_absorber: Sequence[Array]
    known: Array
    thick: Array | None

    @property
    def total(self) -> Array:
        absorbance = self.by_absorber[0] + self.known
        for part in self.by_absorber[1:]:
            absorbance = absorbance + part
        return absorbance


@dataclass(frozen=True, slots=True)
class _Slopes:
    """A reading's slopes: by spectra; by log dose (B, n, C, P), log thickness (B, n, C), leans (B, n, C, L)."""

    spectra: list[tuple[tuple[slice | Index, slice], Array]]
    dose: Array
    thickness: Array
    latents: Array | None = None


def leaning(reading: Readings, q: Array) -> Array | None:
    """The detector's weights: (K, C) where known, (B, K, C) where they lean; the bare light reads as before."""
    if reading.weights is None or reading.latents is None or (reading.lean is None and reading.mix is None):
        return reading.weights
    leant = _leant(reading, q)[0]
    scale = reading.weights.sum(axis=0) / leant.sum(axis=1)
    return np.asarray(leant * scale[:, None, :], dtype=np.float64)


def _leant(reading: Readings, q: Array) -> tuple[Array, Array]:
    """The weights before they are scaled (B, K, C), and their slopes by what leans and mixes them (B, K, C, L + M)."""
    assert reading.weights is not None
    # Six standard deviations: a wild step must not overflow.
    q = np.clip(q[:, reading.latents], -6, 6)
    weights, factor, leans, parts = reading.weights[None], np.ones((1, 1, 1)), 0, []
    if reading.lean is not None:
        leans = reading.lean.shape[-1]
        factor = np.exp(np.einsum("kcl,bl->bkc", reading.lean, q[:, :leans]))
    if reading.mix is not None:
        weights = weights + np.einsum("kcm,bm->bkc", reading.mix, q[:, leans : leans + reading.mix.shape[-1]])
    leant = weights * factor
    if reading.lean is not None:
        parts.append(leant[..., None] * reading.lean)
    if reading.mix is not None:
        parts.append(np.broadcast_to(reading.mix, (len(q), *reading.mix.shape)) * factor[..., None])
    return leant, np.concatenate(parts, axis=-1)


def tone_of(reading: Readings, q: Array) -> Array | None:
    """Contrast and log level (B or 1, 2) of a phone's curve; None where there is none."""
    if reading.tone is None:
        return None
    if reading.tone_lean is None or reading.latents is None:
        return reading.tone[None]
    # Four standard deviations: contrast stays below what would turn the curve back.
    return np.asarray(reading.tone + reading.tone_lean * np.clip(q[:, reading.latents[-2:]], -4, 4), dtype=np.float64)


def _read(
    reading: Readings,
    part: _Part,
    q: Array,
    n: float,
    priors: Sequence[SpectrumPrior],
    layout: Layout,
    doses: Array,
) -> tuple[Array, _Slopes]:
    """What the instrument would read (B, n, C), and the slopes."""
    absorbance = part.total
    beyond: Array | float = 0.0
    if reading.relative == "untinted":
        # Past 30 chip and clear lose alike, and a wild step must not divide by no light at all.
        beyond = np.maximum(part.by_absorber[0] - 30.0, 0.0)
    # Absorbances of the whole chip: a thickness of one. Slopes are by absorbance from here on.
    light, slope = through_with_slope(absorbance - beyond, 1.0, n, reading.behind)
    slope = slope * -LN10
    base_slope: Array | None = None
    if reading.relative == "untinted":
        clear, clear_slope = through_with_slope(part.by_absorber[0] - beyond, 1.0, n, reading.behind)
        light = light / clear
        slope = slope / clear
        base_slope = -light / clear * clear_slope * -LN10
    if np.any(reading.regular != 1.0):
        light, slope = light * reading.regular[:, None], slope * reading.regular[:, None]
        base_slope = None if base_slope is None else base_slope * reading.regular[:, None]
    if reading.form == "bands":
        return _read_bands(reading, part, light, slope, base_slope, priors, layout, doses, absorbance)
    detector = leaning(reading, q)
    assert detector is not None
    value = light @ detector
    weights: Array = np.moveaxis(detector, -1, -2)
    if detector.ndim == 3:
        weights = weights[:, None]
    if reading.form == "lab":
        assert reading.white is not None
        value, turn = lab_with_slope(value, reading.white)
        gain = np.matmul(turn, weights) * slope[..., None, :]
        base_gain = None if base_slope is None else np.matmul(turn, weights) * base_slope[..., None, :]
    else:
        gain = weights * slope[..., None, :]
        base_gain = None if base_slope is None else weights * base_slope[..., None, :]
    latents = _by_latents(reading, detector, q, light) if detector.ndim == 3 else None
    tone = tone_of(reading, q)
    if tone is not None:
        contrast, level = tone[:, 0, None, None], np.exp(tone[:, 1, None, None])
        value, by_light, by_contrast, by_level = toned(value, contrast, level)
        gain = gain * by_light[..., None]
        base_gain = None if base_gain is None else base_gain * by_light[..., None]
        if reading.tone_lean is not None and latents is not None:
            own = np.stack([by_contrast, by_level * level], axis=-1) * reading.tone_lean
            latents = np.concatenate([latents * by_light[..., None], own], axis=-1)
    batch, count, channels = gain.shape[:3]
    dose = np.zeros((batch, count, channels, doses.shape[1]))
    spectra: list[tuple[tuple[slice | Index, slice], Array]] = []
    along = np.zeros((batch, count, channels))
    for j, (prior, absorber) in enumerate(zip(priors, part.by_absorber, strict=True)):
        used = slice(None) if j == 0 else np.flatnonzero(doses[:, j - 1] > 0)
        pull = gain[:, used] * absorber[:, used, None, :]
        if j == 0 and base_gain is not None:
            pull = pull + base_gain * absorber[..., None, :]
        if j == 0 and part.thick is not None:
            spectra.append(((used, layout.thick), part.thick[:, None, None] * (pull @ thick_basis().columns)))
        flat = pull.reshape(batch, -1, pull.shape[-1]) @ prior.basis
        spectra.append(((used, layout.absorbers[j]), flat.reshape(*pull.shape[:3], flat.shape[-1])))
        by_log = pull.sum(axis=-1)
        along[:, used] += by_log
        if j:
            dose[..., j - 1][:, used] = by_log
    along += np.einsum("bnck,bnk->bnc", gain, part.known)
    return value, _Slopes(spectra, dose, along, latents)


def _by_latents(reading: Readings, detector: Array, q: Array, light: Array) -> Array:
    """Slopes (B, n, C, L + M) of what the detector reads by what leans and mixes its weights."""
    leant, turn = _leant(reading, q)
    share = turn.sum(axis=1, keepdims=True) / leant.sum(axis=1, keepdims=True)[..., None]
    scale = detector.sum(axis=1, keepdims=True) / leant.sum(axis=1, keepdims=True)
    slopes = np.matmul(light[:, None], np.moveaxis(scale[..., None] * turn - detector[..., None] * share, 2, 1))
    return np.asarray(slopes.swapaxes(1, 2), dtype=np.float64)


def _read_bands(
    reading: Readings,
    part: _Part,
    light: Array,
    slope: Array,
    base_slope: Array | None,
    priors: Sequence[SpectrumPrior],
    layout: Layout,
    doses: Array,
    absorbance: Array,
) -> tuple[Array, _Slopes]:
    bands = reading.bands
    value, slope, absorbance = light[..., bands], slope[..., bands], absorbance[..., bands]
    dose = np.zeros((*value.shape, doses.shape[1]))
    spectra: list[tuple[tuple[slice | Index, slice], Array]] = []
    along = slope * absorbance
    for j, (prior, absorber) in enumerate(zip(priors, part.by_absorber, strict=True)):
        used = slice(None) if j == 0 else np.flatnonzero(doses[:, j - 1] > 0)
        pull = slope[:, used] * absorber[:, used][..., bands]
        if j == 0 and base_slope is not None:
            extra = base_slope[..., bands] * absorber[..., bands]
            pull = pull + extra
            along = along + extra
        if j == 0 and part.thick is not None:
            by_thick = part.thick[:, None, None] * pull[..., None] * thick_basis().columns[bands]
            spectra.append(((used, layout.thick), by_thick))
        spectra.append(((used, layout.absorbers[j]), pull[..., None] * prior.basis[:, None, bands, :]))
        if j:
            dose[..., j - 1][:, used] = pull
    return value, _Slopes(spectra, dose, along)
