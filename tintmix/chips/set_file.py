"""set.toml: what resin, how it was read, which pigments. The table is checked here; its meaning is chip.py's."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from tintmix.chips.chip import CHOICES, CURVES, Curve, Pigment, Reading
from tintmix.chips.errors import pigment_refused
from tintmix.chips.names import pigment_name_problem
from tintmix.errors import ValueProblem
from tintmix.files.curves import read_curve
from tintmix.files.errors import BadTable, Problem, bad_curve
from tintmix.files.schema import NEEDED, Named, Table, anything, checked, list_of, number, one_of, text
from tintmix.files.text import load_toml
from tintmix.files.upgrades import Format
from tintmix.files.words import plain
from tintmix.numerals import listed, numeral
from tintmix.optics.detector import camera_name
from tintmix.optics.detector import light as official
from tintmix.resin import Resin, read_resin, resin_from_table

SET_FORMAT = Format(what="chip set")
_REFUSED_KINDS = ("pearl", "metallic", "white", "opaque")
DEFAULT_KEYS: Mapping[str, tuple[str, ...]] = {
    "spectrum": ("relative_to", "geometry", "unit", "reading_spread", "dose_spread", "thickness_spread_mm"),
    "colour": ("relative_to", "geometry", "light", "observer", "reading_spread", "dose_spread", "thickness_spread_mm"),
    "camera": (
        "relative_to", "geometry", "unit", "light", "camera", "reading_spread", "zero_spread", "dose_spread",
        "thickness_spread_mm",
    ),
}  # fmt: skip
"""The keys of [reading] that matter to each kind, and whose defaults a report states."""

_ONLY_SAID: Mapping[str, tuple[str, ...]] = {"spectrum": (), "colour": (), "camera": ("taken_with",)}
"""Keys that have no default worth a word."""
_TEXT = text(empty=True)
_SHARE = number(least=0, most=1)
_READING = Table(
    {
        "kind": (one_of(*CHOICES["kind"]), NEEDED),
        "relative_to": (one_of(*CHOICES["relative_to"]), None),
        "geometry": (one_of(*CHOICES["geometry"]), None),
        "unit": (one_of(*CHOICES["unit"]), None),
        "light": (_TEXT, None),
        "observer": (one_of(*CHOICES["observer"]), None),
        "camera": (_TEXT, None),
        "taken_with": (_TEXT, None),
        "reading_spread": (number(above=0, most=20), None),
        "zero_spread": (_SHARE, None),
        "dose_spread": (_SHARE, None),
        "thickness_spread_mm": (number(least=0, most=10), None),
        "tile": (_TEXT, None),
        "tile_lab": (list_of(number(), count=3), None),
        "contact": (one_of(*CHOICES["contact"]), None),
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


CURVE_HEADS = {"light": ("power",), "camera": ("R", "G", "B"), "tile": ("reflectance",)}


@dataclass(frozen=True, slots=True)
class Setting:
    """What set.toml says. pigments: by name, as it lists them. defaults_used: what it does not say. curves: by the fields of
    a set that hold them."""

    title: str
    resin: Resin
    reading: Reading
    pigments: Mapping[str, Pigment]
    defaults_used: Mapping[str, Any]
    curves: Mapping[str, Any]
    warnings: tuple[str, ...]


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
    reading, given, curves = _reading(told.reading, path)
    keys = DEFAULT_KEYS[reading.kind] + (("contact",) if reading.on_tile else ())
    defaults = {key: getattr(reading, key) for key in keys if key not in given}
    if not resin_given:
        defaults = {"refractive_index": resin.refractive_index} | defaults
    pigments = {name: _pigment(name, item, path) for name, item in told.pigments.items()}
    warnings = _carrier_warnings(pigments.values(), resin, path)
    if "camera" in defaults:
        said = 'its values are taken as those of a JPEG (camera = "rendered"), which is rough'
        warnings.append(f"set.toml does not name the camera; {said}")
    return Setting(told.title, resin, reading, pigments, defaults, curves, tuple(warnings))


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
    wanted = 'a table [resin], or a file beside set.toml, as in resin = "resin.toml"'
    raise BadTable(path, [f"resin is {plain(said)}; it must be {wanted}"])


def _reading(table: Any, path: Path) -> tuple[Reading, set[str], dict[str, Curve]]:
    """How the set was read, the keys that say so, and the curves that they name."""
    # What says nothing for this kind (a camera beside spectra) may stand there, and is left alone.
    keys = DEFAULT_KEYS[table.kind] + _ONLY_SAID[table.kind]
    keys += ("tile", "tile_lab", "contact") if table.relative_to == "white tile" else ()
    given = {key: value for key in keys if (value := getattr(table, key)) is not None}
    files = {key: given[key] for key in CURVES if given.get(key, "").lower().endswith(".csv")}
    try:
        if given.get("light", "unknown") != "unknown" and "light" not in files:
            given["light"] = official(given["light"]).name
        if given.get("camera", "unknown") not in ("rendered", "unknown") and "camera" not in files:
            given["camera"] = camera_name(given["camera"])
        reading = Reading(kind=table.kind, **given)
    except ValueProblem as error:
        raise BadTable(path, [Problem("[reading]:", str(error).rstrip("."))]) from None
    said = ""
    if reading.kind == "colour" and reading.light == "unknown":
        said = 'has light = "unknown", but a colour is always computed for a light; write its CIE name'
    elif reading.tile and "tile" not in files:
        said = f'has tile = "{plain(reading.tile)}"; it must be a CSV file (nm, reflectance)'
    if said:
        raise BadTable(path, [Problem("[reading]", said)])
    return reading, set(given), {CURVES[key]: _curve(path, name, key) for key, name in files.items()}


def _curve(path: Path, name: str, key: str) -> Curve:
    """The curve of a light, a camera or a tile, from a file beside set.toml."""
    file = _beside(path, name, key)
    nm, columns = read_curve(file)
    heads = CURVE_HEADS[key]
    in_order = heads if key == "camera" and {*heads} <= {*columns} else [*columns]
    values = np.column_stack([columns[head] for head in in_order])
    said = ""
    if len(columns) != len(heads):
        said = f"a {key} has {len(heads) + 1} columns, {listed(['nm', *heads])}; this file has {len(columns) + 1}"
    elif len(nm) < 3:
        said = "it has fewer than three wavelengths; give one every 10 nm or so"
    elif nm[0] > 400 or nm[-1] < 700:
        said = f"it covers {numeral(nm[0])} to {numeral(nm[-1])} nm; it must cover 400 to 700 nm"
    elif key == "camera" and np.any(values.max(axis=0) <= 0):
        said = "one of the camera's channels sees nothing at any wavelength"
    elif key == "light" and (np.any(values < 0) or not np.any(values > 0)):
        said = "a light's power cannot be below zero, nor zero everywhere"
    elif key == "tile" and float(np.median(values)) > 1.5:
        said = "its values look like percent; write the reflectance as a fraction, a perfect white = 1"
    elif key == "tile" and (np.any(values < 0.02) or np.any(values > 1.2)):
        said = "a white's reflectance is a fraction from 0.02 to 1.2; check the file"
    if said:
        raise bad_curve(file, said)
    return nm, values if key == "camera" else values[:, 0]


def _beside(path: Path, name: str, key: str) -> Path:
    """A file that set.toml names. It must lie in the set's folder: a set can then be copied, and reads nothing else."""
    if not name.strip() or "\0" in name or Path(name).is_absolute() or ".." in Path(name).parts or "\\" in name:
        said = "does not lie beside set.toml; copy the file into the folder and name it there"
        raise BadTable(path, [f'{key} = "{plain(name)}" {said}'])
    return path.parent / name


