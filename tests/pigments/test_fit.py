"""What the fit must learn, on sets whose truth is known (tests/simulation.py) and on open data (tests/authorities)."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from scipy.interpolate import CubicSpline, PchipInterpolator

from tests.authorities.compared import compared
from tests.reference.slow import NM
from tests.simulation import make_set, one_cup, seen, to_chipset
from tintmix.chips.chip import Chip, ChipSet, Pigment, Reading
from tintmix.chips.folder import read_chips, write_chips
from tintmix.errors import FileProblem
from tintmix.optics.difference import delta_e00
from tintmix.pigments.fit import fit
from tintmix.pigments.inference.gather import gather
from tintmix.pigments.inference.together import each_once, unlike_chips, warnings_of
from tintmix.pigments.model import TintModel
from tintmix.resin import Resin

AUTHORITIES = Path(__file__).parents[1] / "authorities"
ERRORS = {"dose_error": 0.02, "thickness_error": 0.05}


def _median_error(model: TintModel, sim: object, beyond: float = 1.0) -> float:
    doses, thickness = sim.questions(60, beyond)  # type: ignore[attr-defined]
    truth = sim.truth_lab(doses, thickness)  # type: ignore[attr-defined]
    return float(np.median(delta_e00(truth, model.lab_draws(doses, thickness).mean(axis=0))))


def _table(name: str) -> np.ndarray:
    lines = [line for line in (AUTHORITIES / name).read_text().splitlines() if line[:1].isdigit()]
    return np.array([[float(cell) for cell in line.split(",")] for line in lines])


def test_the_same_chips_give_the_same_model() -> None:
    chips = to_chipset(make_set(7, "colour", pairs=3, **ERRORS))
    done: list[float] = []
    assert fit(chips).digest() == fit(chips, done.append).digest()
    assert done == sorted(done)
    assert len(done) > len(chips.pigments)


def test_several_sets_are_one_fit_and_sharpen_one_another() -> None:
    """readings.md: a few L*a*b* chips sharpen camera readings of the same cups."""
    ratios = []
    for seed in range(20, 26):
        camera = to_chipset(make_set(seed, "camera", camera="stacked", **ERRORS))
        colour = to_chipset(make_set(seed, "colour", **ERRORS))
        few = tuple(chip for chip in colour.chips if chip.name in ("p1-0.06-12mm", "p2-0.06-12mm", "p3-0.06-12mm"))
        assert len(few) == 3
        sim = make_set(seed, "colour", **ERRORS)
        both = fit([camera, replace(colour, chips=few)])
        ratios.append(_median_error(both, sim) / _median_error(fit(camera), sim))
    assert np.median(ratios) < 0.8


def test_what_one_set_lacks_and_another_holds_is_not_missed(tmp_path: Path) -> None:
    """Of two sets in one fit one has the untinted chips, and each holds one chip of the third pigment."""
    whole = to_chipset(make_set(31, "colour", **ERRORS))
    third = [chip for chip in whole.chips if chip.doses_phr[2] > 0 and not any(chip.doses_phr[:2])]

    def part(name: str, *kept: Chip) -> ChipSet:
        return read_chips(write_chips(replace(whole, chips=kept), tmp_path / name))

    blanks = [chip for chip in whole.chips if chip.is_blank]
    rest = [chip for chip in whole.chips if chip not in third and not chip.is_blank]
    halves = [part("tinted", *rest, third[0]), part("other", *blanks, *rest, third[1])]
    assert "no untinted chip" in " ".join(halves[0].warnings)
    assert all("is in a single chip" in " ".join(half.warnings) for half in halves)
    told = " ".join(fit(halves).report["warnings"])
    assert "no untinted chip" not in told
    assert "is in a single chip" not in told
    assert " ".join(fit([halves[0], part("second", *rest, third[1])]).report["warnings"]).count("no untinted chip") == 1


@pytest.mark.parametrize(("times", "told"), [(1.003, ""), (1.04, "taken as one cup"), (1.5, None), (0.0, None)])
def test_a_cup_of_one_name_and_two_doses_is_refused_or_told(times: float, told: str | None) -> None:
    """0.3 % is rounding; 4 % may be two weighings to 2 %; half as much again, or none, is another cup or a mistyped dose."""
    one = replace(to_chipset(make_set(31, "colour", **ERRORS)), title="first", folder=None)
    cup = next(chip for chip in one.chips if chip.doses_phr[0] > 0).cup
    read_again = replace(one, chips=tuple(replace(c, values=(c.values[0] + 0.01, *c.values[1:])) for c in one.chips))
    two = replace(one, chips=tuple(
        replace(c, doses_phr=(c.doses_phr[0] * times, *c.doses_phr[1:])) if c.cup == cup else c for c in read_again.chips
    ), title="second")  # fmt: skip
    if told is None:
        with pytest.raises(FileProblem) as refused:
            fit([one, two])
        assert all(word in str(refused.value) for word in (cup, "first", "second")), refused.value
        return
    said = [sentence for sentence in fit([one, two]).report["warnings"] if f"cup {cup} " in sentence]
    assert (told in said[0]) if told else not said


def test_what_is_read_once_counts_once() -> None:
    """A set given twice is refused; of one that holds some chips of another, those are left out, and it is said."""
    one = replace(to_chipset(make_set(31, "colour", **ERRORS)), title="first", folder=None)
    with pytest.raises(FileProblem, match="same readings as first"):
        each_once([one, replace(one, title="second")])
    halves = [replace(one, chips=one.chips[:3], title="some"), one]
    kept = each_once(halves)
    assert kept[0] is halves[0]
    assert [chip.use for chip in kept[1].chips[:4]] == [False, False, False, True]
    assert f"left out of first: {one.chips[0].name}" in kept[1].warnings[-1]
    assert each_once([one]) == (one,)


def test_a_chip_of_one_name_and_two_thicknesses_is_told_and_taken_as_two() -> None:
    one = replace(to_chipset(make_set(31, "colour", **ERRORS)), title="first", folder=None)
    chip = one.chips[-1]
    two = replace(
        one,
        chips=tuple(replace(c, thickness_mm=2 * c.thickness_mm) if c is chip else c for c in one.chips),
        title="second",
    )
    said = unlike_chips([one, two])
    assert list(said) == [chip.name]
    assert "in first and" in said[chip.name]
    assert said[chip.name] in warnings_of([one, two])
    assert not unlike_chips([one, one])
    poured = gather([one, two]).observations.poured
    assert len(set(poured)) == len(one.chips) + 1
    assert poured[len(one.chips) - 1] != poured[-1]


def test_a_pigment_never_poured_alone_is_learnt_from_its_mixtures() -> None:
    sim = make_set(31, "colour", pairs=3)
    chips = to_chipset(sim)
    kept = tuple(
        chip for chip in chips.chips if not (chip.doses_phr[2] > 0 and chip.doses_phr[0] == chip.doses_phr[1] == 0)
    )
    model = fit(replace(chips, chips=kept))
    doses, thickness = np.array([[0.06, 0.0, 0.06], [0.0, 0.06, 0.06]]), np.array([6.0, 6.0])
    assert delta_e00(sim.truth_lab(doses, thickness), model.lab_draws(doses, thickness).mean(axis=0)).max() < 1.5


def test_one_cup_tells_its_own_look_and_says_what_would_help() -> None:
    sim = one_cup(12, (3.0, 12.0))
    model = fit(to_chipset(sim))
    look = model.look({"mix": 1.0}, [12.0, 60.0])
    assert delta_e00(look.lab[0], sim.truth_lab(np.ones((1, 1)), np.array([12.0]))[0]) < 1.0
    assert look.delta_e00_95[1] > look.delta_e00_95[0]
    assert look.thickness_extrapolated == (False, True)
    assert "cup" in model.report["next_cup"]
    assert "one thickness" not in " ".join(model.report["warnings"])


def test_no_cup_is_promised_to_tell_what_lies_between_the_nodes_of_the_grid() -> None:
    forecast = fit(to_chipset(make_set(107, "spectrum", family="narrow", slit_nm=10.0, dose_error=0.02))).report[
        "forecast"
    ]
    assert not forecast["helps"]
    assert 0.9 < forecast["then_delta_e00"] / forecast["typical_delta_e00"] <= 1.0


@pytest.mark.parametrize("seed", [9202, 9203, 9213])
def test_one_cup_of_narrow_bands_lies_in_its_band(seed: int) -> None:
    """Cups that the families of other sets leave out of theirs: their bands are narrower than a maker's usual pigments have."""
    sim = one_cup(seed, family="narrow")
    dose, thick_mm = np.ones((1, 1)), np.array([60.0])
    model = fit(to_chipset(sim))
    assert "one thickness" in " ".join(model.report["warnings"])
    draws = model.lab_draws(dose, thick_mm)
    mean = draws.mean(axis=0)
    off = delta_e00(sim.truth_lab(dose, thick_mm), mean)[0]
    assert off <= np.quantile(delta_e00(draws, mean)[:, 0], 0.95)


