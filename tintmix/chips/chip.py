"""Chips, how they were read, and the set that holds them. Values only; the files are read and written in folder.py."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, fields, replace
from itertools import pairwise
from pathlib import Path
from typing import Any, Literal, get_args

import numpy as np
from numpy.typing import NDArray

from tintmix.chips.names import chip_name_problem, pigment_name_problem
from tintmix.errors import ValueProblem
from tintmix.files.canonical import canonical_json, digest
from tintmix.files.plain import table_of
from tintmix.files.words import plain
from tintmix.numerals import numeral
from tintmix.quantities import CHIP_MM, DOSE_PHR
from tintmix.resin import Resin, resin_to_table

MIX = "mix"
"""The one pigment of a one-cup set: the whole mix, dose 1 for the cup as poured."""

Kind = Literal["spectrum", "colour", "camera"]
RelativeTo = Literal["air", "untinted", "faces removed", "white tile"]
Geometry = Literal["total", "regular", "45/0", "d/8"]
Contact = Literal["dry", "wetted"]
Unit = Literal["fraction", "percent"]
Space = Literal["Lab", "XYZ"]
ChipCamera = Literal["", "rendered", "unknown"]
Curve = tuple[NDArray[np.float64], NDArray[np.float64]]
"""Wavelengths (M,) in nm, and a value at each, (M,) for a light, (M, 3) for a camera."""

CURVES = {"light": "light_curve", "camera": "camera_curve", "tile": "tile_curve"}
"""Keys of a reading that may name a CSV file, and where a set holds its curve."""
CHOICES: Mapping[str, tuple[Any, ...]] = {
    "kind": get_args(Kind),
    "relative_to": get_args(RelativeTo),
    "geometry": get_args(Geometry),
    "contact": get_args(Contact),
    "unit": get_args(Unit),
    "observer": (2, 10),
    "space": (None, *get_args(Space)),
}
"""What a reading may say. The CIE has observers of 2° and of 10° (CIE 15)."""
_SPREADS = ("reading_spread", "zero_spread", "dose_spread", "thickness_spread_mm")


def default_reading_spread(kind: str, camera: str = "") -> float:
    """One standard deviation of a reading where none is given: a fraction, of each of L*, a*, b*, or relative (camera).

    Common practice: repeatability of bench and hand-held instruments; of a raw photo 1 %, of a rendered one 3 %.
    """
    return {"spectrum": 0.003, "colour": 0.3}.get(kind, 0.03 if camera == "rendered" else 0.01)


@dataclass(frozen=True, slots=True)
class Reading:
    """How a set was read. Everything but `kind` has a default (formats of set.toml, [reading]).

    kind: "spectrum", "colour" or "camera". relative_to: what a value was divided by: "air" (bare light), "untinted" (a
    clear chip of that thickness), "faces removed" (internal), "white tile" (reflection of a chip that lies on a
    measured white, against a perfect white). geometry: "total" or "regular"; on a tile "45/0" or "d/8" (sphere, gloss
    excluded). tile, tile_lab, contact: the tile's spectrum (a CSV file's name; the set holds the curve) or its colour
    under `light`, and whether air or a liquid lies between it and the chip. unit: of the file; values
    in memory are fractions. light: a CIE name or the name of a CSV file whose curve the set holds. camera: a CSV file's
    name likewise, a known camera's name, "rendered" or "unknown". reading_spread: fraction (spectrum), of each of L*,
    a*, b* (colour), relative (camera). zero_spread: absolute (camera). dose_spread: relative, a cup. wavelengths_nm: of
    a spectrum. space: of a colour. taken_with: the camera and its software, as its photos name them. Raises ValueProblem.

    >>> Reading("camera").geometry, Reading("colour").reading_spread
    ('regular', 0.3)
    """

    kind: Kind
    relative_to: RelativeTo = "air"
    geometry: Geometry = None  # type: ignore[assignment]  # by kind, below
    unit: Unit = "fraction"
    light: str = "D65"
    observer: int = 10
    camera: str = "rendered"
    reading_spread: float = None  # type: ignore[assignment]  # by kind, below
    zero_spread: float = 0.001
    dose_spread: float = 0.02
    thickness_spread_mm: float = 0.05
    wavelengths_nm: tuple[float, ...] | None = None
    space: Space | None = None
    tile: str = ""
    tile_lab: tuple[float, float, float] | None = None
    contact: Contact = "dry"
    taken_with: str = ""

    def __post_init__(self) -> None:
        usual = {
            "geometry": "45/0" if self.on_tile else "regular",
            "reading_spread": default_reading_spread(self.kind, self.camera),
            "space": "Lab" if self.kind == "colour" else None,
        }
        for name in [name for name in usual if getattr(self, name) is None]:
            object.__setattr__(self, name, usual[name])
        for name, allowed in CHOICES.items():
            if getattr(self, name) not in allowed:
                said = ", ".join(str(a) for a in allowed if a is not None)
                raise ValueProblem(what=f"a reading's {name} is {plain(getattr(self, name))}; it must be one of {said}")
        _put_numbers(
            self,
            *((name, f"a reading's {name}", 0.0, 100.0) for name in _SPREADS),
            ("tile_lab", "a tile_lab value", -200.0, 200.0),
            ("wavelengths_nm", "a wavelength", 1.0, 1e5),
        )
        if self.reading_spread == 0:
            raise ValueProblem(what="a reading's reading_spread is 0; no instrument is that good, give a small number")
        if any(b <= a for a, b in pairwise(self.wavelengths_nm or ())):
            raise ValueProblem(what="a reading's wavelengths must rise, each once")
        if problem := self._tile_problem():
            raise ValueProblem(what=problem)

    def _tile_problem(self) -> str:
        """What is wrong with what is said of a white tile."""
        if not self.on_tile:
            said = (
                'belongs to chips on a white tile; say relative_to = "white tile", or geometry = "total" or "regular"'
            )
            return f'geometry = "{self.geometry}" {said}' if self.geometry in ("45/0", "d/8") else ""
        if self.kind == "camera":
            return "a photo of chips on a white tile is not read; photograph them on a light panel"
        if self.geometry not in ("45/0", "d/8"):
            said = 'an instrument that reads reflection has "45/0" or "d/8" (a sphere, gloss excluded)'
            return f'geometry = "{self.geometry}" is no reflection\'s; {said}'
        if bool(self.tile) == (self.tile_lab is not None):
            return (
                'relative_to = "white tile" needs the bare tile as the same instrument reads it: tile_lab = [L, a, b], or '
                'tile = "tile.csv" (nm, reflectance); one of the two'
            )
        if self.tile_lab is None:
            return ""
        if self.kind == "spectrum":
            return 'spectra on a white tile need the tile\'s own, tile = "tile.csv" (nm, reflectance), and not tile_lab'
        if len(self.tile_lab) != 3 or not 50.0 <= self.tile_lab[0] <= 105.0:
            return "tile_lab must be L*, a*, b* of a white: three numbers, L* from 50 to 105"
        return ""

    def by(self, camera: ChipCamera) -> Reading:
        """The same of chips whose photos are of that kind: a JPEG's spread is not a raw photo's. Empty: as it is."""
        if camera in ("", self.camera):
            return self
        return replace(self, camera=camera, reading_spread=default_reading_spread("camera", camera))

    @property
    def on_tile(self) -> bool:
        """Whether it is the reflection of chips that lie on a measured white."""
        return self.relative_to == "white tile"

    @property
    def channels(self) -> int:
        """Values in one reading of this kind; 0 for a spectrum whose wavelengths are not known."""
        return len(self.wavelengths_nm or ()) if self.kind == "spectrum" else 3


@dataclass(frozen=True, slots=True)
class Pigment:
    """What is dosed. stock: the bottle its cups were dosed from. max_phr: per 100 g of mixed resin. None: not said."""

    name: str
    lot: str = ""
    stock: str = ""
    carrier: str = ""
    kind: str = "transparent"
    max_phr: float | None = None
    density_g_per_cm3: float | None = None
    price_per_g: float | None = None

    def __post_init__(self) -> None:
        problem = pigment_name_problem(self.name)
        if problem:
            raise ValueProblem(what=f"a pigment's name, {plain(self.name)!r}, {problem}")
        bounds = {"max_phr": (0.0, 1e3), "density_g_per_cm3": (0.1, 25.0), "price_per_g": (0.0, 1e6)}
        _put_numbers(self, *((name, f"{self.name}'s {name}", *bound) for name, bound in bounds.items()))


@dataclass(frozen=True, slots=True)
class Weights:
    """What was weighed for a cup, in grams. pigments_g: one a pigment, None where its dose was given in phr."""

    pigments_g: tuple[float | None, ...]
    resin_g: float | None = None
    scale_g: float | None = None


@dataclass(frozen=True, slots=True)
class Chip:
    """A small plate of known doses and thickness, and what was read of it.

    doses_phr: one a pigment of the set, in its order, grams per 100 g of mixed resin. values: the reading, fractions
    (spectrum, camera) or as its space has it (colour); empty where the chip has not been read. dose_spreads: relative,
    one a pigment. haze: a fraction; haze_word: the word it was told by, where it was. use: whether it counts;
    left_out: why tintmix itself leaves it out. check: a check chip, read again on every reading day. reading_spread:
    its own, where repeated readings told it. camera: "rendered" or "unknown", where its photo was of another kind than the
    set's reading says. row: in its file. Raises ValueProblem.
    """

    name: str
    cup: str
    doses_phr: tuple[float, ...]
    thickness_mm: float
    values: tuple[float, ...] = ()
    dose_spreads: tuple[float, ...] = ()
    haze: float | None = None
    use: bool = True
    note: str = ""
    row: int = field(default=0, compare=False)
    left_out: str = ""
    weights: Weights | None = None
    check: bool = False
    reading_spread: float | None = None
    haze_word: str = ""
    camera: ChipCamera = ""

    def __post_init__(self) -> None:
        for what, text in (("name", self.name), ("cup", self.cup)):
            problem = chip_name_problem(text)
            if problem:
                raise ValueProblem(what=f"a chip's {what}, {plain(text)!r}, {problem}")
        where = f"chip {plain(self.name)}"
        _put_numbers(
            self,
            ("thickness_mm", f"{where}: the thickness in mm", CHIP_MM.least, CHIP_MM.most),
            ("doses_phr", f"{where}: a dose in phr", DOSE_PHR.least, DOSE_PHR.most),
            ("values", f"{where}: a reading", -1e6, 1e6),
            ("dose_spreads", f"{where}: a dose spread", 0.0, 1e6),
            ("haze", f"{where}: the haze, a fraction", 0.0, 1.0),
            ("reading_spread", f"{where}: the reading spread", 0.0, 100.0),
        )
        if self.reading_spread == 0:
            raise ValueProblem(what=f"{where}: a reading spread of 0; no instrument is that good, give a small number")

    @property
    def is_blank(self) -> bool:
        """Whether no pigment is in it."""
        return not any(self.doses_phr)

    @property
    def is_read(self) -> bool:
        """Whether it has a reading."""
        return len(self.values) > 0


@dataclass(frozen=True, slots=True, eq=False)
class ChipSet:
    """All chips of one resin, with how they were read.

    Sets are equal when all but folder, warnings and defaults_used is equal. defaults_used: name → value of every
    default that a reader filled in. light_curve, camera_curve, tile_curve: (nm, values) where `reading.light`,
    `reading.camera`, `reading.tile` name a CSV file. Chips without dose spreads get the reading's. Raises ValueProblem.

    >>> one = ChipSet(Reading("colour"), (Pigment("azure"),), (Chip("b1", "b1", (0.02,), 3.0, (80, -5, -9)),))
    >>> one.chips[0].dose_spreads, one.is_one_cup, len(one.digest())
    ((0.02,), False, 64)
    """

    reading: Reading
    pigments: tuple[Pigment, ...]
    chips: tuple[Chip, ...]
    resin: Resin = field(default_factory=Resin)
    title: str = ""
    folder: Path | None = None
    defaults_used: Mapping[str, Any] = field(default_factory=dict)
    warnings: tuple[str, ...] = ()
    light_curve: Curve | None = None
    camera_curve: Curve | None = None
    tile_curve: Curve | None = None

    def __post_init__(self) -> None:
        names = [pigment.name for pigment in self.pigments]
        if len(set(names)) < len(names):
            raise ValueProblem(what="two pigments of a set have the same name; give each its own")
        if MIX in names and len(names) > 1:
            said = "stands for the whole mix of a one-cup set and cannot be beside others; rename it"
            raise ValueProblem(what=f"the pigment {MIX!r} {said}")
        seen: set[str] = set()
        chips = []
        for chip in self.chips:
            said = f"chip {plain(chip.name)} has"
            if chip.name in seen:
                raise ValueProblem(what=f"two chips are called {plain(chip.name)!r}; give each its own name")
            seen.add(chip.name)
            if len(chip.doses_phr) != len(names):
                raise ValueProblem(what=f"{said} {len(chip.doses_phr)} doses for {len(names)} pigments")
            if chip.is_read and len(chip.values) != self.reading.channels:
                wanted = f"a reading of this set has {self.reading.channels}"
                raise ValueProblem(what=f"{said} {len(chip.values)} values; {wanted}")
            if not chip.dose_spreads:
                chip = replace(chip, dose_spreads=(self.reading.dose_spread,) * len(names))
            if len(chip.dose_spreads) != len(names):
                raise ValueProblem(what=f"{said} {len(chip.dose_spreads)} dose spreads for {len(names)} pigments")
            chips.append(chip)
        object.__setattr__(self, "chips", tuple(chips))

    @property
    def is_one_cup(self) -> bool:
        """Whether the whole mix is the one pigment."""
        return len(self.pigments) == 1 and self.pigments[0].name == MIX

    @property
    def parts(self) -> tuple[ChipSet, ...]:
        """The set by how its chips were read, raw photos first: itself, unless its photos are of two kinds."""
        if all(chip.camera in ("", self.reading.camera) for chip in self.chips):
            return (self,)
        kinds = sorted(
            {chip.camera for chip in self.chips}, key=lambda kind: (kind or self.reading.camera) == "rendered"
        )
        return tuple(
            replace(
                self,
                reading=self.reading.by(kind),
                chips=tuple(chip for chip in self.chips if chip.camera == kind),
                camera_curve=None if kind else self.camera_curve,
            )
            for kind in kinds
        )

    def canonical(self) -> dict[str, Any]:
        """All that the set says, as plain tables: what `digest` and `==` go by."""
        return {
            "title": self.title,
            "resin": resin_to_table(self.resin),
            "reading": _table(self.reading),
            "pigments": [_table(pigment) for pigment in self.pigments],
            "chips": [
                _table(chip, ("row",)) | {"weights": None if chip.weights is None else _table(chip.weights)}
                for chip in self.chips
            ],
        } | {name: curve for name in CURVES.values() if (curve := getattr(self, name)) or name != "tile_curve"}

    def digest(self) -> str:
        """SHA-256 of the canonical JSON of what the set says."""
        return digest(self.canonical())

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, ChipSet):
            return NotImplemented
        return canonical_json(self.canonical()) == canonical_json(other.canonical())

    def __hash__(self) -> int:
        return hash(self.digest())


_SAID_WHEN_SET = {
    Reading: ("tile", "tile_lab", "contact", "taken_with"),
    Chip: ("check", "reading_spread", "haze_word", "camera"),
}
# Left out where they say nothing, so that the digest of a set that does not use them is what it always was.


def _table(value: Any, without: tuple[str, ...] = ()) -> dict[str, Any]:
    newer = {f.name: f.default for f in fields(value) if f.name in _SAID_WHEN_SET.get(type(value), ())}
    return {key: found for key, found in table_of(value, without).items() if key not in newer or found != newer[key]}


def _put_numbers(owner: object, *checks: tuple[str, str, float, float]) -> None:
    """Fields as finite numbers, one or a tuple of them; what is None stays. checks: field, what it is called, bounds."""
    for name, what, lowest, highest in checks:
        found = getattr(owner, name)
        if isinstance(found, Sequence | np.ndarray) and not isinstance(found, str):
            found = tuple(_number(value, what, lowest, highest) for value in found)
        elif found is not None:
            found = _number(found, what, lowest, highest)
        object.__setattr__(owner, name, found)


def _number(value: Any, what: str, lowest: float, highest: float) -> float:
    try:
        number = float(value)
    except (TypeError, ValueError, OverflowError):
        raise ValueProblem(what=what, found=plain(value), limit="a number") from None
    if not (math.isfinite(number) and lowest <= number <= highest):
        limit = f"from {numeral(lowest)} to {numeral(highest)}"
        raise ValueProblem(what=what, found=numeral(number, 6), limit=limit)
    return number
