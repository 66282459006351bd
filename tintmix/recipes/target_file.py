"""target.toml in, Target out; all that is wrong with a file in one error. Keys as in docs: sections, glass, limits."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from types import SimpleNamespace
from typing import Any, get_args

from pydantic_core import SchemaValidator, ValidationError

from tintmix.errors import TintmixError
from tintmix.files.text import load_toml
from tintmix.files.upgrades import check_format
from tintmix.files.words import did_you_mean, plain
from tintmix.optics.detector import Light
from tintmix.recipes.errors import BadTarget, NoSection
from tintmix.recipes.target import (
    ABSORPTION_UNITS,
    THICKEST_MM,
    AbsorptionUnit,
    Behind,
    Curve,
    Glass,
    Insert,
    Limits,
    Target,
    TargetSection,
    Triple,
    light_name,
)

FORMAT = 1


def _no_bool(value: object) -> object:
    if isinstance(value, bool):
        raise ValueError("is a number, not true or false")
    return value


def _number(**bounds: Any) -> Any:
    real = {"type": "float", "strict": True, "allow_inf_nan": False, **bounds}
    return {"type": "function-before", "function": {"type": "no-info", "function": _no_bool}, "schema": real}


def _list(items: Any, **bounds: Any) -> Any:
    return {"type": "list", "items_schema": items, **bounds}


def _whole(**bounds: Any) -> Any:
    real = {"type": "int", "strict": True, **bounds}
    return {"type": "function-before", "function": {"type": "no-info", "function": _no_bool}, "schema": real}


def _one_of(*allowed: Any) -> Any:
    return {"type": "literal", "expected": list(allowed)}


_TEXT = {"type": "str", "strict": True, "min_length": 1}
_HEX = {"type": "str", "strict": True, "pattern": r"^#[0-9a-fA-F]{6}$"}
_THREE = _list(_number(), min_length=3, max_length=3)
_THICKNESS = _number(gt=0, le=THICKEST_MM)
_NEEDED = object()
"""Stands for the default of a key that must be there."""

# The tables by key: what a value must be, and its default. Written for pydantic's core itself: classes of pydantic's own would
# cost every `tintmix solve` 80 ms to make, as long as the search takes.
_SECTION: dict[str, tuple[Any, Any]] = {
    "name": (_TEXT, None),
    "thickness_mm": (_THICKNESS, _NEEDED),
    "lab": (_THREE, None),
    "xyz": (_THREE, None),
    "srgb": (_HEX, None),
    "behind": (_one_of(*get_args(Behind)), "panel"),
    "insert_lab": (_THREE, None),
    "insert_srgb": (_HEX, None),
    "insert_spectrum": (_TEXT, None),
    "insert_width_mm": (_number(gt=0), None),
    "tolerance": (_number(gt=0), 2.0),
    "weight": (_number(gt=0), 1.0),
}
_GLASS: dict[str, tuple[Any, Any]] = {
    "thickness_mm": (_THICKNESS, None),
    "spectrum": (_TEXT, None),
    "lab": (_THREE, None),
    "camera": (_THREE, None),
    "absorption": (_TEXT, None),
    "relative_to": (_one_of("air", "faces removed"), "air"),
    "refractive_index": (_number(gt=1, le=2.5), 1.52),
}
_LIMITS: dict[str, tuple[Any, Any]] = {
    "pigments": (_whole(ge=1), None),
    "total_phr": (_number(gt=0), None),
    "luminous_transmittance": (_number(ge=0, lt=1), None),
    "haze_percent": (_number(ge=0, le=100), None),
    "leave_out": (_list(_TEXT), []),
}


def _table(keys: Mapping[str, tuple[Any, Any]]) -> Any:
    """A table's schema; other keys are refused. Checked tables become namespaces."""
    fields = {
        key: {"type": "typed-dict-field", "required": default is _NEEDED, "schema": schema}
        for key, (schema, default) in keys.items()
    }
    defaults = {key: default for key, (_, default) in keys.items() if default is not _NEEDED}

    def named(found: dict[str, Any]) -> SimpleNamespace:
        return SimpleNamespace(**(defaults | found))

    checked = {"type": "typed-dict", "fields": fields, "extra_behavior": "forbid"}
    return {"type": "function-after", "function": {"type": "no-info", "function": named}, "schema": checked}


