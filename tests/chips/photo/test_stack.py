"""The stack check: known sheets in, a camera's tone curve out, and the word on curves that are not one for each channel."""

from __future__ import annotations

import functools
from dataclasses import replace

import numpy as np
import pytest

from tests import photo_simulation as sim
from tintmix.chips.photo.curve import ToneCurve, srgb_curve
from tintmix.chips.photo.load import Photo
from tintmix.chips.photo.reading import Gathered, gather_holder, gather_rectangles
from tintmix.chips.photo.region import Rectangle
from tintmix.chips.photo.stack import Layer, check_stack, stack_transmittance
from tintmix.errors import TintmixError, ValueProblem

# By hand from the plate formula (design notes, physics §2), n = 1.5, ρ = 0.04, D = 0.3, T = 0.501187:
# τ = 2T / [(1−ρ)² + √((1−ρ)⁴ + 4ρ²T²)] = 1.002374 / (0.9216 + 0.922472) = 0.543566; R = ρ (1 + τT) = 0.050897;
# two: T² / (1 − R²) = 0.251189 / 0.9974095 = 0.251841.
TWO = 0.251841


def test_two_sheets_by_hand() -> None:
    assert stack_transmittance(2, 0.3)[0] == pytest.approx(TWO, abs=1e-6)


@pytest.mark.parametrize("density", [0.1, 0.3, 0.9])
@pytest.mark.parametrize("sheets", [1, 2, 3, 5])
def test_stacks_against_a_chain_of_matrices(sheets: int, density: float) -> None:
    assert stack_transmittance(sheets, density)[0] == pytest.approx(sim.stack_through(sheets, density), rel=1e-9)


def test_clear_plates_against_the_pile_of_plates() -> None:
    # N clear plates pass (1 − ρ) / (1 + (2N − 1) ρ) (Stokes, Proc. R. Soc. 11, 545, 1862; Born & Wolf, Principles of Optics).
    density = -np.log10(0.96 / 1.04)
    for sheets in (1, 2, 4, 8):
        assert stack_transmittance(sheets, density)[0] == pytest.approx(0.96 / (1 + (2 * sheets - 1) * 0.04), rel=1e-9)


# In plain pictures: no lens, no noise, so that the curve alone is seen.

STACK = {f"s{count}": Rectangle(40 + 100 * count, 60, 70, 70) for count in range(1, 5)}
COLOURED = {"alone": Rectangle(140, 200, 70, 70), "under": Rectangle(240, 200, 70, 70)}
OPEN = [Rectangle(20, 320, 70, 70), Rectangle(520, 320, 70, 70)]
LAYERS = [Layer(name, count) for count, name in enumerate(STACK, 1)]
OVER = Layer("under", 1, over="alone")
CHIP = np.array([0.6, 0.25, 0.3])
PANEL = 0.8


def pictured(tone: sim.Tone, density: float = 0.3, coloured: bool = False) -> Gathered:
    light = np.full((420, 640, 3), PANEL)
    bare = light.copy()
    places = {**STACK, **(COLOURED if coloured else {})}
    through = {name: np.full(3, sim.stack_through(count, density)) for count, name in enumerate(STACK, 1)}
    through |= {"alone": CHIP, "under": CHIP * sim.stack_through(1, density)}
    for name, box in places.items():
        light[int(box.y) : int(box.y) + 70, int(box.x) : int(box.x) + 70] *= through[name]

    def photo(lit: sim.Array, name: str) -> Photo:
        # Noise of a code's step, as every picture has it: without it a code is off by up to half a step.
        steps = np.random.default_rng(5).uniform(-0.5, 0.5, lit.shape)
        codes = np.clip(np.round(tone.encoded(lit) * 255 + steps), 0, 255).astype(np.uint8)
        return Photo(name, codes, True, srgb_curve(), 256)

    return gather_rectangles(photo(light, "stack.jpg"), places, photo(bare, "bare.jpg"), OPEN, [])


@functools.cache
def true_light(tone: sim.Tone) -> sim.Array:
    """Light of each code, by turning the tone curve round."""
    light = np.linspace(0, 1, 20_001)
    return np.interp(np.arange(256) / 255, tone.encoded(light[:, None] * np.ones(3))[:, 0], light)


@pytest.mark.parametrize(("tone", "bound"), [
    (sim.Tone(), 0.01), (sim.Tone(contrast=0.3), 0.02), (sim.Tone(power=1.1), 0.02), (sim.Tone(contrast=0.2, power=0.95), 0.02),
], ids=["sRGB", "contrasty", "a power", "both"])  # fmt: skip
def test_the_curve_is_found(tone: sim.Tone, bound: float) -> None:
    found = check_stack(pictured(tone), LAYERS, 0.3)
    panel = int(np.round(tone.encoded(np.full(3, PANEL))[0] * 255))
    true = true_light(tone) / true_light(tone)[panel]
    measured = (true > found.curve.lowest) & (true <= 1)
    relative = found.curve.table[:, 1] / found.curve.table[panel, 1]
    assert np.abs(relative[measured] / true[measured] - 1).max() < bound
    assert found.curve.lowest == pytest.approx(stack_transmittance(4, 0.3)[0])
    assert found.misfit < 0.01
    assert found.per_channel is None
    assert "cannot be told from neutral sheets" in found.says


