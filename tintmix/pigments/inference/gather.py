"""Chip sets into `Observations`: several sets become one fit, with cups and chips matched by name."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from tintmix.chips.chip import Chip, ChipSet
from tintmix.errors import FileProblem, Remedy
from tintmix.optics.absorption import effective_doses
from tintmix.optics.colour import lab
from tintmix.optics.detector import (
    Detector,
    Light,
    camera,
    camera_sensitivities,
    eye,
    light,
    light_from_spectrum,
    rendered,
)
from tintmix.optics.insert import smoothest_reflectance
from tintmix.optics.plate import external_transmittance, internal_transmittance
from tintmix.optics.spectrum import FINE_NM, GRID_NM, Array
from tintmix.optics.tile import Tile
from tintmix.pigments.inference import cameras
from tintmix.pigments.inference.bands import Reads, onto_bands
from tintmix.pigments.inference.haze import HazeTold, fit_haze, haze_of, prior_spreads, told_haze
from tintmix.pigments.inference.observations import CENSOR_BELOW, DoseLoads, Index, Mask, Observations, Readings
from tintmix.pigments.inference.together import unlike_chips, unlike_cups
from tintmix.pigments.model import HazeLaw

BOTTLE_SPREAD = 0.01
"""Relative spread of a stock bottle's strength: two weighings and the stirring (common practice)."""
SHARED_SPREAD = 0.005
"""Relative dose error that all pigments of a cup share: half a gram in a hundred of resin (common practice), and no
more than the dose's own: whoever weighs that better weighs the resin so too."""
CUT_OFF = 3.0
"""A JPEG's channel within so many of its spreads of the bare panel's, or above it, may have been cut off. No chip lets as much
light through as air: only a vivid colour's brightest channel comes so near. Where none but those at 1 exactly were taken for cut
off, the worst of 24 sets of real dyed films was 10 ΔE00 off, and of 24 of random dyes 15; with this, 5.5 and 7.2."""


@dataclass(frozen=True, slots=True)
class Gathered:
    """What the fit works on, and what the sets share. doses_phr: (N, P), as typed or weighed, of each row.

    haze_told: what haze readings say; haze_prior: (2 + P,), as `haze.prior_spreads` has it; seen_straight: of each of the
    observations' readings, whether it was straight through, so that scatter stands in it as an absorption.
    """

    observations: Observations
    pigments: tuple[str, ...]
    doses_phr: Array
    volume_per_phr: Array
    haze: HazeLaw | None
    haze_told: HazeTold
    haze_prior: Array
    seen_straight: tuple[bool, ...]
    chips: tuple[Chip, ...]
    set_of: tuple[int, ...]
    sets: tuple[ChipSet, ...]

    @property
    def straight(self) -> bool:
        """Whether nothing but straight-through light was read."""
        return all(self.seen_straight)

    @property
    def haze_known(self) -> bool:
        """Whether an integrating sphere, a white tile or the haze of chips tells scatter from absorption."""
        return not self.straight or self.haze is not None


def usable(chips: ChipSet) -> list[Chip]:
    """The chips of a set that have a reading and are not left out."""
    return [chip for chip in chips.chips if chip.use and len(chip.values)]