_TARGET: dict[str, tuple[Any, Any]] = {
    "format": (_whole(), _NEEDED),
    "light": (_TEXT, "D65"),
    "observer": (_one_of(2, 10), 10),
    "also_under": (_list(_TEXT), []),
    "section": (_list(_table(_SECTION)), []),
    "glass": (_table(_GLASS), None),
    "limits": (_table(_LIMITS), SimpleNamespace(**{key: default for key, (_, default) in _LIMITS.items()})),
}
_CHECK = SchemaValidator(_table(_TARGET))


def read_target(path: str | Path) -> Target:
    """The target that a TOML file describes; curve files it names are looked for beside it.

    Raises NoSection, NothingToAimAt, and BadTarget, which holds everything that is wrong with the keys at once; and
    what `load_toml` and `check_format` raise.
    """
    path = Path(path)
    table = load_toml(path, "a target file")
    return target_from_table(table, path.parent, str(path))


def target_from_table(table: Mapping[str, Any], folder: Path | None = None, where: str = "target") -> Target:
    """The target of a table as TOML or a recipe file holds it; folder: where the curve files it names are.

    >>> target_from_table({"format": 1, "section": [{"thickness_mm": 8.0, "lab": [88, -12, 2]}]}).sections[0].name
    '8 mm'
    """
    check_format(table, where, FORMAT)
    if "section" not in table or table["section"] == []:
        raise NoSection(where)
    try:
        raw = _CHECK.validate_python(dict(table))
    except ValidationError as error:
        raise BadTarget(where, _problems(error, table)) from None
    return _Builder(folder or Path(), where).build(raw, table)


def target_to_table(target: Target) -> dict[str, Any]:
    """The target as a table that `target_from_table` takes: as it was read, or made from the values.

    A curve that stands in a file is named by the file.
    """
    if target.table is not None:
        table: dict[str, Any] = _plain(target.table)
        return table
    table = {"format": FORMAT, "light": light_name(target.light), "observer": target.observer}
    if target.also_under:
        table["also_under"] = [light_name(one) for one in target.also_under]
    table["section"] = [_section_table(section) for section in target.sections]
    if target.glass is not None:
        table["glass"] = _glass_table(target.glass)
    limits = target.limits
    chosen = {
        "pigments": limits.pigments,
        "total_phr": limits.total_phr,
        "luminous_transmittance": limits.luminous_transmittance,
        "haze_percent": limits.haze_percent,
        "leave_out": list(limits.leave_out) or None,
    }
    chosen = {key: value for key, value in chosen.items() if value is not None}
    if chosen:
        table["limits"] = chosen
    return table


