"""A casting resin: its parts by weight, its optics, density, limits and hazards; and the TOML file that says so."""

from __future__ import annotations

import difflib
import math
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tintmix.errors import TintmixError

RESIN_FORMAT = 1
DEFAULT_NAME = "clear casting resin"
DEFAULT_REFRACTIVE_INDEX = 1.5
HAZARDS = ("isocyanate", "epoxy resin", "amine hardener", "styrene", "peroxide", "none")

TOML_BYTES = 100_000
"""The largest TOML file that is read. A set.toml or resin.toml is a page or two; what is larger is another file."""
_TOML_LINE = 2_000
# The standard library's parser takes time that grows with the square of a dotted key's length.


class FileMissing(TintmixError):
    """A file that is not there, or is no ordinary file."""

    def __init__(self, path: object, what: str) -> None:
        super().__init__(f"{path}: there is no such file, and {what} is needed there. Check the name and the folder.")


class FileUnreadable(TintmixError):
    """A file that the system does not let us read."""

    def __init__(self, path: object, reason: str) -> None:
        super().__init__(f"{path}: cannot be read ({reason}). Check that the file is yours to read.")


class FileTooLarge(TintmixError):
    """A file beyond what is sensible for its kind."""

    def __init__(self, path: object, limit_bytes: int) -> None:
        super().__init__(
            f"{path}: larger than {limit_bytes / 1e6:g} MB, the most that is read of such a file. "
            "Check that it is the right file, or split it."
        )


class NotText(TintmixError):
    """Bytes that are no UTF-8 text."""

    def __init__(self, path: object, line: int) -> None:
        super().__init__(
            f"{path}: line {line} is not UTF-8 text. "
            "Save the file again as plain text in UTF-8 (not as a workbook, not UTF-16)."
        )


class NotToml(TintmixError):
    """Text that is no TOML."""

    def __init__(self, path: object, reason: str) -> None:
        super().__init__(f"{path}: not a TOML file that can be read ({plain(reason, 160)}). Correct that line.")


class FormatMissing(TintmixError):
    """A file that does not say which format it is in."""

    def __init__(self, path: object, found: object, known: int) -> None:
        said = (
            "does not say its format" if found is None else f"says format = {plain(found)}, which is no format number"
        )
        super().__init__(f"{path}: {said}. Write `format = {known}` as its first line.")


class FormatTooNew(TintmixError):
    """A file written for a later version."""

    def __init__(self, path: object, found: int, known: int) -> None:
        super().__init__(
            f"{path}: in format {plain(found)}, and this version reads up to format {known}. Bring tintmix up to date."
        )


class BadTable(TintmixError):
    """A TOML table with keys or values that cannot be used; all of them at once."""

    def __init__(self, where: object, problems: Iterable[str]) -> None:
        self.problems = tuple(problems)
        shown = "; ".join(self.problems[:12])
        more = f"; and {len(self.problems) - 12} more" if len(self.problems) > 12 else ""
        super().__init__(f"{where}: {shown}{more}.")


class BadResin(TintmixError):
    """A resin that cannot be."""

    def __init__(self, what: str, where: str = "resin") -> None:
        self.what = what
        super().__init__(f"{where}: {what}.")


def plain(value: object, longest: int = 60) -> str:
    """What a file said, fit to be quoted in one line: no control characters, not endless.

    >>> plain("a" * 9, 5), plain("two\\nlines")
    ('aaaaa…', 'two lines')
    """
    try:
        text = value if isinstance(value, str) else repr(value)
    except (ValueError, RecursionError):  # an integer of thousands of digits, or tables within tables
        text = f"a {type(value).__name__}"
    text = " ".join("".join(c if c.isprintable() else " " for c in text[: 4 * longest]).split())
    return text if len(text) <= longest else text[:longest] + "…"


def is_number(value: object) -> bool:
    """Whether it is a number that can be reckoned with: no truth value, not endless, no integer of hundreds of digits.

    >>> is_number(0.5), is_number(True), is_number(10**400), is_number("1")
    (True, False, False, False)
    """
    return isinstance(value, int | float) and not isinstance(value, bool) and abs(value) < 1e300