def gather(sets: Sequence[ChipSet]) -> Gathered:
    """All chips of all sets as arrays. Raises FileProblem."""
    sets = [part for chips in sets for part in chips.parts]
    first = sets[0]
    n = first.resin.refractive_index
    where = ", ".join(chips.title or "this set" for chips in sets)
    for other in sets[1:]:
        for what, one, another, agree in (
            ("refractive index", n, other.resin.refractive_index, n == other.resin.refractive_index),
            ("kind of dose", "parts of one mix", "phr", other.is_one_cup == first.is_one_cup),
        ):
            if not agree:
                raise FileProblem(
                    what=f"the chip sets of one fit must share the {what}, but one says {one} and another {another}",
                    remedy=Remedy.FIT_SETS_APART,
                )
    unlike_cups(sets)  # for what it refuses
    pigments = tuple(dict.fromkeys(p.name for chips in sets for p in chips.pigments))
    rows: list[tuple[int, Chip]] = [(s, chip) for s, chips in enumerate(sets) for chip in usable(chips)]
    if not rows:
        raise FileProblem(
            where=where,
            what="no chip has a reading that can be used; at least one is needed",
            remedy=Remedy.READ_A_CHIP,
        )
    doses = np.zeros((len(rows), len(pigments)))
    for r, (s, chip) in enumerate(rows):
        for pigment, dose in zip(sets[s].pigments, chip.doses_phr, strict=True):
            doses[r, pigments.index(pigment.name)] = dose
    for p, name in enumerate(pigments):
        if not np.any(doses[:, p] > 0):
            raise FileProblem(
                where=where,
                what=f"no usable chip holds {name}, so nothing is known of its strength",
                remedy=Remedy.POUR_A_CUP_OF_IT,
            )
    volume = _volume_per_phr(sets, pigments)
    concentration = effective_doses(doses, volume, np.zeros(len(pigments)))
    thickness = np.array([chip.thickness_mm for _, chip in rows])
    hazes = np.array([np.nan if chip.haze is None else chip.haze for _, chip in rows])
    by_word = np.array([bool(chip.haze_word) for _, chip in rows])
    told = told_haze(concentration, thickness, hazes, by_word)
    against_clear = all(sets[s].reading.relative_to == "untinted" for s, _ in rows)
    haze_prior = prior_spreads(concentration.max(axis=0), first.is_one_cup, against_clear)
    haze_law = fit_haze(told, haze_prior)
    loads, heavy = _dose_nuisances(sets, rows, pigments)
    apart = unlike_chips(sets)
    chip_names = [(chip.name, s if chip.name in apart else 0) for s, chip in rows]
    places = {named: place for place, named in enumerate(dict.fromkeys(chip_names))}
    poured = np.array([places[named] for named in chip_names])
    spread = np.zeros(len(places))
    for place, (s, chip) in zip(poured, rows, strict=True):
        spread[place] = sets[s].reading.thickness_spread_mm / chip.thickness_mm
    readings = []
    for s, chips in enumerate(sets):
        index = np.array([r for r, (owner, _) in enumerate(rows) if owner == s], dtype=int)
        if len(index):
            regular = np.ones(len(index))
            if chips.reading.geometry == "regular":
                regular = 1.0 - haze_of(haze_law, concentration[index], thickness[index], hazes[index], by_word[index])
            read = _readings(chips, [rows[r][1] for r in index], index, regular, n)
            readings += [(reading, chips) for reading in read]
    leaning, latent_count = with_latents(readings)
    observations = Observations(
        pigments=pigments,
        doses=concentration,
        thickness_mm=thickness,
        dose_loads=loads,
        heavy=heavy,
        poured=poured,
        thickness_spread=spread,
        known_per_mm=np.zeros((len(rows), len(GRID_NM))),
        readings=leaning,
        refractive_index=n,
        latent_count=latent_count,
        cups=tuple(chip.cup for _, chip in rows),
        is_one_cup=first.is_one_cup,
    )
    return Gathered(
        observations,
        pigments,
        doses,
        volume,
        haze_law,
        told,
        haze_prior,
        tuple(chips.reading.geometry == "regular" for _, chips in readings),
        tuple(c for _, c in rows),
        tuple(s for s, _ in rows),
        tuple(sets),
    )


def detector_of(chips: ChipSet) -> Detector | None:
    """How a set was read, as a detector; None for spectra."""
    reading = chips.reading
    if reading.kind == "spectrum":
        return None
    seen_under = _panel_of(chips)
    if reading.kind == "colour":
        return eye(seen_under, reading.observer)
    if reading.camera == "rendered":
        return cameras.rendered_unknown()[0] if _panel_unknown(chips) else rendered(seen_under)
    if reading.camera == "unknown":
        return camera(FINE_NM, cameras.unknown_sensitivities(), seen_under)
    return camera(*(chips.camera_curve or camera_sensitivities(reading.camera)), seen_under)