def _pigment(name: str, table: Any, path: Path) -> Pigment:
    problem = pigment_name_problem(name)
    if problem:
        raise BadTable(path, [Problem(f'[pigments."{plain(name)}"]:', f"a pigment's name {problem}")])
    kind = table.kind.strip().lower()
    if kind in _REFUSED_KINDS:
        said = "tintmix models clear tints only; take its chips out, or correct kind if it is transparent"
        raise pigment_refused(path, name, f"it is {kind}, which scatters or reflects light, and {said}")
    if kind != "transparent":
        said = f'has kind = "{plain(table.kind)}"; it must be "transparent" ({", ".join(_REFUSED_KINDS)} are refused)'
        raise BadTable(path, [Problem(f"[pigments.{name}]", said)])
    return Pigment(name, **vars(table) | {"kind": kind})


def _carrier_warnings(pigments: Any, resin: Resin, path: Path) -> list[str]:
    watery = [p for p in pigments if p.carrier.strip().lower().startswith(("water", "aqueous"))]
    if watery and resin.has_hazard("isocyanate"):
        said = "it is water-borne and the resin holds isocyanate, which foams with water"
        raise pigment_refused(path, watery[0].name, f"{said}; use a solvent-free pigment made for this resin")
    if watery and (not resin.parts or any(part.hazard is None for part in resin.parts)):
        said = "set.toml does not say what the resin's parts hold: with an isocyanate it would foam"
        return [f"{', '.join(p.name for p in watery)} is water-borne, and {said}"]
    return []
