"""A place on the casting, with its thickness and what is behind it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from tintmix.errors import Remedy, ValueProblem
from tintmix.numerals import numeral
from tintmix.optics.errors import ground_unusable
from tintmix.optics.spectrum import GRID_NM, Array

THICKEST_MM = 1000.0
"""A metre: what is thicker was mistyped, or typed in other units."""
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
        if self.width_mm is not None and not self.width_mm > 0:
            raise ground_unusable(
                self.name, f"an insert {numeral(self.width_mm)} mm wide cannot be; the width is above 0 mm"
            )
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

    >>> Section("flange", 8.0).ground.name
    'panel'
    """

    name: str
    thickness_mm: float
    ground: Ground = PANEL

    def __post_init__(self) -> None:
        check_thickness(f"place {self.name!r}", self.thickness_mm)


def check_thickness(
    where: str, thickness_mm: float, most_mm: float = THICKEST_MM, remedy: Remedy | None = None
) -> None:
    """Raises ValueProblem for a thickness that nothing cast or blown has. where: the piece it is of."""
    if not (np.isfinite(thickness_mm) and 0 < thickness_mm <= most_mm):
        raise ValueProblem(
            where=where,
            what="its thickness",
            found=f"{numeral(float(thickness_mm))} mm",
            limit=f"above 0 and at most {numeral(most_mm)} mm",
            remedy=remedy,
        )
