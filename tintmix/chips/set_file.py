"""set.toml: what resin, how it was read, which pigments. The table is checked here; its meaning is chip.py's."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np

from tintmix.chips.chip import Curve, Pigment, Reading, pigment_name_problem
from tintmix.chips.errors import pigment_refused
from tintmix.errors import ValueProblem
from tintmix.files.curves import read_curve
from tintmix.files.errors import BadTable, Problem, bad_curve
from tintmix.files.schema import NEEDED, Named, Table, anything, checked, list_of, number, one_of, text
from tintmix.files.text import load_toml
from tintmix.files.upgrades import Format
from tintmix.files.words import plain
from tintmix.numerals import numeral
from tintmix.optics.detector import camera_name
from tintmix.optics.detector import light as official
from tintmix.resin import Resin, read_resin, resin_from_table

SET_FORMAT = Format(what="chip set")
PIGMENT_KINDS = ("transparent",)
REFUSED_KINDS = ("pearl", "metallic", "white", "opaque")
DEFAULT_KEYS: Mapping[str, tuple[str, ...]] = {
    "spectrum": ("relative_to", "geometry", "unit", "reading_spread", "dose_spread", "thickness_spread_mm"),
    "colour": ("relative_to", "geometry", "light", "observer", "reading_spread", "dose_spread", "thickness_spread_mm"),
    "camera": (
        "relative_to", "geometry", "unit", "light", "camera", "reading_spread", "zero_spread", "dose_spread",
        "thickness_spread_mm",
    ),
}  # fmt: skip
"""The keys of [reading] that matter to each kind, and whose defaults a report states."""

_TEXT = text(empty=True)
_SHARE = number(least=0, most=1)
_READING = Table(
    {
        "kind": (one_of("spectrum", "colour", "camera"), NEEDED),
        "relative_to": (one_of("air", "untinted", "faces removed", "white tile"), None),
        "geometry": (one_of("total", "regular", "45/0", "d/8"), None),
        "unit": (one_of("fraction", "percent"), None),
        "light": (_TEXT, None),
        "observer": (one_of(2, 10), None),
        "camera": (_TEXT, None),
        "reading_spread": (number(above=0, most=20), None),
        "zero_spread": (_SHARE, None),
        "dose_spread": (_SHARE, None),
        "thickness_spread_mm": (number(least=0, most=10), None),
        "tile": (_TEXT, None),
        "tile_lab": (list_of(number(), count=3), None),
        "contact": (one_of("dry", "wetted"), None),
    }
)
_PIGMENT = Table(
    {
        "lot": (_TEXT, ""),
        "stock": (_TEXT, ""),
        "carrier": (_TEXT, ""),
        "kind": (_TEXT, "transparent"),
        "max_phr": (number(above=0, most=100), None),
        "density_g_per_cm3": (number(least=0.1, most=25), None),
        "price_per_g": (number(least=0, most=1e6), None),
    }
)
_SET = Table(
    {
        "format": (anything, NEEDED),
        "title": (_TEXT, ""),
        "resin": (anything, None),
        "reading": (_READING, NEEDED),
        "pigments": (Named(_PIGMENT), {}),
        "made_by": (anything, None),
        "made_at": (anything, None),
    }
)


@dataclass(frozen=True, slots=True)
class Setting:
    """What set.toml says. pigments: by name, as it lists them. defaults_used: what it does not say."""

    title: str
    resin: Resin
    reading: Reading
    pigments: Mapping[str, Pigment]
    defaults_used: Mapping[str, Any]
    light_curve: Curve | None = None
    camera_curve: Curve | None = None
    warnings: tuple[str, ...] = field(default=())
    tile_curve: Curve | None = None


def read_setting(path: Path) -> Setting:
    """set.toml, and the files that it names beside it.

    Raises BadTable, FileProblem, and what `load_toml` raises.
    """
    return parse_setting(load_toml(path, "the set's own file"), path)


def parse_setting(table: Mapping[str, Any], path: Path) -> Setting:
    """The same from the table; files named in it are looked for beside `path`."""
    table = SET_FORMAT.up_to_date(table, path)
    told = checked(_SET, table, path)
    resin, resin_given = _resin(told.resin, path)
    reading, given, light_curve, camera_curve, tile_curve = _reading(told.reading, path)
    keys = DEFAULT_KEYS[reading.kind] + (("contact",) if reading.on_tile else ())
    defaults = {key: getattr(reading, key) for key in keys if key not in given}
    if not resin_given:
        defaults = {"refractive_index": resin.refractive_index} | defaults
    pigments = {name: _pigment(name, item, path) for name, item in told.pigments.items()}
    warnings = _carrier_warnings(pigments.values(), resin, path)
    if "camera" in defaults:
        warnings.append(
            'set.toml does not name the camera; its values are taken as those of a JPEG (camera = "rendered"), '
            "which is rough"
        )
    return Setting(
        told.title, resin, reading, pigments, defaults, light_curve, camera_curve, tuple(warnings), tile_curve
    )


def _resin(said: Any, path: Path) -> tuple[Resin, bool]:
    """The resin, and whether its refractive index was given."""
    if said is None:
        return Resin(), False
    if isinstance(said, str):
        file = _beside(path, said, "resin")
        resin = read_resin(file)
        return resin, "refractive_index" in load_toml(file, "a resin file")
    if isinstance(said, Mapping):
        return resin_from_table(said, f"{path}, [resin]"), "refractive_index" in said
    raise BadTable(
        path,
        [f'resin is {plain(said)}; it must be a table [resin], or a file beside set.toml, as in resin = "resin.toml"'],
    )


def _reading(table: Any, path: Path) -> tuple[Reading, set[str], Curve | None, Curve | None, Curve | None]:
    # What says nothing for this kind (a camera beside spectra) may stand there, and is left alone.
    said = {key: getattr(table, key) for key in DEFAULT_KEYS[table.kind]}
    given = {key: value for key, value in said.items() if value is not None}
    light_curve = camera_curve = tile_curve = None
    if "light" in given:
        given["light"], light_curve = _light(given["light"], table.kind, path)
    if "camera" in given:
        given["camera"], camera_curve = _camera(given["camera"], path)
    if table.relative_to == "white tile":
        on_tile, tile_curve = _tile(table, path)
        given |= on_tile
    elif table.geometry in ("45/0", "d/8"):
        raise BadTable(
            path,
            [
                Problem(
                    "[reading]",
                    f'has geometry = "{table.geometry}", which belongs to chips on a white tile; '
                    'say relative_to = "white tile", or geometry = "total" or "regular"',
                )
            ],
        )
    return Reading(kind=table.kind, **given), set(given), light_curve, camera_curve, tile_curve


def _tile(table: Any, path: Path) -> tuple[dict[str, Any], Curve | None]:
    """What is said of the white tile that the chips lie on, and its spectrum where that is a file."""
    told: list[Problem] = []
    if table.kind == "camera":
        told.append(
            Problem(
                "",
                'a photo of chips on a white is not read (kind = "camera" with relative_to = "white tile"); '
                "photograph them on a light panel",
            )
        )
    if table.geometry in ("total", "regular"):
        told.append(
            Problem(
                "[reading]",
                f'has geometry = "{table.geometry}"; an instrument that reads reflection has "45/0" or "d/8" '
                "(a sphere, gloss excluded)",
            )
        )
    if (table.tile is None) == (table.tile_lab is None):
        told.append(
            Problem(
                "",
                'relative_to = "white tile" needs the bare tile as the same instrument reads it: '
                'tile_lab = [L, a, b], or tile = "tile.csv" (nm, reflectance); one of the two',
            )
        )
    elif table.tile_lab is not None and table.kind == "spectrum":
        told.append(
            Problem("[reading]", 'has tile_lab, but spectra need the tile\'s own: tile = "tile.csv" (nm, reflectance)')
        )
    elif table.tile_lab is not None and not 50 <= table.tile_lab[0] <= 105:
        told.append(
            Problem(
                "[reading]", f"has tile_lab with L* = {numeral(table.tile_lab[0])}; a white tile has L* from 50 to 105"
            )
        )
    if told:
        raise BadTable(path, told)
    given: dict[str, Any] = {} if table.contact is None else {"contact": table.contact}
    if table.tile_lab is not None:
        return given | {"tile_lab": tuple(float(v) for v in table.tile_lab)}, None
    assert table.tile is not None
    if not table.tile.lower().endswith(".csv"):
        raise BadTable(
            path, [Problem("[reading]", f'has tile = "{plain(table.tile)}"; it must be a CSV file (nm, reflectance)')]
        )
    file = _beside(path, table.tile, "tile")
    nm, columns = read_curve(file)
    if len(columns) != 1:
        raise bad_curve(file, "a tile has two columns, nm and reflectance; take the others out")
    reflectance = next(iter(columns.values()))
    _check_cover(nm, file)
    if float(np.median(reflectance)) > 1.5:
        raise bad_curve(file, "its values look like percent; write the reflectance as a fraction, a perfect white = 1")
    if np.any(reflectance < 0.02) or np.any(reflectance > 1.2):
        raise bad_curve(file, "a white's reflectance is a fraction from 0.02 to 1.2; check the file")
    return given | {"tile": table.tile}, (nm, reflectance)


def _light(name: str, kind: str, path: Path) -> tuple[str, Curve | None]:
    """The light's name as the standard spells it, and its curve where it is a file."""
    if name.lower().endswith(".csv"):
        file = _beside(path, name, "light")
        nm, columns = read_curve(file)
        power = next(iter(columns.values()))
        if len(columns) > 1:
            raise bad_curve(file, "a light has two columns, nm and power; take the others out")
        _check_cover(nm, file)
        if np.any(power < 0) or not np.any(power > 0):
            raise bad_curve(file, "a light's power cannot be below zero, nor zero everywhere")
        return name, (nm, power)
    if name == "unknown":
        if kind == "colour":
            raise BadTable(
                path,
                [
                    Problem(
                        "[reading]",
                        'has light = "unknown", but a colour is always computed for a light; write its CIE name',
                    )
                ],
            )
        return name, None
    try:
        return official(name).name, None
    except ValueProblem as error:
        raise BadTable(path, [Problem("[reading] light:", error.what)]) from None


