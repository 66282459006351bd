"""Samples of an instrument as readings of a set; and what the file says of how it was read, checked against set.toml."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from tintmix.chips.appearance import eye_of
from tintmix.chips.chip import ChipSet
from tintmix.chips.errors import some
from tintmix.chips.grids import onto_grid
from tintmix.chips.instruments.errors import Asked, looks_like_other, setting_differs, wrong_kind
from tintmix.chips.instruments.meaning import VALUES, judged, light_of
from tintmix.chips.instruments.sample import SEEN_NM, Ask, Sample
from tintmix.chips.readings.put import Taken
from tintmix.errors import Remedy, ValueProblem
from tintmix.numerals import numeral, percent
from tintmix.optics.colour import lab, xyz_of_lab, xyz_of_lch, xyz_of_srgb, xyz_of_xyy
from tintmix.optics.detector import light as official
from tintmix.optics.spectrum import Array

RISES = 0.8
"""Of pairs of chips of which one holds more of everything, those in which the fuller must read higher to be noticed."""

LEAST_OF_CLEAR = 0.3
"""Light through an untinted chip in the middle of what is seen: absorbance taken for transmittance reads 0.04, and a clear resin
that has yellowed for years still lets half of it through at 30 mm."""
THICKEST_CLEAR_MM = 30.0
"""Up to here LEAST_OF_CLEAR is asked of untinted chips; a yellow block thicker than that may well hold back more."""


@dataclass(frozen=True, slots=True)
class Wish:
    """What the maker says of the readings, over what the file says. None: nothing."""

    quantity: str | None = None
    unit: str | None = None
    light: str | None = None
    observer: int | None = None
    geometry: str | None = None


@dataclass(frozen=True, slots=True)
class Converted:
    """chips: the set, its reading as it will be. taken: what was read, in it. changes: keys of [reading] that are new."""

    chips: ChipSet
    taken: tuple[Taken, ...]
    changes: Mapping[str, Any]
    notes: tuple[str, ...]


def convert(
    chips: ChipSet,
    pairs: Sequence[tuple[str, Sample]],
    where: str,
    wish: Wish = Wish(),
    keeps_old: bool = True,
    asks_unsaid: bool = True,
) -> Converted:
    """(chip, sample) pairs as readings of the set. keeps_old: whether any reading of the set stays, so that how the
    set was read cannot change. asks_unsaid: what was measured, where neither the file nor the set tells; else it is taken to be
    light let through, and told.

    Raises ValueProblem, FileProblem.
    """
    kind = chips.reading.kind
    if kind == "camera":
        raise wrong_kind(where, "instrument readings", "camera", Remedy.READ_FROM_A_PHOTO)
    mine = [(chip, sample) for chip, sample in pairs if sample.kind == kind]
    if not mine:
        found = "spectra" if pairs[0][1].kind == "spectrum" else "colours"
        remedy = Remedy.MAKE_A_SPECTRUM_SET if found == "spectra" else Remedy.EXPORT_SPECTRA_TOO
        raise wrong_kind(pairs[0][1].source or where, found, kind, remedy)
    notes: list[str] = []
    samples = [sample for _, sample in mine]
    for sample in samples:
        for ask in sample.asks:
            if not answered(ask, wish):
                raise asked(where, ask)
    _direction(chips, samples, where, wish)
    chips, changes = _setting(chips, samples, where, wish, keeps_old)
    if kind == "spectrum":
        chips, values = _spectra(chips, mine, where, wish, keeps_old, notes, asks_unsaid)
    else:
        values = _colours(chips, mine, where, wish, notes)
    by_chip: dict[str, list[int]] = {}
    for i, (chip, _) in enumerate(mine):
        by_chip.setdefault(chip, []).append(i)
    taken = tuple(Taken(chip, values[rows], mine[rows[0]][1].source) for chip, rows in by_chip.items())
    return Converted(chips, taken, changes, tuple(notes))


def _direction(chips: ChipSet, samples: Sequence[Sample], where: str, wish: Wish) -> None:
    """Reflection for a set on a tile, transmission for the others."""
    for sample in samples:
        quantity, source = wish.quantity or sample.quantity, sample.source or where
        by_geometry = quantity is None and sample.geometry in ("45/0", "d/8", "gloss included")
        if chips.reading.on_tile and quantity in ("transmittance", "absorbance"):
            said = 'these are transmission readings, but set.toml says relative_to = "white tile"'
            raise ValueProblem(where=source, what=said, remedy=Remedy.MAKE_A_SET_FOR_THESE)
        if not chips.reading.on_tile and (quantity == "reflectance" or by_geometry):
            raise ValueProblem(where=source, what="these are reflection readings", remedy=Remedy.READ_AGAINST_A_LIGHT)


def _setting(
    chips: ChipSet, samples: Sequence[Sample], where: str, wish: Wish, keeps_old: bool
) -> tuple[ChipSet, dict[str, Any]]:
    """What the file (or the maker) says of light, observer and geometry: as set.toml has it, or put where it says nothing."""
    reading = chips.reading
    changes: dict[str, Any] = {}
    keys = ("light", "observer", "geometry") if reading.kind == "colour" else ("geometry",)
    keys = (*keys, "relative_to") if reading.relative_to == "air" else keys
    for key in keys:
        now, wished = getattr(reading, key), getattr(wish, key, None)
        told = (
            {getattr(sample, key): sample.source or where for sample in reversed(samples)}
            if wished is None
            else {wished: where}
        )
        told.pop(None, None)
        if key == "light":
            told = {_official(str(name), source): source for name, source in told.items()}
        found = set(told)
        if not found:
            continue
        if len(found) > 1:
            both = " and ".join(sorted(map(str, found)))
            raise setting_differs(told[min(found, key=str)], key, both, f"{key} = {now}", Remedy.READ_IN_ONE_WAY)
        (one,) = found
        if one == "gloss included":
            said = "that the gloss is included"
            raise setting_differs(told[one], said, "(SCI)", "nothing of gloss", Remedy.LEAVE_GLOSS_OUT)
        if one == now or (key == "geometry" and (one in ("45/0", "d/8")) != reading.on_tile):
            continue
        if key in chips.defaults_used and not keeps_old:
            changes[key] = one
            continue
        if key == "relative_to":
            said = 'relative_to = "air"'
            raise setting_differs(
                told[one],
                "that it was read against",
                'untinted resin (relative_to = "untinted")',
                said,
                Remedy.CORRECT_SET_OR_MAKE_ANOTHER,
            )
        remedy = Remedy.CORRECT_SET_OR_MAKE_ANOTHER if key == "geometry" else Remedy.CORRECT_SET_OR_READ_SO
        by_default = " by default" if key in chips.defaults_used else ""
        raise setting_differs(told[one], key, one, f"{now}{by_default}", remedy, key=key, now=now)
    if changes:
        left = {k: v for k, v in chips.defaults_used.items() if k not in changes}
        chips = replace(chips, reading=replace(reading, **changes), defaults_used=left)
    return chips, changes


def _official(name: str, where: str) -> str:
    """A light's official name. Raises ValueProblem, with where it stands."""
    try:
        return official(name).name
    except ValueProblem as problem:
        raise ValueProblem(where=where, what=problem.what, remedy=problem.remedy) from None


