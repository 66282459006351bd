"""How near photo readings of chips come. `python -m tests.accuracy.photo_rows [photos [PAGE]]` prints the table, and puts it
into a page.

Each photo is of another camera (one of colour-science's two, or drawn from the prior of readings.md) on another of its
LED panels, with vignetting, an uneven panel, 2 % veiling glare, shot and read noise, turned by up to 3°, aslant by 5°. An
error is that of a channel, as a part of the bare panel, against the truth. The seeds are those of figures that are
reported; nothing was tuned on them.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace

import numpy as np

from tests import photo_simulation as sim
from tests.accuracy.pages import put_into
from tests.reference.slow import Array
from tests.simulation import REPORTING_SEEDS
from tintmix.chips.photo.curve import ToneCurve
from tintmix.chips.photo.errors import BadRegions
from tintmix.chips.photo.load import open_photo
from tintmix.chips.photo.reading import Gathered, PhotoReading, gather_holder, gather_rectangles, read_gathered
from tintmix.chips.photo.region import Rectangle
from tintmix.chips.photo.sheet.holder import CHIP_WINDOWS
from tintmix.chips.photo.stack import Layer, StackCheck, check_stack

PROGRAM = "python -m tests.accuracy.photo_rows 40 PAGE"
BRIGHT, DARK = 0.05, 0.01
STACK_DENSITY, LAYERS = 0.3, 4
MILD, STRONG = (0.0, 0.1), (0.1, 0.5)
"""Contrast of tone curves, as a part: 0.5 halves the slope at black and white, in the encoded value, over that of sRGB."""


@dataclass(slots=True)
class Errors:
    """Relative errors of channels above 5 %, and from 1 to 5 %; how many chips were refused."""

    bright: list[float] = field(default_factory=list)
    dark: list[float] = field(default_factory=list)
    refused: int = 0
    chips: int = 0

    def add(self, truth: Mapping[str, Array], reading: PhotoReading) -> None:
        for name, place in reading.places.items():
            for value, true in zip(place.values, truth[name], strict=True):
                if true > BRIGHT:
                    self.bright.append(float(value / true - 1))
                elif true > DARK:
                    self.dark.append(float(value / true - 1))


def quantiles(errors: list[float]) -> tuple[float, float]:
    """Median and 95th percentile of their sizes; not a number where there are none."""
    if not errors:
        return float("nan"), float("nan")
    sizes = np.abs(errors)
    return float(np.median(sizes)), float(np.quantile(sizes, 0.95))


def taken(seed: int, rendered: bool = False) -> tuple[sim.Photographed, np.random.Generator]:
    """A holder full of chips, by one camera."""
    rng = np.random.default_rng([seed, 51])
    shot = sim.random_shot(
        rng, turn=float(rng.uniform(-3, 3)), tilt=5.0, blur=float(rng.uniform(0.4, 1.5)), around=0.0,
        exposure=float(rng.uniform(0.65, 0.85)),
    )  # fmt: skip
    return sim.photographed(rng, shot, rendered=rendered), rng


def each(errors: Errors, truth: Mapping[str, Array], gathered: Gathered) -> None:
    """All chips at once, or one by one where one is refused, so that it costs no other."""
    errors.chips += len(truth)
    try:
        errors.add(truth, read_gathered(gathered))
        return
    except BadRegions:
        pass
    for name in truth:
        try:
            errors.add(truth, read_gathered(replace(gathered, chips={name: gathered.chips[name]})))
        except BadRegions:
            errors.refused += 1


def raw_holder(seed: int, errors: Errors, panel: bool = True) -> None:
    found, rng = taken(seed)
    photo = sim.open_raw(found.chips, found.camera, found.shot, rng)
    bare = sim.open_raw(found.bare, found.camera, found.shot, rng, "bare.dng") if panel else None
    each(errors, found.truth, gather_holder(photo, bare, dict(zip(found.truth, found.truth, strict=True))))


GRID = tuple(Rectangle(150 + 340 * (i % 4), 120 + 340 * (i // 4), 160, 160) for i in range(12))
OPEN = tuple(
    Rectangle(x, y, 80, 80) for x, y in ((20, 20), (1500, 20), (1500, 1100), (20, 1100), (360, 400), (1040, 740))
)


def raw_open_panel(seed: int, errors: Errors, card: bool) -> None:
    """Twelve chips lying on the open panel, with black card beside each or with none."""
    rng = np.random.default_rng([seed, 52])
    camera = sim.draw_camera(rng)
    shot = sim.random_shot(rng, turn=0.0)
    ratios = camera.ratio(sim.random_pieces(rng, len(GRID)))
    truth = {f"chip {i}": ratio for i, ratio in enumerate(ratios, 1)}
    places = dict(zip(truth, GRID, strict=True))

    def pixels(box: Rectangle) -> tuple[int, int, int, int]:
        return int(box.x), int(box.y), int(box.width), int(box.height)

    cards = [Rectangle(box.x + box.width + 20, box.y, 60, box.height) for box in GRID] if card else []
    scene = sim.panel_scene(shot, {pixels(box): truth[name] for name, box in places.items()}, tuple(map(pixels, cards)))
    photo = sim.open_raw(sim.through_lens(scene, shot), camera, shot, rng)
    bare = sim.open_raw(sim.through_lens(sim.panel_scene(shot, {}), shot), camera, shot, rng, "bare.dng")
    each(errors, truth, gather_rectangles(photo, places, bare, OPEN, cards))


def stack_check(found: sim.Photographed, rng: np.random.Generator, tone: sim.Tone, bare: bytes) -> StackCheck:
    """Four layers in four windows, and a red and a green chip alone and under one sheet."""
    names = [window.name for window in CHIP_WINDOWS]
    sheets = {name: count for count, name in enumerate(names[:LAYERS], 1)}
    layers = [Layer(name, count) for name, count in sheets.items()]
    # Not one that a curve on luminance would overexpose.
    fits = [channels for channels in found.truth.values() if channels.max() < 0.9]
    strong = sorted(fits, key=lambda channels: float(np.ptp(channels)))[-2:]
    chips: dict[str, Array] = {}
    for colour, alone, under in zip(strong, names[4::2], names[5::2], strict=False):
        raw = np.linalg.solve(found.camera.matrix, colour)
        chips |= {alone: raw, under: raw}
        sheets[under] = 1
        layers.append(Layer(under, 1, over=alone))
    lit = sim.stacked(found, sheets, STACK_DENSITY, chips)
    photo = open_photo(sim.jpeg(lit, found.camera, found.shot, rng, tone), "stack.jpg")
    wanted = {name: name for name in [*sheets, *chips]}
    return check_stack(gather_holder(photo, open_photo(bare, "bare.jpg"), wanted), layers, STACK_DENSITY)


def jpeg_holder(
    seed: int,
    errors: Errors,
    contrast: tuple[float, float] = (0.0, 0.0),
    calibrated: bool = False,
    on_luminance: bool = False,
) -> bool | None:
    """Returns what the stack check says of whether the curve is one for each channel; where it says no, no chip is read."""
    found, rng = taken(seed, rendered=True)
    power = float(rng.uniform(0.9, 1.15)) if contrast[1] else 1.0
    tone = sim.Tone(float(rng.uniform(*contrast)), power, on_luminance)
    chips, bare = (sim.jpeg(lit, found.camera, found.shot, rng, tone) for lit in (found.chips, found.bare))
    curve: ToneCurve | None = None
    says = None
    if calibrated:
        told = stack_check(found, rng, tone, bare)
        curve, says = told.curve, told.per_channel
        if on_luminance and not says:
            return says
    photo, panel = open_photo(chips, "chips.jpg", curve=curve), open_photo(bare, "bare.jpg", curve=curve)
    each(errors, found.truth, gather_holder(photo, panel, dict(zip(found.truth, found.truth, strict=True))))
    return says


ROWS: dict[str, Callable[[int, Errors], bool | None]] = {
    "raw, holder, second photo": lambda seed, errors: raw_holder(seed, errors),
    "raw, holder, one photo": lambda seed, errors: raw_holder(seed, errors, panel=False),
    "raw, open panel, black card beside each chip": lambda seed, errors: raw_open_panel(seed, errors, card=True),
    "raw, open panel, no dark reference": lambda seed, errors: raw_open_panel(seed, errors, card=False),
    "JPEG, holder, curve truly sRGB's": lambda seed, errors: jpeg_holder(seed, errors),
    "JPEG, holder, contrasty curve taken as sRGB's": lambda seed, errors: jpeg_holder(seed, errors, STRONG),
    "JPEG, holder, curve from the stack check": lambda seed, errors: jpeg_holder(seed, errors, STRONG, calibrated=True),
    "JPEG, holder, curve on luminance that the check let pass": lambda seed, errors: jpeg_holder(
        seed, errors, STRONG, calibrated=True, on_luminance=True
    ),
}  # fmt: skip


def sweep(name: str, seeds: range) -> tuple[Errors, list[bool]]:
    """A row's errors, and what the stack checks said."""
    errors, said = Errors(), []
    for seed in seeds:
        told = ROWS[name](seed, errors)
        if told is not None:
            said.append(told)
    return errors, said


def markdown(seeds: range) -> str:
    """The table, in per cent."""
    lines = [
        "| photo | above 5 %: median / 95 % | 1 to 5 %: median / 95 % | chips refused |",
        "| --- | --- | --- | --- |",
    ]
    notes = []
    for name in ROWS:
        errors, said = sweep(name, seeds)
        bright, dark = (quantiles(found) for found in (errors.bright, errors.dark))
        few = len(errors.dark) < 10
        lines.append(
            f"| {name} | {100 * bright[0]:.2f} / {100 * bright[1]:.2f} | "
            f"{'–' if few else f'{100 * dark[0]:.1f} / {100 * dark[1]:.1f}'} | "
            f"{100 * errors.refused / max(errors.chips, 1):.0f} % |"
        )
        if said:
            notes.append(f"{name}: the check called {sum(said)} of {len(said)} curves one for each channel.")
    return "\n".join(lines) + "\n\n" + "\n".join(notes)


def main() -> None:
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 12
    told = f"Error of a channel in per cent of its value, {count} simulated photos a row:\n\n" + markdown(
        REPORTING_SEEDS[:count]
    )
    print(told)
    if len(sys.argv) > 2:
        put_into(sys.argv[2], PROGRAM, told)


if __name__ == "__main__":
    main()
