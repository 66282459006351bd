"""Simulated photos of chips on a light panel, with or without the holder sheet, with a known truth.

A pinhole camera looks at the sheet's plane; panel and lens are uneven; a part of all light is spread over the picture
(veiling glare); the sensor has shot and read noise. Raw pictures are linear channels, JPEGs go through the camera's
white balance, matrix and tone curve. Spectra, panels and cameras come from colour-science through tests.reference, other
cameras from readings.md's prior. It shares no line with tintmix but the sheet's measures (and hands raw pictures over
as opened photos).
"""

from __future__ import annotations

import functools
import io
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tests.reference import absorbers, batched, slow
from tests.reference.slow import Array
from tests.simulation import CAMERAS, PANELS
from tintmix.chips.photo.load import Photo
from tintmix.chips.photo.raw import CLIPPED_AT
from tintmix.chips.photo.sheet import holder

Picture = NDArray[np.float32]
Box = tuple[slice, slice]
INK = (0.01, 0.03)
"""What printed black lets through of what bare paper does (design notes, readings)."""
PAPER = 0.4
"""What copying paper lets through (common practice: 0.3 to 0.5)."""
FULL_WELL, READ_NOISE = 20_000.0, 5.0
"""Electrons: a phone's or small camera's sensor (common practice)."""


@dataclass(frozen=True, slots=True)
class Camera:
    """bare: (3,) what the channels read of the bare panel, the largest 1. matrix: (3, 3) white-balanced channels to
    linear sRGB."""

    sensitivities: Array
    panel: str
    bare: Array
    matrix: Array

    def ratio(self, transmittance: Array) -> Array:
        """Channels of pieces (N, 421) as parts of the bare panel's, (N, 3)."""
        return batched.channels(transmittance, self.sensitivities, self.panel)


def draw_camera(rng: np.random.Generator) -> Camera:
    """One of colour-science's two cameras or one from the prior, on one of its LED panels."""
    panel = str(rng.choice(PANELS))
    kind = int(rng.integers(4))
    known = list(CAMERAS.values())
    sensitivities = slow.camera_sensitivities(known[kind]) if kind < 2 else batched.drawn_camera(rng)
    bare = (slow.light_power(panel)[:, None] * sensitivities).sum(axis=0)
    samples = _samples()
    seen = batched.channels(samples, sensitivities, panel)
    wanted = batched.rendered(samples, panel)
    # Least squares with neutrals kept neutral: each row of the matrix sums to one.
    free = np.linalg.lstsq(seen[:, :2] - seen[:, 2:], wanted - seen[:, 2:], rcond=None)[0].T
    return Camera(sensitivities, panel, bare / bare.max(), np.column_stack([free, 1.0 - free.sum(axis=1)]))


@functools.cache
def _samples() -> Array:
    """What a camera's matrix is made to render right."""
    return random_pieces(np.random.default_rng(7), 60)


def random_pieces(rng: np.random.Generator, count: int, deepest: float = 2.0) -> Array:
    """External transmittance (N, 421) of chips of one to three random dyes, luminous absorbance 0.03 to `deepest`."""
    out = []
    for _ in range(count):
        mix = sum(rng.uniform(0.2, 1.0) * absorbers.random_dye(rng) for _ in range(rng.integers(1, 4)))
        wanted = np.exp(rng.uniform(np.log(0.03), np.log(deepest)))
        shape = mix / mix[40:341].mean()
        low, high = 0.0, 40.0
        for _ in range(40):
            middle = 0.5 * (low + high)
            through = float(batched.luminous(10.0 ** (-middle * shape)[None], "D65")[0])
            low, high = (middle, high) if -np.log10(max(through, 1e-30)) < wanted else (low, middle)
        out.append(10.0 ** (-low * shape))
    return batched.plate(np.array(out))


