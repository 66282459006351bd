"""A traced casting as it is kept: its mesh, its places as they are seen, and its picture as lengths of path."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tintmix.errors import NotThere
from tintmix.files.words import did_you_mean
from tintmix.numerals import numeral

Floats = NDArray[np.floating]

DARK = 0.2
"""A place through which less of the light comes in clear resin is dark by its shape: no tint changes that."""

POINTS = {"palest": 0.05, "typical": 0.5, "deepest": 0.95}
"""Names of places, and the points of the mean path over the pixels that are not dark by shape."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MeshOf:
    """The mesh that a shape was traced from. file: its name, from the shape's own folder where it has one. unit: of the file."""

    file: str
    sha256: str
    unit: str
    triangles: int
    watertight: bool
    volume_cm3: float
    bounds_mm: tuple[tuple[float, float, float], tuple[float, float, float]]


@dataclass(frozen=True, slots=True, kw_only=True)
class InsertOf:
    """What is cast in. mesh: its file; colour: as a target has it ({"insert_srgb": "#b08d3c"}), None where it was not said."""

    mesh: MeshOf
    colour: Mapping[str, Any] | None = field(default=None, hash=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class PathSpread:
    """How far the light of a place has gone in resin, in clear resin, mm: points and mean of its distribution."""

    p5: float
    median: float
    mean: float
    p95: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """A place of a casting as it is seen.

    path_mm: None where no light comes. straight_mm: resin straight along the view. standard_error: of of_clear, the light that
    comes in clear resin, against the bare light, an insert taken white. dark: by its shape. point_mm: of a named point.
    lengths_mm (L,), weights (3, L): the part of the bare light that comes by paths of each length, which met the insert never,
    once, and twice or more.
    """

    name: str
    path_mm: PathSpread | None
    straight_mm: float
    standard_error: float
    of_clear: float
    dark: bool
    point_mm: tuple[float, float, float] | None = None
    lengths_mm: tuple[float, ...]
    weights: tuple[tuple[float, ...], ...]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PathPicture:
    """What each pixel sees, as weights of path lengths; pixels are counted in rows from the top left.

    pixel_mm: a pixel's side. lengths_mm: (B,). pixels, bins, weights: (R,), in order of pixels; bin k·B + b holds paths of
    lengths_mm[b] that met the insert k times. bare: the light that the background shows. sees: (H, W), whether a pixel sees the
    casting; straight_mm: (H, W), resin straight along the view; standard_error: (H, W), of a pixel's light in clear resin.
    samples: a pixel. right, down: where the picture's axes point in the mesh; corner_mm: (across, down) of its top left corner.

    >>> picture = PathPicture(
    ...     width=1, height=1, pixel_mm=1.0, lengths_mm=np.array([0.0, 8.0]), pixels=np.array([0, 0], np.int32),
    ...     bins=np.array([0, 1], np.int16), weights=np.array([0.04, 0.9], np.float32), bare=1.0,
    ...     sees=np.array([[True]]), straight_mm=np.array([[8.0]]), standard_error=np.array([[0.0]]), samples=1)
    >>> picture.product(np.array([[1.0], [0.5], [0.0], [0.0], [0.0], [0.0]])).round(3).tolist()
    [[[0.49]]]
    """

    width: int
    height: int
    pixel_mm: float
    lengths_mm: Floats
    pixels: NDArray[np.int32]
    bins: NDArray[np.int16]
    weights: NDArray[np.float32]
    bare: float
    sees: NDArray[np.bool_]
    straight_mm: Floats
    standard_error: Floats
    samples: int
    right: tuple[float, float, float] = (1.0, 0.0, 0.0)
    down: tuple[float, float, float] = (0.0, -1.0, 0.0)
    corner_mm: tuple[float, float] = (0.0, 0.0)

    def product(self, per_bin: Floats) -> Floats:
        """What each pixel shows, (H, W, C), of what a path of each bin shows, (3 B, C), the bare light in `bins`' order."""
        shown = self.weights[:, None] * np.asarray(per_bin)[self.bins]
        out = np.zeros((self.width * self.height, shown.shape[1]))
        for c in range(shown.shape[1]):
            out[:, c] = np.bincount(self.pixels, shown[:, c], len(out))
        return out.reshape(self.height, self.width, -1)

    def clear(self) -> Floats:
        """The light that comes to each pixel in clear resin (H, W), an insert taken white."""
        count = self.width * self.height
        return np.asarray(np.bincount(self.pixels, self.weights, count), dtype=np.float64).reshape(
            self.height, self.width
        )

    def mean_path_mm(self) -> Floats:
        """The mean path of that light (H, W); nan where none comes."""
        length = np.asarray(self.lengths_mm)[self.bins % len(self.lengths_mm)]
        sums = np.bincount(self.pixels, self.weights * length, self.width * self.height)
        clear = self.clear().ravel()
        mean = np.full(len(clear), np.nan)
        np.divide(sums, clear, out=mean, where=clear > 0)
        return mean.reshape(self.height, self.width)

    def mixture(self, pixels: NDArray[np.integer]) -> Floats:
        """Weights (3, B) of the mean mixture of pixels, by their numbers."""
        chosen = np.zeros(self.width * self.height, np.bool_)
        chosen[pixels] = True
        rows = chosen[self.pixels]
        count = 3 * len(self.lengths_mm)
        return np.bincount(self.bins[rows], self.weights[rows], count).reshape(3, -1) / max(int(chosen.sum()), 1)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CastingShape:
    """All that a `.shape.json` holds. lit: "panel" or "sky". samples: paths sent from the eye, all in all. cut_off: part of the
    light that was not followed to its end. dark_by_shape: part of the casting's area, as seen, through which less than a fifth of
    the light comes in clear resin. resin_g: grams for one casting with its waste, None where no density is known.
    """

    mesh: MeshOf
    view: tuple[float, float, float]
    lit: str
    refractive_index: float
    insert: InsertOf | None
    samples: int
    seed: int
    cut_off: float
    dark_by_shape: float
    resin_cm3: float
    resin_g: float | None
    waste_percent: float
    places: Sequence[Place]
    picture: PathPicture
    digest: str = ""
    where: str = ""

    @property
    def seen_words(self) -> str:
        """From where, and by which light."""
        lit = "over a bare light panel" if self.lit == "panel" else "in the light of the sky"
        return f"seen {self.view_words}, {lit}"

    @property
    def view_words(self) -> str:
        """The way that one looks, in words where it has any."""
        known = {(0.0, 0.0, -1.0): "from above", (0.0, 0.0, 1.0): "from below"}
        x, y, z = (round(float(part), 6) + 0.0 for part in self.view)
        return known.get((x, y, z)) or f"along {numeral(x, 3)}, {numeral(y, 3)}, {numeral(z, 3)}"

    def place(self, name: str) -> Place:
        """The place of that name. Raises NotThere.

        A name is matched as it is written, and else without regard to capitals.
        """
        for told in (str, str.lower):
            for place in self.places:
                if told(place.name) == told(name):
                    return place
        names = [place.name for place in self.places]
        near = did_you_mean(name, names) if names else "it has no place at all"
        raise NotThere(where=self.where or "the shape", what=f"it has no place {name!r}; {near}")
