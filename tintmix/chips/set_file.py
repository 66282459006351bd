"""set.toml: what resin, how it was read, which pigments. The table is checked here; its meaning is chip.py's."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Annotated, Any, Literal

import numpy as np
from pydantic import BaseModel, ConfigDict, Field, ValidationError

from tintmix.chips.chip import Curve, Pigment, Reading, pigment_name_problem
from tintmix.chips.errors import PigmentRefused
from tintmix.errors import TintmixError
from tintmix.files.curves import read_curve
from tintmix.files.errors import BadCurve, BadTable
from tintmix.files.text import load_toml
from tintmix.files.upgrades import check_format
from tintmix.files.words import did_you_mean, plain
from tintmix.resin import Resin, read_resin, resin_from_table

SET_FORMAT = 1
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

_Text = Annotated[str, Field(max_length=500)]
_Share = Annotated[float, Field(ge=0, le=1, allow_inf_nan=False)]
_Finite = Annotated[float, Field(allow_inf_nan=False)]
_Above = Annotated[float, Field(gt=0, allow_inf_nan=False)]


class _Strict(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True, hide_input_in_errors=True)


class _ReadingTable(_Strict):
    kind: Literal["spectrum", "colour", "camera"]
    relative_to: Literal["air", "untinted", "faces removed", "white tile"] | None = None
    geometry: Literal["total", "regular", "45/0", "d/8"] | None = None
    unit: Literal["fraction", "percent"] | None = None
    light: _Text | None = None
    observer: Literal[2, 10] | None = None
    camera: _Text | None = None
    reading_spread: Annotated[float, Field(gt=0, le=20, allow_inf_nan=False)] | None = None
    zero_spread: _Share | None = None
    dose_spread: _Share | None = None
    thickness_spread_mm: Annotated[float, Field(ge=0, le=10, allow_inf_nan=False)] | None = None
    tile: _Text | None = None
    tile_lab: Annotated[list[_Finite], Field(min_length=3, max_length=3)] | None = None
    contact: Literal["dry", "wetted"] | None = None


class _PigmentTable(_Strict):
    lot: _Text = ""
    stock: _Text = ""
    carrier: _Text = ""
    kind: _Text = "transparent"
    max_phr: Annotated[float, Field(gt=0, le=100, allow_inf_nan=False)] | None = None
    density_g_per_cm3: Annotated[float, Field(ge=0.1, le=25, allow_inf_nan=False)] | None = None
    price_per_g: Annotated[float, Field(ge=0, le=1e6, allow_inf_nan=False)] | None = None


class _SetTable(_Strict):
    format: int
    title: _Text = ""
    resin: Any = None
    reading: _ReadingTable
    pigments: dict[str, _PigmentTable] = Field(default_factory=dict)
    made_by: Any = None
    made_at: Any = None


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

    Raises BadTable, BadResin, BadCurve, PigmentRefused, FormatMissing, FormatTooNew, and what `load_toml`
    raises.
    """
    return parse_setting(load_toml(path, "the set's own file"), path)


def parse_setting(table: Mapping[str, Any], path: Path) -> Setting:
    """The same from the table; files named in it are looked for beside `path`."""
    check_format(table, path, SET_FORMAT)
    try:
        checked = _SetTable.model_validate(dict(table))
    except ValidationError as error:
        raise BadTable(path, [_sentence(e) for e in error.errors(include_url=False, include_context=True)]) from None
    except (RecursionError, OverflowError, ValueError):
        raise BadTable(path, ["it holds numbers or tables that are too large to be meant"]) from None
    resin, resin_given = _resin(checked.resin, path)
    reading, given, light_curve, camera_curve, tile_curve = _reading(checked.reading, path)
    keys = DEFAULT_KEYS[reading.kind] + (("contact",) if reading.on_tile else ())
    defaults = {key: getattr(reading, key) for key in keys if key not in given}
    if not resin_given:
        defaults = {"refractive_index": resin.refractive_index} | defaults
    pigments = {name: _pigment(name, item, path) for name, item in checked.pigments.items()}
    warnings = _carrier_warnings(pigments.values(), resin, path)
    if "camera" in defaults:
        warnings.append(
            'set.toml does not name the camera; its values are taken as those of a JPEG (camera = "rendered"), '
            "which is rough"
        )
    return Setting(
        checked.title, resin, reading, pigments, defaults, light_curve, camera_curve, tuple(warnings), tile_curve
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


def _reading(table: _ReadingTable, path: Path) -> tuple[Reading, set[str], Curve | None, Curve | None, Curve | None]:
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
                f'[reading] has geometry = "{table.geometry}", which belongs to chips on a white tile; '
                'say relative_to = "white tile", or geometry = "total" or "regular"'
            ],
        )
    return Reading(kind=table.kind, **given), set(given), light_curve, camera_curve, tile_curve


