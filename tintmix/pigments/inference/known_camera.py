"""The camera that read a model's chips, as far as they told of it: its mean, and how it and the pigments are off together.

A fit's draws hold a camera each, beside the pigments that explain the chips with it. What the same camera reads later, of a
trial, of a piece of glass, is judged with both: an error that camera and pigments share then cancels.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from tintmix.chips.chip import ChipSet, Reading
from tintmix.errors import TintmixError
from tintmix.optics.spectrum import Array
from tintmix.pigments.inference.cameras import leaning, tone_of
from tintmix.pigments.inference.gather import detector_of, with_latents
from tintmix.pigments.inference.observations import Readings
from tintmix.pigments.model import TintModel

_KEPT = 0.999
"""Of the variance of what the draws' cameras weigh: what is left out is below a tenth of a reading's own error."""


@dataclass(frozen=True, slots=True, kw_only=True)
class KnownCamera:
    """weights: (K, 3), its mean. mix: (K, 3, M), directions in which it may lie beside it, each of spread 1; draws: (D, M), where
    each of the model's draws has it. tone, tone_lean: (2,), contrast and log level of its JPEGs, and their spreads; tone_draws:
    (D, 2), in these."""

    weights: Array
    mix: Array
    draws: Array
    tone: Array | None = None
    tone_lean: Array | None = None
    tone_draws: Array | None = None

    @property
    def count(self) -> int:
        """Its unknowns."""
        return int(self.mix.shape[-1]) + (0 if self.tone_lean is None else 2)

    @property
    def coordinates(self) -> Array:
        """Of each draw (D, count), in spreads."""
        return self.draws if self.tone_draws is None else np.concatenate([self.draws, self.tone_draws], axis=1)

    def on(self, reading: Readings) -> Readings:
        """The reading as taken with it, its unknowns the first of the observations'."""
        return replace(
            reading,
            weights=self.weights,
            lean=None,
            mix=self.mix if self.mix.shape[-1] else None,
            tone=self.tone,
            tone_lean=self.tone_lean,
            latents=np.arange(self.count) if self.count else None,
        )


def known_camera(model: TintModel) -> KnownCamera | None:
    """What the model knows of it; None where no camera read its chips."""
    if model.camera_weights is None:
        return None
    mean, tone = model.camera_weights, model.camera_tone
    plain = KnownCamera(
        weights=mean, mix=np.zeros((*mean.shape, 0)), draws=np.zeros((len(model.draws_base), 0)), tone=tone
    )
    told = model.camera_latents
    if told is None or told.draws.shape[1] == 0:
        return plain
    try:
        chips = ChipSet(Reading("camera", camera=told.camera, light=told.light), (), ())
        detector = detector_of(chips)
    except TintmixError:
        detector = None  # A camera or a light of a file that lay beside the set: its curve is not in the model.
    if detector is None:
        return plain
    nothing = np.zeros((0, 3))
    reading = Readings("channels", np.zeros(0, np.intp), nothing, nothing, "air", np.zeros(0), weights=detector.weights)
    (reading,), count = with_latents([(reading, chips)])
    if told.draws.shape[1] != count:
        return plain
    leant = leaning(reading, told.draws)
    if leant is None or leant.ndim != 3:
        return plain
    centre = leant.mean(axis=0)
    away = (leant - centre).reshape(len(leant), -1)
    _, size, directions = np.linalg.svd(away, full_matrices=False)
    power = np.cumsum(size**2) / max(float((size**2).sum()), 1e-300)
    rank = min(int(np.searchsorted(power, _KEPT)) + 1, len(size))
    scale = np.maximum(size[:rank] / np.sqrt(max(len(leant) - 1, 1)), 1e-12)
    found = replace(
        plain,
        weights=centre,
        mix=(directions[:rank].T * scale).reshape(*centre.shape, rank),
        draws=away @ directions[:rank].T / scale,
    )
    bent = tone_of(reading, told.draws)
    if bent is None or len(bent) == 1:
        return found
    spread = np.maximum(bent.std(axis=0, ddof=1), 1e-6)
    return replace(found, tone=bent.mean(axis=0), tone_lean=spread, tone_draws=(bent - bent.mean(axis=0)) / spread)