@dataclass(frozen=True, slots=True)
class Shot:
    """How a photo is taken. turn, tilt: degrees. glare: part of the light that is spread. blur: pixels. covered: marks
    by their dots."""

    width: int = 1600
    height: int = 1200
    turn: float = 3.0
    tilt: float = 0.0
    tilt_towards: float = 0.0
    fill: float = 0.92
    off_centre: tuple[float, float] = (0.0, 0.0)
    blur: float = 0.8
    glare: float = 0.02
    vignetting: float = 0.25
    unevenness: float = 0.08
    exposure: float = 0.75
    covered: tuple[int, ...] = ()
    around: float = 0.0
    mirrored: bool = False
    unevenness_seed: int = 1
    noise: float = 1.0
    corners_cut: bool = True
    face_glow: float = 0.002


def pose(shot: Shot) -> Array:
    """Millimetres on the sheet to pixels (3, 3), of a pinhole camera with a lens of 28 mm (35 mm film)."""
    focal = shot.width * 28.0 / 36.0
    turn, tilt, towards = np.radians([shot.turn, shot.tilt, shot.tilt_towards])
    about = np.array([[np.cos(towards), -np.sin(towards), 0], [np.sin(towards), np.cos(towards), 0], [0, 0, 1]])
    lean = np.array([[1, 0, 0], [0, np.cos(tilt), -np.sin(tilt)], [0, np.sin(tilt), np.cos(tilt)]])
    spin = np.array([[np.cos(turn), -np.sin(turn), 0], [np.sin(turn), np.cos(turn), 0], [0, 0, 1]])
    turned = about @ lean @ about.T @ spin
    corners = holder.EDGE_MM * 1.04

    def map_at(distance: float) -> Array:
        base = np.array([[1, 0, 0], [0, 1, 0], [0, 0, 0]])
        lens = np.array([[focal, 0, shot.width / 2], [0, focal, shot.height / 2], [0, 0, 1]])
        return np.asarray(lens @ (turned @ base + np.array([[0, 0, 0], [0, 0, 0], [0, 0, distance]])))

    low, high = 150.0, 5000.0
    for _ in range(50):
        distance = 0.5 * (low + high)
        points = np.column_stack([corners, np.ones(4)]) @ map_at(distance).T
        xy = points[:, :2] / points[:, 2:] - (shot.width / 2, shot.height / 2)
        fits = np.all(np.abs(xy) <= shot.fill * np.array([shot.width, shot.height]) / 2)
        low, high = (low, distance) if fits else (distance, high)
    moved = np.array([[1, 0, shot.off_centre[0]], [0, 1, shot.off_centre[1]], [0, 0, 1]])
    mirror = np.array([[-1, 0, shot.width], [0, 1, 0], [0, 0, 1.0]]) if shot.mirrored else np.eye(3)
    return np.asarray(mirror @ moved @ map_at(high))


