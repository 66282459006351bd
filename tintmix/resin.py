"""A casting resin: its parts by weight, its optics, density, limits and hazards; and the TOML file that says so."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields
from pathlib import Path
from typing import Any

from tintmix.files.errors import BadTable, Problem
from tintmix.files.plain import table_of
from tintmix.files.schema import NEEDED, Check, Rows, Table, anything, checked, number, or_none, put_right, text
from tintmix.files.stamp import made_at, made_by
from tintmix.files.text import load_toml
from tintmix.files.upgrades import Format
from tintmix.files.words import did_you_mean, plain

RESIN_FORMAT = Format(what="resin")
DEFAULT_NAME = "clear casting resin"
DEFAULT_REFRACTIVE_INDEX = 1.5
HAZARDS = ("isocyanate", "epoxy resin", "amine hardener", "styrene", "peroxide", "none")


_AMOUNT = number(above=0, most=1e6)
_DENSITY = or_none(number(above=0.3, most=5))
_DURATION = or_none(number(above=0, most=1e5))
_PART_CHECKS: dict[str, Check] = {
    "name": text(),
    "density_g_per_cm3": _DENSITY,
    "parts_by_volume": or_none(_AMOUNT),
}
_RESIN_CHECKS: Mapping[str, Check] = {
    "name": text(),
    "cure": text(empty=True),
    "refractive_index": number(least=1, most=2),
    "density_g_per_cm3": _DENSITY,
    "max_total_phr": or_none(number(above=0, most=100)),
    "pot_life_min": _DURATION,
    "demould_h": _DURATION,
    "takes_pigment": or_none(text()),
}


@dataclass(frozen=True, slots=True)
class Part:
    """One part of a casting resin. parts_by_weight: any unit, only the ratios count. hazard: one of HAZARDS;
    None: not said, which is not "none".

    parts_by_volume: for a part that its maker measures by volume; needs density_g_per_cm3, and parts_by_weight, left out, is
    then volume × density.

    >>> Part("B", hazard="amine hardener", density_g_per_cm3=0.95, parts_by_volume=2).parts_by_weight
    1.9
    """

    name: str
    parts_by_weight: float = 0.0
    hazard: str | None = None
    density_g_per_cm3: float | None = None
    parts_by_volume: float | None = None

    def __post_init__(self) -> None:
        where = f"part {plain(self.name)}"
        checks = _PART_CHECKS if self.parts_by_volume is not None else _PART_CHECKS | {"parts_by_weight": _AMOUNT}
        problems = put_right(self, checks, where)
        if self.parts_by_volume is not None and not problems:
            weight = self.parts_by_volume * (self.density_g_per_cm3 or 0.0)
            if self.density_g_per_cm3 is None:
                said = "is given by volume, which needs its density_g_per_cm3; add it from the data sheet"
                problems = [Problem(where, said)]
            elif self.parts_by_weight not in (0, weight):
                problems = [Problem(where, "has parts_by_weight and parts_by_volume; keep one of them")]
            object.__setattr__(self, "parts_by_weight", weight)
        if self.hazard is not None and self.hazard not in HAZARDS and not problems:
            near = did_you_mean(str(self.hazard), HAZARDS)
            problems = [Problem(where, f"has the hazard {plain(self.hazard)!r}, which is not known; {near}")]
        if problems:
            raise BadTable("resin", problems)


@dataclass(frozen=True, slots=True)
class Resin:
    """A casting resin as its data sheet gives it. None: not said.

    max_total_phr: most pigment, all together, in grams per 100 g of mixed resin. takes_pigment: name of the part that
    pigment goes into. pot_life_min: minutes from mixing. demould_h: hours. cure: free text. Raises BadTable.

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
        problems = put_right(self, _RESIN_CHECKS, "the resin")
        if problems:
            raise BadTable("resin", problems)
        names = [part.name for part in self.parts]
        twice = [name for name in names if names.count(name) > 1]
        said = ""
        if twice:
            said = f"two parts are called {plain(twice[0])!r}; give each part its own name"
        elif len({part.parts_by_volume is None for part in self.parts}) > 1:
            said = (
                "some of its parts are by weight and some by volume; give all parts_by_weight, or all parts_by_volume "
            )
            said += "with their density_g_per_cm3"
        elif self.takes_pigment is not None and self.takes_pigment not in names:
            listed = plain(", ".join(names) or "no part at all")
            said = f"takes_pigment names part {plain(self.takes_pigment)!r}, but the resin lists {listed}; name one of its parts"
        if said:
            raise BadTable("resin", [said])

    def has_hazard(self, hazard: str) -> bool:
        """Whether any part carries this hazard."""
        return any(part.hazard == hazard for part in self.parts)


