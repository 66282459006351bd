"""Detectors: every instrument is a linear functional of the transmitted spectrum, a table of weights (wavelengths x
channels).

The eye under a light, a raw camera on a light panel, a rendered photo. Tables of the usual CIE lights ship with the
package and are read when first asked for; numpy alone is needed. The other CIE lights, and cameras by name, come from
colour-science when asked for.
"""

from __future__ import annotations

import os.path
import re
import warnings
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from tintmix.errors import FileProblem, Remedy, ValueProblem
from tintmix.files.words import plain
from tintmix.optics.colour import ADAPTATIONS, linear_srgb_matrix
from tintmix.optics.errors import no_spectrum, out_of_range
from tintmix.optics.spectrum import FINE_NM, GRID_NM, Array, checked_wavelengths, middle
from tintmix.optics.weights import grid_weights, tristimulus_weights

SHIPPED_LIGHTS = (
    "A", "D50", "D65", "FL2", "FL7", "FL11",
    "LED-B1", "LED-B2", "LED-B3", "LED-B4", "LED-B5", "LED-BH1", "LED-V1", "LED-V2",
)  # fmt: skip
"""The lights whose tables ship, so that nobody waits for them: incandescent, daylight, the three fluorescent lamps that
CIE 15 puts before the others, and the white LEDs of CIE 015:2018, of which an unknown light panel is believed to be one.
"""
_SHOWS = 0.05
"""Of an eye's largest weight: what a curve does where it is less hardly moves a colour."""
_TABLES = os.path.join(os.path.dirname(__file__), "tables")


def _read_only(values: Array) -> Array:
    """The same numbers, not to be written to by whoever gets them."""
    view = values.view()
    view.setflags(write=False)
    return view


@dataclass(frozen=True, slots=True, eq=False)
class Detector:
    """weights: (K, C), read only; `reading = T @ weights` for the transmitted part T (…, K) of the bare light.

    Raises ValueProblem where the weights are not finite or not on the working grid.
    """

    name: str
    weights: Array
    kind: Literal["eye", "camera", "rendered"]

    def __post_init__(self) -> None:
        if self.weights.ndim != 2 or len(self.weights) != len(GRID_NM) or not np.isfinite(self.weights).all():
            raise ValueProblem(
                where=f"detector {self.name!r}",
                what="the weights' shape",
                found=self.weights.shape,
                limit=f"({len(GRID_NM)}, channels), all of them finite",
            )
        object.__setattr__(self, "weights", _read_only(self.weights))

    @property
    def bare(self) -> Array:
        """What it reads of the bare light (C,): the white of an eye, 1 for a camera."""
        return np.asarray(self.weights.sum(axis=0))


@dataclass(frozen=True, slots=True, eq=False)
class Light:
    """A light: its relative power (421,), read only, from 360 to 780 nm at 1 nm. Raises ValueProblem."""

    name: str
    power_1nm: Array

    def __post_init__(self) -> None:
        power = self.power_1nm
        what = ""
        if power.shape != FINE_NM.shape or not np.isfinite(power).all() or power.min() < 0:
            what = "its power is not a finite number of zero or more at every wavelength"
        elif not power[(FINE_NM >= 400) & (FINE_NM <= 700)].any():
            what = "it is dark from 400 to 700 nm"
        if what:
            needed = "its power has to be nowhere below zero, and above it somewhere in 400-700 nm"
            raise ValueProblem(where=f"light {self.name!r}", what=f"{what}; {needed}")
        object.__setattr__(self, "power_1nm", _read_only(power))


def known_lights() -> tuple[str, ...]:
    """The names of all CIE illuminants that `light` knows: those whose tables ship, and those of colour-science.

    >>> "D65" in known_lights(), "D55" in known_lights()
    (True, True)
    """
    return _names("lights.txt")


def known_cameras() -> tuple[str, ...]:
    """The names of the cameras whose measured sensitivities colour-science holds."""
    return _names("cameras.txt")