def test_a_density_that_is_wrong_makes_a_power_of_the_curve() -> None:
    # Readings: a density wrong by 3 % costs 4 % of light at the dark end.
    right, wrong = (check_stack(pictured(sim.Tone()), LAYERS, density) for density in (0.3, 0.309))
    code = int(np.round(sim.srgb_encoded(PANEL * 0.1) * 255))
    off = wrong.curve.table[code, 1] / right.curve.table[code, 1] - 1
    assert -0.10 < off < -0.02


def test_a_curve_for_each_channel_is_told_from_one_on_luminance() -> None:
    layers = [*LAYERS, OVER]
    own = check_stack(pictured(sim.Tone(contrast=0.4), coloured=True), layers, 0.3)
    assert own.per_channel is True
    assert "so it seems to be one for each channel" in own.says
    shared = check_stack(pictured(sim.Tone(contrast=0.4, on_luminance=True), coloured=True), layers, 0.3)
    assert shared.per_channel is False
    assert "not one for each channel, and no curve mends that. Take raw photos." in shared.says


def test_different_curves_of_the_channels() -> None:
    found = check_stack(pictured(sim.Tone(channel_powers=(0.92, 1.0, 1.1))), LAYERS, 0.3)
    table = found.curve.table
    assert found.misfit < 0.01
    assert not np.allclose(table[60, 0], table[60, 2], rtol=0.05)


def test_a_stack_laid_wrong_is_said() -> None:
    swapped = [Layer("s1", 3), Layer("s2", 1), Layer("s3", 4), Layer("s4", 2)]
    found = check_stack(pictured(sim.Tone()), swapped, 0.3)
    assert found.misfit > 0.03
    assert "No smooth curve explains the stack" in found.says


def refusal(gathered: Gathered, layers: list[Layer], density: float = 0.3, index: float = 1.5) -> str:
    with pytest.raises(ValueProblem) as error:
        check_stack(gathered, layers, density, index)
    said = str(error.value)
    assert isinstance(error.value, TintmixError)
    assert "\n" not in said
    assert said.endswith(".")
    return said


def test_what_cannot_be_a_stack_check() -> None:
    good = pictured(sim.Tone())
    assert "it is raw" in refusal(replace(good, photo=replace(good.photo, rendered=False)), LAYERS)
    assert "second photo" in refusal(replace(good, panel=None), LAYERS)
    curved = replace(good.photo, curve=ToneCurve("curve.csv", srgb_curve().table))
    assert "opened with a tone curve" in refusal(replace(good, photo=curved), LAYERS)
    assert "density of 0.01" in refusal(good, LAYERS, 0.01)
    assert "density of nan" in refusal(good, LAYERS, float("nan"))
    assert "refractive index of 3" in refusal(good, LAYERS, 0.3, 3.0)
    assert "2 different heights" in refusal(good, LAYERS[:2])
    assert "0 different heights" in refusal(good, [])
    assert "different heights" in refusal(good, [*LAYERS, Layer("s1", 0)])
    assert "more than 12 sheets" in refusal(good, [*LAYERS, Layer("s1", 13)])
    assert "place s9, which was not read" in refusal(good, [*LAYERS, Layer("s9", 1)])
    assert "place alone, which was not read" in refusal(good, [*LAYERS, Layer("s1", 1, over="alone")])


def test_an_overexposed_stack() -> None:
    good = pictured(sim.Tone())
    name, (here, there) = next(iter(good.opened.items()))
    full = replace(good, opened={name: (replace(here, clipped=np.ones(3)), there)})
    assert "overexposed; take both photos with a shorter exposure" in refusal(full, LAYERS)
    name, (here, there) = next(iter(good.chips.items()))
    full = replace(good, chips={**good.chips, name: (replace(here, clipped=np.ones(3)), there)})
    assert f"{name} is overexposed" in refusal(full, LAYERS)


def test_the_holders_windows_serve_for_a_stack() -> None:
    rng = np.random.default_rng(4)
    found = sim.photographed(rng, sim.Shot(width=900, height=675, turn=90.0, blur=0.5), rendered=True)
    sheets = {"1.2": 1, "1.3": 2, "1.4": 3, "2.2": 4}
    lit = sim.stacked(found, sheets, 0.3)
    photos = [sim.jpeg(one, found.camera, found.shot, rng) for one in (lit, found.bare)]
    from tintmix.chips.photo.load import open_photo

    gathered = gather_holder(*(open_photo(one, "s.jpg") for one in photos), {name: name for name in sheets})
    told = check_stack(gathered, [Layer(name, count) for name, count in sheets.items()], 0.3)
    assert told.misfit < 0.01
    assert told.from_srgb < 0.05
