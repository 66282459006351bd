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
from tintmix.pigments.inference.bands import through_slit
from tintmix.pigments.inference.cameras import by_latents, leaning, tone_of
from tintmix.pigments.inference.observations import Index, Observations, Readings
from tintmix.pigments.inference.parts import Division, Layout, Part, divided, pieces_of, span
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
    used: tuple[tuple[slice | Index, ...], ...] = field(init=False, repr=False, compare=False)
    """Of each reading, which of its chips hold the base, and each pigment."""
    has_known: bool = field(init=False, repr=False, compare=False)
    """Whether anything absorbs that is not fitted here."""
    of_parts: dict[int, Forward] = field(init=False, repr=False, compare=False)
    """The models of its parts that were asked for, by the first of their chips."""

    def __post_init__(self) -> None:
        # Asked for at every step.
        object.__setattr__(self, "layout", self._laid_out())
        pieces = () if self.is_part else pieces_of(self.observations)
        departing = [pigment for pigment, _ in self.departures]
        object.__setattr__(self, "division", divided(self.observations, self.layout, pieces, departing))
        rows = [np.repeat(r.chips, r.observed.shape[1]) for r in self.observations.readings]
        object.__setattr__(self, "rows", np.concatenate(rows))
        dosed = [(self.observations.doses[r.chips] > 0).T for r in self.observations.readings]
        used = [(slice(None), *(span(np.flatnonzero(mine)) for mine in one)) for one in dosed]
        object.__setattr__(self, "used", tuple(used))
        object.__setattr__(self, "has_known", bool(self.observations.known_per_mm.any()))
        object.__setattr__(self, "of_parts", {})

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
        object.__setattr__(out, "of_parts", {})
        return out

    def of_part(self, part: Part) -> Forward:
        """The model of a part's chips alone."""
        first = int(part.piece.chips[0])
        if first not in self.of_parts:
            self.of_parts[first] = self._of_part(part)
        return self.of_parts[first]

    def _of_part(self, part: Part) -> Forward:
        priors = tuple(self.priors[absorber] for absorber in (0, *(p + 1 for p in part.piece.pigments)))
        place = {pigment: p for p, pigment in enumerate(part.piece.pigments)}
        departures = tuple((place[p], spread) for p, spread in (self.departures[j] for j in part.departures))
        return Forward(part.piece.seen, priors, departures, is_part=True)

    def by_parts(self, z: Array, room: Sequence[Array] | None = None) -> Iterator[tuple[Part, Forward, Array, Array]]:
        """Each part with its model, its whitened residuals (B, R), and their Jacobian by its own unknowns. room: as
        `residuals` has it, of each part."""
        for at, part in enumerate(self.division.parts if self.division is not None else ()):
            here = self.of_part(part)
            yield part, here, *here.residuals(z[:, part.unknowns], None if room is None else room[at])

    def misfits(self, z: Array) -> Array:
        """Whitened residuals (B, R) alone."""
        out = np.empty((len(z), len(self.rows)))
        if self.division is not None:
            for part in self.division.parts:
                out[:, part.piece.residuals] = self.of_part(part).misfits(z[:, part.unknowns])
            return out
        poured, at = self._poured(z), 0
        for reading in self.observations.readings:
            light = self._light(reading, poured).through
            misfit = _sight(reading, light, z[:, self.layout.latents]).misfit
            out[:, at : (at := at + reading.observed.size)] = misfit.reshape(len(z), -1)
        return out

    @property
    def shared(self) -> Index:
        """The unknowns that a fit's precision is of: all, or those that the parts share."""
        return np.arange(self.layout.size) if self.division is None else self.division.shared

    def absorptivities(self, z: Array) -> list[Array]:
        """ε (B, K) of the base and of each pigment."""
        spectra, (least, most) = [], LOGS
        for prior, at in zip(self.priors, self.layout.absorbers, strict=True):
            own = z[:, at]
            shared = len(prior.basis) == 1
            log = own @ prior.basis[0].T if shared else np.matmul(prior.basis, own[..., None])[..., 0]
            spectra.append(np.exp(np.minimum(np.maximum(prior.mean + log, least), most)))
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

    def residuals(self, z: Array, room: Array | None = None) -> tuple[Array, Array]:
        """Whitened residuals (B, R) and their Jacobian (B, R, D), in the order of `rows`. room: a Jacobian of B candidates or
        more that nobody needs; new memory would cost as much as half the arithmetic."""
        poured = self._poured(z)
        residual = np.empty((len(z), len(self.rows)))
        # What is zero is so for every candidate.
        jacobian = np.zeros((len(z), len(self.rows), self.layout.size)) if room is None else room[: len(z)]
        at = 0
        for reading, used in zip(self.observations.readings, self.used, strict=True):
            light = self._light(reading, poured)
            sight = _sight(reading, light.through, z[:, self.layout.latents])
            here = slice(at, at := at + reading.observed.size)
            residual[:, here] = sight.misfit.reshape(len(z), -1)
            block = jacobian[:, here].reshape(*sight.misfit.shape, self.layout.size)
            self._fill(block, reading, used, poured, light, sight)
        return residual, jacobian

    def _poured(self, z: Array) -> _Poured:
        seen, layout = self.observations, self.layout
        labels = seen.doses[None]
        if layout.doses.stop > layout.doses.start:
            loads = seen.dose_loads.table
            error = (z[:, layout.doses] @ loads.reshape(-1, loads.shape[2]).T).reshape(-1, *labels.shape[1:])
            labels = labels * np.exp(np.minimum(np.maximum(error, -3.0), 3.0))
        slowed = None
        if self.departures:
            slowed = 1 + np.maximum(self.departure(z)[:, None, :] * labels, MOST_BENT)
        stretch = (seen.thickness_spread * z[:, layout.thicknesses])[:, seen.poured]
        base_log = self.log_thick(z) if len(seen.thick) else None
        return _Poured(
            spectra=np.stack(self.absorptivities(z), axis=1),
            base_log=base_log,
            labels=labels,
            doses=labels if slowed is None else labels / slowed,
            slowed=slowed,
            thickness=seen.thickness_mm * np.exp(np.minimum(np.maximum(stretch, -1.0), 1.0)),
        )

    def _light(self, reading: Readings, poured: _Poured) -> _Light:
        """What comes through the chips of a reading."""
        seen, rows = self.observations, reading.chips
        thickness, base = poured.thickness[:, rows], poured.spectra[:, :1]
        if poured.base_log is not None:
            base = base * np.exp(seen.thick[rows, None] * poured.base_log[:, None, :])
        own = thickness[..., None] * base
        loads = thickness[..., None] * poured.doses[:, rows]
        absorbance = own + np.matmul(loads, poured.spectra[:, 1:])
        known: Array | None = None
        if self.has_known:
            known = thickness[..., None] * seen.known_per_mm[rows]
            absorbance += known
        n, behind = seen.refractive_index, reading.behind
        base_slope: Array | None = None
        # Absorbances of the whole chip: a thickness of one.
        if reading.relative == "untinted":
            # Past 30 chip and clear lose alike, and a wild step must not divide by no light at all.
            beyond = np.maximum(own - 30.0, 0.0)
            light, slope = through_with_slope(absorbance - beyond, 1.0, n, behind)
            clear, clear_slope = through_with_slope(own - beyond, 1.0, n, behind)
            light, slope = light / clear, slope / clear
            base_slope = slope - light / clear * clear_slope
        else:
            light, slope = through_with_slope(absorbance, 1.0, n, behind)
        regular = reading.regular[:, None]
        if (regular != 1.0).any():
            light, slope = light * regular, slope * regular
            base_slope = None if base_slope is None else base_slope * regular
        slope = slope * -LN10
        base_slope = slope if base_slope is None else base_slope * -LN10
        return _Light(light, slope, base_slope * own, loads, None if known is None else slope * known)

    def _fill(
        self,
        block: Array,
        reading: Readings,
        used: Sequence[slice | Index],
        poured: _Poured,
        light: _Light,
        sight: _Sight,
    ) -> None:
        """A reading's part (B, n, C, D) of the Jacobian."""
        seen, layout, rows = self.observations, self.layout, reading.chips
        batch, count, channels = sight.misfit.shape
        # By log effective dose; the chips first, for each has loads of its own.
        by_dose = np.zeros((count, batch, channels, len(self.priors) - 1))
        along = np.zeros(sight.misfit.shape)
        for j, (prior, mine, at) in enumerate(zip(self.priors, used, layout.absorbers, strict=True)):
            by_log = light.base
            if j:
                by_log = light.slope[:, mine] * light.loads[:, mine, j - 1, None]
                by_log *= poured.spectra[:, None, j]
            pull, whole = sight.pulled(by_log, mine)
            block[:, mine, :, at] = _along(pull, prior.basis, sight.bands)
            along[:, mine] += whole
            if j:
                by_dose[mine, ..., j - 1] = whole.swapaxes(0, 1)
            elif poured.base_log is not None:
                by_thick = _along(pull, thick_basis().columns[None], sight.bands)
                block[..., layout.thick] = seen.thick[rows, None, None] * by_thick
        if light.known is not None:
            along += sight.pulled(light.known, slice(None))[1]
        if poured.slowed is not None:
            slowed = poured.slowed[:, rows]
            by_dose /= slowed.swapaxes(0, 1)[:, :, None, :]
            for j, (pigment, spread) in enumerate(self.departures):
                bent = spread * poured.labels[:, rows, pigment]
                block[..., layout.departures.start + j] = -by_dose[..., pigment].swapaxes(0, 1) * bent[..., None]
        if layout.doses.stop > layout.doses.start:
            loads = seen.dose_loads.table[rows]
            by_error = np.matmul(by_dose.reshape(count, -1, by_dose.shape[-1]), loads)
            block[..., layout.doses] = by_error.reshape(count, batch, channels, -1).swapaxes(0, 1)
        if sight.latents is not None and reading.latents is not None:
            block[..., layout.latents.start + reading.latents] = sight.latents
        columns = layout.thicknesses.start + seen.poured[rows]
        spreads = seen.thickness_spread[seen.poured[rows], None]
        block[:, np.arange(count), :, columns] = (along * spreads).swapaxes(0, 1)