def number_plain(value: object) -> str:
    """A number as a maker would write it, or whatever else stood in its place.

    >>> number_plain(-5.0), number_plain(1e6), number_plain("a lot")
    ('-5', '1000000', 'a lot')
    """
    if isinstance(value, bool) or not isinstance(value, int | float):
        return plain(value)
    try:
        return f"{value:.10g}"
    except OverflowError:  # an integer of hundreds of digits
        return plain(value)


def did_you_mean(key: str, known: Iterable[str]) -> str:
    """The nearest known word as a clause, or all of them where none is near.

    >>> did_you_mean("refractiv_index", ["name", "refractive_index"])
    'did you mean refractive_index?'
    >>> did_you_mean("zzz", ["name", "cure"])
    'known are name, cure'
    """
    known = list(known)
    near = difflib.get_close_matches(key[:80], known, n=1)
    return f"did you mean {near[0]}?" if near else f"known are {', '.join(known)}"


@dataclass(frozen=True, slots=True)
class Part:
    """One part of a casting resin. parts_by_weight: any unit, only the ratios count. hazard: one of HAZARDS.

    parts_by_volume: for a part that its maker measures by volume; needs density_g_per_cm3, and parts_by_weight, left out, is
    then volume × density.

    >>> Part("B", hazard="amine hardener", density_g_per_cm3=0.95, parts_by_volume=2).parts_by_weight
    1.9
    """

    name: str
    parts_by_weight: float = 0.0
    hazard: str = "none"
    density_g_per_cm3: float | None = None
    parts_by_volume: float | None = None

    def __post_init__(self) -> None:
        _check_text("name", self.name, f"part {plain(self.name)}")
        where = f"part {plain(self.name)}"
        _check_number(self, "density_g_per_cm3", 0.3, 5.0, where, optional=True)
        _check_number(self, "parts_by_volume", 0.0, 1e6, where, optional=True)
        if self.parts_by_volume is not None:
            _weigh_volume(self, where)
        else:
            _check_number(self, "parts_by_weight", 0.0, 1e6, where)
        if self.hazard not in HAZARDS:
            near = did_you_mean(str(self.hazard), HAZARDS)
            raise BadResin(f"{where} has the hazard {plain(self.hazard)!r}, which is not known; {near}")


@dataclass(frozen=True, slots=True)
class Resin:
    """A casting resin as its data sheet gives it. None: not said.

    max_total_phr: most pigment, all together, in grams per 100 g of mixed resin. takes_pigment: name of the part that
    pigment goes into. pot_life_min: minutes from mixing. demould_h: hours. cure: free text. Raises BadResin.

    >>> Resin(parts=(Part("A", 100, "isocyanate"), Part("B", 90)), takes_pigment="B").has_hazard("isocyanate")
    True
    """

    name: str = DEFAULT_NAME
    refractive_index: float = DEFAULT_REFRACTIVE_INDEX
    density_g_per_cm3: float | None = None
    max_total_phr: float | None = None
    takes_pigment: str | None = None
    pot_life_min: float | None = None
    demould_h: float | None = None
    cure: str = ""
    parts: tuple[Part, ...] = ()

    def __post_init__(self) -> None:
        _check_text("name", self.name, "the resin")
        _check_text("cure", self.cure, "the resin", may_be_empty=True)
        _check_number(self, "refractive_index", 1.0, 2.0, "the resin", from_lowest=True)
        _check_number(self, "density_g_per_cm3", 0.3, 5.0, "the resin", optional=True)
        _check_number(self, "max_total_phr", 0.0, 100.0, "the resin", optional=True)
        _check_number(self, "pot_life_min", 0.0, 1e5, "the resin", optional=True)
        _check_number(self, "demould_h", 0.0, 1e5, "the resin", optional=True)
        names = [part.name for part in self.parts]
        for name in names:
            if names.count(name) > 1:
                raise BadResin(f"two parts are called {plain(name)!r}; give each part its own name")
        if len({part.parts_by_volume is None for part in self.parts}) > 1:
            raise BadResin(
                "some of its parts are by weight and some by volume; give all parts_by_weight, or all parts_by_volume "
                "with their density_g_per_cm3"
            )
        if self.takes_pigment is not None:
            _check_text("takes_pigment", self.takes_pigment, "the resin")
            if self.takes_pigment not in names:
                listed = ", ".join(names) if names else "no part at all"
                raise BadResin(
                    f"takes_pigment names part {plain(self.takes_pigment)!r}, but the resin lists {plain(listed)}; "
                    "name one of its parts"
                )

    def has_hazard(self, hazard: str) -> bool:
        """Whether any part carries this hazard."""
        return any(part.hazard == hazard for part in self.parts)


