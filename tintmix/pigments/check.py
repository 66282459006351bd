"""How well the model explains its own chips, which of them it doubts, and how it predicts each from the others."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from tintmix.files.plain import table_of
from tintmix.optics.colour import SRGB_TO_XYZ, lab, screen, xyz_of_lab
from tintmix.optics.detector import eye
from tintmix.optics.difference import delta_e00
from tintmix.optics.light import TintedResin, through
from tintmix.optics.spectrum import GRID_NM, Array
from tintmix.pigments import thick_base
from tintmix.pigments.doubts import beyond_chance, doubts
from tintmix.pigments.health import contradicts, health, is_wrong
from tintmix.pigments.inference.bands import slit_misses, through_slit
from tintmix.pigments.inference.departure import NOT_JUDGED, Departure
from tintmix.pigments.inference.departure import told as told_of_law
from tintmix.pigments.inference.draws import between_nodes
from tintmix.pigments.inference.forward import Forward, SpectrumPrior
from tintmix.pigments.inference.gather import Gathered
from tintmix.pigments.inference.laplace import evaluated
from tintmix.pigments.inference.observations import Index, Mask, Readings
from tintmix.pigments.inference.parts import reduced
from tintmix.pigments.inference.posterior import Mixture, Progress
from tintmix.pigments.inference.together import warnings_of
from tintmix.pigments.inference.whole_set.suspicions import Rival, suspicions
from tintmix.pigments.model import TintModel
from tintmix.pigments.replicates import replicate_warnings, scatter_warnings

_CHANCE_95 = 7.81
"""Squared misfit of three numbers that chance exceeds in 1 of 20 (chi-square)."""
_OF_OTHERS = 0.1
"""The part of a direction of a spectrum that is told by other chips at least, for a misfit in it to be held against a chip. With
less, it is the smoothness that was believed that contradicts: at the peak of a steep band, which only its palest chip shows,
by 30 and more, and 2 of 30 sets of sound narrow dyes doubted that chip."""
_MODES_REPORTED = 0.01
"""A mode of less weight is not counted: fewer than three of the 300 draws come from it."""
_DOUBTS, _SUSPICIONS = 0.3, 0.95
"""Parts of the time of a report on 1000 chips that contradict one another, up to the end of each."""
_STEP = 0.01
"""Relative step of a dose or a thickness for differences: small against their effect, large against rounding."""


def leave_one_out(mixture: Mixture, g: int) -> tuple[Array, Array]:
    """Each chip predicted from the others, without a new fit: one Newton step of the joint mode with the chip's rows
    taken away.

    δᵢ = Σ Jᵢᵀ (I − Hᵢ)⁻¹ rᵢ with Hᵢ = wᵢ Jᵢ Σ Jᵢᵀ, Σ the posterior covariance, wᵢ the chip's weight; the misfit of
    (I − Hᵢ)⁻¹ rᵢ is by its covariance, I + Hᵢ (I − Hᵢ)⁻¹/wᵢ and what grid and basis miss. Cook and Weisberg, *Residuals
    and Influence in Regression* (1982) ch. 3, with the prior as extra rows.

    Haze that nobody told has no part in it: it divides what the chips took into scatter and absorption, and a reading straight
    through is the same however that is divided.
    """
    one = np.array([g])
    forward, fit = mixture.forward.take(one), mixture.fit.take(one)
    count = len(forward.observations.doses)
    z, misfit = np.repeat(fit.z, count, axis=0), np.zeros(count)
    covariance = np.linalg.inv(fit.precision[0])
    if forward.division is None:
        step, misfit = _left_out(
            forward, fit.z, fit.jacobian[0], covariance @ fit.jacobian[0].T, None, fit.residual[0], fit.weight[0]
        )
        z += step
    else:
        jacobians = evaluated(forward, fit.z).jacobians
        left = reduced(jacobians, forward.division, fit.prior)
        for part, whole, inner, reach in zip(forward.division.parts, jacobians, left.inner, left.reach, strict=True):
            own = whole[0][:, part.own]
            # What its cups' errors do not take up, and what they do.
            jacobian, taken = whole[0][:, part.shared] - own @ reach[0], own @ np.linalg.solve(inner[0], own.T)
            chips, numbers = part.piece.chips, part.piece.residuals
            reached = covariance[:, part.core] @ jacobian.T
            here, own_z = forward.of_part(part), fit.z[:, part.unknowns]
            step, misfit[chips] = _left_out(
                here, own_z, jacobian, reached, taken, fit.residual[0, numbers], fit.weight[0, chips], part.core
            )
            z[chips[:, None], forward.shared] += step
    spectra = forward.absorptivities(z)
    if len(forward.observations.thick):
        spectra[0] = spectra[0] * np.exp(forward.observations.thick[:, None] * forward.log_thick(z))
    return np.stack(spectra, axis=1), misfit


def _left_out(
    forward: Forward,
    z: Array,
    jacobian: Array,
    reach: Array,
    taken: Array | None,
    residual: Array,
    weight: Array,
    core: Index | slice = slice(None),
) -> tuple[Array, Array]:
    """Of each chip of a set, or of a part: the step (n, G) of what its fit's precision is of, and the squared misfit (n,).

    jacobian: (R, k), weighted, by what of these the chips tell of (core); reach: (G, R), Σ Jᵀ; taken: (R, R), what the
    errors of their own cups take up of the readings, where the precision is without them; residual: (R,); weight: (n,).
    """
    rows = forward.rows
    count = len(forward.observations.doses)
    steps, misfit = np.zeros((count, len(reach))), np.zeros(count)
    unseen, slit = _unseen(forward, z), _by_slit(forward, residual)
    by_row, order = np.bincount(rows, minlength=count), np.argsort(rows, kind="stable")
    starts = np.concatenate([[0], np.cumsum(by_row)])
    in_bands = np.zeros(count, dtype=bool)
    for reading in forward.observations.readings:
        in_bands[reading.chips] = reading.form == "bands"
    for size in np.unique(by_row):
        # Chips of as many numbers at once: (n, size).
        some = np.flatnonzero(by_row == size)
        mine = order[starts[some][:, None] + np.arange(size)]
        reached = reach[:, mine].swapaxes(0, 1)
        # A band or channel seen by nobody else has leverage 1; the floor keeps the step finite.
        remain = np.eye(size) - np.matmul(jacobian[mine], reached[:, core])
        if taken is not None:
            remain = remain - taken[mine[:, :, None], mine[:, None, :]]
        values, vectors = np.linalg.eigh(0.5 * (remain + remain.swapaxes(1, 2)))
        values = np.maximum(values, 1e-3)
        turned = np.matmul(vectors.swapaxes(1, 2), residual[mine][..., None])[..., 0] / values
        step = np.matmul(reached, np.matmul(vectors, turned[..., None]))[..., 0] * np.sqrt(weight[some])[:, None]
        steps[some] = np.clip(step, -3.0, 3.0)
        left = np.matmul(vectors.swapaxes(1, 2), unseen[mine])
        spread = np.matmul(left, left.swapaxes(1, 2))
        spread += np.matmul(vectors.swapaxes(1, 2) * (slit[mine] ** 2)[:, None], vectors)
        spread[:, np.arange(size), np.arange(size)] += 1 + (1 - values) / values / weight[some][:, None]
        turned = np.where(in_bands[some][:, None] & (values < _OF_OTHERS), 0.0, turned)
        misfit[some] = (turned * np.linalg.solve(spread, turned[..., None])[..., 0]).sum(axis=1)
    return steps, misfit


def _unseen(forward: Forward, z: Array) -> Array:
    """What grid and basis miss at z (1, D), in the whitened readings (R, …): none where these are the grid's own bands."""
    if all(one.form == "bands" for one in forward.observations.readings):
        return np.zeros((len(forward.rows), 0))
    priors = []
    for prior, spectrum in zip(forward.priors, forward.absorptivities(z), strict=True):
        log = np.log(spectrum)
        missed = np.concatenate([prior.left_out[:1], between_nodes(log)[..., None] * np.eye(log.shape[1])], axis=-1)
        priors.append(SpectrumPrior(log, missed))
    apart = replace(forward, priors=tuple(priors))
    here = np.zeros((1, apart.layout.size))
    here[:, apart.layout.departures.start :] = z[:, forward.layout.departures.start :]
    jacobian = apart.residuals(here)[1][0, :, : apart.layout.departures.start]
    forms = [np.full(one.observed.size, one.form != "bands") for one in forward.observations.readings]
    return np.asarray(jacobian * np.concatenate(forms)[:, None], dtype=np.float64)


