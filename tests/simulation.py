"""Simulated chip sets with a known truth, made at 1 nm without tintmix's optics.

`make_set` pours a ladder of cups, errs as a maker does, and reads the chips; `one_cup` is the quick way with one mix;
`read_again` reads some of the chips with a second instrument.
Seeds below 1000 are for tuning, 5000 and above for figures that are reported; nothing that was tuned saw the latter.
TINTMIX_FIRST_SEED=20000 lets every program of tests/accuracy report on seeds that nobody has looked at yet.
"""

from __future__ import annotations

import dataclasses
import os
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from tests.reference import absorbers, batched, slow
from tests.reference.folders import to_chipset, write_folder
from tests.reference.slow import NM, Array

__all__ = [
    "REPORTING_SEEDS",
    "TUNING_SEEDS",
    "SimSet",
    "camera_hidden",
    "camera_measured",
    "make_set",
    "many_cups",
    "one_cup",
    "read_again",
    "to_chipset",
    "write_folder",
]

TUNING_SEEDS = range(1000)
FIRST_SEED = int(os.environ.get("TINTMIX_FIRST_SEED", "5000"))
REPORTING_SEEDS = range(FIRST_SEED, FIRST_SEED + 1000)
DEFAULT_NOISE = {"spectrum": 0.003, "colour": 0.3, "camera": 0.01}
SPECTRUM_NM: Array = np.arange(380.0, 731.0, 10.0)
PANELS = ("LED-B1", "LED-B2", "LED-B3", "LED-B4", "LED-B5", "LED-BH1", "LED-V1", "LED-V2")
CAMERAS = {"filter": "Nikon 5100 (NPL)", "stacked": "Sigma SDMerill (NPL)"}
ZERO_SPREAD = 0.001
SHARED_ERROR = 0.005
"""Relative dose error that all pigments of a cup share: the resin's own weighing (measures.md)."""
_BY_CHIP = ("doses_phr", "thickness_mm", "true_doses", "true_thickness")


@dataclass(frozen=True, slots=True)
class SimSet:
    """A chip set and what is true of it. N chips, P pigments.

    doses_phr, thickness_mm: as the label says. true_doses, true_thickness: as poured. readings: (N, M) spectrum, (N, 3)
    L*a*b* or channels. camera_nm, camera_rgb: the table a maker would be given, None where the camera is not known.
    panel_power: (421,), of a panel that the maker does not know and calls "unknown". scatter: (1 + P,), per mm and per mm and
    phr, of resin and pigments that were read straight through; None where nothing scatters and the set says so. told: how the
    set tells haze, '' (not at all), 'percent' or 'word'.
    """

    seed: int
    kind: str
    pigments: tuple[str, ...]
    families: tuple[str, ...]
    absorptivity: Array
    base: Array
    names: tuple[str, ...]
    cups: tuple[str, ...]
    doses_phr: Array
    thickness_mm: Array
    true_doses: Array
    true_thickness: Array
    readings: Array
    noise: float
    declared_noise: float
    dose_error: float
    thickness_error: float
    refractive_index: float = 1.5
    volume_per_phr: float = 0.01
    light: str = "D65"
    observer: int = 10
    wavelengths_nm: Array | None = None
    slit_nm: float = 0.0
    camera: str = ""
    camera_nm: Array | None = None
    camera_rgb: Array | None = None
    true_sensitivities: Array | None = None
    adaptation: str = "CAT16"
    contrast: float = 0.0
    panel: str = ""
    panel_power: Array | None = None
    scatter: Array | None = None
    told: str = ""
    fault: str | None = None
    culprit_chips: tuple[str, ...] = ()
    culprit_cups: tuple[str, ...] = ()

    @property
    def one_cup(self) -> bool:
        return self.pigments == ("mix",)

    def truth_factor(self, doses: Array, thickness_mm: Array) -> Array:
        """External transmittance (N, 421) of sections (N,) with doses (N, P), in the true resin."""
        return batched.plate(
            batched.internal(doses, thickness_mm, self.base, self.absorptivity, self.volume_per_phr),
            self.refractive_index,
        )

    def haze(self, doses: Array, thickness_mm: Array) -> Array:
        """True haze (N,), a fraction."""
        if self.scatter is None:
            return np.zeros(len(doses))
        effective = doses / (1 + doses.sum(axis=1, keepdims=True) * self.volume_per_phr)
        return np.asarray(1 - np.exp(-thickness_mm * (self.scatter[0] + effective @ self.scatter[1:])))

    def truth_lab(self, doses: Array, thickness_mm: Array, light: str = "D65", observer: int = 10) -> Array:
        """True L*a*b* (N, 3) against the bare light."""
        return batched.lab(self.truth_factor(doses, thickness_mm), light, observer)

    def truth_luminous(self, doses: Array, thickness_mm: Array, light: str = "D65") -> Array:
        """True luminous transmittance (N,)."""
        return batched.luminous(self.truth_factor(doses, thickness_mm), light)

    def questions(self, how_many: int = 200, beyond: float = 1.0, darkest: float = 0.02) -> tuple[Array, Array]:
        """Random mixtures to predict: doses (N, P), thickness (N,), from the set's seed.

        One to all pigments, each log-uniform between the lowest and highest chip dose, in all no more than the highest;
        thickness uniform from the thinnest chip to `beyond` times the thickest, and past the thickest where beyond > 1.
        Sections that let less than `darkest` of the light through are left out: CIEDE2000 hardly sees them.
        """
        rng = np.random.default_rng([self.seed, 77, round(beyond * 100)])
        low, high = _span(self.doses_phr)
        thin, thick = float(self.thickness_mm.min()), float(self.thickness_mm.max())
        span = (thick, beyond * thick) if beyond > 1 else (thin, thick)
        kept_doses, kept_thickness, found = [], [], 0
        for _ in range(100):
            n, count = 4 * how_many, len(self.pigments)
            doses = np.exp(rng.uniform(np.log(low), np.log(high), (n, count)))
            order = rng.random((n, count)).argsort(axis=1)
            doses = np.where(order < rng.integers(1, count + 1, n)[:, None], doses, 0.0)
            doses *= np.minimum(1.0, high / doses.sum(axis=1))[:, None]
            thickness = rng.uniform(*span, n)
            good = self.truth_luminous(doses, thickness) >= darkest
            kept_doses.append(doses[good])
            kept_thickness.append(thickness[good])
            found += int(good.sum())
            if found >= how_many:
                break
        return np.concatenate(kept_doses)[:how_many], np.concatenate(kept_thickness)[:how_many]