@dataclass(frozen=True, slots=True)
class _Poured:
    """What B candidates hold. spectra: (B, P + 1, K), of the base and of each pigment; base_log: (B, K), as `Forward.log_thick`,
    where it is asked; labels: (B, N, P), doses with their errors, doses: of these, what absorbs, and slowed, 1 + k c, by which;
    thickness: (B, N)."""

    spectra: Array
    base_log: Array | None
    labels: Array
    doses: Array
    slowed: Array | None
    thickness: Array


@dataclass(frozen=True, slots=True)
class _Light:
    """through: (B, n, K), what comes through the n chips of a reading; slope: of it by absorbance; base: of it by the log of the
    base's, and known: by the log of what is not fitted, where there is any. loads: (B, n, P), doses times thickness."""

    through: Array
    slope: Array
    base: Array
    loads: Array
    known: Array | None


@dataclass(frozen=True, slots=True)
class _Sight:
    """misfit: (B, n, C), whitened. weights: (B, n, C, K), its slopes by light; None of a spectrum without a slit, where it is
    scale (B or 1, n, C) by that of its own band. latents: (B, n, C, L + M), by what leans and mixes the detector's weights."""

    misfit: Array
    scale: Array
    weights: Array | None = None
    bands: Index | None = None
    latents: Array | None = None

    def pulled(self, by_log: Array, used: slice | Index) -> tuple[Array, Array]:
        """From slopes (B, m, K) of the light of m chips by log absorptivity, band by band, those of the misfits: by each band
        (B, m, C, K), or (B, m, C) of a spectrum, and by all of them together (B, m, C)."""
        if self.weights is None:
            own = by_log[..., self.bands] * self.scale[:, used]
            return own, own
        pull = self.weights[:, used] * by_log[:, :, None, :]
        return pull, (pull.reshape(-1, pull.shape[-1]) @ _ONES).reshape(pull.shape[:-1])