def _panel_unknown(chips: ChipSet) -> bool:
    return chips.light_curve is None and chips.reading.light == "unknown"


def _panel_of(chips: ChipSet) -> Light:
    """The light that a set was read under."""
    if chips.light_curve is not None:
        return light_from_spectrum(chips.reading.light, *chips.light_curve)
    return cameras.unknown_panel() if chips.reading.light == "unknown" else light(chips.reading.light)


def with_latents(readings: Sequence[tuple[Readings, ChipSet]]) -> tuple[tuple[Readings, ...], int]:
    """The readings with what leans their detectors: an unknown camera is one, whichever of the sets read with it."""
    places: dict[str, slice] = {}
    count = 0
    out = []
    for reading, chips in readings:
        told: list[tuple[str, int]] = []
        weights = reading.weights
        if reading.form == "channels" and weights is not None:
            if _panel_unknown(chips) and chips.reading.camera != "rendered":
                reading = replace(reading, lean=cameras.panel_lean())
                told.append(("panel", cameras.panel_lean().shape[-1]))
            if chips.reading.camera == "unknown":
                mix = cameras.sensitivity_mix(weights)
                reading = replace(reading, mix=mix)
                told.append(("camera", mix.shape[-1]))
            if chips.reading.camera == "rendered":
                mix = cameras.rendered_unknown()[1] if _panel_unknown(chips) else cameras.rendered_mix(_panel_of(chips))
                reading = replace(reading, mix=mix, tone=cameras.TONE, tone_lean=cameras.TONE_SPREAD)
                # The same phone goes to white otherwise from another panel.
                told += [(f"rendered {chips.reading.light}", mix.shape[-1]), ("tone", 2)]
        for key, size in told:
            if key not in places:
                places[key] = slice(count, count := count + size)
        if told:
            latents = np.concatenate([np.arange(places[key].start, places[key].stop) for key, _ in told])
            reading = replace(reading, latents=latents)
        out.append(reading)
    return tuple(out), count


def tile_of(chips: ChipSet, nm: Array = GRID_NM) -> Tile | None:
    """The white tile that a set's chips were read on, on these wavelengths; None for chips read against a light."""
    reading = chips.reading
    if not reading.on_tile:
        return None
    if chips.tile_curve is not None:
        white = np.interp(nm, *chips.tile_curve)
    else:
        under: Light | str = (
            reading.light if chips.light_curve is None else light_from_spectrum(reading.light, *chips.light_curve)
        )
        white = np.interp(nm, GRID_NM, smoothest_reflectance(np.array(reading.tile_lab), under, reading.observer))
    # 0.02: as `chips.set_file` lets a measured white be at least.
    return Tile(np.maximum(white, 0.02), reading.contact, "d/8" if reading.geometry == "d/8" else "45/0")


def _volume_per_phr(sets: Sequence[ChipSet], pigments: tuple[str, ...]) -> Array:
    """ρ_resin/(100 ρ_pigment); an unknown density of the pigment is taken as the resin's (physics §1)."""
    if sets[0].is_one_cup:
        return np.zeros(len(pigments))
    resin = sets[0].resin.density_g_per_cm3
    volume = np.full(len(pigments), 0.01)
    for chips in sets:
        for pigment in chips.pigments:
            if pigment.density_g_per_cm3 and resin:
                volume[pigments.index(pigment.name)] = resin / (100 * pigment.density_g_per_cm3)
    return volume