_RESIN_KEYS = (
    "name", "refractive_index", "density_g_per_cm3", "max_total_phr", "takes_pigment", "pot_life_min", "demould_h",
    "cure",
)  # fmt: skip
_PART_KEYS = ("name", "parts_by_weight", "hazard", "density_g_per_cm3", "parts_by_volume")
_FILE_KEYS = ("format", "made_by", "made_at")


def resin_from_table(table: Mapping[str, Any], where: object) -> Resin:
    """A resin from the table of resin.toml, of set.toml's [resin], or of a recipe. Raises BadTable, BadResin.

    >>> resin_from_table({"refractive_index": 1.52}, "set.toml").refractive_index
    1.52
    """
    problems = _unknown_keys(table, (*_RESIN_KEYS, "part", *_FILE_KEYS), "resin", ("part", *_RESIN_KEYS))
    listed = table.get("part", [])
    if not (isinstance(listed, list) and all(isinstance(item, Mapping) for item in listed)):
        raise BadTable(where, ["the parts of a resin are tables, each headed [[part]] (in set.toml: [[resin.part]])"])
    if len(listed) > 20:
        raise BadTable(where, [f"{len(listed)} parts; a resin has at most 20"])
    for i, item in enumerate(listed, 1):
        problems += _unknown_keys(item, _PART_KEYS, f"part {i}", _PART_KEYS)
        problems += [f"part {i} has no name"] if "name" not in item else []
        if "parts_by_volume" not in item:
            problems += [f"part {i} has no parts_by_weight"] if "parts_by_weight" not in item else []
        elif "parts_by_weight" in item:
            problems.append(f"part {i} has parts_by_weight and parts_by_volume; keep one of them")
    if problems:
        raise BadTable(where, problems)
    try:
        parts = tuple(Part(**{key: item[key] for key in _PART_KEYS if key in item}) for item in listed)
        return Resin(**{key: table[key] for key in _RESIN_KEYS if key in table}, parts=parts)
    except BadResin as error:
        raise BadResin(error.what, str(where)) from None


def resin_to_table(resin: Resin) -> dict[str, Any]:
    """The table that `resin_from_table` reads back; what is not said is left out.

    >>> resin_to_table(Resin(name="r", cure="24 h"))
    {'name': 'r', 'refractive_index': 1.5, 'cure': '24 h'}
    """
    table: dict[str, Any] = {key: getattr(resin, key) for key in _RESIN_KEYS if getattr(resin, key) not in (None, "")}
    if resin.parts:
        table["part"] = [_part_to_table(part) for part in resin.parts]
    return table


def _part_to_table(part: Part) -> dict[str, Any]:
    skipped = "parts_by_weight" if part.parts_by_volume is not None else ""
    return {key: getattr(part, key) for key in _PART_KEYS if key != skipped and getattr(part, key) is not None}


def _weigh_volume(part: Part, where: str) -> None:
    """Fill the weight of a part that is given by volume."""
    if part.density_g_per_cm3 is None:
        raise BadResin(f"{where} is given by volume, which needs its density_g_per_cm3; add it from the data sheet")
    weight = float(part.parts_by_volume or 0.0) * part.density_g_per_cm3
    given = part.parts_by_weight
    if given and given != weight:
        raise BadResin(f"{where} has parts_by_weight and parts_by_volume; keep one of them")
    object.__setattr__(part, "parts_by_weight", weight)


