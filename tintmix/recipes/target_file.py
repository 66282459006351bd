"""target.toml in, Target out; all that is wrong with a file in one error. Keys as in docs: sections, glass, limits."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, ValidationError

from tintmix.errors import TintmixError
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
from tintmix.resin import check_format, did_you_mean, load_toml, plain

FORMAT = 1


def _no_bool(value: object) -> object:
    if isinstance(value, bool):
        raise ValueError("is a number, not true or false")
    return value


Number = Annotated[float, BeforeValidator(_no_bool), Field(strict=True, allow_inf_nan=False)]
Whole = Annotated[int, BeforeValidator(_no_bool), Field(strict=True)]
Above0 = Annotated[Number, Field(gt=0)]
Thickness = Annotated[Number, Field(gt=0, le=THICKEST_MM)]
Text = Annotated[str, Field(strict=True, min_length=1)]
Hex = Annotated[str, Field(strict=True, pattern=r"^#[0-9a-fA-F]{6}$")]
Three = Annotated[list[Number], Field(min_length=3, max_length=3)]


class _Table(BaseModel):
    model_config = ConfigDict(extra="forbid")


class _Section(_Table):
    name: Text | None = None
    thickness_mm: Thickness
    lab: Three | None = None
    xyz: Three | None = None
    srgb: Hex | None = None
    behind: Behind = "panel"
    insert_lab: Three | None = None
    insert_srgb: Hex | None = None
    insert_spectrum: Text | None = None
    insert_width_mm: Above0 | None = None
    tolerance: Above0 = 2.0
    weight: Above0 = 1.0


class _Glass(_Table):
    thickness_mm: Thickness | None = None
    spectrum: Text | None = None
    lab: Three | None = None
    camera: Three | None = None
    absorption: Text | None = None
    relative_to: Literal["air", "faces removed"] = "air"
    refractive_index: Annotated[Number, Field(gt=1, le=2.5)] = 1.52


class _Limits(_Table):
    pigments: Annotated[Whole, Field(ge=1)] | None = None
    total_phr: Above0 | None = None
    luminous_transmittance: Annotated[Number, Field(ge=0, lt=1)] | None = None
    haze_percent: Annotated[Number, Field(ge=0, le=100)] | None = None
    leave_out: list[Text] = []


class _Target(_Table):
    format: Whole
    light: Text = "D65"
    observer: Literal[2, 10] = 10
    also_under: list[Text] = []
    section: list[_Section] = []
    glass: _Glass | None = None
    limits: _Limits = _Limits()


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
        raw = _Target.model_validate(dict(table))
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

    def build(self, raw: _Target, table: Mapping[str, Any]) -> Target:
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

    def _section(self, number: int, raw: _Section) -> TargetSection | None:
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

    def _glass(self, raw: _Glass) -> Glass:
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
        from tintmix.chips.curve_file import read_curve

        nm, columns = read_curve(self.folder / name)
        column = wanted if wanted in columns else next(iter(columns))
        return Curve(tuple(map(float, nm)), tuple(map(float, columns[column])), name)

    def _absorption(self, name: str) -> tuple[Curve, AbsorptionUnit]:
        from tintmix.chips.curve_file import read_curve

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
    tables: dict[str, type[_Table]] = {"section": _Section, "glass": _Glass, "limits": _Limits}
    clauses = []
    for one in error.errors():
        at = list(one["loc"])
        holder, prefix = _Target, ""
        if len(at) > 1 and at[0] in tables:
            holder = tables[str(at[0])]  # type: ignore[assignment]
            prefix = f"[{at[0]}] "
            if at[0] == "section" and isinstance(at[1], int):
                named = table["section"][at[1]] if isinstance(table["section"], list) else {}
                name = named.get("name") if isinstance(named, dict) else None
                prefix = f"section {name!r}: " if isinstance(name, str) else f"section {at[1] + 1}: "
                at = at[1:]
            at = at[1:]
        key = ".".join(str(part) for part in at if not (isinstance(part, str) and part.startswith("function-")))
        if one["type"] == "extra_forbidden":
            clauses.append(
                f"{prefix}no key {plain(str(at[-1]))!r} is known; {did_you_mean(str(at[-1]), holder.model_fields)}"
            )
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