def _by_slit(forward: Forward, residual: Array) -> Array:
    """What the slit of an instrument may add to whitened readings (R,) of spectra, whose whitened misfits these are: none where
    the fit found one, and has it in the spreads."""
    out, at = np.zeros(len(residual)), 0
    for one in forward.observations.readings:
        here = slice(at, at := at + one.observed.size)
        if one.bands is not None and not one.slit_nm:
            light = one.observed + residual[here].reshape(one.observed.shape) * one.spread
            out[here] = (slit_misses(GRID_NM[one.bands], light) / one.spread).ravel()
    return out


def report(
    gathered: Gathered,
    mixture: Mixture,
    model: TintModel,
    departures: list[Departure],
    tell: Progress = lambda part: None,
) -> tuple[dict[str, Any], tuple[Rival, ...]]:
    """The fit's JSON, but for the seconds and the advice; and what other lights make of the readings, where these explain them
    nearly as well, or better. tell: what part of it is done."""
    # Over the modes that matter, by their weights.
    modes = np.argsort(-mixture.weights)[:4]
    modes = modes[mixture.weights[modes] > 0.05 * mixture.weights.max()]
    weights = mixture.weights[modes] / mixture.weights[modes].sum()
    parts = [leave_one_out(mixture, int(g)) for g in modes]
    spectra, misfit = (sum(w * part[k] for w, part in zip(weights, parts, strict=True)) for k in range(2))
    told = doubts(gathered, mixture, misfit, departures, leave_one_out)
    doubted = told.doubted
    tell(_DOUBTS)
    suspected = suspicions(gathered, mixture, departures, doubted)
    tell(_SUSPICIONS)
    set_up = [table_of(one) for one in suspected.said]
    # Read otherwise than it says, a set tells nothing of single chips, nor of Beer's law.
    wrong = any(map(is_wrong, set_up))
    model = _within_reach(gathered, model, np.zeros_like(doubted) if wrong else doubted)
    thick = thick_base.told(mixture, model, sure=not contradicts(float(doubted.mean()), set_up))
    faults = {} if wrong else told.says
    measured = np.zeros((len(gathered.chips), 3))
    for reading in gathered.observations.readings:
        measured[reading.chips] = _as_lab(reading, reading.observed)
    effective = model.effective(gathered.doses_phr)
    base = model.base_per_mm + model.mean_resin.more(gathered.observations.thickness_mm)
    base = np.broadcast_to(base, (len(effective), len(GRID_NM)))
    strength = np.broadcast_to(model.absorptivity, (len(effective), *model.absorptivity.shape))
    fitted = _predicted_labs(gathered, base, strength, effective)
    others = _predicted_labs(gathered, spectra[:, 0], spectra[:, 1:], effective)
    stronger = _predicted_labs(gathered, base, strength, effective * (1 + _STEP))
    thicker = _predicted_labs(gathered, base * (1 + _STEP), strength, effective * (1 + _STEP))
    unlike = replicate_warnings(gathered, measured, fitted, stronger, thicker, _STEP)
    inside = delta_e00(measured, fitted)
    outside = delta_e00(measured, others)
    sets, strongest = gathered.sets, gathered.doses_phr.max(axis=0).tolist()
    body = {
        "chips": [
            {
                "chip": chip.name,
                "set": sets[s].title,
                "cup": chip.cup,
                "thickness_mm": chip.thickness_mm,
                "delta_e00": float(inside[r]),
                "left_out_delta_e00": float(outside[r]),
                "measured_lab": measured[r].tolist(),
                "fitted_lab": fitted[r].tolist(),
                "doubted": bool(doubted[r]),
                "fault": faults.get(r, ""),
            }
            for r, (chip, s) in enumerate(zip(gathered.chips, gathered.set_of, strict=True))
        ],
        "cups": told.cups,
        "pigments": {
            name: {
                "highest_phr": float(model.highest_phr[p]),
                "lot": model.lots.get(name, ""),
                "departure": table_of(departures[p], ("pigment", "spread", "at_most")),
                "law": NOT_JUDGED if wrong else told_of_law(departures[p], strongest[p]),
                "swatch": _swatch(gathered, model, p),
            }
            for p, name in enumerate(model.pigments)
        },
        "health": health(
            doubted.tolist(),
            agreement=float(1 - beyond_chance(mixture, misfit, _CHANCE_95).mean()),
            set_up=set_up + ([] if thick is None else [thick]),
            departures={
                name: {
                    "up_to_phr": strongest[p],
                    "at_most": departures[p].at_most,
                    "log_evidence": departures[p].log_evidence,
                }
                for p, name in enumerate(model.pigments)
            },
            haze_known=gathered.haze_known,
            made_for={
                "readings": sorted({chips.reading.kind for chips in sets}),
                "thickest_mm": model.thickest_mm,
                "highest_phr": dict(zip(model.pigments, model.highest_phr.tolist(), strict=True)),
            }
            | ({"on_tile": True} if all(chips.reading.on_tile for chips in sets) else {}),
        ).as_table(),
        "fit_delta_e00": _summary(inside),
        "left_out_delta_e00": _summary(outside),
        "modes": int(np.count_nonzero(mixture.weights > _MODES_REPORTED)),
        "thickest_mm": model.thickest_mm,
        "defaults_used": {key: value for chips in sets for key, value in chips.defaults_used.items()},
        "warnings": warnings_of(sets)
        + unlike
        + scatter_warnings(gathered)
        + ([] if thick is None else [thick["says"]]),
    }
    return body, suspected.rivals