def _tile(table: _ReadingTable, path: Path) -> tuple[dict[str, Any], Curve | None]:
    """What is said of the white tile that the chips lie on, and its spectrum where that is a file."""
    told: list[str] = []
    if table.kind == "camera":
        told.append(
            'a photo of chips on a white is not read (kind = "camera" with relative_to = "white tile"); '
            "photograph them on a light panel"
        )
    if table.geometry in ("total", "regular"):
        told.append(
            f'[reading] has geometry = "{table.geometry}"; an instrument that reads reflection has "45/0" or "d/8" '
            "(a sphere, gloss excluded)"
        )
    if (table.tile is None) == (table.tile_lab is None):
        told.append(
            'relative_to = "white tile" needs the bare tile as the same instrument reads it: '
            'tile_lab = [L, a, b], or tile = "tile.csv" (nm, reflectance); one of the two'
        )
    elif table.tile_lab is not None and table.kind == "spectrum":
        told.append('[reading] has tile_lab, but spectra need the tile\'s own: tile = "tile.csv" (nm, reflectance)')
    elif table.tile_lab is not None and not 50 <= table.tile_lab[0] <= 105:
        told.append(f"[reading] has tile_lab with L* = {table.tile_lab[0]:g}; a white tile has L* from 50 to 105")
    if told:
        raise BadTable(path, told)
    given: dict[str, Any] = {} if table.contact is None else {"contact": table.contact}
    if table.tile_lab is not None:
        return given | {"tile_lab": tuple(float(v) for v in table.tile_lab)}, None
    assert table.tile is not None
    if not table.tile.lower().endswith(".csv"):
        raise BadTable(path, [f'[reading] has tile = "{plain(table.tile)}"; it must be a CSV file (nm, reflectance)'])
    file = _beside(path, table.tile, "tile")
    nm, columns = read_curve(file)
    if len(columns) != 1:
        raise BadCurve(file, "a tile has two columns, nm and reflectance; take the others out")
    reflectance = next(iter(columns.values()))
    _check_cover(nm, file)
    if float(np.median(reflectance)) > 1.5:
        raise BadCurve(file, "its values look like percent; write the reflectance as a fraction, a perfect white = 1")
    if np.any(reflectance < 0.02) or np.any(reflectance > 1.2):
        raise BadCurve(file, "a white's reflectance is a fraction from 0.02 to 1.2; check the file")
    return given | {"tile": table.tile}, (nm, reflectance)


def _light(name: str, kind: str, path: Path) -> tuple[str, Curve | None]:
    """The light's name as the standard spells it, and its curve where it is a file."""
    if name.lower().endswith(".csv"):
        file = _beside(path, name, "light")
        nm, columns = read_curve(file)
        power = next(iter(columns.values()))
        if len(columns) > 1:
            raise BadCurve(file, "a light has two columns, nm and power; take the others out")
        _check_cover(nm, file)
        if np.any(power < 0) or not np.any(power > 0):
            raise BadCurve(file, "a light's power cannot be below zero, nor zero everywhere")
        return name, (nm, power)
    if name == "unknown":
        if kind == "colour":
            raise BadTable(
                path,
                ['[reading] has light = "unknown", but a colour is always computed for a light; write its CIE name'],
            )
        return name, None
    from tintmix.optics.detector import light

    try:
        return light(name).name, None
    except TintmixError as error:
        raise BadTable(path, [f"[reading] light: {str(error).rstrip('.')}"]) from None


def _camera(name: str, path: Path) -> tuple[str, Curve | None]:
    """The camera's name as it is spelt, and its curve where it is a file."""
    if name in ("rendered", "unknown"):
        return name, None
    if name.lower().endswith(".csv"):
        file = _beside(path, name, "camera")
        nm, columns = read_curve(file)
        if len(columns) != 3:
            raise BadCurve(file, f"a camera has four columns, nm, R, G and B; this file has {len(columns) + 1}")
        rgb = np.column_stack(
            [columns[c] for c in ("R", "G", "B")] if {"R", "G", "B"} <= set(columns) else list(columns.values())
        )
        _check_cover(nm, file)
        if np.any(rgb.max(axis=0) <= 0):
            raise BadCurve(file, "one of the camera's channels sees nothing at any wavelength")
        return name, (nm, rgb)
    from tintmix.optics.detector import camera_name

    try:
        return camera_name(name), None
    except TintmixError as error:
        raise BadTable(path, [f"[reading] {str(error).rstrip('.')}"]) from None