def holder_scene(contents: Mapping[str, Array], shot: Shot, to_pixels: Array, rng: np.random.Generator) -> Picture:
    """Light (H, W, 3) of the sheet as parts of the bare panel's, before lens and sensor. contents: window → channels (3,)."""
    ys, xs = np.mgrid[0 : shot.height, 0 : shot.width].astype(np.float64)
    inverse = np.linalg.inv(to_pixels)
    page = inverse @ np.stack([xs.ravel(), ys.ravel(), np.ones(xs.size)])
    x = (page[0] / page[2]).reshape(xs.shape).astype(np.float32)
    y = (page[1] / page[2]).reshape(xs.shape).astype(np.float32)
    across = np.hypot(np.diff(x, axis=1)[::40, ::40], np.diff(y, axis=1)[::40, ::40])
    per_mm = 1.0 / float(np.median(across))

    def square(at: Box, cx: float, cy: float, half: float, high: float | None = None) -> Picture:
        inside = np.minimum(half - np.abs(x[at] - cx), (high or half) - np.abs(y[at] - cy))
        return np.clip(inside * per_mm + 0.5, 0, 1).astype(np.float32)

    def near(cx: float, cy: float, reach: float) -> Box | None:
        rows, columns = np.nonzero((np.abs(x[::4, ::4] - cx) < reach) & (np.abs(y[::4, ::4] - cy) < reach))
        if len(rows) == 0:
            return None
        return (
            slice(max(0, 4 * int(rows.min()) - 8), 4 * int(rows.max()) + 12),
            slice(max(0, 4 * int(columns.min()) - 8), 4 * int(columns.max()) + 12),
        )

    whole = (slice(None), slice(None))
    on_page = square(whole, 0.0, 0.0, 105.0, 139.7)
    scene = np.repeat((shot.around * (1 - on_page) + shot.face_glow * on_page)[..., None], 3, axis=2)
    for dots, (cx, cy) in enumerate(holder.MARKS_MM, start=1):
        box = near(cx, cy, holder.MARK_MM)
        if dots in shot.covered or box is None:
            continue
        ink = float(rng.uniform(*INK))
        dark = square(box, cx, cy, holder.RING_OUTER_MM / 2) - square(box, cx, cy, holder.RING_INNER_MM / 2)
        for dx, dy in holder.DOTS_MM[dots]:
            away = np.hypot(x[box] - cx - dx, y[box] - cy - dy)
            dark = dark + np.clip((holder.DOT_MM / 2 - away) * per_mm + 0.5, 0, 1)
        lit = PAPER * (1 - dark * (1 - ink)) if shot.corners_cut else 10 * shot.face_glow * (1 - dark * 0.95)
        patch = square(box, cx, cy, holder.MARK_MM / 2)[..., None]
        scene[box] = scene[box] * (1 - patch) + patch * lit[..., None]
    for window in holder.WINDOWS:
        box = near(window.x_mm, window.y_mm, holder.WINDOW_MM)
        if box is None:
            continue
        blocked = window.role == "blocked"
        through = np.asarray(np.zeros(3) if blocked else contents.get(window.name, np.ones(3)), dtype=np.float32)
        # Black ink and a chip's face both send back a twentieth of the little light that falls on the sheet.
        through = through + shot.face_glow / 20
        part = square(box, window.x_mm, window.y_mm, holder.WINDOW_MM / 2)[..., None]
        scene[box] = scene[box] * (1 - part) + part * through
    return scene


def panel_scene(
    shot: Shot, chips: Mapping[tuple[int, int, int, int], Array], dark: tuple[tuple[int, int, int, int], ...] = ()
) -> Picture:
    """The bare panel with chips lying in rectangles (x, y, w, h) of the picture, and black card in others."""
    scene = np.ones((shot.height, shot.width, 3), dtype=np.float32)
    for (x, y, w, h), through in {**chips, **dict.fromkeys(dark, np.zeros(3))}.items():
        scene[y : y + h, x : x + w] = through
    return scene


def through_lens(scene: Picture, shot: Shot) -> Picture:
    """Panel and lens unevenness, blur, and veiling glare.

    Glare is a part of the bare panel's light, however much of that the holder lets through (a real lens gives less behind
    a black holder): half of it level, half falling off from the bright places as a power of distance.
    """
    from scipy import ndimage

    h, w = scene.shape[:2]
    y, x = np.mgrid[-1 : 1 : h * 1j, -1 : 1 : w * 1j].astype(np.float32)
    rng = np.random.default_rng(shot.unevenness_seed)
    a, b, c, d = rng.uniform(-1, 1, 4) * shot.unevenness
    uneven = 1 + a * x + b * y + c * x * y + d * (x**2 - 0.5)
    fall = 1 - shot.vignetting * (x**2 + y**2) / 2
    lit = scene * (uneven * fall)[..., None]
    if shot.blur:
        lit = ndimage.gaussian_filter(lit, (shot.blur, shot.blur, 0))
    if shot.glare:
        small = lit[::8, ::8]
        wide = _spread(small, w / 8 / 12)
        wide = np.einsum("ijc,wj->iwc", wide, _between(wide.shape[1], w), optimize=True)
        wide = np.einsum("iwc,hi->hwc", wide, _between(wide.shape[0], h), optimize=True)
        lit = lit + shot.glare * (0.5 + 0.5 * wide / max(float(wide.max()), 1e-9))
    return np.asarray(lit, dtype=np.float32)


@functools.cache
def _between(few: int, many: int) -> Picture:
    """Straight lines between `few` places, at `many`: (many, few)."""
    at = np.linspace(0, few - 1, many)
    return np.asarray(np.maximum(0, 1 - np.abs(at[:, None] - np.arange(few))), dtype=np.float32)