def light(name: str) -> Light:
    """A CIE light by name, in either case. Raises ValueProblem, which lists the known ones.

    The first of those that do not ship takes the second or two that importing colour-science does.

    >>> light("led-b3").name
    'LED-B3'
    """
    official = _official(name)
    if official in SHIPPED_LIGHTS:
        return Light(official, _table(f"power/{official}.csv")[:, 1])
    return _library_light(official)


def camera_sensitivities(name: str) -> tuple[Array, Array]:
    """Wavelengths (M,) in nm and sensitivities (M, 3), R, G, B, of a camera by name, in either case, from
    colour-science. Raises ValueProblem.

    >>> nm, rgb = camera_sensitivities(known_cameras()[0])
    >>> rgb.shape == (len(nm), 3)
    True
    """
    table = _library().MSDS_CAMERA_SENSITIVITIES[camera_name(name)]
    return np.asarray(table.wavelengths, dtype=np.float64), np.asarray(table.values, dtype=np.float64)


def camera_name(name: str) -> str:
    """A known camera's name as it is spelt, from the same in either case. Raises ValueProblem.

    >>> camera_name(known_cameras()[0].lower()) == known_cameras()[0]
    True
    """
    known = _named(name, known_cameras())
    if known is None:
        raise ValueProblem(
            what=f"camera {plain(name)!r} is not known; those known by name are {', '.join(known_cameras())}, and any "
            'other is given as a CSV file of its sensitivities (nm, R, G, B), as "rendered" (a JPEG) or as "unknown" (a '
            "raw photo)"
        )
    return known


def light_from_spectrum(name: str, nm: ArrayLike, power: ArrayLike) -> Light:
    """A light of one's own from a spectrum (nm rising, relative power), which must cover 400-700 nm.

    Interpolated linearly to 1 nm, as CIE 15 has it for illuminants (finer spectra: averaged over each nanometre, so
    that no narrow line falls between two of them); beyond its ends, where the eye sees little, the nearest value is
    taken. A CIE light given as published, at 5 nm, comes out as the shipped one. Raises ValueProblem.

    >>> light_from_spectrum("flat", [400, 550, 700], [1, 1, 1]).power_1nm[[0, -1]].tolist()
    [1.0, 1.0]
    """
    what = f"light {name!r}"
    wavelengths, values = _curve(what, nm, power)
    if values.ndim != 1:
        raise no_spectrum(what, f"{len(wavelengths)} wavelengths, but powers of shape {values.shape}")
    if wavelengths[0] > 400 or wavelengths[-1] < 700:
        raise out_of_range(what, float(wavelengths[0]), float(wavelengths[-1]), 400, 700)
    return Light(name, _each_nanometre(wavelengths, values[:, None], held=True)[:, 0])


def eye(light_or_name: Light | str, observer: int = 10) -> Detector:
    """The eye under a light: T @ weights = XYZ with Y of the bare light = 100; ASTM E308 with E2022 weights, end bands
    folded.

    observer: 2 (CIE 1931) or 10 (CIE 1964), degrees. Raises ValueProblem.

    >>> eye("D65", 10).bare.round(2).tolist()
    [94.81, 100.0, 107.3]
    """
    if observer not in (2, 10):
        raise ValueProblem(
            what=f"observer = {plain(observer)} is not known; it is 2 (CIE 1931, 2 degrees) or 10 (CIE 1964, 10 degrees)"
        )
    if isinstance(light_or_name, str):
        return _eye(_official(light_or_name), observer)
    return _eye_under(light_or_name, observer)


def _eye_under(lit: Light, observer: int) -> Detector:
    matching = _of_observer(_table("colour_matching.csv"), observer)
    return Detector(f"{lit.name}/{observer}", tristimulus_weights(matching, lit.power_1nm), "eye")