def read_resin(path: str | Path) -> Resin:
    """A resin from a file as in docs (resin.toml). Raises the errors of `load_toml`, BadTable, BadResin."""
    table = load_toml(path, "a resin file")
    check_format(table, path, RESIN_FORMAT)
    return resin_from_table(table, path)


def load_toml(path: str | Path, what: str) -> dict[str, Any]:
    """A TOML file's table. what: for the error, as in "a resin file".

    Raises FileMissing, FileUnreadable, FileTooLarge, NotText, NotToml, and nothing else.
    """
    text = load_text(path, TOML_BYTES, what)
    for number, line in enumerate(text.split("\n"), 1):
        if len(line) > _TOML_LINE:
            raise NotToml(path, f"line {number} is longer than {_TOML_LINE} characters")
    try:
        # TOML knows \n and \r\n; a lone \r is left to the parser, which refuses it.
        return tomllib.loads(text.replace("\r\n", "\n"))
    except ValueError as error:
        raise NotToml(path, str(error)) from None
    except RecursionError:
        raise NotToml(path, "its tables are nested too deeply") from None


def load_text(path: str | Path, limit_bytes: int, what: str) -> str:
    """A whole text file, UTF-8, with or without a byte order mark.

    Raises FileMissing, FileUnreadable, FileTooLarge, NotText.
    """
    try:
        # Opening a pipe or a device may wait for ever: only ordinary files are opened.
        if not Path(path).is_file():
            raise FileMissing(plain(str(path), 300), what)
        with open(path, "rb") as stream:
            data = stream.read(limit_bytes + 1)
    except OSError as error:
        raise FileUnreadable(plain(str(path), 300), error.strerror or type(error).__name__) from None
    except ValueError:  # a name with a zero byte in it
        raise FileMissing(plain(str(path), 300), what) from None
    return decode_text(data, path, limit_bytes)


def decode_text(data: bytes, where: object, limit_bytes: int) -> str:
    """Bytes of a text file as text. Raises FileTooLarge, NotText."""
    if len(data) > limit_bytes:
        raise FileTooLarge(where, limit_bytes)
    zero = data.find(b"\0")
    if zero >= 0:
        raise NotText(where, data.count(b"\n", 0, zero) + 1)
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise NotText(where, data.count(b"\n", 0, error.start) + 1) from None


def check_format(table: Mapping[str, Any], where: object, known: int) -> None:
    """Refuse a file that does not say its format, or whose format is newer. Raises FormatMissing, FormatTooNew."""
    found = table.get("format")
    if type(found) is not int or found < 1:
        raise FormatMissing(where, found, known)
    if found > known:
        raise FormatTooNew(where, found, known)


def _unknown_keys(table: Mapping[str, Any], allowed: tuple[str, ...], where: str, told: tuple[str, ...]) -> list[str]:
    return [f"{where} has no key {plain(key)!r}; {did_you_mean(key, told)}" for key in table if key not in allowed]


def _check_text(key: str, value: object, where: str, may_be_empty: bool = False) -> None:
    if not isinstance(value, str):
        raise BadResin(f"{where} has {key} = {plain(value)}, which is not text; put it in quotes")
    if not (value.strip() or may_be_empty):
        raise BadResin(f"{where} has an empty {key}; give it one")
    if len(value) > 500:
        raise BadResin(f"{where} has a {key} of {len(value)} characters; at most 500 fit")


def _check_number(
    owner: Part | Resin,
    key: str,
    lowest: float,
    highest: float,
    where: str,
    optional: bool = False,
    from_lowest: bool = False,
) -> None:
    """Refuse what is no number within (lowest, highest]; keep it as a float."""
    value = getattr(owner, key)
    if value is None and optional:
        return
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise BadResin(f"{where} has {key} = {plain(value)}, which is not a number")
    inside = (lowest <= value if from_lowest else lowest < value) and value <= highest
    if not (inside and math.isfinite(value)):
        least = "at least" if from_lowest else "above"
        raise BadResin(f"{where} has {key} = {plain(value)}; it must be {least} {lowest:g} and at most {highest:g}")
    object.__setattr__(owner, key, float(value))
