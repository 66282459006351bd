"""The only reader and writer of a chip-set folder: set.toml, chips.csv, and the files that set.toml names."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import Any

from tintmix.chips.checks import check_unit, check_values, leave_out_hazy, set_warnings
from tintmix.chips.chip import CURVES, MIX, ChipSet, Pigment
from tintmix.chips.columns import Columns, read_columns
from tintmix.chips.errors import no_folder, pigments_disagree
from tintmix.chips.rows import RowReader
from tintmix.chips.set_file import CURVE_HEADS, DEFAULT_KEYS, SET_FORMAT, Setting, read_setting
from tintmix.errors import FileProblem, Remedy, TintmixError, ValueProblem
from tintmix.files import caps
from tintmix.files.alone import alone_in
from tintmix.files.curves import curve_text
from tintmix.files.errors import BadCells, Cell
from tintmix.files.plain import table_of
from tintmix.files.stamp import made_at, made_by
from tintmix.files.table import cell_of, read_sheet, table_text
from tintmix.files.text import load_text
from tintmix.files.words import plain
from tintmix.files.write import write_files
from tintmix.resin import resin_to_table

SET_NAME = "set.toml"
CHIPS_NAME = "chips.csv"


def read_chips(path: str | Path) -> ChipSet:
    """A chip set from its folder (or from the set.toml in it).

    Everything but the kind of reading and the chips has a default; `ChipSet.defaults_used` states those that were
    filled in, and `ChipSet.warnings` what is allowed but worth knowing. Raises TintmixErrors, among
    them BadTable, and BadCells for all bad cells of the table at once.
    """
    folder = Path(path)
    try:
        folder = folder_of(folder)
        if not folder.exists():
            raise no_folder(path, "there is no such folder")
        if not folder.is_dir():
            raise no_folder(path, "this is no folder")
    except (OSError, ValueError) as error:
        raise no_folder(path, getattr(error, "strerror", None) or "this is no name of a folder") from None
    setting = read_setting(folder / SET_NAME)
    text = load_text(folder / CHIPS_NAME, caps.SET, "the table of the set's chips")
    return replace(parse_chips(text, setting, folder / CHIPS_NAME), folder=folder)


def folder_of(path: str | Path) -> Path:
    """The folder of a set that is named by it, or by the set.toml in it. Raises OSError, ValueError."""
    folder = Path(path)
    return folder.parent if folder.name == SET_NAME and folder.is_file() else folder


@contextmanager
def alone_with(path: str | Path, only_looking: bool = False) -> Iterator[None]:
    """No other program changes the set meanwhile; where only looking, and where no set is, nobody waits. Raises InUse,
    CannotWrite."""
    try:
        folder = folder_of(path)
        held = not only_looking and folder.is_dir()
    except (OSError, ValueError):  # told by whoever reads it
        held = False
    if not held:
        yield
        return
    with alone_in(folder):
        yield


def parse_chips(text: str, setting: Setting, where: object) -> ChipSet:
    """A chip set from the text of chips.csv and what set.toml says. Raises as `read_chips`."""
    sheet = read_sheet(text, where, key="chip")
    columns = read_columns(sheet, setting.reading.kind, where)
    pigments = _pigments(columns, setting, where)
    if not sheet.rows:
        raise FileProblem(where=where, what="no chip is listed", remedy=Remedy.ADD_A_ROW_A_CHIP)
    reading = replace(setting.reading, wavelengths_nm=columns.wavelengths_nm, space=columns.space)
    reader = RowReader(columns, reading, sheet.decimal_comma)
    chips = [chip for row, cells in sheet.rows if (chip := reader.chip(row, cells)) is not None]
    warnings = list(setting.warnings) + check_unit(reading, chips, where)
    headers = [sheet.header[column] for column in columns.values]
    bad: list[Cell] = []
    more: list[str] = []
    for kind in {chip.camera for chip in chips}:
        alike = [chip for chip in chips if chip.camera == kind]
        cells, said = check_values(reading.by(kind), alike, headers, setting.resin.refractive_index)
        bad, more = bad + cells, more + said
    if reader.bad or bad:
        raise BadCells(where, sorted([*reader.bad, *bad], key=lambda cell: cell.row))
    chips, hazy = leave_out_hazy(chips)
    warnings += more + hazy + set_warnings(setting, pigments, chips, columns.wavelengths_nm)
    return ChipSet(
        reading, pigments, tuple(chips), setting.resin, setting.title, defaults_used=setting.defaults_used,
        warnings=tuple(warnings), **setting.curves,
    )  # fmt: skip


def write_chips(chips: ChipSet, folder: str | Path) -> Path:
    """Writes set.toml, chips.csv and the curves that the set holds; returns the folder, made where its parent exists.

    `read_chips` reads the same set back. A set.toml that already says the same is left as it is. Either all files are
    written or none. Defaults that a reader filled in are left out, so that they stay defaults. Raises CannotWrite,
    and ValueProblem where the set holds what a folder cannot say.
    """
    target = Path(folder)
    files = {CHIPS_NAME: chips_text(chips)}
    if not _already_says(target / SET_NAME, chips):
        files[SET_NAME] = set_text(chips)
    for key, heads in CURVE_HEADS.items():
        name, curve = getattr(chips.reading, key), getattr(chips, CURVES[key])
        if curve is None:
            continue
        if not name.lower().endswith(".csv") or Path(name).is_absolute() or ".." in Path(name).parts:
            raise ValueProblem(
                what=f"the set holds a curve for {plain(name)!r}, which names no CSV file beside set.toml"
            )
        nm, values = curve
        table = values.reshape(len(nm), -1)
        files[name] = curve_text(nm, {head: table[:, i] for i, head in enumerate(heads)})
    write_files(target, files, {SET_NAME: SET_FORMAT})
    return target


def _already_says(path: Path, chips: ChipSet) -> bool:
    """Whether a set.toml stands there that says the same: it is then left as its maker wrote it, comments and all."""
    try:
        if not path.is_file():
            return False
        found = read_setting(path)
        curves: dict[str, Any] = dict.fromkeys(CURVES.values()) | dict(found.curves)
        reading = replace(found.reading, wavelengths_nm=chips.reading.wavelengths_nm, space=chips.reading.space)
        here = replace(chips, reading=reading, resin=found.resin, title=found.title, **curves)
    except (TintmixError, OSError, ValueError):
        return False
    pigments = {p.name: p for p in chips.pigments}
    found_pigments = {p.name: p for p in chips.pigments if chips.is_one_cup} | dict(found.pigments)
    return here == chips and found_pigments == pigments and dict(found.defaults_used) == dict(chips.defaults_used)


def set_text(chips: ChipSet) -> str:
    """set.toml of a set."""
    import tomlkit  # 40 ms, which reading a set does without

    reading = {"kind": chips.reading.kind} | {
        key: getattr(chips.reading, key) for key in DEFAULT_KEYS[chips.reading.kind]
    }
    if chips.reading.taken_with:
        reading["taken_with"] = chips.reading.taken_with
    if chips.reading.on_tile:
        tile = {"tile": chips.reading.tile} if chips.reading.tile else {"tile_lab": [*(chips.reading.tile_lab or ())]}
        reading |= tile | {"contact": chips.reading.contact}
    tables = {"resin": resin_to_table(chips.resin), "reading": reading}
    return tomlkit.dumps(
        {"format": SET_FORMAT.newest}
        | ({"title": chips.title} if chips.title else {})
        | {"made_by": made_by(), "made_at": made_at()}
        | {head: {k: v for k, v in table.items() if k not in chips.defaults_used} for head, table in tables.items()}
        | {"pigments": {pigment.name: _said_of(pigment) for pigment in chips.pigments}}
    )


def chips_text(chips: ChipSet, before: Collection[str] = ()) -> str:
    """chips.csv of a set. before: heads of the table that it replaces, of which those that are the maker's to fill stay, empty as
    they may be.
    """
    kept = {*before}
    grams = _in_grams(chips)
    hundredths = chips.reading.unit == "percent" and chips.reading.kind != "colour"
    every = chips.chips
    table = {"chip": [chip.name for chip in every]}
    if any(chip.cup != chip.name for chip in every):
        table["cup"] = [chip.cup for chip in every]
    table["thickness_mm"] = [cell_of(chip.thickness_mm) for chip in every]
    for p, (pigment, in_grams) in enumerate(zip(chips.pigments, grams, strict=True)):
        doses = [chip.weights.pigments_g[p] if in_grams and chip.weights else chip.doses_phr[p] for chip in every]
        table[f"{pigment.name}_{'g' if in_grams else 'phr'}"] = [cell_of(dose) if dose else "" for dose in doses]
    for key in ("resin_g", "scale_g") if any(grams) else ():
        table[key] = [cell_of(getattr(chip.weights, key, None)) for chip in every]
    percents = [cell_of(None if chip.haze_word else chip.haze, hundredths=True) for chip in every]
    if chips.reading.geometry == "regular" and not any(percents) and not all(chip.is_read for chip in every):
        # Asked for while chips are still to be read.
        kept.add("haze")
    table |= _told(
        kept,
        haze_percent=percents,
        haze=[chip.haze_word for chip in every],
        check_chip=["yes" if chip.check else "" for chip in every],
    )
    for i, head in enumerate(_value_heads(chips)):
        table[head] = [cell_of(chip.values[i], hundredths) if chip.is_read else "" for chip in every]
    table |= _told(
        kept,
        reading_spread=[cell_of(chip.reading_spread) for chip in every],
        camera=[{"unknown": "raw"}.get(chip.camera, chip.camera) for chip in every],
        use=["" if chip.use or chip.left_out else "no" for chip in every],
        note=[chip.note for chip in every],
    )
    return table_text([[*table], *zip(*table.values(), strict=True)])


def _told(kept: Collection[str], **columns: list[str]) -> dict[str, list[str]]:
    """The columns that say something of a chip, or are kept."""
    return {head: cells for head, cells in columns.items() if head in kept or any(cells)}


def _pigments(columns: Columns, setting: Setting, where: object) -> tuple[Pigment, ...]:
    """The pigments in the table's order. Raises FileProblem."""
    dosed = [dose.pigment for dose in columns.doses]
    # A set.toml that lists no pigment at all lets the columns speak, as does the one cup of a ready mix; one that lists some
    # must list them all.
    speaks = setting.pigments and dosed != [MIX]
    without_table = [p for p in dosed if p not in setting.pigments] if speaks else []
    without_column = [p for p in setting.pigments if p not in dosed]
    if without_table or without_column:
        raise pigments_disagree(where, without_table, without_column)
    return tuple(setting.pigments.get(p, Pigment(p)) for p in dosed)


def _in_grams(chips: ChipSet) -> list[bool]:
    """Which pigments' columns are weights: those that every chip has weighed."""
    grams = [chip.weights.pigments_g if chip.weights else () for chip in chips.chips]
    return [
        bool(grams) and all(len(one) > p and one[p] is not None for one in grams) for p in range(len(chips.pigments))
    ]


def _value_heads(chips: ChipSet) -> list[str]:
    reading = chips.reading
    if reading.kind == "camera":
        return ["R", "G", "B"]
    if reading.kind == "colour":
        return list(reading.space or "Lab")
    return [cell_of(nm) for nm in reading.wavelengths_nm or ()]


def _said_of(pigment: Pigment) -> dict[str, Any]:
    usual = table_of(Pigment(pigment.name))
    return {key: value for key, value in table_of(pigment).items() if value != usual[key]}