class _Builder:
    """Tables to values; what is wrong is collected, so that one bad key does not hide the next."""

    def __init__(self, folder: Path, where: str) -> None:
        self.folder, self.where = folder, where
        self.problems: list[str] = []

    def build(self, raw: Any, table: Mapping[str, Any]) -> Target:
        sections = tuple(self._section(number, one) for number, one in enumerate(raw.section, start=1))
        glass = None if raw.glass is None else self._tried(lambda: self._glass(raw.glass))
        main = self._light(raw.light)
        also = tuple(self._light(one) for one in raw.also_under)
        limits = Limits(
            raw.limits.pigments, raw.limits.total_phr, raw.limits.luminous_transmittance, raw.limits.haze_percent,
            tuple(dict.fromkeys(raw.limits.leave_out)),
        )  # fmt: skip
        kept = tuple(section for section in sections if section is not None)
        if self.problems:
            raise BadTarget(self.where, self.problems)
        return Target(kept, main, raw.observer, also, limits, glass, _plain(table), self.where)

    def _tried(self, make: Any) -> Any:
        try:
            return make()
        except TintmixError as error:
            self.problems.append(str(error).rstrip("."))
            return None

    def _light(self, name: str) -> str | Light:
        from tintmix.optics.detector import light, light_from_spectrum

        if not name.lower().endswith(".csv"):
            self._tried(lambda: light(name))
            return name
        made = self._tried(lambda: self._curve(name, "light"))
        if made is None:
            return name
        import numpy as np

        lit = self._tried(lambda: light_from_spectrum(name, np.array(made.nm), np.array(made.values)))
        return name if lit is None else lit

    def _section(self, number: int, raw: Any) -> TargetSection | None:
        name = raw.name or f"{raw.thickness_mm:g} mm"

        def make() -> TargetSection:
            insert = None
            described = (raw.insert_lab, raw.insert_srgb, raw.insert_spectrum)
            if any(value is not None for value in described):
                curve = None if raw.insert_spectrum is None else self._curve(raw.insert_spectrum, "reflectance")
                insert = Insert(_triple(raw.insert_lab), raw.insert_srgb, curve, raw.insert_width_mm)
            return TargetSection(
                name,
                raw.thickness_mm,
                _triple(raw.lab),
                _triple(raw.xyz),
                raw.srgb,
                raw.behind,
                insert,
                raw.tolerance,
                raw.weight,
            )

        section: TargetSection | None = self._tried(make)
        return section

    def _glass(self, raw: Any) -> Glass:
        spectrum = None if raw.spectrum is None else self._curve(raw.spectrum, "transmittance")
        absorption: Curve | None = None
        unit: AbsorptionUnit = "log10_per_mm"
        if raw.absorption is not None:
            absorption, unit = self._absorption(raw.absorption)
        return Glass(
            thickness_mm=raw.thickness_mm,
            spectrum=spectrum,
            relative_to=raw.relative_to,
            refractive_index=raw.refractive_index,
            lab=_triple(raw.lab),
            camera=_triple(raw.camera),
            absorption=absorption,
            absorption_unit=unit,
        )

    def _curve(self, name: str, wanted: str) -> Curve:
        from tintmix.files.curves import read_curve

        nm, columns = read_curve(self.folder / name)
        column = wanted if wanted in columns else next(iter(columns))
        return Curve(tuple(map(float, nm)), tuple(map(float, columns[column])), name)

    def _absorption(self, name: str) -> tuple[Curve, AbsorptionUnit]:
        from tintmix.files.curves import read_curve

        nm, columns = read_curve(self.folder / name)
        units = [unit for unit in ABSORPTION_UNITS if unit in columns]
        if len(units) != 1:
            raise BadTarget(
                f"glass, {name}",
                [f"needs a column log10_per_mm or ln_per_mm beside nm, it has {', '.join(columns) or 'none'}"],
            )
        return Curve(tuple(map(float, nm)), tuple(map(float, columns[units[0]])), name), units[0]


def _triple(values: Sequence[float] | None) -> Triple | None:
    return None if values is None else (float(values[0]), float(values[1]), float(values[2]))