def luminous(light_or_name: Light | str) -> Array:
    """Weights (K,) that sum to 1: T @ weights is the luminous transmittance by V(λ), the 2° ȳ, for any observer."""
    weights = eye(light_or_name, 2).weights[:, 1]
    return np.asarray(weights / weights.sum())


def is_seen() -> NDArray[np.bool_]:
    """At which wavelengths (K,) a curve shows in what an eye sees under D65: where one of the three weights of the 10° observer
    is at least `_SHOWS` of its largest. A reading in L*a*b* tells next to nothing of the rest.

    >>> from tintmix.optics.spectrum import GRID_NM
    >>> seen = GRID_NM[is_seen()]
    >>> float(seen[0]), float(seen[-1])
    (410.0, 670.0)
    """
    weights = eye("D65", 10).weights
    return np.asarray((weights >= _SHOWS * weights.max(axis=0)).any(axis=1))


def camera(nm: ArrayLike, sensitivities: ArrayLike, panel: Light | str) -> Detector:
    """A raw camera on a light panel: each channel as a part of what it reads of the bare panel.

    nm: (M,), sensitivities: (M, C), interpolated linearly to 1 nm and zero beyond their ends. Raises ValueProblem.

    >>> camera([400, 500, 600, 700], [[0, 0, 1], [0, 1, 1], [1, 1, 0], [1, 0, 0]], "LED-B3").bare.round(12).tolist()
    [1.0, 1.0, 1.0]
    """
    wavelengths, table = _curve("camera", nm, sensitivities)
    if table.ndim != 2:
        raise _no_camera(f"sensitivities of shape {table.shape}")
    lit = light(panel) if isinstance(panel, str) else panel
    weights = grid_weights(_each_nanometre(wavelengths, table, held=False) * lit.power_1nm[:, None])
    total = weights.sum(axis=0)
    if np.any(total <= 0):
        raise _no_camera(f"channel {int(np.argmax(total <= 0)) + 1} sees nothing of the light {lit.name!r}")
    return Detector(f"camera on {lit.name}", weights / total, "camera")


def rendered(panel: Light | str) -> Detector:
    """A rendered photo: linear sRGB of the light that comes through, each channel as a part of the bare panel's.

    The mean of `rendered_ways`: no maker of phones says which it takes.

    >>> rendered("A").bare.round(12).tolist()
    [1.0, 1.0, 1.0]
    """
    name = eye(panel, 2).name.removesuffix("/2")
    return Detector(f"photo on {name}", rendered_ways(panel).mean(axis=0), "rendered")


def rendered_ways(panel: Light | str) -> Array:
    """Weights (W, K, 3) of rendered photos: through the 2° XYZ, brought from the panel's white to sRGB's in each of the ways of
    `colour.ADAPTATIONS`. What a camera's own processing aims at, with an error of its own.

    >>> rendered_ways("A").sum(axis=1).round(12).tolist()[0]
    [1.0, 1.0, 1.0]
    """
    seen = eye(panel, 2)
    return np.stack([seen.weights @ linear_srgb_matrix(seen.bare, way).T for way in ADAPTATIONS])


def _no_camera(what: str) -> ValueProblem:
    needed = "sensitivities are three columns (R, G, B) beside the wavelengths, finite, each channel's sum above zero"
    return ValueProblem(where="camera", what=f"{what}; {needed}")


def _curve(what: str, nm: ArrayLike, values: ArrayLike) -> tuple[Array, Array]:
    wavelengths = checked_wavelengths(nm, what)
    table = np.asarray(values, dtype=np.float64)
    if len(wavelengths) < 3:
        raise no_spectrum(what, f"{len(wavelengths)} wavelengths, and at least three are needed")
    if table.ndim == 0 or len(table) != len(wavelengths) or not np.isfinite(table).all():
        raise no_spectrum(
            what, f"{len(wavelengths)} wavelengths, but values of shape {table.shape}, or some that are no numbers"
        )
    return wavelengths, table


