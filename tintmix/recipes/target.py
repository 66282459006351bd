"""What a tint should look like: colours at sections of the part, a glass piece that speaks for all, and limits."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Any, Literal, get_args

from tintmix.errors import FileProblem, Note, Remedy, ValueProblem
from tintmix.files.schema import Check, Wrong, colour_code, list_of, number, of, one_of, whole
from tintmix.files.words import as_written
from tintmix.numerals import numeral
from tintmix.optics.detector import Light, light
from tintmix.optics.paths import Seen
from tintmix.quantities import CASTING_MM, DELTA_E00, TOTAL_PHR, WIDTH_MM, lab_problem, xyz_problem
from tintmix.recipes.errors import (
    impossible_colour,
    incomplete_glass,
    incomplete_insert,
    limits_contradict,
    no_place,
    unplaced,
)

Behind = Literal["panel", "white", "dark", "insert"]
RelativeTo = Literal["air", "faces removed"]
AbsorptionUnit = Literal["log10_per_mm", "ln_per_mm"]
Triple = tuple[float, float, float]

SRGB = re.compile(r"#[0-9a-fA-F]{6}")


def triple(values: Iterable[float]) -> Triple:
    """Three numbers of any make, as plain ones."""
    first, second, third = (float(value) for value in values)
    return first, second, third


def _three(found: object) -> Triple:
    return triple(list_of(number(), count=3)(found))


RANGES: Mapping[str, Check] = {
    "thickness_mm": of(CASTING_MM),
    "second_thickness_mm": of(CASTING_MM),
    **dict.fromkeys(("lab", "xyz", "camera", "second_camera", "insert_lab"), _three),
    **dict.fromkeys(("srgb", "insert_srgb"), colour_code),
    "tolerance": of(DELTA_E00),
    "weight": number(above=0, most=1e9),
    "insert_width_mm": of(WIDTH_MM),
    "total_phr": of(TOTAL_PHR),
    "behind": one_of(*get_args(Behind)),
    "relative_to": one_of(*get_args(RelativeTo)),
    "refractive_index": number(above=1, most=2.5),
    "pigments": whole(least=1),
    "luminous_transmittance": number(least=0, below=1, hint="8 % is 0.08"),
    "haze_percent": number(least=0, most=100),
    "observer": one_of(2, 10),
}
"""What the keys of a target may be, in a file and in a value; what more a colour has to be: `_is_said`."""


@dataclass(frozen=True, slots=True)
class Curve:
    """Values against wavelength, as a file gave them. nm rises; both finite; `source` names the file.

    >>> Curve((400.0, 700.0), (0.5, 0.6)).values
    (0.5, 0.6)
    """

    nm: tuple[float, ...]
    values: tuple[float, ...]
    source: str = "curve"

    def __post_init__(self) -> None:
        what = ""
        if len(self.nm) != len(self.values) or len(self.nm) < 2:
            what = "it needs at least two wavelengths, each with one value"
        elif not all(map(math.isfinite, (*self.nm, *self.values))):
            what = "it holds a number that is not finite"
        elif any(b <= a for a, b in pairwise(self.nm)):
            what = "its wavelengths must rise from row to row, each once"
        elif self.nm[0] > 400 or self.nm[-1] < 700:
            what = f"it covers {numeral(self.nm[0])} to {numeral(self.nm[-1])} nm, and a colour needs 400 to 700 nm"
        if what:
            raise FileProblem(where=self.source, what=what)


@dataclass(frozen=True, slots=True)
class Insert:
    """What is seen through a section: one of lab, srgb, reflectance. width_mm matters below about four thicknesses."""

    lab: Triple | None = None
    srgb: str | None = None
    reflectance: Curve | None = None
    width_mm: float | None = None

    def __post_init__(self) -> None:
        if not _is_said("insert", insert_lab=self.lab, insert_srgb=self.srgb, insert_spectrum=self.reflectance):
            raise incomplete_insert("insert", "the insert has no colour")
        if self.reflectance is not None and not all(0 <= value <= 1.05 for value in self.reflectance.values):
            raise FileProblem(
                where=self.reflectance.source, what="a reflectance is a fraction from 0 to 1 (percent: divide by 100)"
            )
        _check("insert", insert_width_mm=self.width_mm)


@dataclass(frozen=True, slots=True)
class TargetSection:
    """A place on the casting: its thickness, what is behind it, and the colour it should have, if it has one of its own.

    In place of a thickness and of what is behind it: `seen`, how light comes through a traced shape there; its insert, if the
    shape has one, is then as it is said here.

    At most one of lab, xyz (Y of the bare light = 100) and srgb (of a screen on which the bare light is white).
    Without any, the glass piece of the target speaks for it; without a glass it is only reported. tolerance: ΔE00.
    weight: its share in the least squares.

    >>> TargetSection("flange", 8.0, lab=(88.0, -12.0, 2.0)).has_colour
    True
    """

    name: str
    thickness_mm: float | None = None
    lab: Triple | None = None
    xyz: Triple | None = None
    srgb: str | None = None
    behind: Behind = "panel"
    insert: Insert | None = None
    tolerance: float = 2.0
    weight: float = 1.0
    seen: Seen | None = None

    def __post_init__(self) -> None:
        where = f"place {self.name!r}"
        if self.thickness_mm is not None:
            CASTING_MM.check("its thickness", self.thickness_mm, where)
        if (self.thickness_mm is None) == (self.seen is None):
            raise unplaced(where, self.seen is not None)
        _is_said(where, lab=self.lab, xyz=self.xyz, srgb=self.srgb)
        _check(where, tolerance=self.tolerance, weight=self.weight, behind=self.behind)
        if self.seen is not None:
            _check_seen(where, self.seen, self.behind, self.insert)
        elif (self.behind == "insert") != (self.insert is not None):
            odd = f"an insert is described, but behind = {self.behind!r}"
            raise incomplete_insert(where, "an insert has no colour" if self.insert is None else odd)

    @property
    def length_mm(self) -> float:
        """Its thickness, or the mean path of the light that is seen."""
        return self.seen.path_mm.mean if self.seen is not None else self.thickness_mm or 0.0

    @property
    def has_colour(self) -> bool:
        """Whether the section states its colour itself."""
        return any(colour is not None for colour in (self.lab, self.xyz, self.srgb))


@dataclass(frozen=True, slots=True)
class Glass:
    """A real piece whose look every section should have at its own thickness (physics §9).

    One of: `spectrum` of a piece thickness_mm thick (relative_to "air": both faces in; "faces removed": internal),
    `lab` or `camera` of such a piece, or `absorption` per mm, whose unit absorption_unit names. second_camera: of the same glass
    where it is second_thickness_mm thick: with two thicknesses a camera tells far better how it goes on.
    """

    thickness_mm: float | None = None
    spectrum: Curve | None = None
    relative_to: RelativeTo = "air"
    refractive_index: float = 1.52
    lab: Triple | None = None
    camera: Triple | None = None
    second_thickness_mm: float | None = None
    second_camera: Triple | None = None
    absorption: Curve | None = None
    absorption_unit: AbsorptionUnit = "log10_per_mm"

    def __post_init__(self) -> None:
        if not _is_said("glass", spectrum=self.spectrum, lab=self.lab, camera=self.camera, absorption=self.absorption):
            raise incomplete_glass("nothing says what the piece looks like")
        if self.thickness_mm is None and self.absorption is None:
            raise incomplete_glass("thickness_mm of the piece is missing")
        if self.thickness_mm is not None:
            CASTING_MM.check("its thickness", self.thickness_mm, "glass")
        if (self.second_camera is None) != (self.second_thickness_mm is None) or (
            self.second_camera and not self.camera
        ):
            raise incomplete_glass(
                "a second reading needs second_thickness_mm, second_camera, and a first one by camera"
            )
        _check("glass", second_thickness_mm=self.second_thickness_mm, second_camera=self.second_camera)
        _check("glass", refractive_index=self.refractive_index, relative_to=self.relative_to)
        if self.spectrum is not None:
            top, bottom = max(self.spectrum.values), min(self.spectrum.values)
            if top > 1.05 or bottom < -0.01:
                what = f"lies from 0 to 1, it runs from {numeral(bottom)} to {numeral(top)}"
                if top > 1.5:
                    what = f"is a fraction from 0 to 1, it reaches {numeral(top)} (percent: divide by 100)"
                raise FileProblem(where=self.spectrum.source, what=f"transmittance {what}")
        if self.absorption is not None and min(self.absorption.values) < 0:
            raise FileProblem(where=self.absorption.source, what="an absorption per mm cannot be below zero")

    @property
    def is_estimated(self) -> bool:
        """Whether its spectrum has to be guessed from a colour."""
        return self.lab is not None or self.camera is not None


@dataclass(frozen=True, slots=True)
class Limits:
    """What a recipe may not do. None: no such limit.

    pigments: at most so many. total_phr: sum of the doses, at most. luminous_transmittance: fraction of the light
    that comes through the thickest section, at least. haze_percent: at the thickest section, at most. leave_out:
    pigments not to use.
    """

    pigments: int | None = None
    total_phr: float | None = None
    luminous_transmittance: float | None = None
    haze_percent: float | None = None
    leave_out: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        if self.pigments is not None and self.pigments < 1:
            reason = f"pigments = {self.pigments} leaves nothing to tint with; allow at least 1"
            raise limits_contradict("limits", reason)
        own = {key: getattr(self, key) for key in ("total_phr", "luminous_transmittance", "haze_percent")}
        _check("limits", **own)


@dataclass(frozen=True, slots=True)
class Target:
    """The look that is wanted: sections, the light and observer they are judged by, limits, and perhaps a glass piece.

    `table` is the target as it was read, for the recipe file; `source` names it in errors; `notes`: what is worth knowing of the
    files that it names. Raises FileProblem,
    ValueProblem, and ValueProblem, which lists the lights that are known.

    >>> Target((TargetSection("point", 60.0, lab=(70.0, -20.0, 4.0)),)).sections[0].name
    'point'
    """

    sections: tuple[TargetSection, ...]
    light: str | Light = "D65"
    observer: int = 10
    also_under: tuple[str | Light, ...] = ()
    limits: Limits = field(default_factory=Limits)
    glass: Glass | None = None
    table: Mapping[str, Any] | None = field(default=None, compare=False, repr=False)
    source: str = field(default="target", compare=False)
    notes: tuple[Note, ...] = field(default=(), compare=False, repr=False)

    def __post_init__(self) -> None:
        if not self.sections:
            raise no_place(self.source)
        names = [section.name for section in self.sections]
        if twice := [name for name in names if names.count(name) > 1]:
            raise FileProblem(
                where=self.source, what=f"two places are named {twice[0]!r}", remedy=Remedy.NAME_EACH_PLACE
            )
        _check(self.source, observer=self.observer)
        for one in (self.light, *self.also_under):
            if isinstance(one, str):
                light(one)
        if self.glass is None and not any(section.has_colour for section in self.sections):
            raise FileProblem(
                where=self.source,
                what="no place has a colour (lab, xyz or srgb) and no glass speaks for them, so there is "
                "nothing to aim at",
                remedy=Remedy.GIVE_A_COLOUR,
            )


def _check_seen(where: str, seen: Seen, behind: Behind, insert: Insert | None) -> None:
    if behind != "panel":
        raise ValueProblem(
            where=where, what=f"behind = {behind!r} cannot be said of a place that is seen: the shape was traced with what is "
            "behind it"
        )  # fmt: skip
    if insert is not None and not seen.paths.has_insert:
        raise ValueProblem(
            where=where, what=f"an insert is described, but from {seen.place} in {seen.shape} none is seen"
        )
    if insert is not None and insert.width_mm is not None:
        raise ValueProblem(
            where=where, what="insert_width_mm cannot be said of a place that is seen: the shape has its insert"
        )


def light_name(one: str | Light) -> str:
    """The name of a light, for tables."""
    return one if isinstance(one, str) else one.name


def _is_said(where: str, **named: Any) -> bool:
    """Whether one of these colours is said. Raises ValueProblem where more are, or where that one cannot be."""
    given = {name: value for name, value in named.items() if value is not None}
    if len(given) > 1:
        raise ValueProblem(where=where, what=f"it is given as {' and as '.join(given)}; keep one of them")
    for name, value in given.items():
        kind = name.removeprefix("insert_")
        if kind in _PROBLEMS and (reason := _PROBLEMS[kind](value)):
            told = repr(value) if kind == "srgb" else list(value)
            raise impossible_colour(where, f"{kind} = {told}", reason)
    return bool(given)


def _check(where: str, **said: object) -> None:
    """Raises ValueProblem for the first that is out of its range. None: not said."""
    for key, value in said.items():
        try:
            if value is not None:
                RANGES[key](value)
        except Wrong as wrong:
            raise ValueProblem(where=where, what=f"{key} is {as_written(value)}{wrong}") from None


def _srgb_problem(srgb: str) -> str:
    return "" if SRGB.fullmatch(srgb) else 'it is written "#rrggbb"'


def _camera_problem(channels: Triple) -> str:
    fits = all(math.isfinite(value) and 0 < value <= 1.2 for value in channels)
    return "" if fits else "each channel is a part of the bare panel, 0 to 1"


_PROBLEMS: Mapping[str, Callable[[Any], str]] = {
    "lab": lab_problem, "xyz": xyz_problem, "srgb": _srgb_problem, "camera": _camera_problem,
}  # fmt: skip
"""Why a colour cannot be one of transmitted light; empty if it can."""