def _dose_nuisances(
    sets: Sequence[ChipSet], rows: Sequence[tuple[int, Chip]], pigments: tuple[str, ...]
) -> tuple[DoseLoads, Mask]:
    """Log dose errors: one a cup and pigment, since each goes onto the scale by itself; one that a cup of several shares, from
    the resin's own weighing; one a stock bottle."""
    places: dict[tuple[str, str], int] = {}
    sizes: dict[tuple[int, int, int], float] = {}
    for r, (s, chip) in enumerate(rows):
        for pigment, dose, spread in zip(sets[s].pigments, chip.doses_phr, chip.dose_spreads, strict=True):
            if dose <= 0 or (sets[s].is_one_cup and dose == 1.0):
                # The cup as poured is dose 1 by definition: no scale stands between it and the part.
                continue
            p = pigments.index(pigment.name)
            alone = sum(dose > 0 for dose in chip.doses_phr) == 1
            shared = min(SHARED_SPREAD, spread)
            errors = {("cup", f"{chip.cup}\0{pigment.name}"): np.hypot(spread, shared) if alone else spread}
            if not alone:
                errors["shared", chip.cup] = shared
            if pigment.stock:
                errors["bottle", f"{pigment.name} {pigment.stock}"] = BOTTLE_SPREAD
            for error, size in errors.items():
                sizes[r, p, places.setdefault(error, len(places))] = float(size)
    told = {at: size for at, size in sizes.items() if size}
    entries = np.array(list(told), dtype=np.intp).reshape(-1, 3).T
    loads = DoseLoads(
        entries[0], entries[1], entries[2], np.array(list(told.values())), (len(rows), len(pigments), len(places))
    )
    return loads, np.array([kind == "cup" for kind, _ in places], dtype=bool)


def _readings(chips: ChipSet, rows: list[Chip], index: Index, regular: Array, n: float) -> list[Readings]:
    reading = chips.reading
    values = np.array([chip.values for chip in rows], dtype=np.float64)
    relative = reading.relative_to
    own = [reading.reading_spread if chip.reading_spread is None else chip.reading_spread for chip in rows]
    spreads = np.array(own)[:, None]
    if reading.kind == "spectrum":
        return [_spectra(chips, values, spreads, index, regular, n)]
    detector = detector_of(chips)
    assert detector is not None
    if reading.kind == "colour":
        observed = lab(values, detector.bare) if reading.space == "XYZ" else values
        return [
            Readings(
                "lab", index, observed, np.broadcast_to(spreads, observed.shape).copy(), relative, regular,
                weights=detector.weights, white=detector.bare, tile=tile_of(chips),
            )
        ]  # fmt: skip
    spread = np.hypot(spreads * np.abs(values), reading.zero_spread)
    censored = None
    if reading.camera == "rendered":
        censored = np.where(values < CENSOR_BELOW, -1, np.where(values > 1.0 - CUT_OFF * spread, 1, 0))
        values = np.maximum(values, CENSOR_BELOW)
    return [Readings("channels", index, values, spread, relative, regular, weights=detector.weights, censored=censored)]


def _spectra(chips: ChipSet, values: Array, spreads: Array, index: Index, regular: Array, n: float) -> Readings:
    """Spectra on the working grid: as read where they were read on it, else through the internal absorbance."""
    assert chips.reading.wavelengths_nm is not None
    relative, nm = chips.reading.relative_to, np.asarray(chips.reading.wavelengths_nm)
    tile = tile_of(chips)
    on_grid = np.isin(nm, GRID_NM)
    kept = nm[on_grid]
    if len(kept) and np.all(np.diff(kept) == 10) and len(nm) == len(kept):
        return Readings("bands", index, values[:, on_grid], np.repeat(spreads, len(kept), axis=1), relative, regular,
                        bands=np.searchsorted(GRID_NM, kept), tile=tile)  # fmt: skip
    there = tile_of(chips, nm)
    if there is not None:
        internal = np.clip(there.internal(values, n), 1e-4, None)
    else:
        internal = np.clip(values, 1e-4, None)
        internal = internal_transmittance(internal, n) if relative == "air" else internal

    def reads(tau: Array, where: Tile | None, bands: Index | None = None) -> Array:
        if where is not None:
            return where.factor(tau, n, bands)[0]
        return external_transmittance(tau, n) if relative == "air" else tau

    reads_as = Reads(lambda tau: reads(tau, there), lambda tau, bands: reads(tau, tile, bands))
    bands, observed, spread = onto_bands(nm, values, spreads, -np.log10(internal), reads_as)
    return Readings("bands", index, observed, spread, relative, regular, bands=bands, tile=tile)