def _problems(error: ValidationError, table: Mapping[str, Any]) -> list[str]:
    """Pydantic's errors as short clauses: which table, which key, what is wrong."""
    tables = {"section": _SECTION, "glass": _GLASS, "limits": _LIMITS}
    clauses = []
    for one in error.errors():
        at = list(one["loc"])
        holder, prefix = _TARGET, ""
        if len(at) > 1 and at[0] in tables:
            holder = tables[str(at[0])]
            prefix = f"[{at[0]}] "
            if at[0] == "section" and isinstance(at[1], int):
                named = table["section"][at[1]] if isinstance(table["section"], list) else {}
                name = named.get("name") if isinstance(named, dict) else None
                prefix = f"section {name!r}: " if isinstance(name, str) else f"section {at[1] + 1}: "
                at = at[1:]
            at = at[1:]
        key = ".".join(str(part) for part in at if not (isinstance(part, str) and part.startswith("function-")))
        if one["type"] == "extra_forbidden":
            clauses.append(f"{prefix}no key {plain(str(at[-1]))!r} is known; {did_you_mean(str(at[-1]), holder)}")
        elif one["type"] == "missing":
            clauses.append(f"{prefix}{key or at[-1]} is missing")
        else:
            clauses.append(f"{prefix}{key} {_wrong(one)}")
    return clauses


def _wrong(one: Any) -> str:
    """The end of a clause: what is wrong with the value found."""
    found, limits = one.get("input"), one.get("ctx") or {}
    shown = plain(found)
    kind = one["type"]
    bounds = {"greater_than": ("above", "gt"), "greater_than_equal": ("at least", "ge"), "less_than": ("below", "lt"),
              "less_than_equal": ("at most", "le")}  # fmt: skip
    if kind in bounds:
        word, key = bounds[kind]
        return f"must be {word} {limits[key]:g}, it is {shown}"
    if kind == "string_pattern_mismatch":
        return f'must be written "#rrggbb", it is {shown}'
    if kind in ("too_short", "too_long"):
        return f"must hold 3 numbers, it is {shown}"
    if kind == "literal_error":
        return f"must be one of {limits['expected']}, it is {shown}"
    if kind == "finite_number":
        return "must be a finite number"
    if kind in ("float_type", "int_type", "value_error", "int_from_float"):
        return f"must be a {'whole ' if kind.startswith('int') else ''}number, it is {shown}"
    if kind in ("string_type", "string_too_short"):
        return f"must be a text that is not empty, it is {shown}"
    if kind in ("model_type", "dict_type", "model_attributes_type"):
        return "must be a table"
    if kind == "list_type":
        return f"must be a list, it is {shown}"
    return f"is wrong ({plain(one['msg'], 120)}), it is {shown}"


def _section_table(section: TargetSection) -> dict[str, Any]:
    table: dict[str, Any] = {"name": section.name, "thickness_mm": section.thickness_mm}
    for key, value in (("lab", section.lab), ("xyz", section.xyz), ("srgb", section.srgb)):
        if value is not None:
            table[key] = list(value) if isinstance(value, tuple) else value
    if section.behind != "panel":
        table["behind"] = section.behind
    if section.insert is not None:
        insert = section.insert
        table |= {
            key: value
            for key, value in (
                ("insert_lab", None if insert.lab is None else list(insert.lab)),
                ("insert_srgb", insert.srgb),
                ("insert_spectrum", None if insert.reflectance is None else insert.reflectance.source),
                ("insert_width_mm", insert.width_mm),
            )
            if value is not None
        }
    return table | {"tolerance": section.tolerance, "weight": section.weight}


def _glass_table(glass: Glass) -> dict[str, Any]:
    table: dict[str, Any] = {} if glass.thickness_mm is None else {"thickness_mm": glass.thickness_mm}
    for key, curve in (("spectrum", glass.spectrum), ("absorption", glass.absorption)):
        if curve is not None:
            table[key] = curve.source
    for key, colour in (("lab", glass.lab), ("camera", glass.camera)):
        if colour is not None:
            table[key] = list(colour)
    return table | {"relative_to": glass.relative_to, "refractive_index": glass.refractive_index}


def _plain(value: Any) -> Any:
    """Tables and lists of any make as plain dicts and lists, so that JSON takes them."""
    if isinstance(value, Mapping):
        return {str(key): _plain(inner) for key, inner in value.items()}
    if isinstance(value, (list, tuple)):
        return [_plain(inner) for inner in value]
    return value if isinstance(value, (str, int, float, bool)) or value is None else str(value)
