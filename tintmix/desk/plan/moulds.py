"""How thick chips can be cast: as the maker says, else in moulds that suit the casting."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from tintmix.desk.plan.tile import check_castable
from tintmix.pigments.design.wish import MOST_LENGTHS
from tintmix.pigments.model import TintModel

SERIES_MM = (1.5, 3.0, 6.0, 12.0, 25.0, 50.0, 100.0, 200.0)
"""About twice from one to the next: chips that are nearly as thick tell nearly the same."""
_APART = 1.4
"""√2: what is nearer to the thickest mould tells no more than it."""
_FEWEST = 3
_THIN_MM, _THICK_MM = 12.0, 25.0
"""Where nobody says: what anyone casts; and the thickest that still lies on a holder sheet, and that cures like a thin one."""


def moulds_for(
    cast_mm: Sequence[float],
    cast_to_mm: float | None,
    sections_mm: Sequence[float],
    model: TintModel | None,
    defaults: dict[str, Any],
) -> tuple[float, ...]:
    """The thicknesses that can be cast, from thin to thick. cast_mm, cast_to_mm: as the maker says. defaults: gets what was
    taken where nobody says: what the model's own chips were poured in can be poured again. Raises ValueProblem."""
    cast = list(cast_mm)
    if cast_to_mm is not None:
        check_castable(cast_to_mm)
        cast += moulds_up_to(cast_to_mm)
    if not cast:
        told = {} if model is None else model.report
        poured = {float(chip["thickness_mm"]) for chip in told.get("chips") or () if "thickness_mm" in chip}
        cast = sorted(poured) if 0 < len(poured) <= MOST_LENGTHS else list(usual_moulds(sections_mm))
        defaults["cast_mm"] = cast
    return tuple(sorted(set(cast)))


def moulds_up_to(thickest_mm: float) -> tuple[float, ...]:
    """Round thicknesses up to one that can be cast.

    >>> moulds_up_to(45.0), moulds_up_to(8.0)
    ((3.0, 6.0, 12.0, 25.0, 45.0), (1.5, 3.0, 8.0))
    """
    below = [mm for mm in SERIES_MM if mm <= thickest_mm / _APART]
    from_mm = SERIES_MM[1] if len(below) > _FEWEST else 0.0
    return (*(mm for mm in below if mm >= from_mm), thickest_mm)


def usual_moulds(sections_mm: Sequence[float]) -> tuple[float, ...]:
    """Thicknesses for chips of a casting, where nobody says which moulds there are.

    >>> usual_moulds([8.0, 45.0]), usual_moulds([2.0, 5.0])
    ((3.0, 6.0, 12.0, 25.0), (3.0, 6.0, 12.0))
    """
    most = _THICK_MM if max(sections_mm, default=0.0) >= _THICK_MM else _THIN_MM
    return tuple(mm for mm in SERIES_MM if SERIES_MM[1] <= mm <= most)