def make_set(
    seed: int,
    kind: str = "colour",
    *,
    pigments: int = 3,
    doses: tuple[float, ...] = (0.02, 0.06, 0.2),
    thicknesses: tuple[float, ...] = (3.0, 12.0),
    pairs: int = 0,
    pair_doses: tuple[float, float] = (0.06, 0.06),
    dose_error: float = 0.0,
    dose_by: str = "each",
    thickness_error: float = 0.0,
    noise: float | None = None,
    declared_noise: float | None = None,
    fault: str | None = None,
    blanks: bool = True,
    family: str = "mixed",
    camera: str | None = None,
    panel: str | None = None,
    panel_known: bool = True,
    adaptation: str = "CAT16",
    contrast: float = 0.0,
    light: str = "D65",
    observer: int = 10,
    wavelengths_nm: Array | None = None,
    slit_nm: float = 0.0,
    haze: float | str | None = None,
    told: str = "",
    resin: Array | None = None,
) -> SimSet:
    """A ladder: a cup for each pigment and dose, `pairs` two-pigment cups and an untinted one, each poured at every thickness.

    dose_error: relative. dose_by: 'each', a factor of its own for each pigment of a cup, as each goes onto the scale by
    itself, and SHARED_ERROR that the cup shares; 'cup', one factor for all of them. thickness_error: mm, one error a chip.
    slit_nm: width at half height of a spectrophotometer's triangular slit, 0 for none.
    noise: as `reading_spread` in formats.md; a camera adds its dark end. fault: 'dose' (one cup holds 1.4 times its
    label), 'swap' (two labels changed over), 'reading' (one reading 5 CIEDE2000 off). camera: 'filter' or 'stacked'
    (colour-science's two), 'drawn' (readings.md's prior; the set then says it is unknown), 'rendered' (a JPEG whose matrix
    is the eye's), 'phone' (one by a drawn camera and the best matrix for it); None picks one of the first two. adaptation,
    contrast: as in `batched.rendered`.
    panel: a CIE light, 'drawn' (a white LED that is none of CIE's; the set then says it is unknown), None picks one of
    PANELS; panel_known=False makes the set say that it is unknown. haze: None, nothing scatters and the set says so;
    else chips are read straight through: the resin's haze at 3 mm, or 'prior', of resin and pigments by the fit's prior;
    told: how the set tells it, '', 'percent' (0.3 off, to a tenth) or 'word'. resin: its absorption per mm (421,); None
    draws one.
    The truth (pigments, resin) depends on seed, pigments and family alone, so that kinds and designs can be compared.
    """
    truth_rng, rng = np.random.default_rng([seed, 1]), np.random.default_rng([seed, 2])
    absorptivity, families = absorbers.draw(truth_rng, pigments, family)
    base = absorbers.random_resin(truth_rng) if resin is None else resin
    names = tuple(f"p{p + 1}" for p in range(pigments))
    pot: list[tuple[str, Array]] = []
    for p in range(pigments):
        pot += [(f"{names[p]}-{dose:g}", dose * np.eye(pigments)[p]) for dose in doses]
    corners = [(i, j) for gap in range(1, pigments) for i in range(pigments) if (j := i + gap) < pigments]
    for i, j in corners[:pairs]:
        pot.append(
            (f"{names[i]}+{names[j]}", pair_doses[0] * np.eye(pigments)[i] + pair_doses[1] * np.eye(pigments)[j])
        )
    if blanks:
        pot.append(("blank", np.zeros(pigments)))
    sim = _poured(seed, kind, names, families, absorptivity, base, pot, thicknesses, dose_error, thickness_error, rng,
                  dose_by)  # fmt: skip
    if fault == "dose":
        sim = _wrong_dose(sim, rng)
    sim = dataclasses.replace(sim, adaptation=adaptation, contrast=contrast, slit_nm=slit_nm)
    sim = _instrument(sim, kind, light, observer, wavelengths_nm, camera, panel)
    if haze is not None:
        sim = dataclasses.replace(sim, scatter=_scatter(sim, haze), told=told)
    if kind == "camera" and not panel_known and sim.panel_power is None:
        # What a JPEG is made of is its light's; that stays in `light`.
        sim = dataclasses.replace(sim, panel="unknown", panel_power=slow.light_power(sim.panel))
    sim = _read(sim, DEFAULT_NOISE[kind] if noise is None else noise, rng)
    if fault == "swap":
        sim = _swapped(sim, rng)
    if fault == "reading":
        sim = _shifted(sim, rng)
    return sim if declared_noise is None else dataclasses.replace(sim, declared_noise=declared_noise)