def _spread(light: Picture, reach: float) -> Picture:
    """Spread by a point-spread function with a heavy tail, (1 + (r/reach)²)^-1.5 (from memory: lens scatter falls as a power)."""
    from scipy import signal

    h, w = light.shape[:2]
    y, x = np.mgrid[-h : h + 1, -w : w + 1].astype(np.float32)
    kernel = (1 + (x**2 + y**2) / reach**2) ** -1.5
    return np.stack([signal.fftconvolve(light[..., c], kernel / kernel.sum(), mode="same") for c in range(3)], axis=-1)


def raw_codes(lit: Picture, camera: Camera, shot: Shot, rng: np.random.Generator) -> NDArray[np.uint16]:
    """14-bit sensor readings, put to 16 bits, without white balance."""
    electrons = np.maximum(lit * (camera.bare * shot.exposure).astype(np.float32), 0) * FULL_WELL
    spread = np.sqrt(electrons + READ_NOISE**2) * shot.noise
    noisy = electrons + spread * rng.standard_normal(lit.shape, dtype=np.float32)
    steps = np.clip(np.round(noisy / FULL_WELL * 16_383), 0, 16_383)
    return np.asarray(np.round(steps / 16_383 * 65_535), dtype=np.uint16)


def srgb_encoded(light: Any) -> Any:
    """The curve of sRGB (IEC 61966-2-1), by a table of 2¹⁶ steps in the root of the light, which keeps the dark end."""
    return _encoding()[np.rint(np.sqrt(np.clip(light, 0, 1)) * 65_535).astype(np.uint16)]


@functools.cache
def _encoding() -> Array:
    light = np.linspace(0, 1, 65_536) ** 2
    return np.where(light <= 0.0031308, 12.92 * light, 1.055 * np.maximum(light, 1e-12) ** (1 / 2.4) - 0.055)


@dataclass(frozen=True, slots=True)
class Tone:
    """A camera's own curve over sRGB's: an S in the encoded value, and a power. on_luminance: applied to the luminance alone."""

    contrast: float = 0.0
    power: float = 1.0
    on_luminance: bool = False
    channel_powers: tuple[float, float, float] = (1.0, 1.0, 1.0)

    def encoded(self, light: Array) -> Array:
        """Encoded values 0..1 of linear sRGB (…, 3)."""
        if self.on_luminance:
            weights = np.array([0.2126, 0.7152, 0.0722])
            luminance = np.maximum(light @ weights, 1e-6)[..., None]
            wanted = self._shaped(srgb_encoded(luminance))
            linear = np.where(wanted <= 0.04045, wanted / 12.92, ((wanted + 0.055) / 1.055) ** 2.4)
            return np.asarray(srgb_encoded(light * linear / luminance))
        powers = np.array(self.channel_powers)
        return self._shaped(srgb_encoded(np.clip(light, 0, 1) ** powers))

    def _shaped(self, encoded: Array) -> Array:
        v = np.clip(encoded, 0, 1)
        v = v if self.power == 1.0 else v**self.power
        return np.asarray(v + self.contrast * v * (1 - v) * (2 * v - 1))


def jpeg(
    lit: Picture, camera: Camera, shot: Shot, rng: np.random.Generator, tone: Tone | None = None, quality: int = 85
) -> bytes:
    """A JPEG as the camera makes it: white balance on the panel, matrix, tone curve, 8 bits."""
    from PIL import Image
    from scipy import ndimage

    raw = raw_codes(lit, camera, shot, rng).astype(np.float32) / 65_535 / camera.bare.astype(np.float32)
    # Interpolation of the colour filters and noise reduction, which every camera does before its curve (common practice).
    raw = ndimage.gaussian_filter(np.clip(raw, 0, 1), (0.8, 0.8, 0))
    rgb = raw @ camera.matrix.T.astype(np.float32)
    encoded = (tone or Tone()).encoded(rgb)
    codes = np.round(np.clip(encoded, 0, 1) * 255).astype(np.uint8)
    stream = io.BytesIO()
    Image.fromarray(codes).save(stream, "JPEG", quality=quality)
    return stream.getvalue()


@dataclass(frozen=True, slots=True)
class Photographed:
    """A holder with chips in it. truth: window → channels (3,) as parts of the bare panel."""

    camera: Camera
    shot: Shot
    truth: dict[str, Array]
    to_pixels: Array
    chips: Picture
    bare: Picture
    extra: dict[str, Picture] = field(default_factory=dict)


