"""Glances at a set told otherwise: a few steps from where the set as declared came to rest, in place of a fit."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

import numpy as np

from tintmix.chips.chip import ChipSet
from tintmix.optics.spectrum import Array
from tintmix.pigments.inference.laplace import laplace_modes
from tintmix.pigments.inference.observations import Mask, Observations
from tintmix.pigments.inference.posterior import Mixture
from tintmix.pigments.inference.whole_set.ideas import Idea

_WORTH_A_LOOK = 0.1
"""Nats at a first look (`by_other_lights`) for a glance at other lights where the chips agree: 5 of 6 sound sets have less."""
_OBSERVER_WORTH = -15.0
"""The same for the other observer, which a first look puts up to 20 nats too low: in 3 of 40 sets read for the other one it came
to -11 to 0 where the evidence is 7 to 11. Two of three sound sets have more, and a glance takes a twentieth of a fit."""
_NEAR = 8.0
"""Nats behind the first look's best that a light is still worth a glance: the right one was up to 5 behind."""
_SHORT_LOOKS, _SHORT, _SHORT_OF = 2, 3, 10.0
"""Lights that are looked at in so many steps, however little a first look makes of them, and nats that they may then be behind:
where the right one is far, slopes of the wrong one put it 10 to 120 nats too low. Of 60 sets read under another light 59 are
named so, and 56 without; a fit of a sound set takes about a tenth longer."""
MODES = 4
"""Modes that another light's evidence starts from: with all, it was higher by 3 nats at most, and with one, lower by 10."""
_MOST_OF_A_CHIP = 8.0
"""Squared misfit a number at which a chip is held: three times what one sound chip of 26 has at most."""


def misfit_of(mixture: Mixture, without: Mask | None = None) -> float:
    """Squared misfit a number at the likeliest mode, the mean over the chips but some, no chip's counted in full."""
    best = int(mixture.weights.argmax())
    rows = mixture.forward.rows
    by_chip = np.bincount(rows, mixture.fit.residual[best] ** 2) / np.bincount(rows)
    return float(np.minimum(by_chip if without is None else by_chip[~without], _MOST_OF_A_CHIP).mean())


def evidence_of(mixture: Mixture, sets: Iterable[ChipSet]) -> float:
    """Log evidence of the likeliest mode, for readings in the units of their file."""
    best = int(mixture.weights.argmax())
    return float(mixture.fit.evidence[best]) + in_units_read(mixture.forward.observations, sets)


def in_units_read(observations: Observations, sets: Iterable[ChipSet]) -> float:
    """What is added to a log evidence for that: X, Y, Z become L*a*b* by the white of the light that is assumed, and
    d(L*a*b*)/d(XYZ) goes with its X Y Z to the -1/3."""
    if not any(chips.reading.space == "XYZ" for chips in sets):
        return 0.0
    whites = [(len(one.chips), one.white) for one in observations.readings if one.white is not None]
    return -sum(count * float(np.log(white).sum()) / 3 for count, white in whites)


def worth_a_glance(lights: Sequence[Idea], gains: Array, mixture: Mixture, here: float, bad: bool) -> list[Idea]:
    """Of other lights and observers those that a first look (gains: (I,)) puts near the best; and of the first few lights, or of
    all where the chips agree badly, those that some steps bring near what is declared."""
    most = gains.max(initial=0.0)
    least = {"observer": _OBSERVER_WORTH, "light": most - _NEAR if most > _WORTH_A_LOOK else np.inf}
    kept = [gain > least[idea.what] for idea, gain in zip(lights, gains, strict=True)]
    order = [int(i) for i in np.argsort(-gains) if lights[i].what == "light"]
    for i in order if bad else order[:_SHORT_LOOKS]:
        kept[i] = kept[i] or at_a_glance(lights[i], mixture, steps=_SHORT).evidence > here - _SHORT_OF
    return [idea for idea, keep in zip(lights, kept, strict=True) if keep]


def at_a_glance(idea: Idea, mixture: Mixture, modes: int = 1, steps: int = 8) -> Idea:
    """The idea with the evidence of a few steps from the likeliest modes of the set as declared."""
    best = np.argsort(-mixture.weights)[:modes]
    forward = replace(mixture.forward.take(best), observations=idea.observations(mixture.forward.observations))
    # With four steps two observers of forty were left 3 to 6 nats short of where they came to rest.
    fit = laplace_modes(forward, mixture.fit.z[best], steps=steps, tolerance=0.1 if modes > 1 else 0.5)
    found = Mixture(forward, fit, fit.evidence)
    return replace(idea, evidence=evidence_of(found, idea.sets), misfit=misfit_of(found))


def looked_at(ideas: Sequence[Idea], mixture: Mixture, least: float) -> list[Idea]:
    """Those whose evidence at a glance is more, the best first."""
    looked = [at_a_glance(idea, mixture, MODES if idea.what == "observer" else 1) for idea in ideas]
    return sorted((idea for idea in looked if idea.evidence > least), key=lambda idea: -idea.evidence)