_ONES = np.ones(len(GRID_NM))
"""A product with it adds up the bands in a fifth of the time of a sum."""


def _along(pull: Array, basis: Array, bands: Index | None) -> Array:
    """From slopes as `_Sight.pulled` has them, those (B, m, C, rank) by coordinates on this basis (B or 1, K, rank)."""
    if bands is not None:
        return np.asarray(pull[..., None] * basis[:, None, bands, :])
    return _product(pull, basis[0] if len(basis) == 1 else basis)


def _product(left: Array, right: Array) -> Array:
    """left (B or 1, …, K) times right, (K, C) of all candidates, which is one product, or (B, K, C)."""
    shared = right.ndim == 2
    rows = left.reshape(*(() if shared else (len(left),)), -1, left.shape[-1])
    product = np.matmul(rows, right)
    return np.asarray(product.reshape(len(left) if shared else len(product), *left.shape[1:-1], right.shape[-1]))


def _sight(reading: Readings, light: Array, q: Array) -> _Sight:
    """How far what the instrument would read of light (B, n, K) is from what it read, and the slopes."""
    if reading.bands is not None:
        own = light[..., reading.bands]
        if not reading.slit_nm:
            misfit, scale = _whitened(reading, own)
            return _Sight(misfit, scale, bands=reading.bands)
        value, turn = through_slit(GRID_NM[reading.bands], own, reading.slit_nm)
        misfit, scale = _whitened(reading, value)
        weights = np.zeros((*value.shape, light.shape[-1]))
        weights[..., reading.bands] = turn * scale[..., None]
        return _Sight(misfit, scale, weights)
    detector = leaning(reading, q)
    assert detector is not None
    value = _product(light, detector)
    latents = by_latents(reading, detector, q, light) if detector.ndim == 3 else None
    turn = np.eye(value.shape[-1])
    if reading.form == "lab":
        assert reading.white is not None
        value, turn = lab_with_slope(value, reading.white)
    tone = tone_of(reading, q)
    if tone is not None:
        contrast, level = tone[:, 0, None, None], np.exp(tone[:, 1, None, None])
        value, by_light, by_contrast, by_level = toned(value, contrast, level)
        turn = turn * by_light[..., None]
        if reading.tone_lean is not None and latents is not None:
            own = np.stack([by_contrast, by_level * level], axis=-1) * reading.tone_lean
            latents = np.concatenate([latents * by_light[..., None], own], axis=-1)
    misfit, scale = _whitened(reading, value)
    weights = _product(turn * scale[..., None], detector.swapaxes(-1, -2))
    return _Sight(misfit, scale, weights, latents=None if latents is None else latents * scale[..., None])


def _whitened(reading: Readings, value: Array) -> tuple[Array, Array]:
    """Misfits (B, n, C) of what would be read, and their slopes (B or 1, n, C) by it."""
    scale = 1 / reading.spread[None]
    misfit = (value - reading.observed) * scale
    if reading.censored is None:
        return misfit, scale
    idle = (reading.censored != 0) & (reading.censored * misfit >= 0)
    return np.where(idle, 0.0, misfit), np.where(idle, 0.0, scale)
