"""target.toml in, Target out; all that is wrong with a file in one error. Keys as in docs: sections, glass, limits."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import MISSING, fields
from pathlib import Path
from typing import TYPE_CHECKING, Any, get_args

import numpy as np

from tintmix.errors import TintmixError
from tintmix.files.curves import read_column, read_curve
from tintmix.files.errors import BadTable
from tintmix.files.plain import finite, table_of
from tintmix.files.schema import NEEDED, Rows, Table, anything, checked, list_of, or_none, text
from tintmix.files.text import load_toml
from tintmix.files.upgrades import Format
from tintmix.numerals import numeral
from tintmix.optics.detector import Light, light, light_from_spectrum
from tintmix.recipes.casting import CastPlace, changed, place_on
from tintmix.recipes.errors import half_placed, insert_unpainted, no_place
from tintmix.recipes.target import (
    RANGES,
    AbsorptionUnit,
    Curve,
    Glass,
    Insert,
    Limits,
    Target,
    TargetSection,
    light_name,
)

if TYPE_CHECKING:
    from tintmix.shape.values import CastingShape

TARGET_FORMAT = Format(what="target")


def _keys(of: type, **own: tuple[Any, Any]) -> Table:
    """The table of a value: its fields with their ranges and defaults, and what is said otherwise in a file."""
    ranged = [one for one in fields(of) if one.name in RANGES]
    found = {one.name: (RANGES[one.name], NEEDED if one.default is MISSING else one.default) for one in ranged}
    return Table(found | own)


_TEXT = text()
_FILE = (_TEXT, None)
_INSERT = {key: (RANGES[key], None) for key in ("insert_lab", "insert_srgb", "insert_width_mm")}
_TARGET = _keys(
    Target,
    format=(anything, NEEDED),
    light=(_TEXT, "D65"),
    also_under=(list_of(_TEXT), []),
    section=(
        Rows(
            _keys(
                TargetSection,
                name=(_TEXT, None),
                thickness_mm=(or_none(RANGES["thickness_mm"]), NEEDED),
                on=_FILE,
                seen=_FILE,
                insert_spectrum=_FILE,
                **_INSERT,
            )
        ),
        [],
    ),
    glass=(_keys(Glass, spectrum=_FILE, absorption=_FILE), None),
    limits=(_keys(Limits, leave_out=(list_of(_TEXT), [])), {}),
)


def read_target(path: str | Path) -> Target:
    """The target that a TOML file describes; curve files it names are looked for beside it.

    Raises FileProblem, ValueProblem, and BadTable, which holds everything that is wrong with the keys at once; and
    what `load_toml` and `Format.up_to_date` raise.
    """
    path = Path(path)
    table = load_toml(path, "a target file")
    return target_from_table(table, path.parent, str(path))


def target_from_table(
    table: Mapping[str, Any],
    folder: Path | None = None,
    where: str = "target",
    kept: Sequence[CastPlace] = (),
) -> Target:
    """The target of a table as TOML or a recipe file holds it; folder: where the files that it names are. kept: the places
    that are on a shape, in their order, where their shapes need not be read.

    >>> target_from_table({"format": 1, "section": [{"thickness_mm": 8.0, "lab": [88, -12, 2]}]}).sections[0].name
    '8 mm'
    """
    table = TARGET_FORMAT.up_to_date(table, where)
    if "section" not in table or table["section"] == []:
        raise no_place(where)
    rows = table["section"]
    # A place on a shape has no thickness, and need not say so.
    placed = [{"thickness_mm": None, **row} if _is_on(row) else row for row in rows] if _are_rows(rows) else rows
    raw = checked(_TARGET, {**table, "section": placed}, where)
    return _Builder(folder or Path(), where, kept).build(raw, table)


def _are_rows(rows: Any) -> bool:
    return isinstance(rows, list | tuple) and all(isinstance(row, Mapping) for row in rows)


def _is_on(row: Mapping[str, Any]) -> bool:
    return "on" in row or "seen" in row


def target_to_table(target: Target) -> dict[str, Any]:
    """The target as a table that `target_from_table` takes: as it was read, or made from the values.

    A curve that stands in a file is named by the file.
    """
    if target.table is not None:
        return dict(finite(target.table))
    return _said(
        format=TARGET_FORMAT.newest,
        light=light_name(target.light),
        observer=target.observer,
        section=[_section_table(section) for section in target.sections],
        also_under=[light_name(one) for one in target.also_under],
        glass=None if target.glass is None else _said(**table_of(target.glass, ("absorption_unit",))),
        limits=_said(**table_of(target.limits)),
    )


class _Builder:
    """Tables to values; what is wrong is collected, so that one bad key does not hide the next."""

    def __init__(self, folder: Path, where: str, kept: Sequence[CastPlace]) -> None:
        self.folder, self.where, self.kept = folder, where, iter(kept)
        self.problems: list[str] = []
        self.shapes: dict[str, CastingShape] = {}

    def build(self, raw: Any, table: Mapping[str, Any]) -> Target:
        sections = tuple(self._tried(lambda one=one: self._section(one)) for one in raw.section)
        glass = None if raw.glass is None else self._tried(lambda: self._glass(raw.glass))
        main, *also = (self._tried(lambda one=one: self._light(one)) for one in (raw.light, *raw.also_under))
        limits = Limits(**vars(raw.limits) | {"leave_out": tuple(dict.fromkeys(raw.limits.leave_out))})
        if self.problems:
            raise BadTable(self.where, self.problems)
        notes = tuple(note for shape in self.shapes.values() for note in changed(shape))
        return Target(sections, main, raw.observer, tuple(also), limits, glass, finite(table), self.where, notes)

    def _tried(self, make: Any) -> Any:
        try:
            return make()
        except TintmixError as error:
            said = str(error).rstrip(".")
            # A file that two places name is missing once.
            if said not in self.problems:
                self.problems.append(said)
            return None

    def _light(self, name: str) -> str | Light:
        if not name.lower().endswith(".csv"):
            light(name)
            return name
        made = self._curve(name, "light")
        return light_from_spectrum(name, np.array(made.nm), np.array(made.values))

    def _section(self, raw: Any) -> TargetSection:
        insert = None
        if any(value is not None for value in (raw.insert_lab, raw.insert_srgb, raw.insert_spectrum)):
            curve = None if raw.insert_spectrum is None else self._curve(raw.insert_spectrum, "reflectance")
            insert = Insert(raw.insert_lab, raw.insert_srgb, curve, raw.insert_width_mm)
        own = {
            key: value for key, value in vars(raw).items() if not key.startswith("insert") and key not in ("on", "seen")
        }
        if raw.on is None and raw.seen is None:
            return TargetSection(**own | {"name": raw.name or f"{numeral(raw.thickness_mm)} mm", "insert": insert})
        if raw.on is None or raw.seen is None:
            raise half_placed(f"place {raw.name or raw.seen!r}", raw.on is not None)
        place = self._place(raw.on, raw.seen)
        painted = insert or place.insert
        if place.seen.paths.has_insert and painted is None:
            raise insert_unpainted(f"place {raw.name or raw.seen!r}", raw.on)
        return TargetSection(**own | {"name": raw.name or raw.seen, "insert": painted, "seen": place.seen})

    def _place(self, on: str, seen: str) -> CastPlace:
        if (kept := next(self.kept, None)) is not None:
            return kept
        if on not in self.shapes:
            from tintmix.shape.shape_file import read_shape  # here: 12 ms, for which thicknesses need not wait

            self.shapes[on] = read_shape(self.folder / on)
        return place_on(self.shapes[on], seen, on)

    def _glass(self, raw: Any) -> Glass:
        spectrum = None if raw.spectrum is None else self._curve(raw.spectrum, "transmittance")
        return Glass(**vars(raw) | {"spectrum": spectrum} | self._absorption(raw.absorption))

    def _curve(self, name: str, wanted: str) -> Curve:
        nm, values = read_column(self.folder / name, wanted)
        return Curve(tuple(map(float, nm)), tuple(map(float, values)), name)

    def _absorption(self, name: str | None) -> dict[str, Any]:
        if name is None:
            return {}
        nm, columns = read_curve(self.folder / name)
        units = [unit for unit in get_args(AbsorptionUnit) if unit in columns]
        if len(units) != 1:
            raise BadTable(
                f"glass, {name}",
                [f"needs a column log10_per_mm or ln_per_mm beside nm, it has {', '.join(columns) or 'none'}"],
            )
        curve = Curve(tuple(map(float, nm)), tuple(map(float, columns[units[0]])), name)
        return {"absorption": curve, "absorption_unit": units[0]}


def _section_table(section: TargetSection) -> dict[str, Any]:
    seen = section.seen
    placed = {} if seen is None else {"on": seen.shape, "seen": seen.place}
    told = table_of(section, ("insert", "seen"), behind=None if section.behind == "panel" else section.behind) | placed
    if section.insert is not None:
        told |= {f"insert_{key}": value for key, value in table_of(section.insert).items()}
        told["insert_spectrum"] = told.pop("insert_reflectance")
    return _said(**told)


def _said(**told: Any) -> dict[str, Any]:
    """What is said of this: lists for TOML, files for the curves that stand in them."""
    plain = {key: value.source if isinstance(value, Curve) else finite(value) for key, value in told.items()}
    return {key: value for key, value in plain.items() if value not in (None, [], {})}