def many_cups(seed: int, cups: int, kind: str = "colour", pigments: int = 10) -> SimSet:
    """So many cups of two chips, three of five with one pigment, the others with two, doses drawn; 2 % and 0.05 mm off."""
    truth_rng, rng, pot_rng = (np.random.default_rng([seed, stream]) for stream in (1, 2, 3))
    absorptivity, families = absorbers.draw(truth_rng, pigments, "mixed")
    base = absorbers.random_resin(truth_rng)
    pot = [("blank", np.zeros(pigments))]
    for i in range(1, cups):
        doses = np.zeros(pigments)
        mixed = i % 5 >= 3
        which = pot_rng.choice(pigments, 2, replace=False) if mixed else [3 * i // 5 % pigments]
        doses[which] = np.exp(pot_rng.uniform(np.log(0.02), np.log(0.12 if mixed else 0.2), len(which))).round(4)
        pot.append((f"cup {i}", doses))
    names = tuple(f"p{p + 1}" for p in range(pigments))
    sim = _poured(seed, kind, names, families, absorptivity, base, pot, (3.0, 12.0), 0.02, 0.05, rng, "each")
    return _read(_instrument(sim, kind, "D65", 10, None, None, None), DEFAULT_NOISE[kind], rng)


def one_cup(
    seed: int,
    thicknesses: tuple[float, ...] = (12.0,),
    *,
    kind: str = "colour",
    noise: float | None = None,
    thickness_error: float = 0.0,
    family: str = "mixed",
) -> SimSet:
    """One cup of a random mix as a maker makes it by eye: one pigment 'mix' of dose 1, nothing untinted.

    One to three pigments, strong enough that 12 mm lets no more than 80 %, and at least 35 %, of a clear plate's light through.
    """
    truth_rng, rng = np.random.default_rng([seed, 3]), np.random.default_rng([seed, 4])
    count = int(truth_rng.integers(1, 4))
    parts, families = absorbers.draw(truth_rng, count, family)
    base = absorbers.random_resin(truth_rng)
    mix = (np.exp(truth_rng.normal(0, 0.7, count)) * (1 / parts[:, 40:341].mean(axis=1))) @ parts
    wanted, low, high = -np.log10(truth_rng.uniform(0.35, 0.80)), -6.0, 3.0
    for _ in range(60):
        middle = 0.5 * (low + high)
        through = batched.luminous(10.0 ** (-12.0 * mix * 10.0**middle)[None, :], "D65")[0]
        low, high = (middle, high) if -np.log10(through) < wanted else (low, middle)
    mix = (mix * 10.0**low)[None, :]
    pot = [("mix", np.ones(1))]
    sim = _poured(seed, kind, ("mix",), ("+".join(families),), mix, base, pot, thicknesses, 0.0, thickness_error, rng)
    sim = dataclasses.replace(_instrument(sim, kind, "D65", 10, None, None, None), volume_per_phr=0.0)
    return _read(sim, DEFAULT_NOISE[kind] if noise is None else noise, rng)


def _poured(
    seed: int,
    kind: str,
    pigments: tuple[str, ...],
    families: tuple[str, ...],
    absorptivity: Array,
    base: Array,
    pot: list[tuple[str, Array]],
    thicknesses: tuple[float, ...],
    dose_error: float,
    thickness_error: float,
    rng: np.random.Generator,
    dose_by: str = "each",
) -> SimSet:
    """Chips of every thickness from every cup, with the errors of scale and mould."""
    factors = np.exp(rng.normal(0, 1, (len(pot), 1)) * dose_error)
    if dose_by == "each" and dose_error:
        shared = np.exp(rng.normal(0, 1, (len(pot), 1)) * SHARED_ERROR)
        factors = shared * np.exp(rng.normal(0, 1, (len(pot), len(pigments))) * dose_error)
    cups = [cup for cup, _ in pot for _ in thicknesses]
    doses = np.repeat(np.array([dose for _, dose in pot]), len(thicknesses), axis=0)
    thickness = np.tile(np.array(thicknesses), len(pot))
    return SimSet(
        seed=seed,
        kind=kind,
        pigments=pigments,
        families=families,
        absorptivity=absorptivity,
        base=base,
        names=tuple(f"{cup}-{t:g}mm" for cup, t in zip(cups, thickness, strict=True)),
        cups=tuple(cups),
        doses_phr=doses,
        thickness_mm=thickness,
        true_doses=doses * np.repeat(factors, len(thicknesses), axis=0),
        true_thickness=thickness + rng.normal(0, 1, len(thickness)) * thickness_error,
        readings=np.empty((0, 0)),
        noise=0.0,
        declared_noise=0.0,
        dose_error=dose_error,
        thickness_error=thickness_error,
    )


def _instrument(
    sim: SimSet,
    kind: str,
    light: str,
    observer: int,
    wavelengths_nm: Array | None,
    camera: str | None,
    panel: str | None,
) -> SimSet:
    """What reads the chips. The camera and panel have a stream of their own, so that other choices do not move them."""
    if kind == "spectrum":
        return dataclasses.replace(sim, wavelengths_nm=SPECTRUM_NM if wavelengths_nm is None else wavelengths_nm)
    if kind == "colour":
        return dataclasses.replace(sim, light=light, observer=observer)
    rng = np.random.default_rng([sim.seed, 5])
    panel = str(rng.choice(PANELS)) if panel is None else panel
    camera = str(rng.choice(list(CAMERAS))) if camera is None else camera
    if panel == "drawn":
        sim, panel = dataclasses.replace(sim, panel_power=drawn_panel(np.random.default_rng([sim.seed, 8]))), "unknown"
    if camera in CAMERAS:
        nm, rgb = slow.camera_table(CAMERAS[camera])
        known: dict[str, Any] = {
            "camera_nm": nm,
            "camera_rgb": rgb,
            "true_sensitivities": slow.camera_sensitivities(CAMERAS[camera]),
        }
        return dataclasses.replace(sim, camera=camera, panel=panel, light=panel, **known)
    if camera == "drawn":
        drawn = batched.drawn_camera(rng)
        return dataclasses.replace(sim, camera="unknown", panel=panel, light=panel, true_sensitivities=drawn)
    if camera in ("rendered", "phone"):
        own = batched.drawn_camera(rng) if camera == "phone" else None
        return dataclasses.replace(sim, camera="rendered", panel=panel, light=panel, observer=2, true_sensitivities=own)
    raise ValueError(f"no camera is called {camera!r}: filter, stacked, drawn, rendered, phone")


def seen(sim: SimSet, factor: Array) -> Array:
    """What the set's instrument reads, without noise, of chips of external transmittance (N, 421)."""
    if sim.kind == "spectrum":
        assert sim.wavelengths_nm is not None
        if sim.slit_nm:
            factor = through_slit(factor, sim.slit_nm)
        return np.stack([np.interp(sim.wavelengths_nm, NM, row) for row in factor])
    if sim.kind == "colour":
        return batched.lab(factor, sim.light, sim.observer)
    if sim.camera == "rendered":
        return batched.rendered(factor, sim.light, sim.adaptation, sim.contrast, sim.true_sensitivities)
    assert sim.true_sensitivities is not None
    if sim.panel_power is not None:
        weights = sim.panel_power[:, None] * sim.true_sensitivities
        return np.asarray(factor @ (weights / weights.sum(axis=0)), dtype=np.float64)
    return batched.channels(factor, sim.true_sensitivities, sim.panel)


def through_slit(factor: Array, width_nm: float) -> Array:
    """Factors (N, 421) as a triangular slit of this width at half height passes them, summed at 1 nm."""
    weights = np.maximum(1 - np.abs(NM[:, None] - NM) / width_nm, 0.0)
    return np.asarray(factor @ (weights / weights.sum(axis=0)), dtype=np.float64)


def _read(sim: SimSet, noise: float, rng: np.random.Generator) -> SimSet:
    straight = 1 - sim.haze(sim.true_doses, sim.true_thickness)
    clean = seen(sim, straight[:, None] * sim.truth_factor(sim.true_doses, sim.true_thickness))
    unit = rng.normal(0, 1, (2, *clean.shape))
    if sim.kind == "camera":
        read = clean * (1 + noise * unit[0]) + ZERO_SPREAD * unit[1]
        read = np.clip(read, 0.0, 1.0) if sim.camera == "rendered" else read
    else:
        read = clean + noise * unit[0]
    # No instrument prints a negative lightness, and none prints ten digits.
    if sim.kind == "colour":
        read[:, 0] = np.maximum(read[:, 0], 0.0)
    return dataclasses.replace(
        sim, readings=np.round(read, 3 if sim.kind == "colour" else 5), noise=noise, declared_noise=noise
    )


def _scatter(sim: SimSet, haze: float | str) -> Array:
    """Scatter (1 + P,) of the resin, with this haze at 3 mm, and of its pigments; 'prior': half-normal, 3 % at 3 mm of the
    resin, 0.5 % of each pigment at its strongest. The pigments have a stream of their own."""
    count = len(sim.pigments)
    if haze != "prior":
        return np.concatenate([[-np.log1p(-float(haze)) / 3.0], np.zeros(count)])
    drawn = np.abs(np.random.default_rng([sim.seed, 9]).normal(0, 1, 1 + count))
    return drawn * np.concatenate([[0.03], 0.005 / sim.doses_phr.max(axis=0)]) / 3.0


def drawn_panel(rng: np.random.Generator) -> Array:
    """Power (421,) of a white LED that is none of CIE's: a blue pump and a broad phosphor, leaning to red (shapes and
    spans: common practice).
    """
    pump = np.exp(-0.5 * ((NM - rng.uniform(443, 462)) / rng.uniform(8, 13)) ** 2)
    peak, blue_side, red_side = rng.uniform(535, 605), rng.uniform(32, 48), rng.uniform(48, 68)
    phosphor = np.exp(-0.5 * ((NM - peak) / np.where(peak > NM, blue_side, red_side)) ** 2)
    return np.asarray(rng.uniform(0.4, 2.2) * pump + phosphor + 1e-4, dtype=np.float64)


def camera_measured(sim: SimSet) -> SimSet:
    """The same set, its drawn camera given with the table of its sensitivities."""
    return dataclasses.replace(sim, camera="measured", camera_nm=NM, camera_rgb=sim.true_sensitivities)


def camera_hidden(sim: SimSet) -> SimSet:
    """The same set, its camera not told."""
    return dataclasses.replace(sim, camera="unknown", camera_nm=None, camera_rgb=None)


def read_again(
    sim: SimSet, kind: str, rows: Sequence[int] | None = None, noise: float | None = None, **how: Any
) -> SimSet:
    """Some of a set's chips (rows; None: all) read once more: as L*a*b* by a colorimeter, or by the same camera on
    another panel (how: light, observer, panel).
    """
    at = np.arange(len(sim.names)) if rows is None else np.asarray(rows)
    rng = np.random.default_rng([sim.seed, 6, *kind.encode(), *str(how).encode()])
    told: dict[str, Any] = {"kind": kind}
    if kind == "colour":
        told |= {"camera": "", "camera_nm": None, "camera_rgb": None, "light": "D65", "observer": 10, "panel": ""}
    told |= {part: getattr(sim, part)[at] for part in _BY_CHIP}
    told |= {part: tuple(getattr(sim, part)[r] for r in at) for part in ("names", "cups")}
    again = dataclasses.replace(sim, **(told | how))
    return _read(again, DEFAULT_NOISE[kind] if noise is None else noise, rng)


# Faults ---------------------------------------------------------------------------------------------------------------


def _wrong_dose(sim: SimSet, rng: np.random.Generator, by: float = 1.4) -> SimSet:
    tinted = sorted({cup for cup, doses in zip(sim.cups, sim.doses_phr, strict=True) if doses.any()})
    culprit = tinted[int(rng.integers(len(tinted)))]
    wrong = np.array([cup == culprit for cup in sim.cups])
    chips = tuple(name for name, cup in zip(sim.names, sim.cups, strict=True) if cup == culprit)
    true = np.where(wrong[:, None], by * sim.true_doses, sim.true_doses)
    return dataclasses.replace(sim, true_doses=true, fault="dose", culprit_chips=chips, culprit_cups=(culprit,))


def _swapped(sim: SimSet, rng: np.random.Generator, at_least: float = 5.0) -> SimSet:
    """Two readings changed over, of chips that look at least 5 CIEDE2000 apart: a lesser slip is nobody's culprit."""
    lab = sim.truth_lab(sim.true_doses, sim.true_thickness)
    for _ in range(1000):
        one, other = (int(at) for at in rng.choice(len(sim.names), 2, replace=False))
        if float(slow.delta_e00(lab[one], lab[other])) >= at_least:
            break
    read = sim.readings.copy()
    read[[one, other]] = read[[other, one]]
    culprits = (sim.names[one], sim.names[other])
    cups = tuple(dict.fromkeys((sim.cups[one], sim.cups[other])))
    return dataclasses.replace(sim, readings=read, fault="swap", culprit_chips=culprits, culprit_cups=cups)


def _shifted(sim: SimSet, rng: np.random.Generator, by: float = 5.0) -> SimSet:
    """One reading 5 CIEDE2000 off in a random direction; not a colour: as if a tinted film lay on the chip."""
    lab = sim.truth_lab(sim.true_doses, sim.true_thickness)
    at = int(rng.choice(np.flatnonzero(lab[:, 0] > 15)))
    direction = rng.normal(0, 1, 3)
    if lab[at, 0] > 80:
        # Brighter than a clear plate is a reading that the file's reader refuses.
        direction[0] = -abs(direction[0])
    factor = sim.truth_factor(sim.true_doses[[at]], sim.true_thickness[[at]])
    film = np.maximum(0.0, 1.0 + rng.uniform(-1, 1) * (NM - 550) / 100)
    moved = sim.readings[at]
    low, high = 0.0, 40.0
    for _ in range(50):
        size = 0.5 * (low + high)
        if sim.kind == "colour":
            moved = sim.readings[at] + size * direction / np.linalg.norm(direction)
            apart = float(slow.delta_e00(sim.readings[at], moved))
        else:
            covered = factor * 10.0 ** (-0.05 * size * film)
            moved = sim.readings[at] + seen(sim, covered)[0] - seen(sim, factor)[0]
            apart = float(slow.delta_e00(lab[at], batched.lab(covered)[0]))
        low, high = (size, high) if apart < by else (low, size)
    read = sim.readings.copy()
    read[at] = np.round(moved, 3 if sim.kind == "colour" else 5)
    return dataclasses.replace(
        sim, readings=read, fault="reading", culprit_chips=(sim.names[at],), culprit_cups=(sim.cups[at],)
    )


def _span(doses: Array) -> tuple[float, float]:
    used = doses[doses > 0]
    return float(used.min()), float(used.max())