def _check_cover(nm: Any, file: Path) -> None:
    if len(nm) < 3:
        raise BadCurve(file, "it has fewer than three wavelengths; give one every 10 nm or so")
    if nm[0] > 400 or nm[-1] < 700:
        raise BadCurve(file, f"it covers {nm[0]:g} to {nm[-1]:g} nm; it must cover 400 to 700 nm")


def _beside(path: Path, name: str, key: str) -> Path:
    """A file that set.toml names. It must lie in the set's folder: a set can then be copied, and reads nothing else."""
    if not name.strip() or "\0" in name or Path(name).is_absolute() or ".." in Path(name).parts or "\\" in name:
        raise BadTable(
            path,
            [f'{key} = "{plain(name)}" does not lie beside set.toml; copy the file into the folder and name it there'],
        )
    return path.parent / name


def _pigment(name: str, table: _PigmentTable, path: Path) -> Pigment:
    problem = pigment_name_problem(name)
    if problem:
        raise BadTable(path, [f'[pigments."{plain(name)}"]: a pigment\'s name {problem}'])
    kind = table.kind.strip().lower()
    if kind in REFUSED_KINDS:
        raise PigmentRefused(
            path,
            name,
            f"it is {kind}, which scatters or reflects light, and tintmix models clear tints only; "
            "take its chips out, or correct kind if it is transparent",
        )
    if kind not in PIGMENT_KINDS:
        raise BadTable(
            path,
            [
                f'[pigments.{name}] has kind = "{plain(table.kind)}"; it must be "transparent" '
                f"({', '.join(REFUSED_KINDS)} are refused)"
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
        raise PigmentRefused(
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


def _sentence(error: Any) -> str:
    """One problem of pydantic's as a maker would be told it."""
    loc: Sequence[Any] = error["loc"]
    place, key = _place(loc)
    kind, context = error["type"], error.get("ctx", {})
    if kind == "extra_forbidden":
        return f"{place} has no key {plain(key)}; {did_you_mean(key, _known(loc))}"
    if kind == "missing":
        if key == "kind":
            return '[reading] has no kind; write kind = "spectrum", "colour" or "camera"'
        if key == "reading":
            return 'there is no [reading]; add it with kind = "spectrum", "colour" or "camera"'
        return f"{place} has no {key}; add it"
    said = (
        f"{place} has {plain(key)} = {plain(error['input'])}"
        if isinstance(error["input"], str | int | float)
        else f"{place}: {plain(key)}"
    )
    if kind == "literal_error":
        return f"{said}; it must be {str(context.get('expected', '')).replace(chr(39), chr(34))}"
    if kind in ("model_type", "model_attributes_type", "dict_type"):
        return f"{said}; it must be a table, headed [{'.'.join(plain(part) for part in loc)}]"
    if kind == "string_type":
        return f"{said}; it must be text, in quotes"
    if kind == "string_too_long":
        return f"{place}: {plain(key)} is longer than {context.get('max_length')} characters"
    if kind in ("float_type", "int_type", "finite_number", "int_parsing_size"):
        return f"{said}, which is not a finite number"
    bounds = {
        "greater_than": "above",
        "greater_than_equal": "at least",
        "less_than": "below",
        "less_than_equal": "at most",
    }
    for name, short in zip(bounds, ("gt", "ge", "lt", "le"), strict=True):
        if kind == name:
            return f"{said}; it must be {bounds[name]} {context[short]:g}"
    return f"{said} cannot be used ({plain(error['msg'])})"


def _place(loc: Sequence[Any]) -> tuple[str, str]:
    *tables, key = [str(part) for part in loc if part != "[key]"] or [""]
    return (f"[{'.'.join(plain(t) for t in tables)}]" if tables else "the file"), key


def _known(loc: Sequence[Any]) -> list[str]:
    model: type[BaseModel] = _SetTable
    if len(loc) > 1:
        model = _ReadingTable if loc[0] == "reading" else _PigmentTable
    return [name for name in model.model_fields if name not in ("made_by", "made_at")]
