"""What the chips taught: each pigment's absorptivity in the resin, how sure it is, and what follows from it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from tintmix.numerals import chip_mm, numeral
from tintmix.optics.absorption import LN10, effective_doses, haze
from tintmix.optics.colour import Screen, lab, screen
from tintmix.optics.detector import Light, eye, luminous
from tintmix.optics.difference import delta_e00, within_95
from tintmix.optics.light import ThickBase, TintedResin, through
from tintmix.optics.paths import LightPaths
from tintmix.optics.plate import face_reflectance
from tintmix.optics.section import PANEL, Ground, Section, cautions_of_seen, of_clear
from tintmix.optics.spectrum import Array
from tintmix.pigments.caveats import bend_caveat, haze_caveat
from tintmix.pigments.errors import unknown_pigment
from tintmix.pigments.health import Health, health_of
from tintmix.pigments.model_digest import as_kept, digest_of, proves_nothing
from tintmix.quantities import DOSE_PHR
from tintmix.resin import Resin

_CHUNK = 4096
"""Rows worked at once in `predict_lab`: 4096 × 41 numbers stay near the core, and the loop costs little."""


@dataclass(frozen=True, slots=True)
class HazeLaw:
    """Scatter of the resin and of each pigment: H = 1 − (1 − surface) · exp(−t (base + Σ c s)) (physics §10)."""

    surface: float
    base_per_mm: float
    per_mm_phr: Array

    def at(self, effective: Array, thickness_mm: Array) -> Array:
        """Haze (fraction) of a section, an upper bound where it is dark. Shapes broadcast; doses on the last axis."""
        return haze(effective, thickness_mm, self.surface, self.base_per_mm, self.per_mm_phr)


@dataclass(frozen=True, slots=True, kw_only=True)
class CameraLatents:
    """What each draw of a model says of a camera, or of its panel, that nobody measured. camera, light: as the set names them.
    draws: (D, L), along the directions of `inference.cameras`."""

    camera: str
    light: str
    draws: Array


@dataclass(frozen=True, slots=True)
class Look:
    """What a tint looks like at S sections: means over the posterior, and how far they may be off.

    lab, xyz: (S, 3), each the mean over the draws, against the bare light as white. lab_covariance: (S, 3, 3).
    joint_lab_covariance: (3S, 3S), since thin and thick err together. transmittance: (S, 41), external.
    luminous_transmittance: (S,), by V(λ), bare light = 1; as it is seen, of sections that are seen by paths. of_clear: (S,),
    the same against clear resin there, of such sections, else None. delta_e00_95: (S,), 95 % of the posterior lies within it.
    haze: (S,) fractions, or None where no chip told of haze. lab_draws: (D, S, 3). luminous_draws: (D, S).
    """

    sections: tuple[Section, ...]
    light: str
    observer: int
    white_xyz: Array
    doses_phr: Mapping[str, float]
    xyz: Array
    lab: Array
    lab_covariance: Array
    joint_lab_covariance: Array
    luminous_transmittance: Array
    transmittance: Array
    delta_e00_95: Array
    haze: Array | None
    lab_draws: Array
    luminous_draws: Array
    of_clear: tuple[float | None, ...]
    dose_extrapolated: bool
    thickness_extrapolated: tuple[bool, ...]
    warnings: tuple[str, ...]

    @property
    def screen(self) -> Screen:
        """The colours for a screen, bare light white."""
        return screen(self.xyz, self.white_xyz)


@dataclass(frozen=True, slots=True)
class ManyLooks:
    """Posterior means of N dose vectors at S sections: lab, lab_draws (N, D, S, 3), luminous (N, S), haze (N, S)."""

    lab: Array
    lab_draws: Array
    luminous: Array
    haze: Array | None


@dataclass(frozen=True, slots=True)
class TintModel:
    """A Beer-Lambert model of every pigment in one resin, with the posterior as equally weighted draws.

    A(λ) = t · [a₀(λ) + Σₚ cₚ εₚ(λ)], decadic, t in mm, c in phr (grams per 100 g of mixed resin), corrected for the
    pigments' own volume, c/(1 + k c) where the chips demanded it. K = 41 wavelengths, P pigments, D draws.

    base_per_mm: (K,), absorptivity: (P, K), departure_per_phr: (P,): what stands for the draws where one spectrum
    must. draws_base: (D, K), draws_absorptivity: (D, P, K), draws_departure: (D, P). volume_per_phr: (P,),
    ρ_resin/(100 ρₚ), zero for a one-cup mix. highest_phr: (P,), the strongest chip; max_phr: (P,), what set.toml
    allows (infinite where it says nothing). thick: how the base changes in thick pours, each draw with its own, where
    untinted chips told of it. draws_scatter: (D, 1 + P), scatter per mm, and per mm and phr, that each draw took off chips read
    straight through; None where all the light was read. camera_weights: (K, 3), the camera that read the chips, on its panel, if
    one did. camera_tone: (2,), its contrast and log level (`optics.tone`), if it made JPEGs.
    """

    pigments: tuple[str, ...]
    wavelengths_nm: Array
    base_per_mm: Array
    absorptivity: Array
    draws_base: Array
    draws_absorptivity: Array
    draws_departure: Array
    departure_per_phr: Array
    volume_per_phr: Array
    refractive_index: float
    highest_phr: Array
    thickest_mm: float
    max_phr: Array
    haze: HazeLaw | None = None
    draws_scatter: Array | None = None
    resin: Resin | None = None
    lots: Mapping[str, str] = field(default_factory=dict)
    chips_digest: str = ""
    camera_weights: Array | None = None
    camera_tone: Array | None = None
    camera_latents: CameraLatents | None = None
    thick: ThickBase | None = None
    report: Mapping[str, Any] = field(default_factory=dict)

    @property
    def is_one_cup(self) -> bool:
        """Whether the whole mix is the one pigment: dose 1 is the cup as poured."""
        return self.pigments == ("mix",)

    @property
    def health(self) -> Health:
        """How far it is to be trusted, as its fit found."""
        return health_of(self.report)

    def dose_vector(self, doses_phr: Mapping[str, float]) -> Array:
        """Doses in the model's order of pigments; those not named are 0. Raises ValueProblem."""
        vector = np.zeros(len(self.pigments))
        for pigment, dose in doses_phr.items():
            if pigment not in self.pigments:
                raise unknown_pigment(pigment, self.pigments)
            vector[self.pigments.index(pigment)] = DOSE_PHR.check(f"the dose of {pigment}", dose)
        # The last digit of a sum is nobody's dose.
        DOSE_PHR.check("the dose of all pigments together", float(f"{vector.sum():.12g}"))
        return vector

    @property
    def mean_resin(self) -> TintedResin:
        """What absorbs, by the mean absorptivities."""
        return TintedResin(
            base_per_mm=self.base_per_mm,
            absorptivity=self.absorptivity,
            volume_per_phr=self.volume_per_phr,
            departure_per_phr=self.departure_per_phr,
            refractive_index=self.refractive_index,
            thick=None if self.thick is None else self._mean_thick(self.thick),
        )

    def _mean_thick(self, thick: ThickBase) -> ThickBase:
        """The one whose base in thick pours is the draws' mean."""
        mean = (self.draws_base * np.exp(thick.log_ratio)).mean(axis=0)
        return ThickBase(log_ratio=np.log(mean / self.base_per_mm), from_mm=thick.from_mm, to_mm=thick.to_mm)

    def drawn_resins(self, every: int = 1, of: NDArray[np.intp] | None = None) -> TintedResin:
        """What absorbs, by each draw of the posterior (D), or by each so-maniest, or by those of these numbers."""
        kept: Any = slice(None, None, every) if of is None else of
        return replace(
            self.mean_resin,
            base_per_mm=self.draws_base[kept],
            absorptivity=self.draws_absorptivity[kept],
            departure_per_phr=self.draws_departure[kept],
            thick=None
            if self.thick is None
            else replace(self.thick, log_ratio=self.thick.log_ratio[kept], power=np.asarray(self.thick.power)[kept]),
        )

    def effective(self, doses_phr: ArrayLike) -> Array:
        """Doses (…, P) as the mean model takes them: volume concentration, then the departure from Beer's law."""
        return effective_doses(np.asarray(doses_phr, dtype=np.float64), self.volume_per_phr, self.departure_per_phr)

    def predict_lab(
        self, doses_phr: ArrayLike, thickness_mm: ArrayLike, light: str | Light = "D65", observer: int = 10
    ) -> Array:
        """L*a*b* of N (dose vector, thickness) pairs from the mean absorptivities, a plate in air over bare light.

        doses_phr: (N, P) or (P,); thickness_mm: (N,) or a number. Returns (N, 3). No covariance: for that, `look`.
        A million pairs take about as long as the exponentials alone: the plate's arithmetic is folded into the product
        with the spectra here (see `optics.light.light`, which it is tested against).
        """
        doses = np.atleast_2d(np.asarray(doses_phr, dtype=np.float64))
        count = max(len(doses), np.size(thickness_mm))
        doses = np.broadcast_to(doses, (count, len(self.pigments)))
        thickness = np.broadcast_to(np.asarray(thickness_mm, dtype=np.float64), (count,))
        detector = eye(light, observer)
        resin, rho = self.mean_resin, float(face_reflectance(self.refractive_index))
        # x = ρτ, with log ρ as one more row of the product: T = (1 − ρ)² x/(1 − x²)/ρ saves a pass over the array.
        bands = len(self.wavelengths_nm)
        spectra = np.vstack([np.full(bands, np.log(rho)), -LN10 * self.base_per_mm, -LN10 * self.absorptivity])
        weights = detector.weights * ((1 - rho) ** 2 / rho)
        out = np.empty((count, 3))
        internal = np.empty((min(_CHUNK, count), bands))
        gain = np.empty_like(internal)
        path = np.empty((len(internal), len(spectra)))
        path[:, 0] = 1.0
        for start in range(0, count, _CHUNK):
            stop = min(start + _CHUNK, count)
            x, keep, amount = internal[: stop - start], gain[: stop - start], path[: stop - start]
            amount[:, 1] = thickness[start:stop]
            np.multiply(self.effective(doses[start:stop]), thickness[start:stop, None], out=amount[:, 2:])
            np.matmul(amount, spectra, out=x)
            if self.thick is not None:
                x -= LN10 * amount[:, 1:2] * resin.more(amount[:, 1])
            np.exp(x, out=x)
            np.multiply(x, x, out=keep)
            np.subtract(1.0, keep, out=keep)
            x /= keep
            out[start:stop] = lab(x @ weights, detector.bare)
        return out

    def look(
        self,
        doses_phr: Mapping[str, float],
        thickness_mm: float | Sequence[float | Section] | Sequence[float] | Sequence[Section],
        light: str | Light = "D65",
        observer: int = 10,
        behind: Ground = PANEL,
        cast_in: Resin | None = None,
    ) -> Look:
        """The colour at each thickness (or section), with its uncertainty over the whole posterior.

        thickness_mm: millimetres, or Sections that bring their own ground, or are seen by paths. cast_in: the resin
        of the casting, which a warning compares with the one that its paths were traced for; None: the chips'. Raises
        ValueProblem.
        """
        each: Sequence[float | Section] = [thickness_mm] if isinstance(thickness_mm, int | float) else thickness_mm
        sections = tuple(
            one if isinstance(one, Section) else Section(f"{numeral(one)} mm", float(one), behind) for one in each
        )
        doses = self.dose_vector(doses_phr)
        detector = eye(light, observer)
        factor, plate = (seen[0] for seen in self._seen_draws(doses[None], sections))
        xyz = factor @ detector.weights
        lab_draws = lab(xyz, detector.bare)
        photopic = luminous(light)
        luminous_draws = plate @ photopic
        through_mean = luminous_draws.mean(axis=0)
        mean = lab_draws.mean(axis=0)
        off = (lab_draws - mean).reshape(len(lab_draws), -1)
        joint = off.T @ off / max(len(off) - 1, 1)
        blocks = np.stack([joint[3 * s : 3 * s + 3, 3 * s : 3 * s + 3] for s in range(len(sections))])
        thicknesses = np.array([s.thickness_mm for s in sections])
        too_strong = bool(np.any(doses > self.highest_phr * (1 + 1e-9)))
        too_thick = tuple(bool(t > self.thickest_mm * (1 + 1e-9)) for t in thicknesses)
        return Look(
            sections=sections,
            light=detector.name.split("/")[0] if isinstance(light, str) else light.name,
            observer=observer,
            white_xyz=detector.bare,
            doses_phr=dict(zip(self.pigments, doses.tolist(), strict=True)),
            xyz=xyz.mean(axis=0),
            lab=mean,
            lab_covariance=blocks,
            joint_lab_covariance=joint,
            luminous_transmittance=through_mean,
            transmittance=plate.mean(axis=0),
            delta_e00_95=within_95(delta_e00(lab_draws, mean)),
            haze=None if self.haze is None else self.haze.at(self.effective(doses), thicknesses),
            lab_draws=lab_draws,
            luminous_draws=luminous_draws,
            of_clear=tuple(of_clear(one, float(y), photopic) for one, y in zip(sections, through_mean, strict=True)),
            dose_extrapolated=too_strong,
            thickness_extrapolated=too_thick,
            warnings=self._warnings(doses, sections, too_strong, cast_in),
        )

    def look_many(
        self, doses_phr: Array, sections: Sequence[Section], light: str | Light = "D65", observer: int = 10
    ) -> ManyLooks:
        """Posterior-mean colours of N dose vectors (N, P) at the sections; as `look` gives them one at a time."""
        detector = eye(light, observer)
        factor, plate = self._seen_draws(doses_phr, sections)
        lab_draws = lab(factor @ detector.weights, detector.bare)
        thicknesses = np.array([s.thickness_mm for s in sections])
        return ManyLooks(
            lab=lab_draws.mean(axis=1),
            lab_draws=lab_draws,
            luminous=(plate @ luminous(light)).mean(axis=1),
            haze=None if self.haze is None else self.haze.at(self.effective(doses_phr)[:, None, :], thicknesses),
        )

    def lab_draws(
        self, doses_phr: ArrayLike, thickness_mm: ArrayLike, light: str | Light = "D65", observer: int = 10
    ) -> Array:
        """L*a*b* (D, N, 3) of N (dose vector, thickness) pairs under every draw, a plate in air over bare light."""
        doses = np.atleast_2d(np.asarray(doses_phr, dtype=np.float64))
        detector = eye(light, observer)
        resins = self.drawn_resins()
        per_mm = resins.at(resins.per_mm(doses), thickness_mm)
        return lab(through(per_mm, thickness_mm, self.refractive_index) @ detector.weights, detector.bare)

    def digest(self) -> str:
        """Of all that predicts: spectra, draws, limits. Two models with one digest give the same recipes."""
        parts: list[NDArray[np.floating]] = [
            self.wavelengths_nm, as_kept(self.draws_base), as_kept(self.draws_absorptivity), self.draws_departure,
            self.volume_per_phr, np.array([self.refractive_index, self.thickest_mm]), self.highest_phr, self.max_phr,
        ]  # fmt: skip
        if (thick := self.thick) is not None:
            parts += [thick.log_ratio, np.asarray(thick.power), np.array([thick.from_mm, thick.to_mm])]
        if (law := self.haze) is not None:
            parts.append(np.array([law.surface, law.base_per_mm, *law.per_mm_phr]))
        return digest_of(self.pigments, parts)

    def is_called(self, named: str) -> bool:
        """Whether a recipe, or a book, may mean this model by that digest."""
        return named == self.digest() or proves_nothing(named)

    def _seen_draws(self, doses: Array, sections: Sequence[Section]) -> tuple[Array, Array]:
        """Factors (N, D, S, K) by which the light of each section is seen, one for every draw; and those of plates in air, or,
        of places that are seen by paths, the same."""
        resins = self.drawn_resins()
        per_mm = resins.per_mm(doses)
        seen = np.empty((len(doses), len(per_mm), len(sections), per_mm.shape[-1]))
        # The light that comes is that of a plate, whatever ground colours it, but where the ground is all that is seen.
        grounds = [section.ground if isinstance(section.ground, LightPaths) else PANEL for section in sections]
        plates = (
            seen
            if all(s.ground == ground for s, ground in zip(sections, grounds, strict=True))
            else np.empty_like(seen)
        )
        for s, (section, own) in enumerate(zip(sections, grounds, strict=True)):
            for out, ground in ((seen, section.ground),) if plates is seen else ((seen, section.ground), (plates, own)):
                there = resins.at(per_mm, section.thickness_mm)
                factor = through(there, section.thickness_mm, self.refractive_index, ground)
                out[:, :, s] = factor.swapaxes(0, 1)
        return seen, plates

    def _warnings(
        self, doses: Array, sections: Sequence[Section], too_strong: bool, cast_in: Resin | None
    ) -> tuple[str, ...]:
        told = [] if (unwell := self.health.warning) is None else [unwell]
        # Doubted chips may be stronger, or thicker: nothing rests on them.
        rests, such = (" that is not doubted", " such") if self.health.doubted_share else ("", "")
        if too_strong:
            unit = "of the cup's strength" if self.is_one_cup else "phr"
            over = [
                f"{p} {numeral(dose, 4)} {unit} (strongest{such} chip {numeral(top, 4)})"
                for p, dose, top in zip(self.pigments, doses, self.highest_phr, strict=True)
                if dose > top * (1 + 1e-9)
            ]
            told.append(
                f"stronger than any chip{rests}: {', '.join(over)}; the prediction reaches beyond what was measured."
            )
        thickest = max(sections, key=lambda section: section.thickness_mm)
        if thickest.thickness_mm > self.thickest_mm * (1 + 1e-9):
            told.append(
                f"thicker than any chip{rests}: {thickest.depth} (thickest{such} chip {chip_mm(self.thickest_mm)} mm); "
                "the prediction rests on Beer's law beyond what was measured."
            )
        told += [said for said in (self.haze_doubt(doses, thickest), self.bend_doubt(doses)) if said]
        resin = (self.refractive_index,) if cast_in is None else (cast_in.refractive_index, cast_in.name)
        told += [said for section in sections for said in cautions_of_seen(section, *resin)]
        return tuple(told)

    def haze_doubt(self, doses_phr: Array, section: Section) -> str:
        """A sentence on what haze leaves open of a section, or none."""
        if (scatter := self.draws_scatter) is None:
            return ""
        depth = section.thickness_mm * (scatter[:, 0] + scatter[:, 1:] @ self.effective(doses_phr))
        return haze_caveat(depth, section.depth, is_told=self.haze is not None)

    def bend_doubt(self, doses_phr: Array) -> str:
        """A sentence on pigments of which a bend is as likely as a cup poured wrong, or none."""
        bends = self.health.departures
        used = [p for p in np.flatnonzero(doses_phr > 0) if bends.get(self.pigments[p], {}).get("log_evidence", 0) > 0]
        straight = np.abs(self.draws_departure[:, used] * self.highest_phr[used]) < 1e-3
        return bend_caveat([self.pigments[p] for p, rest in zip(used, straight.T, strict=True) if rest.any()])