def test_agreement_is_told_of_chips_that_there_are_others_to_agree_with() -> None:
    """A single chip is explained by anything: that it agrees says nothing of it."""
    single = fit(to_chipset(one_cup(5001))).report["health"]["says"]
    assert "no chip is doubted" not in single
    assert "no chip is doubted" in fit(to_chipset(one_cup(5001, (3.0, 12.0)))).report["health"]["says"]


def test_half_a_cup_knows_no_volume_correction() -> None:
    model = fit(to_chipset(one_cup(12, (3.0, 12.0))))
    assert model.volume_per_phr.tolist() == [0.0]


def test_beers_law_holds_where_it_holds_and_a_departure_is_found_where_there_is_one() -> None:
    used = []
    for k in (0.0, 4.0):
        sim = make_set(41, "spectrum", doses=(0.02, 0.06, 0.12, 0.2), dose_error=0.005)
        chips = to_chipset(sim)
        if k:
            bent = replace(sim, true_doses=sim.true_doses / (1 + k * sim.true_doses))
            chips = replace(
                chips,
                chips=tuple(
                    replace(chip, values=tuple(row))
                    for chip, row in zip(
                        chips.chips, seen(bent, bent.truth_factor(bent.true_doses, bent.true_thickness)), strict=True
                    )
                ),
            )
        report = fit(chips).report
        used.append([report["pigments"][p]["departure"]["used"] for p in ("p1", "p2", "p3")])
        if k:
            found = [report["pigments"][p]["departure"]["k"] for p in ("p1", "p2", "p3")]
            assert np.median(found) == pytest.approx(k, rel=0.35)
    assert used == [[False] * 3, [True] * 3]


