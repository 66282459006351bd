"""The stack check: layers of one neutral sheet of known density in the holder's windows measure a camera's tone curve.

A stack's transmittance goes by the plate formula, not by adding densities: light bounces between the faces of the sheets.
The light of a code is what sRGB makes of it times a smooth correction, one for each channel. A sheet of
unknown density would leave it open by a power. Curves that the camera applies to luminance and not to each channel look
the same on neutral sheets: only sheets laid over a coloured chip tell them apart.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np

from tintmix.chips.photo.curve import ToneCurve, srgb_curve
from tintmix.chips.photo.judge import CHANNELS, CLIPPED_MOST
from tintmix.chips.photo.reading import Gathered, glare_of
from tintmix.errors import Remedy, ValueProblem
from tintmix.numerals import numeral
from tintmix.optics.spectrum import Array

SHEET_INDEX = 1.5
"""Of a sheet where nobody says: acetate and acrylic have 1.47 to 1.49, polycarbonate 1.58 (common practice)."""
FEWEST_LAYERS = 3
"""Counts of sheets: two fit a straight line in logarithms whatever the camera did, the third shows whether it bends."""
NOT_PER_CHANNEL = 0.035
"""How far coloured chips may be off under a per-channel curve, relative. Two chips under one sheet, simulated: at most 2.9 %
with a curve for each channel; with one on luminance 4 to 18 %, but 1 to 2 % where it is nearly straight."""
MISFIT_MOST = 0.03
"""Root mean square, relative: four times the largest of stacks laid as asked (simulated)."""
_COLOUR_LEAST = 0.08
"""Of the bare panel: here one step of 8 bits is 2.6 % of the light (sRGB's curve), below it more than what is looked for."""
_BENDS, _SMOOTHS, _POWER = (0.15, 0.4, 1.0), (0.3, 0.5, 0.8, 1.2), 0.2
"""How far, and over how much of the encoded scale, cameras bend their curves: whichever explains the stack best; and the
spread of a power."""
_NOISE, _STEP, _DRIFT = 0.005, 0.001, 0.1
"""Of a place's light, relative; of glare, as a part of the bare panel; of the exposure between two photos, relative."""


@dataclass(frozen=True, slots=True)
class Layer:
    """What lies in one place: so many sheets, over a chip that also lies alone in the place `over`, or over the bare panel."""

    place: str
    sheets: int
    over: str = ""


@dataclass(frozen=True, slots=True, eq=False)
class StackCheck:
    """What the stack told. misfit: root mean square, relative, of the neutral layers. coloured_misfit: largest of the coloured.

    from_srgb: how far, relative, the light of the curve is from sRGB's, at most, over what was measured. per_channel: None
    where no coloured chip was in the stack.
    """

    curve: ToneCurve
    misfit: float
    from_srgb: float
    coloured_misfit: float | None
    per_channel: bool | None
    says: str


def stack_transmittance(sheets: int, density: float, refractive_index: float = SHEET_INDEX) -> tuple[float, float]:
    """Transmittance and reflectance in air of a stack of equal sheets, one of which has this density, with air between them.

    One sheet: T = 10^−D = (1−ρ)² τ/(1−ρ²τ²), R = ρ (1 + τ T); a stack: T₁₂ = T₁T₂/(1−R₁R₂), R₁₂ = R₁ + T₁²R₂/(1−R₁R₂) (Stokes,
    *Proc. R. Soc.* 11, 545, 1862).

    >>> one, two = stack_transmittance(1, 0.3)[0], stack_transmittance(2, 0.3)[0]
    >>> round(one, 4), round(two, 4), round(one**2, 4)
    (0.5012, 0.2518, 0.2512)
    """
    face = ((refractive_index - 1.0) / (refractive_index + 1.0)) ** 2
    through = 10.0**-density
    tau = 2.0 * through / ((1.0 - face) ** 2 + math.sqrt((1.0 - face) ** 4 + 4.0 * face**2 * through**2))
    back = face * (1.0 + tau * through)
    total, returned = 1.0, 0.0
    for _ in range(sheets):
        again = 1.0 - returned * back
        total, returned = total * through / again, returned + total**2 * back / again
    return total, returned


def check_stack(
    gathered: Gathered, layers: Sequence[Layer], density: float, refractive_index: float = SHEET_INDEX
) -> StackCheck:
    """The tone curve of a rendered photo from a stack and the same places bare in a second photo. Raises ValueProblem.

    gathered: the places of the layers, and of the chips that some lie over; with the panel's photo, open and dark places.
    """
    _check(gathered, layers, density, refractive_index)
    seen = _Seen(gathered)
    plain = [layer for layer in layers if not layer.over]
    table = np.empty((256, 3))
    places = [layer.place for layer in plain]
    under, bare = (np.array([which[place] for place in places]) for which in (seen.lights, seen.bares))
    through = np.array([stack_transmittance(layer.sheets, density, refractive_index)[0] for layer in plain])
    opened = np.array(
        [(here.mean, there.mean) for here, there in gathered.opened.values() if there is not None]
    ).reshape(-1, 2, 3)
    rest, shapes = [], [_Shape(), _Shape(), _Shape()]
    for channel, shape in enumerate(shapes):
        for _ in range(5):
            # Glare stands in the photo as light does, so it is known only as far as the curve is.
            glow, bare_glow = np.array([seen.glows(place, channel, shape) for place in places]).T
            expected = through * (1 - bare_glow) + glow
            left = shape.fit(under[:, channel], bare[:, channel], np.log(expected), opened[..., channel])
        rest.append(left)
        table[:, channel] = shape.table()
    lowest = float(through.min())
    curve = ToneCurve("measured by the stack check", table, lowest)
    misfit = float(np.sqrt(np.mean(np.square(rest))))
    from_srgb = _from_srgb(table, lowest, float(bare.mean()))
    coloured = _coloured(layers, seen, shapes, density, refractive_index)
    return _told(curve, misfit, from_srgb, coloured)


class _Shape:
    """log light = x + a·x + h(v): x the logarithm of sRGB's light, v the encoded value, h a smooth curve (a Gaussian process).

    What is seen are differences: a place under sheets against the same place bare; and, of the open windows, what the
    exposure did between the photos. Smooth in the encoded value: that is where cameras bend their curves; towards black
    it goes on smoothly.
    """

    def __init__(self) -> None:
        self._at = np.zeros((0, 2))
        self._pull = np.zeros(0)
        self._bend, self._smooth = _BENDS[1], _SMOOTHS[1]

    def _kernel(self, one: Array, other: Array) -> Array:
        """Covariance of log light at pairs (x, v)."""
        apart = one[:, None, 1] - other[None, :, 1]
        return np.asarray(
            self._bend**2 * np.exp(-((apart / self._smooth) ** 2) / 2) + _POWER**2 * one[:, None, 0] * other[None, :, 0]
        )

    def correction(self, light: Array) -> Array:
        """What is to be added to the logarithm of sRGB's light (N,)."""
        return np.asarray(self._kernel(_pair(light), self._at) @ self._pull)

    def light(self, light: float) -> float:
        """Light of what sRGB takes for this light."""
        return float(light * np.exp(np.clip(self.correction(np.array([light]))[0], -9, 9)))

    def glow(self, dark: float, bare: float) -> float:
        """Glare as a part of the bare panel's light."""
        return min(0.5, self.light(float(dark)) / max(self.light(float(bare)), 1e-9))

    def fit(self, under: Array, bare: Array, wanted: Array, opened: Array) -> Array:
        """Takes log light(under) − log light(bare) = wanted + drift, and the same of opened (M, 2) with 0.

        Returns what is left (N,).
        """
        low, high = np.concatenate([under, opened[:, 0]]), np.concatenate([bare, opened[:, 1]])
        target = np.concatenate([wanted, np.zeros(len(opened))]) - np.log(low / high)
        at = np.concatenate([_pair(low), _pair(high)])
        n = len(low)
        # Glare is known to about a step of the codes, which is nothing on a bright place and much on a dark one.
        noise = np.concatenate([np.hypot(_NOISE, _STEP / np.exp(wanted)), np.full(len(opened), _NOISE)])
        best = -np.inf
        rest = target
        for self._bend, self._smooth in product(_BENDS, _SMOOTHS):
            k = self._kernel(at, at)
            differences = k[:n, :n] - k[:n, n:] - k[n:, :n] + k[n:, n:]
            covariance = differences + _DRIFT**2 + np.diag(noise**2)
            solved = np.linalg.solve(covariance, target)
            # Rasmussen & Williams, Gaussian Processes for Machine Learning (2006), eq. 2.30.
            evidence = -0.5 * float(target @ solved) - 0.5 * float(np.linalg.slogdet(covariance)[1])
            if evidence > best:
                best, chosen = evidence, (self._bend, self._smooth)
                self._at, self._pull = at, np.concatenate([solved, -solved])
                rest = target - differences @ solved - _DRIFT**2 * solved.sum()
        self._bend, self._smooth = chosen
        return np.asarray(rest[: len(wanted)])

    def table(self) -> Array:
        """Light of the codes 0 to 255, the last of them 1."""
        reference = srgb_curve().table[:, 0]
        light = reference * np.exp(np.clip(self.correction(reference), -9, 9))
        light[0] = 0.0
        return np.asarray(np.maximum.accumulate(light) / max(float(light.max()), 1e-12))


def _pair(light: Array) -> Array:
    """x and v (N, 2) of sRGB's light."""
    reference = srgb_curve().table[:, 0]
    floored = np.maximum(light, reference[1] / 4)
    return np.column_stack([np.log(floored), np.interp(floored, reference, np.linspace(0, 1, 256))])


def _check(gathered: Gathered, layers: Sequence[Layer], density: float, refractive_index: float) -> None:
    photo = gathered.photo

    def refused(what: str, remedy: Remedy | None = None) -> ValueProblem:
        return ValueProblem(where=photo.name, what=what, remedy=remedy)

    if not photo.rendered:
        raise refused("it is raw, which is linear: no tone curve is needed. The stack check is for JPEGs")
    if gathered.panel is None:
        raise refused("the stack check needs a second photo of the same places bare", Remedy.GIVE_THE_PANEL)
    if not 0.05 <= density <= 1.5:
        said = "is not from 0.05 to 1.5; read it from the maker's data, or measure it"
        raise refused(f"a sheet's density of {numeral(density)} {said}")
    if not 1.0 <= refractive_index <= 2.0:
        raise refused(f"a refractive index of {numeral(refractive_index)} is no plastic's; it is about 1.5")
    if photo.curve is None or photo.curve.name != srgb_curve().name:
        raise refused("it was opened with a tone curve; leave that out, for the stack check measures it anew")
    heights = {layer.sheets for layer in layers if not layer.over}
    if len(heights) < FEWEST_LAYERS or min(layer.sheets for layer in layers) < 1:
        said = "lay 1, 2, 3 and 4 sheets in four places, at least three"
        raise refused(f"the stack has {len(heights)} different heights; {said}")
    if max(layer.sheets for layer in layers) > 12:
        raise refused("more than 12 sheets in a stack tell nothing; lay 1 to 4")
    for place in (name for layer in layers for name in (layer.place, layer.over) if name):
        if place not in gathered.chips:
            raise refused(f"the stack names the place {place}, which was not read")
    for place, pair in [*gathered.chips.items(), *gathered.opened.items()]:
        if any(patch is not None and patch.clipped.max() > CLIPPED_MOST for patch in pair):
            raise refused(f"{place} is overexposed; take both photos with a shorter exposure")


class _Seen:
    """What sRGB makes of the codes of each place and of the glare there, (3,), in the photo and in the panel's."""

    def __init__(self, gathered: Gathered) -> None:
        pairs = {place: (here, there) for place, (here, there) in gathered.chips.items() if there is not None}
        self.lights = {place: here.mean for place, (here, _) in pairs.items()}
        self.bares = {place: there.mean for place, (_, there) in pairs.items()}
        glares = glare_of(gathered)
        self._darks = {
            place: [np.maximum(glare.at(patch.middle), 0.0) for glare, patch in zip(glares, pair, strict=True)]
            for place, pair in pairs.items()
        }

    def glows(self, place: str, channel: int, shape: _Shape) -> tuple[float, float]:
        """Glare at a place as a part of the bare panel's light, in the photo and in the panel's."""
        here, there = (shape.glow(dark[channel], self.bares[place][channel]) for dark in self._darks[place])
        return here, there


def _from_srgb(table: Array, lowest: float, bare: float) -> float:
    """How far the light is from sRGB's, relative to the bare panel's, at most over what was measured."""
    reference = srgb_curve().table
    panel = int(np.argmin(np.abs(reference[:, 1] - bare)))
    within = (reference[:, 1] > lowest * bare) & (reference[:, 1] <= bare)
    relative = table[within] / table[panel] / (reference[within] / reference[panel])
    return float(np.abs(relative - 1).max()) if within.any() else 0.0


def _coloured(
    layers: Sequence[Layer], seen: _Seen, shapes: Sequence[_Shape], density: float, refractive_index: float
) -> dict[str, float]:
    """How far each channel of coloured chips under sheets is off what the curve makes of the chip alone.

    Relative, the largest of each channel.
    """

    def ratio(place: str, channel: int, shape: _Shape) -> float:
        bare = shape.light(float(seen.bares[place][channel]))
        glow, bare_glow = seen.glows(place, channel, shape)
        return (shape.light(float(seen.lights[place][channel])) / bare - glow) / (1 - bare_glow)

    worst: dict[str, float] = {}
    face = ((refractive_index - 1) / (refractive_index + 1)) ** 2
    for layer in layers:
        if not layer.over:
            continue
        through, back = stack_transmittance(layer.sheets, density, refractive_index)
        for channel, shape in enumerate(shapes):
            alone, under = ratio(layer.over, channel, shape), ratio(layer.place, channel, shape)
            expected = alone * through / (1 - face * (1 + min(1.0, alone) ** 2) * back)
            if expected > _COLOUR_LEAST:
                worst[CHANNELS[channel]] = max(worst.get(CHANNELS[channel], 0.0), abs(under / expected - 1))
    return worst


def _told(curve: ToneCurve, misfit: float, from_srgb: float, coloured: dict[str, float]) -> StackCheck:
    parts = [
        f"The curve fits the stack within {numeral(100 * misfit, 2)} % and differs from sRGB's by up to {100 * from_srgb:.0f} %; "
        f"it is measured down to {numeral(100 * curve.lowest, 2)} % of the bare panel."
    ]
    if misfit > MISFIT_MOST:
        parts.append(
            "No smooth curve explains the stack: check how many sheets lie in each window, the density of one, and that each "
            "covers its window whole."
        )
    most = max(coloured.values(), default=None)
    per_channel = None if most is None else most <= NOT_PER_CHANNEL
    if most is None:
        parts.append(
            "Whether the camera applies it to each channel alone cannot be told from neutral sheets: lay a strongly coloured "
            "chip alone, and another of the same with one sheet over it."
        )
    elif per_channel:
        parts.append(
            f"Under sheets, coloured chips agree with it within {100 * most:.1f} %, so it seems to be one for each channel; "
            "a gentle curve on brightness can pass so, too."
        )
    else:
        channel = max(coloured, key=lambda key: coloured[key])
        parts.append(
            f"Under sheets, coloured chips are off by {100 * most:.0f} % in {channel}: the camera's curve is not one for "
            "each channel, and no curve mends that. Take raw photos."
        )
    return StackCheck(curve, misfit, from_srgb, most, per_channel, " ".join(parts))
