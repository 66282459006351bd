"""A second bench of simulated photos, by another path than tests.photo_simulation: it photographs the holder sheet that was
really printed (the PDF, drawn by pdftoppm), with dyes, panel, camera, glare and noise of its own. Nothing of it is tintmix's.

Dyes are sums of Gaussians, the panel two, the camera's filters one each (common shapes, from memory); a plate is external
T = (1 − ρ)² τ / (1 − ρ² τ²) with ρ = ((n − 1)/(n + 1))² (Hecht, Optics, ch. 4 and 9).
"""

from __future__ import annotations

import io
import subprocess
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import Image
from scipy import ndimage

from tests.chips.photo.photo_files import dng, mosaic_of, tiff

Array = NDArray[np.float64]
NM = np.arange(390.0, 721.0, 5.0)
RHO = ((1.5 - 1) / (1.5 + 1)) ** 2
PAPER, INK, LIT_FACE = 0.42, 0.02, 0.002
"""What the paper of the marks lets through, the ink of that, and what the unlit face of paper sends back."""
PER_MM = 4.0
"""Pixels of the drawn print to a millimetre."""


def _bell(middle: float, width: float) -> Array:
    return np.exp(-0.5 * ((NM - middle) / width) ** 2)


DYES = {
    "azure": 1.1 * _bell(630, 42) + 0.35 * _bell(560, 30) + 0.12 * _bell(410, 25),
    "rose": 1.0 * _bell(535, 28) + 0.45 * _bell(495, 25) + 0.10 * _bell(420, 40),
}
"""Decadic absorbance per mm and phr: inventions."""
BASE = 0.0006 * np.exp(-(NM - 390) / 60)
GLASS = 0.030 * _bell(700, 90) + 0.006 * _bell(400, 25) + 0.002
"""A sea-green glass, per mm: an invention."""
_PANEL = 0.55 * _bell(452, 11) + 0.9 * _bell(560, 62)
_FILTERS = np.stack([_bell(598, 34), _bell(532, 38), _bell(463, 30)], axis=1)
_SEES = _PANEL[:, None] * _FILTERS * np.array([0.75, 1.0, 0.8])
_MATRIX = np.array([[1.55, -0.40, -0.15], [-0.22, 1.50, -0.28], [0.02, -0.42, 1.40]])
"""White-balanced channels to linear sRGB, as cameras have it (from memory): each row sums to one."""


def through(per_mm: Array, mm: float) -> Array:
    """External transmittance of a plate."""
    tau = 10.0 ** (-per_mm * mm)
    return (1 - RHO) ** 2 * tau / (1 - (RHO * tau) ** 2)


def tinted(doses_phr: Mapping[str, float]) -> Array:
    """Absorbance per mm of tinted resin."""
    return BASE + sum((dose * DYES[name] for name, dose in doses_phr.items()), np.zeros(len(NM)))


def seen(transmittance: Array) -> Array:
    """Raw channels (3,) as parts of the bare panel's."""
    return (transmittance[:, None] * _SEES).sum(axis=0) / _SEES.sum(axis=0)