_RESIN_KEYS = tuple(one.name for one in fields(Resin) if one.name != "parts")
_PART_KEYS = tuple(one.name for one in fields(Part))
# What a value may be, it checks itself.
_PART = Table({key: (anything, NEEDED if key == "name" else None) for key in _PART_KEYS})
_RESIN = Table(
    {"part": (Rows(_PART), [])} | dict.fromkeys((*_RESIN_KEYS, "format", "made_by", "made_at"), (anything, None))
)


def resin_from_table(table: Mapping[str, Any], where: object) -> Resin:
    """A resin from the table of resin.toml, of set.toml's [resin], or of a recipe. Raises BadTable.

    >>> resin_from_table({"refractive_index": 1.52}, "set.toml").refractive_index
    1.52
    """
    checked(_RESIN, table, where, "the resin")
    listed = table.get("part", [])
    if len(listed) > 20:
        raise BadTable(where, [f"{len(listed)} parts; a resin has at most 20"])
    amounts = [len({"parts_by_weight", "parts_by_volume"} & item.keys()) for item in listed]
    wrong = {0: "has no parts_by_weight", 2: "has parts_by_weight and parts_by_volume; keep one of them"}
    problems = [Problem(f"part {i}", wrong[count]) for i, count in enumerate(amounts, 1) if count in wrong]
    if problems:
        raise BadTable(where, problems)
    parts: list[Part] = []
    for item in listed:
        try:
            parts.append(Part(**{key: item[key] for key in _PART_KEYS if key in item}))
        except BadTable as error:
            problems += error.problems
    try:
        # Where a part cannot be, the rest is looked at without any: what is wrong there is told with it.
        kept = {key: table[key] for key in _RESIN_KEYS if key in table and not (problems and key == "takes_pigment")}
        resin = Resin(**kept, parts=() if problems else tuple(parts))
    except BadTable as error:
        problems += error.problems
    if problems:
        raise BadTable(where, problems)
    return resin


def resin_to_table(resin: Resin) -> dict[str, Any]:
    """The table that `resin_from_table` reads back; what is not said is left out.

    >>> resin_to_table(Resin(name="r", cure="24 h"))
    {'name': 'r', 'refractive_index': 1.5, 'cure': '24 h'}
    """
    table: dict[str, Any] = {key: getattr(resin, key) for key in _RESIN_KEYS if getattr(resin, key) not in (None, "")}
    parts = [table_of(part, () if part.parts_by_volume is None else ("parts_by_weight",)) for part in resin.parts]
    if parts:
        table["part"] = [{key: value for key, value in part.items() if value is not None} for part in parts]
    return table


def resin_to_text(resin: Resin) -> str:
    """resin.toml, which `read_resin` reads back."""
    import tomlkit  # 40 ms, which reading a resin does without

    stamp = {"format": RESIN_FORMAT.newest, "made_by": made_by(), "made_at": made_at()}
    return tomlkit.dumps(stamp | resin_to_table(resin))


def read_resin(path: str | Path) -> Resin:
    """A resin from a file as in docs (resin.toml). Raises the errors of `load_toml`, and BadTable."""
    table = load_toml(path, "a resin file")
    return resin_from_table(RESIN_FORMAT.up_to_date(table, path), path)