def _colours(chips: ChipSet, pairs: Sequence[tuple[str, Sample]], where: str, wish: Wish, notes: list[str]) -> Array:
    white = eye_of(chips).bare
    xyz = np.stack([xyz_of_sample(sample, white, wish.unit) for _, sample in pairs])
    if not any(sample.light or wish.light for _, sample in pairs) and any(s.space != "sRGB" for _, s in pairs):
        under = f"{chips.reading.light}, {chips.reading.observer}°"
        notes.append(f"light and observer are not said with the colours; taken as the set has them ({under})")
    largest = float(xyz[:, 1].max())
    if wish.unit is None and largest <= 1.05 and any(s.space in ("XYZ", "xyY") for _, s in pairs):
        light, why = "Y of the bare light =", f"the largest Y is {numeral(largest, 3)}"
        raise looks_like_other(where, f"{light} 100", f"{light} 1", why, Remedy.SAY_FRACTION_OR_PERCENT_IF_DARK)
    read = [s.values[: 3 if s.space == "Lab" else 2] for _, s in pairs if s.space in ("Lab", "LCh")]
    if wish.unit is None and read and max(abs(v) for one in read for v in one) <= 1.0:
        why = f"the largest L* is {numeral(max(one[0] for one in read), 3)}"
        raise looks_like_other(where, "L* of 0 to 100", "L* of 0 to 1", why, Remedy.SAY_FRACTION_OR_PERCENT_IF_DARK)
    return xyz if chips.reading.space == "XYZ" else lab(xyz, white)


def xyz_of_sample(sample: Sample, white: Array, unit: str | None = None) -> Array:
    """A colour's X, Y, Z, Y of the bare light 100. unit: "fraction" where the file has it, or the white's L*, 1."""
    values = np.array(sample.values)
    scale = 100.0 if unit == "fraction" else 1.0
    if sample.space == "XYZ":
        return values * scale
    if sample.space == "xyY":
        return xyz_of_xyy(values) * scale
    if sample.space == "LCh":
        return xyz_of_lch(values * [scale, scale, 1.0], white)
    if sample.space == "sRGB":
        levels = np.clip(np.rint(values), 0, 255).astype(int)
        return xyz_of_srgb("#{:02x}{:02x}{:02x}".format(*levels), white)
    return xyz_of_lab(values * scale, white)