def test_haemoglobin_mixtures_obey_their_isosbestic_points() -> None:
    """At an isosbestic wavelength a mixture's absorbance depends on its total alone, whatever the ratio.

    Two pigments with the absorptivities of HbO2 and Hb (S. Prahl's compilation, tests/authorities), each scaled to the
    same absorbance at the crossing of 500.1 nm: mixtures from all of one to all of the other must be predicted alike
    there, to 1 %.
    """
    sim = make_set(5, "spectrum", pigments=2, family="blood", noise=0.001)
    model = fit(to_chipset(sim))
    band = int(np.flatnonzero(model.wavelengths_nm == 500)[0])
    crossing = sim.absorptivity[:, int(np.flatnonzero(NM == 500)[0])]
    predicted = [
        model.absorptivity[:, band] @ (np.array([part, 1 - part]) / crossing) for part in (0.0, 0.25, 0.5, 1.0)
    ]
    source = "isosbestic point at 500.1 nm of S. Prahl's compilation, https://omlc.org"
    compared("haemoglobin, any mixture where the two cross", predicted, predicted[0], within=0.01, source=source)


def test_platinum_cobalt_dilutions_are_within_the_limits_of_the_standard() -> None:
    """ASTM D1209 Table 1, No. 500 stock, 10 mm path against water: made from the middle of the limits, diluted, fitted.

    The set is read against the untinted resin ("untinted"), as the standard reads against water, and spectra between
    the four wavelengths are joined smoothly; the prediction for the undiluted stock, never shown to the fit, must lie
    within the limits.
    """
    limits = _table("platinum_cobalt_500.csv")
    nm = np.arange(400.0, 701.0, 10.0)
    # Joined smoothly through the standard's four points, with a shoulder before and a tail behind them.
    points = np.vstack([[[390, 0.13], [410, 0.12]], np.column_stack([limits[:, 0], limits[:, 1:].mean(axis=1)]),
                        [[560, 0.02], [620, 0.008], [710, 0.004]]])  # fmt: skip
    middle = PchipInterpolator(points[:, 0], points[:, 1])(nm)
    chips = [
        Chip(f"n{n}-{t}", f"n{n}", (n / 500,), float(t), tuple((10 ** (-middle * n / 500 * t / 10)).tolist()))
        for n in (50, 100, 200, 300)
        for t in (5, 10)
    ]
    reading = Reading("spectrum", "untinted", "total", wavelengths_nm=tuple(nm.tolist()), reading_spread=0.001)
    # Doses are parts of the stock, not phr: the mix has no volume of its own.
    chips = ChipSet(reading, (Pigment("stock", density_g_per_cm3=25.0),), tuple(chips), resin=Resin("water"))
    model = fit(chips)
    grid = [float(w) for w in model.wavelengths_nm]
    predicted = 10 * model.absorptivity[0] / (1 + model.volume_per_phr[0])
    for wavelength, low, high in limits:
        absorbance = CubicSpline(grid, predicted)(wavelength)
        source = "ASTM D1209, table 1: middle and half-width of its limits"
        half = 0.5 * (high - low)
        compared("platinum-cobalt stock, from its dilutions", absorbance, low + half, within=half, source=source)