@dataclass
class Bench:
    """A printed sheet on a panel, and a camera above it that was never moved."""

    sheet: Path
    rng: np.random.Generator = field(default_factory=lambda: np.random.default_rng(5))
    wide: int = 1400
    high: int = 1050

    def __post_init__(self) -> None:
        call = ["pdftoppm", "-gray", "-r", f"{25.4 * PER_MM:g}", "-f", "1", "-l", "1", "-png", "-singlefile"]
        subprocess.run([*call, str(self.sheet), str(self.sheet.with_suffix(""))], check=True)
        with Image.open(self.sheet.with_suffix(".png")) as picture:
            self.print = np.asarray(picture.convert("L"), dtype=np.float64) / 255
        self.bare = _SEES.sum(axis=0) / _SEES.sum(axis=0).max()
        # The page lies turned by about a right angle, the camera looks a little aslant.
        turn, scale = np.radians(93.0), 0.92 * self.wide / 297.0
        self.to_pixels = np.array(
            [[scale * np.cos(turn), -scale * np.sin(turn), self.wide / 2],
             [scale * np.sin(turn), scale * np.cos(turn), self.high / 2],
             [4e-5, -9e-5, 1.0]]
        )  # fmt: skip

    def light(self, lying: Mapping[str, Array]) -> Array:
        """Light (H, W, 3) before the sensor, the bare panel's 1. lying: "row.place" to channels (3,) as parts of the panel's."""
        x, y = np.meshgrid(np.arange(self.wide), np.arange(self.high))
        page = np.linalg.inv(self.to_pixels) @ np.stack([x.ravel(), y.ravel(), np.ones(x.size)])
        mm = (page[:2] / page[2]).reshape(2, *x.shape)
        at = np.stack([mm[1] * PER_MM + self.print.shape[0] / 2, mm[0] * PER_MM + self.print.shape[1] / 2])
        drawn = ndimage.map_coordinates(self.print, at, order=1, mode="constant")
        out = np.repeat((LIT_FACE * drawn)[..., None], 3, axis=2)
        # The four squares that were cut out of the card, 30 mm wide, and the windows, 18 mm wide: by a rule, from the print.
        for sx in (-1, 1):
            for sy in (-1, 1):
                inside = (np.abs(mm[0] - 82 * sx) < 15) & (np.abs(mm[1] - 116.5 * sy) < 15)
                out[inside] = PAPER * (INK + (1 - INK) * drawn[inside, None])
        for row in range(6):
            for place in range(5):
                name, where = f"{row + 1}.{place + 1}", (36 * (place - 2), 34 * (row - 2.5))
                inside = (np.abs(mm[0] - where[0]) < 9) & (np.abs(mm[1] - where[1]) < 9)
                if not (drawn[(np.abs(mm[0] - where[0]) < 5) & (np.abs(mm[1] - where[1]) < 5)] < 0.2).all():
                    out[inside] = lying.get(name, np.ones(3))
        fall = 1 - 0.2 * ((x / self.wide - 0.5) ** 2 + (y / self.high - 0.5) ** 2) - 0.05 * x / self.wide
        out = ndimage.gaussian_filter(out * fall[..., None], (0.9, 0.9, 0))
        # Veiling glare: a part of all light, level, and a part that falls off slowly.
        wide = ndimage.gaussian_filter(out[::10, ::10], (16, 16, 0)).repeat(10, axis=0).repeat(10, axis=1)
        return out + 0.004 * out.mean(axis=(0, 1)) + 0.02 * wide[: self.high, : self.wide]

    def raw(self, lying: Mapping[str, Array]) -> Array:
        """What the sensor reads (H, W, 3), 1 the most that fits: shot noise of 15 000 electrons, read noise of 4."""
        electrons = 15_000 * np.clip(self.light(lying) * self.bare * 0.72, 0, 1)
        noisy = electrons + self.rng.normal(0, 1, electrons.shape) * np.sqrt(electrons + 16.0)
        return np.clip(noisy / 15_000, 0, 1)

    def file(self, lying: Mapping[str, Array], kind: str) -> bytes:
        """A photo: "dng", "tiff" (16 bits, linear, as a raw converter writes it), "jpg" or "heic"."""
        raw = self.raw(lying)
        if kind == "dng":
            return dng(mosaic_of(raw))
        if kind == "tiff":
            return tiff(np.round(65_535 * raw).astype(np.uint16))
        light = np.clip(ndimage.gaussian_filter(raw / self.bare, (0.7, 0.7, 0)) @ _MATRIX.T, 0, 1)
        # IEC 61966-2-1.
        codes = np.where(light <= 0.0031308, 12.92 * light, 1.055 * np.maximum(light, 1e-9) ** (1 / 2.4) - 0.055)
        out = io.BytesIO()
        picture = Image.fromarray(np.rint(255 * codes).astype(np.uint8))
        if kind == "heic":
            import pillow_heif

            pillow_heif.from_pillow(picture).save(out, quality=92)
        else:
            picture.save(out, "JPEG", quality=92)
        return out.getvalue()


def rendered(channels: Array) -> Array:
    """What a JPEG of that camera says of raw channels (3,)."""
    return _MATRIX @ channels