def _spectra(
    chips: ChipSet,
    pairs: Sequence[tuple[str, Sample]],
    where: str,
    wish: Wish,
    keeps_old: bool,
    notes: list[str],
    asks_unsaid: bool,
) -> tuple[ChipSet, Array]:
    samples = [sample for _, sample in pairs]
    said = {s.quantity for s in samples} - {None}
    usual = next(iter(said)) if len(said) == 1 else "reflectance" if chips.reading.on_tile else "transmittance"
    unsaid = [s for s in samples if s.quantity is None] if wish.quantity is None else []
    if unsaid and said:
        these = some([s.name for s in unsaid])
        notes.append(f"what was measured of {these} is not said in the file; taken as {usual}, as of the others")
    elif unsaid:
        notes.append(f"what was measured is not said in the file; taken as {usual}")
    quantities = [str(wish.quantity or s.quantity or usual) for s in samples]
    units = _units(samples, quantities, where, wish, notes)
    raw = [np.array(s.values) for s in samples]
    light = [
        10.0 ** -np.clip(v, -1.0, 12.0) if quantity == "absorbance" else v / 100.0 if unit == "percent" else v
        for v, quantity, unit in zip(raw, quantities, units, strict=True)
    ]
    names = [chip for chip, _ in pairs]
    _noticed(chips, names, light, quantities[0], where, wish)
    _blanks_noticed(chips, names, [light_of(replace(s, values=tuple(v.tolist()))) for s, v in zip(samples, light, strict=True)],
                    quantities, where, wish)  # fmt: skip
    nm = [np.array(s.wavelengths_nm) for s in samples]
    shown = light
    if not (keeps_old and chips.reading.wavelengths_nm):
        nm, shown = _seen(nm, light)
    done = onto_grid(chips, nm, shown, where, [s.source for s in samples], [s.name for s in samples], keeps_old, notes)
    if asks_unsaid and len(unsaid) == len(samples) and usual == "transmittance" and "percent" not in units:
        _known_as_light(chips, names, light, where)
    return done


def _seen(nm: Sequence[Array], light: Sequence[Array]) -> tuple[list[Array], list[Array]]:
    """Spectra without what no eye sees: there lamps are weak, and the noise of a set's ends would refuse all of it."""
    kept = [(one >= SEEN_NM[0]) & (one <= SEEN_NM[1]) for one in nm]
    # What lies outside altogether is told by its wavelengths.
    kept = [mask if mask.sum() > 1 else ~mask for mask in kept]
    return [one[mask] for one, mask in zip(nm, kept, strict=True)], [
        v[mask] for v, mask in zip(light, kept, strict=True)
    ]


def _units(
    samples: Sequence[Sample], quantities: Sequence[str], where: str, wish: Wish, notes: list[str]
) -> list[str | None]:
    """The unit of each: as wished, as its file says, else by the values of all that say nothing. Raises Asked."""
    if wish.unit is not None:
        return [wish.unit] * len(samples)
    units: list[str | None] = [sample.unit for sample in samples]
    for quantity in dict.fromkeys(quantities):
        mine = [i for i, one in enumerate(quantities) if one == quantity]
        told = [
            i
            for i in mine
            if samples[i].read_from.get("unit", VALUES) == VALUES or samples[i].quantity not in (None, quantity)
        ]
        if told:
            # One file a chip: that of a dark chip may be in percent and look like fractions.
            unit, ask = judged(quantity, None, [light_of(samples[i]) for i in told])
            if ask is not None and not answered(ask, wish):
                raise asked(where, ask)
            if unit == "percent":
                notes.append("the values say that they are percent")
            for i in told:
                units[i] = unit
    return units


def answered(ask: Ask, wish: Wish) -> bool:
    """Whether a maker has said what a file leaves open."""
    if ask.about == "unit":
        return wish.unit is not None
    return ask.about == "quantity" and (
        wish.quantity is not None or (wish.unit is not None and ask.note.remedy == Remedy.SAY_ABSORBANCE_OR_PERCENT)
    )


def _facts(ask: Ask) -> dict[str, Any]:
    return dict(ask.note.facts)


def asked(where: str, ask: Ask) -> Asked:
    """The question as an error."""
    return Asked(where=where, what=ask.note.says, remedy=ask.note.remedy, **_facts(ask))