def _each_nanometre(nm: Array, table: Array, held: bool) -> Array:
    """(421, C) of a table (M, C): linear between its rows; beyond its ends held, or zero."""
    ends = {} if held else {"left": 0.0, "right": 0.0}
    if middle(np.diff(nm)) >= 1.0:
        return np.stack([np.interp(FINE_NM, nm, column, **ends) for column in table.T], axis=1)
    # The mean over λ ± ½ nm of the straight lines between rows, from their running integral; exact at the rows added
    # for it.
    edges = np.concatenate([FINE_NM - 0.5, FINE_NM[-1:] + 0.5])
    at = np.union1d(nm, edges)
    lines = np.stack([np.interp(at, nm, column, **ends) for column in table.T], axis=1)
    areas = 0.5 * (lines[1:] + lines[:-1]) * np.diff(at)[:, None]
    running = np.concatenate([np.zeros((1, table.shape[1])), np.cumsum(areas, axis=0)])
    return np.asarray(np.diff(running[np.searchsorted(at, edges)], axis=0))


@cache
def _names(file: str) -> tuple[str, ...]:
    return tuple(line for line in _lines(file) if line and not line.startswith("#"))


def _named(name: str, known: tuple[str, ...]) -> str | None:
    wanted = name.strip().lower() if isinstance(name, str) else None
    return next((one for one in known if one.lower() == wanted), None)


def _in_runs(names: Sequence[str]) -> str:
    """Names with commas, those that count up told as a run.

    >>> _in_runs(["D65", "FL1", "FL2", "FL3"])
    'D65, FL1 to FL3'
    """
    runs: list[list[str]] = []
    for name in names:
        head, count = re.fullmatch(r"(.*?)(\d*)", name).groups()  # type: ignore[union-attr]
        if runs and count and name == f"{head}{count}" and runs[-1][-1] == f"{head}{int(count) - 1}":
            runs[-1].append(name)
        else:
            runs.append([name])
    told = ([f"{run[0]} to {run[-1]}"] if len(run) > 2 else run for run in runs)
    return ", ".join(one for run in told for one in run)


@cache
def _official(name: str) -> str:
    known = _named(name, known_lights())
    if known is None:
        raise ValueProblem(
            what=f"light {plain(name, 24)!r} is not known; the known lights are {_in_runs(known_lights())}, and any other is "
            "given as a CSV file of its spectrum (nm, power)"
        )
    return known


@cache
def _library_light(official: str) -> Light:
    published = _library().SDS_ILLUMINANTS[official]
    return light_from_spectrum(official, published.wavelengths, published.values)


def _library() -> Any:
    """colour-science. Imported here alone, since that takes over a second, and brings scipy and matplotlib along."""
    with warnings.catch_warnings():
        # It warns at import about optional packages, which nothing here uses.
        warnings.simplefilter("ignore")
        import colour
    return colour


@cache
def _eye(name: str, observer: int) -> Detector:
    if name not in SHIPPED_LIGHTS:
        return _eye_under(light(name), observer)
    table = _table(f"weights/{name}.csv")
    if not np.array_equal(table[:, 0], GRID_NM):
        raise FileProblem(where=name, what="the table that comes with tintmix is damaged", remedy=Remedy.INSTALL_AGAIN)
    weights = np.ascontiguousarray(_of_observer(table, observer))
    return Detector(f"{name}/{observer}", weights, "eye")


def _of_observer(table: Array, observer: int) -> Array:
    return table[:, 1:4] if observer == 2 else table[:, 4:7]


@cache
def _table(name: str) -> Array:
    rows = [line.split(",") for line in _lines(name) if line[:1].isdigit()]
    return np.array(rows, dtype=np.float64)


def _lines(name: str) -> list[str]:
    # Not importlib.resources: importing that takes longer than all the rest of this room together.
    with open(os.path.join(_TABLES, name), encoding="ascii") as table:
        return table.read().splitlines()