def _swatch(gathered: Gathered, model: TintModel, p: int) -> dict[str, Any]:
    """A pigment's colour on the screen at its middle dose and thickness: exchanged columns show in nothing else."""
    rows = gathered.doses_phr[:, p] > 0
    # A chip's own, not a mean of two.
    dose, thick = (
        float(np.quantile(of[rows], 0.5, method="nearest"))
        for of in (gathered.doses_phr[:, p], gathered.observations.thickness_mm)
    )
    seen = model.predict_lab(np.eye(len(model.pigments))[[p]] * dose, np.array([thick]))
    white = eye("D65", 10).bare
    return {"dose_phr": dose, "thickness_mm": thick, "srgb": screen(xyz_of_lab(seen, white), white).hex[0]}


def _within_reach(gathered: Gathered, model: TintModel, doubted: Mask) -> TintModel:
    """The model whose strongest doses and greatest thickness are those of chips that are not doubted, where there are any."""
    doses, thickness_mm = gathered.doses_phr, gathered.observations.thickness_mm
    sound = np.where(doubted[:, None], 0.0, doses).max(axis=0)
    highest = np.where(sound > 0, sound, doses.max(axis=0))
    return replace(model, highest_phr=highest, thickest_mm=float(thickness_mm[~doubted | doubted.all()].max()))


