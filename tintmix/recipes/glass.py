"""A glass piece as a target: from what is known of it to absorbance per mm, hence to its look at every section."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from tintmix.optics.absorption import LN10
from tintmix.optics.light import through
from tintmix.optics.plate import external_transmittance, internal_transmittance
from tintmix.optics.section import Section
from tintmix.optics.spectrum import Array, to_grid
from tintmix.recipes.target import Curve, Glass, Target

if TYPE_CHECKING:
    from tintmix.pigments.model import TintModel

_DARKEST = 1e-5
"""A transmittance read as zero or below it is taken as this: as dark as a bench instrument can tell."""


@dataclass(frozen=True, slots=True)
class GlassLook:
    """Decadic absorbance per mm of the piece (K,), its own refractive index; where a colour or a camera was all there was, draws
    (D, K) of it, one beside each of the model's, else None."""

    absorbance_per_mm: Array
    refractive_index: float
    draws: Array | None = None

    @property
    def is_estimated(self) -> bool:
        """Whether its spectrum is guessed."""
        return self.draws is not None

    def factor(self, section: Section) -> Array:
        """Factor (K,) by which a section's light is seen, were it of this glass, before the section's own ground."""
        return through(self.absorbance_per_mm, section.thickness_mm, self.refractive_index, section.ground)

    def drawn_factors(self, section: Section) -> Array | None:
        """The same (D, K) by each of its draws; None where its spectrum is known."""
        if self.draws is None:
            return None
        return through(self.draws, section.thickness_mm, self.refractive_index, section.ground)


def look_at_glass(glass: Glass, target: Target, model: TintModel) -> GlassLook:
    """The piece's absorbance (physics §9). Known by a colour or a camera reading only: estimated from one chip."""
    if glass.spectrum is not None:
        return GlassLook(_from_spectrum(glass, glass.spectrum), glass.refractive_index)
    if glass.absorption is not None:
        unit = LN10 if glass.absorption_unit == "ln_per_mm" else 1.0
        return GlassLook(_on_grid(glass.absorption, np.array(glass.absorption.values) / unit), glass.refractive_index)
    # Imported here: the estimator is heavy, and most targets have no glass that needs it.
    from tintmix.pigments.inference.piece import fit_piece

    piece = fit_piece(
        lab=glass.lab,
        camera=glass.camera,
        thickness_mm=glass.thickness_mm or 0.0,
        refractive_index=glass.refractive_index,
        light=target.light,
        observer=target.observer,
        model=model,
        second=None if glass.second_camera is None else (float(glass.second_thickness_mm or 0.0), glass.second_camera),
    )
    return GlassLook(piece.per_mm, glass.refractive_index, piece.draws)


def _from_spectrum(glass: Glass, curve: Curve) -> Array:
    external = np.clip(np.array(curve.values), _DARKEST, None)
    if glass.relative_to == "air":
        clear = float(external_transmittance(np.float64(1.0), glass.refractive_index))
        internal = internal_transmittance(np.minimum(external, clear), glass.refractive_index)
    else:
        internal = np.minimum(external, 1.0)
    absorbance = -np.log10(internal) / (glass.thickness_mm or 0.0)
    return _on_grid(curve, absorbance, external**2)


def _on_grid(curve: Curve, absorbance: Array, weight: Array | None = None) -> Array:
    """The last measured value held beyond each end: 380-400 and 700-780 nm weigh little in a colour."""
    values = to_grid(np.array(curve.nm), absorbance, weight)
    index, known = np.arange(len(values)), np.isfinite(values)
    held: Array = np.clip(np.interp(index, index[known], values[known]), 0.0, None)
    return held