def _camera(name: str, path: Path) -> tuple[str, Curve | None]:
    """The camera's name as it is spelt, and its curve where it is a file."""
    if name in ("rendered", "unknown"):
        return name, None
    if name.lower().endswith(".csv"):
        file = _beside(path, name, "camera")
        nm, columns = read_curve(file)
        if len(columns) != 3:
            raise bad_curve(file, f"a camera has four columns, nm, R, G and B; this file has {len(columns) + 1}")
        rgb = np.column_stack(
            [columns[c] for c in ("R", "G", "B")] if {"R", "G", "B"} <= set(columns) else list(columns.values())
        )
        _check_cover(nm, file)
        if np.any(rgb.max(axis=0) <= 0):
            raise bad_curve(file, "one of the camera's channels sees nothing at any wavelength")
        return name, (nm, rgb)
    try:
        return camera_name(name), None
    except ValueProblem as error:
        raise BadTable(path, [Problem("[reading]", error.what)]) from None


def _check_cover(nm: Any, file: Path) -> None:
    if len(nm) < 3:
        raise bad_curve(file, "it has fewer than three wavelengths; give one every 10 nm or so")
    if nm[0] > 400 or nm[-1] < 700:
        raise bad_curve(file, f"it covers {numeral(nm[0])} to {numeral(nm[-1])} nm; it must cover 400 to 700 nm")