def _predicted_labs(gathered: Gathered, base: Array, absorptivity: Array, effective: Array) -> Array:
    """What each row's instrument would read of base (N, K), absorptivity (N, P, K), doses (N, P), as L*a*b*."""
    observations = gathered.observations
    n = observations.refractive_index
    # Each row is a resin of its own with one cup, whose doses are effective ones already.
    per_mm = TintedResin(base_per_mm=base, absorptivity=absorptivity).per_mm(effective[:, None])[:, 0]
    out = np.zeros((len(per_mm), 3))
    for reading in observations.readings:
        rows = reading.chips
        light = through(per_mm[rows], observations.thickness_mm[rows], n, reading.behind)
        if reading.relative == "untinted":
            light = light / through(base[rows], observations.thickness_mm[rows], n)
        light = light * reading.regular[:, None]
        value = light[:, reading.bands] if reading.weights is None else light @ reading.weights
        if reading.bands is not None and reading.slit_nm:
            value = through_slit(GRID_NM[reading.bands], value, reading.slit_nm)[0]
        out[rows] = _as_lab(reading, value if reading.white is None else lab(value, reading.white))
    return out


def _as_lab(reading: Readings, value: Array) -> Array:
    """L*a*b* (n, 3) of what an instrument reads: its own for colours, under D65/10° for spectra.

    Camera channels are taken as if they were linear sRGB: only to put their misfits on a scale the eye knows.
    """
    if reading.form == "lab":
        return value
    if reading.form == "channels":
        return lab(np.clip(value, 0.0, None) @ SRGB_TO_XYZ.T, SRGB_TO_XYZ.sum(axis=1))
    assert reading.bands is not None
    detector = eye("D65", 10)
    # Where a reading stops early the weights of the missing bands go to the nearest band read (ASTM E308 §7.3).
    nearest = np.abs(np.arange(len(GRID_NM))[:, None] - reading.bands).argmin(axis=1)
    folded = np.zeros((len(reading.bands), detector.weights.shape[1]))
    np.add.at(folded, nearest, detector.weights)
    return lab(value @ folded, detector.bare)


def _summary(values: Array) -> dict[str, float]:
    return dict(zip(("median", "p95", "worst"), np.quantile(values, (0.5, 0.95, 1.0)).tolist(), strict=True))