def _known_as_light(chips: ChipSet, names: Sequence[str], light: Sequence[Array], where: str) -> None:
    """Asks what was measured, where neither an untinted chip, nor chips that hold more than others, nor what the set holds
    already tells light through from absorbance: of a pale chip both look alike."""
    old = {chip.name: np.array(chip.values) for chip in chips.chips if chip.is_read and chip.use}
    blanks = {chip.name for chip in chips.chips if chip.is_blank}
    told = []
    for name, values in zip(names, light, strict=True):
        if name in blanks and float(np.median(values)) >= LEAST_OF_CLEAR:
            return
        if name in old:
            far, farther = (abs(float(np.mean(v)) - float(np.mean(old[name]))) for v in (values, 10.0**-values))
            told.append(far < farther)
    before = {name: _level(values) for name, values in old.items()}
    taken, other = (
        _moves(chips, before | {name: _level(v) for name, v in zip(names, read, strict=True)}, set(names))
        for read in (light, [10.0**-v for v in light])
    )
    # A fuller chip lets less through: it must be so of light, and not of absorbance.
    if not (all(told) if told else taken[1] > taken[0] and other[0] >= other[1]):
        says = (
            "the file does not say what was measured, and these values could be light let through as well as absorbance"
        )
        raise Asked(where=where, what=says, remedy=Remedy.SAY_WHICH_QUANTITY)


def _level(values: Array) -> float:
    return float(np.mean(np.log(np.clip(values, 1e-6, None))))


def _moves(chips: ChipSet, level: Mapping[str, float], new: Collection[str] | None = None) -> tuple[int, int]:
    """Pairs of chips of which the one holds more of everything, and reads higher, and lower. new: of which one must be."""
    loads = {c.name: [*(dose * c.thickness_mm for dose in c.doses_phr), c.thickness_mm] for c in chips.chips}
    load = np.array([loads[name] for name in level])
    pigment = load[:, :-1].sum(axis=1)
    # The one down the side, the other across: it holds as much of all in the light's way, and clearly more pigment.
    fuller = np.all(load >= load[:, None] * (1 - 1e-9), axis=2) & (pigment > 1.5 * pigment[:, None])
    if new is not None:
        fresh = np.array([name in new for name in level])
        fuller &= fresh | fresh[:, None]
    step = np.array([*level.values()]) - np.array([*level.values()])[:, None]
    return int(np.sum(fuller & (step > 0.02))), int(np.sum(fuller & (step < -0.02)))


def _noticed(
    chips: ChipSet, names: Sequence[str], light: Sequence[Array], quantity: str, where: str, wish: Wish
) -> None:
    """Absorbance taken as transmittance, or the reverse: the fuller chip reads higher, or values go past all light."""
    if quantity == "reflectance" or (wish.quantity == quantity and wish.unit is not None):
        return
    level: dict[str, float] = {}
    for name, values in zip(names, light, strict=True):
        level.setdefault(name, _level(values))
    rises, falls = _moves(chips, level)
    other = "transmittance" if quantity == "absorbance" else "absorbance"
    if rises and rises > RISES * (rises + falls):
        why = "chips that hold more pigment read as if they let more light through"
        raise looks_like_other(where, quantity, other, why, Remedy.SAY_QUANTITY_OR_CHECK, quantity=other)
    top = max(float(np.quantile(values, 0.75)) for values in light)
    if quantity == "transmittance" and top > 1.1:
        why = f"values of {numeral(top, 3)} would be more light than went in"
        raise looks_like_other(where, quantity, "absorbance or percent", why, Remedy.SAY_ABSORBANCE_OR_PERCENT)


def _blanks_noticed(
    chips: ChipSet, names: Sequence[str], light: Sequence[Array], quantities: Sequence[str], where: str, wish: Wish
) -> None:
    """Of untinted chips one alone tells: a clear plate lets 0.92 through, and its absorbance is near 0.036."""
    clear = {chip.name for chip in chips.chips if chip.is_blank and chip.thickness_mm <= THICKEST_CLEAR_MM}
    for name, values, quantity in zip(names, light, quantities, strict=True):
        seen = float(np.median(values))
        if name not in clear or quantity == "reflectance" or wish.quantity == quantity or seen >= LEAST_OF_CLEAR:
            continue
        if quantity == "transmittance":
            why = f"the untinted chip {name} would let {percent(max(seen, 0.0))} of the light through"
            raise looks_like_other(
                where, quantity, "absorbance", why, Remedy.SAY_QUANTITY_OR_CHECK, quantity="absorbance"
            )
        if -np.log10(max(seen, 1e-12)) <= 1.0:
            why = f"the untinted chip {name} would have an absorbance of {numeral(-np.log10(seen), 2)}"
            raise looks_like_other(
                where, quantity, "transmittance", why, Remedy.SAY_QUANTITY_OR_CHECK, quantity="transmittance"
            )