def random_shot(rng: np.random.Generator, **changes: Any) -> Shot:
    """Any rotation, a camera up to 12 degrees aslant, blur up to 3.5 pixels, the panel or a dark table around the sheet."""
    drawn: dict[str, Any] = {
        "turn": float(rng.uniform(0, 360)),
        "tilt": float(rng.uniform(0, 12)),
        "tilt_towards": float(rng.uniform(0, 360)),
        "fill": float(rng.uniform(0.75, 0.97)),
        "blur": float(rng.uniform(0, 3.5)),
        "glare": 0.02,
        "exposure": float(rng.uniform(0.55, 0.85)),
        "around": float(rng.choice([0.0, 0.0, 0.02, 1.0])),
        "unevenness_seed": int(rng.integers(1 << 30)),
    }
    return Shot(**{**drawn, **changes})


def photographed(
    rng: np.random.Generator, shot: Shot, camera: Camera | None = None, rendered: bool = False, pieces: Array | None = None
) -> Photographed:  # fmt: skip
    """A holder with a random chip in each place, and the same with the chips taken off, through the lens."""
    camera = camera or draw_camera(rng)
    places = [window.name for window in holder.WINDOWS if window.role in ("chip", "check")]
    spectra = random_pieces(rng, len(places)) if pieces is None else pieces
    ratios = camera.ratio(spectra)
    truth = dict(zip(places, ratios, strict=True))
    to_pixels = pose(shot)
    seed = int(rng.integers(1 << 30))
    chips = through_lens(holder_scene(truth, shot, to_pixels, np.random.default_rng(seed)), shot)
    bare = through_lens(holder_scene({}, shot, to_pixels, np.random.default_rng(seed)), shot)
    if rendered:
        truth = {name: camera.matrix @ ratio for name, ratio in truth.items()}
    return Photographed(camera, shot, truth, to_pixels, chips, bare)


def open_raw(lit: Picture, camera: Camera, shot: Shot, rng: np.random.Generator, name: str = "chips.dng") -> Photo:
    """What a raw file of this light opens as."""
    return Photo(name, raw_codes(lit, camera, shot, rng), rendered=False, clipped_at=CLIPPED_AT)


def stacked(
    found: Photographed,
    sheets: Mapping[str, int],
    density: float,
    chips: Mapping[str, Array] | None = None,
    seed: int = 0,
) -> Picture:
    """The same holder with so many neutral sheets in windows, over chips (channels, alone in air) where some are given.

    Bounces between a sheet and the chip under it, under one part in a hundred, are left out.
    """
    lit: dict[str, Array] = {}
    for name, count in sheets.items():
        alone = (chips or {}).get(name)
        lit[name] = stack_through(count, density) * (np.ones(3) if alone is None else alone)
    lit = {**(chips or {}), **lit}
    scene = holder_scene(lit, found.shot, found.to_pixels, np.random.default_rng(seed))
    return through_lens(scene, found.shot)


def stack_through(sheets: int, density: float, index: float = 1.5) -> float:
    """Transmittance of sheets with air between them by counting every bounce: (N sheets) a chain of matrices.

    Each sheet takes (right-going, left-going) light behind it to that before it (Yeh, *Optical Waves in Layered Media*,
    1988, §5, for intensities): (1/T) [[1, −R], [R, T² − R²]].
    """
    rho = ((index - 1) / (index + 1)) ** 2
    through = 10.0**-density
    # The sheet's internal transmittance by bisection on its own series of bounces.
    low, high = 0.0, 1.2
    for _ in range(80):
        tau = (low + high) / 2
        t = sum((1 - rho) ** 2 * tau * (rho * tau) ** (2 * k) for k in range(30))
        low, high = (tau, high) if t < through else (low, tau)
    back = rho + sum((1 - rho) ** 2 * rho * tau**2 * (rho * tau) ** (2 * k) for k in range(30))
    one = np.array([[1.0, -back], [back, through**2 - back**2]]) / through
    return float(1.0 / np.linalg.matrix_power(one, sheets)[0, 0])
