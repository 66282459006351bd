"""Readings of one go into a chip set: repeats averaged, their spread kept, old readings left alone, drift put right.

Nothing here opens a file; `log.py` writes what came of it, whole or not at all.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any, Literal

import numpy as np

from tintmix.chips.appearance import as_lab
from tintmix.chips.chip import Chip, ChipCamera, ChipSet
from tintmix.chips.drift import Drift, drift
from tintmix.files.plain import table_of
from tintmix.optics.difference import delta_e00
from tintmix.optics.spectrum import Array

DECLARED_WEIGHT = 4.0
"""The spread that set.toml states counts as so many repeats beside those that were made."""
LEAST_SHARE = 0.5
"""Of a stated spread, the part that no number of repeats in one go averages away: calibration, an uneven chip."""

Action = Literal["new", "replaced", "same", "kept", "check"]


@dataclass(frozen=True, slots=True)
class Taken:
    """What was read of one chip in one go: values (R, M), R readings in the set's space. source: where from. camera: as a chip
    has it."""

    chip: str
    values: Array
    source: str = ""
    camera: ChipCamera = ""


@dataclass(frozen=True, slots=True)
class PutRow:
    """What came of one chip. readings: how many. spread: between them (None for one). uneven: far more than the set's."""

    chip: str
    action: Action
    readings: int
    values: tuple[float, ...]
    spread: float | None = None
    delta_e00_to_before: float | None = None
    uneven: bool = False
    source: str = ""

    def body(self) -> dict[str, Any]:
        """As JSON has it."""
        return table_of(self, ("values", "uneven"))


@dataclass(frozen=True, slots=True)
class Put:
    """The set with its new readings; what happened to each chip; the drift, where check chips were read again."""

    chips: ChipSet
    rows: tuple[PutRow, ...]
    drift: Drift | None = None
    corrected: bool = False
    raw: Mapping[str, Array] = field(default_factory=dict)

    @property
    def changed(self) -> bool:
        """Whether the set says anything that it did not say before."""
        return any(row.action in ("new", "replaced") for row in self.rows)

    def drift_body(self) -> dict[str, Any] | None:
        """The drift as JSON has it."""
        if self.drift is None:
            return None
        return {
            "says": self.drift.says,
            "drifted": self.drift.drifted,
            "corrected": self.corrected,
            "gain": [round(float(g), 6) for g in self.drift.gain],
            "gain_spread": [round(float(s), 6) for s in self.drift.spread],
            "check_chips": [table_of(one) for one in self.drift.chips],
        }


def put_readings(chips: ChipSet, taken: Sequence[Taken], replace_old: bool = False, correct_drift: bool = False) -> Put:
    """Put what was read of some chips (each named once) into their set.

    A chip that has a reading keeps it unless `replace_old`; a check chip that has one keeps it always, since the
    drift is told against it. Repeats are averaged; where there are several, the chip gets a spread of its own:
    s² = (4 σ² + Σ(x − x̄)²)/(4 + R − 1), pooled over the channels, over √R, and no less than σ/2, σ the set's own.
    """
    by_name = {chip.name: chip for chip in chips.chips}
    means = {t.chip: np.mean(t.values, axis=0) for t in taken}
    # A JPEG against a raw photo is no news of a check chip.
    again = [t for t in taken if (c := by_name[t.chip]).check and c.is_read and c.camera == t.camera]
    checks = [(t.chip, np.array(by_name[t.chip].values), means[t.chip], len(t.values)) for t in again]
    told = drift(chips, checks) if checks else None
    corrects = correct_drift and told is not None and told.drifted
    rows: list[PutRow] = []
    fresh: dict[str, Chip] = {}
    for t in taken:
        chip = by_name[t.chip]
        mean = means[t.chip]
        if corrects and told is not None and t not in again:
            mean = told.corrected(chips, mean)
        stated = chips.reading.by(t.camera).reading_spread
        spread, own = repeat_spread(chips, t.values, stated)
        row = PutRow(t.chip, "new", len(t.values), _rounded(mean), spread, source=t.source)
        row = replace(row, uneven=spread is not None and spread > 3 * stated)
        if chip.is_read:
            old = np.array(chip.values)
            far = float(delta_e00(*as_lab(chips, np.stack([old, mean]))))
            same = bool(np.allclose(old, row.values, rtol=1e-9, atol=1e-12))
            action: Action = "check" if chip.check else "same" if same else "replaced" if replace_old else "kept"
            row = replace(row, action=action, delta_e00_to_before=far)
        rows.append(row)
        if row.action in ("new", "replaced"):
            fresh[chip.name] = replace(chip, values=row.values, reading_spread=own, camera=t.camera)
    new = tuple(fresh.get(chip.name, chip) for chip in chips.chips)
    return Put(replace(chips, chips=new), tuple(rows), told, corrects, {t.chip: t.values for t in taken})


def repeat_spread(chips: ChipSet, values: Array, stated: float) -> tuple[float | None, float | None]:
    """Of repeats (R, M): one standard deviation of a reading, and of their mean as the fit should take it; None for one.

    stated: what the set says of one.
    """
    count = len(values)
    if count < 2:
        return None, None
    reading = chips.reading
    spaced = as_lab(chips, values) if reading.kind == "colour" else values
    if reading.kind == "camera":
        bright = np.abs(spaced.mean(axis=0)) > 0.02
        spaced = spaced[:, bright] / spaced[:, bright].mean(axis=0) if bright.any() else spaced * 0
    variance = float(spaced.var(axis=0, ddof=1).mean())
    shrunk = (DECLARED_WEIGHT * stated**2 + (count - 1) * variance) / (DECLARED_WEIGHT + count - 1)
    return float(np.sqrt(variance)), float(f"{max(np.sqrt(shrunk / count), LEAST_SHARE * stated):.3g}")


def _rounded(values: Array) -> tuple[float, ...]:
    """To seven figures: no instrument gives more, and a file should be fit to read."""
    return tuple(float(f"{v:.7g}") for v in values)