@pytest.mark.parametrize(("fault", "kind"), [("dose", "colour"), ("swap", "colour"), ("reading", "colour")])
def test_the_wrong_chip_is_named(fault: str, kind: str) -> None:
    named = []
    for seed in (60, 61):
        sim = make_set(seed, kind, pairs=3, fault=fault, **ERRORS)
        report = fit(to_chipset(sim)).report
        named.append(bool({c["chip"] for c in report["chips"] if c["doubted"]} & set(sim.culprit_chips)))
    assert all(named)


def test_bad_sets_are_told_in_a_sentence() -> None:
    chips = to_chipset(make_set(1, "colour"))
    with pytest.raises(FileProblem, match="no chip has a reading"):
        fit(replace(chips, chips=()))
    with pytest.raises(FileProblem, match="p3"):
        fit(replace(chips, chips=tuple(c for c in chips.chips if c.doses_phr[2] == 0)))
    with pytest.raises(FileProblem, match="refractive index"):
        fit([chips, replace(to_chipset(make_set(2, "colour")), resin=replace(chips.resin, refractive_index=1.56))])


@pytest.mark.parametrize("seed", [5000, 5001, 5002])
def test_two_sound_spectra_of_one_cup_contradict_nothing(seed: int) -> None:
    """No untinted chip tells base and pigment apart, and the search began where neither could follow."""
    report = fit(to_chipset(one_cup(seed, (3.0, 12.0), kind="spectrum"))).report
    assert not any(chip["doubted"] for chip in report["chips"])


def test_a_steep_bands_peak_that_only_the_palest_chip_shows_is_not_held_against_it() -> None:
    """Bands 15 to 40 nm wide, read as spectra: all but the palest chip are black at the peak."""
    sim = make_set(407, "spectrum", pairs=3, family="narrow", dose_error=0.02, thickness_error=0.05)
    model = fit(to_chipset(sim))
    assert [chip["chip"] for chip in model.report["chips"] if chip["doubted"]] == []
