"""A place on the casting, with its thickness and what is behind it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from tintmix.numerals import numeral, percent
from tintmix.optics.errors import ground_unusable
from tintmix.optics.paths import LightPaths, Seen
from tintmix.optics.spectrum import GRID_NM, Array
from tintmix.quantities import CASTING_MM, WIDTH_MM

NARROW = 4.0
"""An insert narrower than this many thicknesses gets no light that was reflected back and forth (physics §11)."""


@dataclass(frozen=True, slots=True)
class Ground:
    """What is behind a section: bare light (reflectance None), or a diffuse ground in contact with the resin.

    reflectance: one number for every band, or K of them (a tuple or an array; kept as a tuple, so that grounds compare
    and hash), 0…1. width_mm: of an insert, None for a wide one. Raises ValueProblem.

    >>> Ground("insert", np.full(41, 0.5), 6.0) == Ground("insert", np.full(41, 0.5), 6.0)
    True
    """

    name: str
    reflectance: tuple[float, ...] | float | Array | None = None
    width_mm: float | None = None

    def __post_init__(self) -> None:
        if self.width_mm is not None:
            WIDTH_MM.check("its width", self.width_mm, f"ground {self.name!r}")
        if self.reflectance is None:
            return
        values = np.asarray(self.reflectance, dtype=np.float64)
        if values.shape not in ((), GRID_NM.shape) or not np.all((values >= 0) & (values <= 1)):
            raise ground_unusable(
                self.name, f"a reflectance is 0 to 1 (per cent: divide by 100), one number or {len(GRID_NM)} of them"
            )
        kept = float(values) if values.ndim == 0 else tuple(values.tolist())
        object.__setattr__(self, "reflectance", kept)

    @property
    def is_panel(self) -> bool:
        """Whether the bare light is behind it."""
        return self.reflectance is None

    def is_narrow(self, thickness_mm: ArrayLike) -> bool:
        """Whether it is an insert so narrow under this much resin that no light comes back to it from the face."""
        return self.width_mm is not None and bool(self.width_mm < NARROW * np.asarray(thickness_mm))


PANEL = Ground("panel")
WHITE = Ground("white", 0.85)
"""formats.md, `behind` of a target: the reflectance that "white" stands for."""
DARK = Ground("dark", 0.04)
"""The same of "dark"."""


@dataclass(frozen=True, slots=True)
class Section:
    """A named place with its thickness in mm and its ground. Raises ValueProblem.

    Of a place that is seen by paths of many lengths the ground is these paths, the thickness their mean, and `seen` what else is
    told of it: `seen_section` makes one.

    >>> Section("flange", 8.0).ground.name
    'panel'
    """

    name: str
    thickness_mm: float
    ground: Ground | LightPaths = PANEL
    seen: Seen | None = None

    def __post_init__(self) -> None:
        CASTING_MM.check("its thickness", self.thickness_mm, f"place {self.name!r}")

    @property
    def depth(self) -> str:
        """How thick it is, in words.

        >>> Section("flange", 8.0).depth
        '8 mm'
        """
        return f"{numeral(self.thickness_mm)} mm" if self.seen is None else self.seen.depth


SEEN_WITHIN = 1e-6
"""Of the bare light, for every absorption: `look` and `solve` see a place so near to all its paths, in half a dozen lengths."""


def seen_section(name: str, seen: Seen, reflectance: float | Sequence[float] | Array | None = None) -> Section:
    """A place as it is seen, in as few lengths as tell its light to `SEEN_WITHIN`. reflectance: of the insert, where another than
    the paths have. One where nothing that is seen went through resin counts as thick as what lies straight under it."""
    paths = seen.paths if reflectance is None else seen.paths.with_insert(reflectance)
    thickness_mm = max(seen.path_mm.mean or seen.straight_mm, CASTING_MM.least)
    return Section(name, thickness_mm, paths.fewer(SEEN_WITHIN), seen)


def of_clear(section: Section, luminous: float, photopic: Array) -> float | None:
    """Light through a place that is seen, against the same place in clear resin. photopic: (K,), weights of V(λ) under the light.
    None of a slab, and where clear resin lets nothing through either."""
    if not isinstance(section.ground, LightPaths):
        return None
    clear = float(section.ground.clear @ photopic)
    return luminous / clear if clear > 0 else None


UNLIKE = 1.25
"""Straight depth and mean path that differ by this factor mislead: the ratio of the two darkenings is the same."""


ALIKE = 1.5
"""Paths of which the longest (95 %) are so many times the shortest (5 %), evenly spread, look like a slab of their mean to ΔE00
0.1 where half of the light comes through a grey, and to 0.5 where a tenth does."""
SAME_INDEX = 0.005
"""Resins whose refractive indices differ by less bend light alike: the critical angle moves by a sixth of a degree."""


def cautions_of_seen(section: Section, refractive_index: float, resin: str = "the resin of the chips") -> Iterator[str]:
    """Sentences on a place as it is seen: where its straight depth would have misled, where no tint is why it is dark, and where
    it was traced for another resin than the one of this refractive index, in which it is cast."""
    seen = section.seen
    if seen is None:
        return
    low, high = sorted((max(seen.straight_mm, CASTING_MM.least), max(seen.path_mm.mean, CASTING_MM.least)))
    if high > UNLIKE * low:
        straight, path, short, long = (
            numeral(value, 3) for value in (seen.straight_mm, seen.path_mm.mean, seen.path_mm.p5, seen.path_mm.p95)
        )
        as_in = f"the tint shows there as in about {path} mm of it, not as in {straight} mm"
        if seen.path_mm.p95 > ALIKE * seen.path_mm.p5:
            as_in = f"its light has gone from {short} to {long} mm, so that no slab looks like it"
        yield f"{section.name}: {seen.depth}; {as_in}."
    if seen.dark:
        yield (
            f"{section.name} is dark by its shape: {percent(seen.of_clear)} of the light comes through it in clear resin, and no "
            "tint changes that."
        )
    if seen.refractive_index is not None and abs(seen.refractive_index - refractive_index) > SAME_INDEX:
        yield (
            f"{section.name} was traced for a resin of refractive index {numeral(seen.refractive_index, 4)}, and {resin} has "
            f"{numeral(refractive_index, 4)}: light bends otherwise in it."
        )