def _beside(path: Path, name: str, key: str) -> Path:
    """A file that set.toml names. It must lie in the set's folder: a set can then be copied, and reads nothing else."""
    if not name.strip() or "\0" in name or Path(name).is_absolute() or ".." in Path(name).parts or "\\" in name:
        raise BadTable(
            path,
            [f'{key} = "{plain(name)}" does not lie beside set.toml; copy the file into the folder and name it there'],
        )
    return path.parent / name


def _pigment(name: str, table: Any, path: Path) -> Pigment:
    problem = pigment_name_problem(name)
    if problem:
        raise BadTable(path, [Problem(f'[pigments."{plain(name)}"]:', f"a pigment's name {problem}")])
    kind = table.kind.strip().lower()
    if kind in REFUSED_KINDS:
        raise pigment_refused(
            path,
            name,
            f"it is {kind}, which scatters or reflects light, and tintmix models clear tints only; "
            "take its chips out, or correct kind if it is transparent",
        )
    if kind not in PIGMENT_KINDS:
        raise BadTable(
            path,
            [
                Problem(
                    f"[pigments.{name}]",
                    f'has kind = "{plain(table.kind)}"; it must be "transparent" ({", ".join(REFUSED_KINDS)} are refused)',
                )
            ],
        )
    numbers = {
        key: None if v is None else float(v)
        for key in ("max_phr", "density_g_per_cm3", "price_per_g")
        for v in [getattr(table, key)]
    }
    return Pigment(name, lot=table.lot, stock=table.stock, carrier=table.carrier, kind=kind, **numbers)


def _carrier_warnings(pigments: Any, resin: Resin, path: Path) -> list[str]:
    watery = [p for p in pigments if p.carrier.strip().lower().startswith(("water", "aqueous"))]
    if watery and resin.has_hazard("isocyanate"):
        raise pigment_refused(
            path,
            watery[0].name,
            "it is water-borne and the resin holds isocyanate, which foams with water; "
            "use a solvent-free pigment made for this resin",
        )
    if watery and not resin.parts:
        names = ", ".join(p.name for p in watery)
        return [
            f"{names} is water-borne, and set.toml does not list the resin's parts: with an isocyanate it would foam"
        ]
    return []
