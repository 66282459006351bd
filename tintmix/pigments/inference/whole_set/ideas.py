"""Ways in which a whole set may have been read otherwise than it says, each with its words and the change to make."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from tintmix.chips.chip import ChipSet
from tintmix.chips.errors import some
from tintmix.optics.detector import SHIPPED_LIGHTS
from tintmix.optics.diffuse import DiffuseLight
from tintmix.pigments.inference.gather import gather
from tintmix.pigments.inference.observations import Observations
from tintmix.pigments.inference.whole_set.first_looks import turned


@dataclass(frozen=True, slots=True, kw_only=True)
class Idea:
    """The sets told otherwise. says: it in words, and may_say: where it is only a little likelier. lit: the light that takes the
    place of the straight one. evidence: log, of the sets so told, and misfit, squared a number, where it was looked at."""

    what: str
    change: dict[str, Any]
    sets: tuple[ChipSet, ...]
    says: str
    may_say: str = ""
    lit: DiffuseLight | None = None
    evidence: float = -np.inf
    misfit: float = np.inf

    def observations(self, declared: Observations) -> Observations:
        """What the fit would work on."""
        seen = as_found(gather(self.sets).observations, declared)
        if self.lit is None:
            return seen
        readings = tuple(one if one.tile else replace(one, tile=self.lit) for one in seen.readings)
        return replace(seen, readings=readings)


def as_found(seen: Observations, declared: Observations) -> Observations:
    """The same set told otherwise, with what the fit found of the declared one: the scatter that several ways of reading told of
    together, the slit, and a base of its own for thick pours."""
    readings = []
    for one, old in zip(seen.readings, declared.readings, strict=True):
        spread = old.spread if old.slit_nm else one.spread
        readings.append(replace(one, regular=old.regular, slit_nm=old.slit_nm, spread=spread))
    return replace(seen, readings=tuple(readings), thick=declared.thick)


def key_of(item: tuple[str, Any]) -> str:
    """A key of set.toml with its value, as it is typed there."""
    key, value = item
    return f"{key.rpartition('.')[2]} = {value if isinstance(value, int) else chr(34) + value + chr(34)}"


def _mend(change: dict[str, Any]) -> str:
    return f"in set.toml, under [reading], say {' and '.join(key_of(item) for item in change.items())}."


def _told(sets: tuple[ChipSet, ...], which: list[bool], **how: Any) -> tuple[ChipSet, ...]:
    return tuple(
        replace(chips, reading=replace(chips.reading, **how), light_curve=None if "light" in how else chips.light_curve)
        if mine
        else chips
        for chips, mine in zip(sets, which, strict=True)
    )


def _of(sets: tuple[ChipSet, ...], which: list[bool]) -> str:
    """Of which sets it is said, where it is not of all."""
    titles = [chips.title or f"set {s + 1}" for s, chips in enumerate(sets) if which[s]]
    return "" if all(which) else f" of {some(titles)}"


def lights_of(sets: tuple[ChipSet, ...]) -> list[Idea]:
    """Every light whose table ships, and both observers, in place of what sets that were read alike declare."""
    ideas = []
    declared = dict.fromkeys((c.reading.kind, c.reading.light, c.reading.observer) for c in sets if _has_light(c))
    for kind, light, observer in declared:
        which = [(c.reading.kind, c.reading.light, c.reading.observer) == (kind, light, observer) for c in sets]
        for other in SHIPPED_LIGHTS:
            for eye in (2, 10) if kind == "colour" else (observer,):
                if (other, eye) == (light, observer):
                    continue
                change: dict[str, Any] = {"light": other} if other != light else {}
                change |= {"observer": eye} if eye != observer else {}
                keyed = {f"reading.{key}": value for key, value in change.items()}
                how = f"{other} and the {eye}° observer" if kind == "colour" else other
                was = f"{light} and the {observer}° observer" if kind == "colour" else light
                says = (
                    f"the readings{_of(sets, which)} fit together far better as taken under {how} than under {was}, which "
                    f"the set declares: ask the instrument, and if it is so, {_mend(keyed)}"
                )
                may_say = (
                    f"the readings{_of(sets, which)} may have been taken under {how}, not under {was}, as the set declares: they "
                    f"fit together a little better so; ask the instrument, and if it is so, {_mend(keyed)} Until it is known, "
                    "the bands hold both."
                )
                what = "light" if other != light else "observer"
                ideas.append(
                    Idea(what=what, change=keyed, sets=_told(sets, which, **change), says=says, may_say=may_say)
                )
    return ideas


def _has_light(chips: ChipSet) -> bool:
    return chips.reading.kind != "spectrum" and chips.reading.light != "unknown"


def faces_of(sets: tuple[ChipSet, ...]) -> list[Idea]:
    """What the readings were divided by, and how a tile was touched and lit."""
    ways = {"relative_to": ("air", "untinted", "faces removed")}
    on_tile = {"contact": ("dry", "wetted"), "geometry": ("45/0", "d/8")}
    ideas = []
    for tile, keys in ((False, ways), (True, on_tile)):
        which = [chips.reading.on_tile == tile for chips in sets]
        for key, values in keys.items():
            for value in values:
                if not any(mine and getattr(c.reading, key) != value for c, mine in zip(sets, which, strict=True)):
                    continue
                keyed = {f"reading.{key}": value}
                says = (
                    f"the readings{_of(sets, which)} fit together far better with {key_of((key, value))}: if it is so, "
                )
                ideas.append(
                    Idea(
                        what="relative_to" if key == "relative_to" else "geometry",
                        change=keyed,
                        sets=_told(sets, which, **{key: value}),
                        says=says + _mend(keyed),
                    )
                )
    return ideas


def heads_of(sets: tuple[ChipSet, ...]) -> list[Idea]:
    """The columns a and b exchanged, in each set of L*, a*, b* and in all."""
    mine = [chips.reading.space == "Lab" for chips in sets]
    ways = {tuple(s == own and here for s, here in enumerate(mine)) for own in np.flatnonzero(mine)} | {tuple(mine)}
    ideas = []
    for which in sorted(ways - {(False,) * len(sets)}, reverse=True):
        says = (
            f"the readings{_of(sets, list(which))} fit together far better with a and b exchanged: in the first line of "
            "chips.csv put the head b where a stands, and a where b stands."
        )
        told = tuple(turned(chips) if here else chips for chips, here in zip(sets, which, strict=True))
        ideas.append(Idea(what="columns", change={"swap": ["a", "b"]}, sets=told, says=says))
    return ideas


def diffuse_of(sets: tuple[ChipSet, ...]) -> list[Idea]:
    """Light that goes through from all sides, the chip a little above the opal or touching it."""
    which = [not chips.reading.on_tile for chips in sets]
    says = (
        f"the readings{_of(sets, which)} look like those of diffuse light, that goes through a chip from all sides, as on an "
        "opal or in a sphere that lights and gathers; such light takes longer paths and loses more at the faces, and no key "
        "of set.toml puts it right: read the chips again with light that goes straight through."
    )
    return [
        Idea(what="geometry", change={}, sets=sets, lit=DiffuseLight(touching), says=says)
        for touching in (False, True)
        if any(which)
    ]
