"""Which cups to pour: the search against brute force, the promises of a plan, and what it gains through the whole fit."""

from __future__ import annotations

import dataclasses
from itertools import combinations

import numpy as np
import pytest

from tests.recipes.shelf import make_model
from tests.reference import tile as slow_tile
from tests.simulation import make_set, one_cup, to_chipset
from tintmix.errors import ValueProblem
from tintmix.optics.colour import lab
from tintmix.optics.detector import eye, luminous
from tintmix.optics.light import ThickBase
from tintmix.optics.plate import external_transmittance
from tintmix.optics.tile import Tile
from tintmix.pigments.design import fedorov_exchange
from tintmix.pigments.design.belief import Belief, model_known, nothing_known, part_dose_of, too_strong_by, trial_known
from tintmix.pigments.design.cups import Plan, least_cups, plan
from tintmix.pigments.design.fedorov_exchange import Aim, Pool, doubt, exchange, losses
from tintmix.pigments.design.sight import channels, colorimeter, look_ahead, read_ahead, spectrophotometer
from tintmix.pigments.design.wish import Wish
from tintmix.pigments.design.worlds import absorber_shapes, of_absorbance, resins
from tintmix.pigments.fit import fit
from tintmix.pigments.model import TintModel

NAMES = ("azure", "emerald", "lemon")
PART = np.array([0.01, 0.02, 0.03])
SECTIONS = (8.0, 60.0)


@pytest.fixture(scope="module")
def unknown() -> Belief:
    return nothing_known(NAMES, PART, 60.0)


@pytest.fixture(scope="module")
def eight(unknown: Belief) -> Plan:
    return plan(unknown, Wish(PART, SECTIONS, (3.0, 6.0, 12.0, 25.0), 8))


@pytest.fixture(scope="module")
def ladder_model() -> TintModel:
    return fit(to_chipset(make_set(7, "colour", doses=(0.02, 0.1), thicknesses=(6.0,))))


# What is believed ---------------------------------------------------------------------------------------------------


def test_plausible_absorbers_differ_and_are_smooth() -> None:
    shapes = absorber_shapes(np.random.default_rng(2), 400)
    assert np.all((shapes > 0) & (shapes <= 1))
    peaks = 380 + 10 * shapes.argmax(axis=1)
    # Peaks everywhere, so that no hue is left out of the worlds.
    assert np.all(np.histogram(peaks, bins=[370, 450, 520, 600, 680, 790])[0] > 20)
    assert np.quantile(np.abs(np.diff(np.log(shapes), axis=1)), 0.99) < 2.0


def test_absorbance_comes_out_as_asked() -> None:
    wanted = np.array([0.1, 0.5, 1.0])
    found = of_absorbance(absorber_shapes(np.random.default_rng(3), 3), wanted)
    reached = -np.log10(10.0**-found @ luminous("D65"))
    # A pale yellow may not get there; nothing overshoots.
    assert np.all(reached <= wanted + 1e-6)
    assert reached[0] == pytest.approx(0.1, abs=1e-6)


def test_plausible_resins_are_clear() -> None:
    through = 10.0 ** (-60.0 * resins(np.random.default_rng(4), 200, 60.0)) @ luminous("D65")
    assert through.min() >= 0.35
    assert np.quantile(through, 0.9) < 0.99


def test_worlds_favour_no_pigment(unknown: Belief) -> None:
    depth = unknown.spectra[:, 1:] * PART[:, None]
    first = np.sort(depth[:, 0].sum(axis=1))
    for other in (1, 2):
        np.testing.assert_allclose(np.sort(depth[:, other].sum(axis=1)), first, rtol=1e-9)


def test_a_trial_makes_the_mix_look_as_it_did() -> None:
    sim = one_cup(3)
    model = fit(to_chipset(sim))
    cup = np.array([0.01, 0.02])
    belief = trial_known(model, ("a", "b"), cup, 60.0)
    detector = eye("D65", 10)
    mixed = lab(external_transmittance(belief.internal(cup[None], 12.0)[:, 0], 1.5) @ detector.weights, detector.bare)
    seen = model.lab_draws(np.ones((1, 1)), np.array([12.0])).mean(axis=0)
    away = np.sqrt(((mixed - seen) ** 2).sum(axis=1))
    assert np.median(away) < 6
    loose = nothing_known(("a", "b"), cup, 60.0)
    other = lab(external_transmittance(loose.internal(cup[None], 12.0)[:, 0], 1.5) @ detector.weights, detector.bare)
    assert np.median(away) < 0.4 * np.median(np.sqrt(((other - seen) ** 2).sum(axis=1)))


def test_a_mix_that_would_be_black_is_told_from_one_that_is_clear(unknown: Belief) -> None:
    assert too_strong_by(unknown, PART, 60.0) == pytest.approx(1.0)
    assert too_strong_by(unknown, 10 * PART, 60.0) > 2
    assert too_strong_by(unknown, PART / 100, 60.0) < 0.5


# What would be read ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("kind", ["colour", "channels", "spectrum", "dry", "wetted"])
def test_slopes_against_finite_differences(unknown: Belief, kind: str) -> None:
    detector = eye("D65", 10)
    instrument = {
        "colour": colorimeter(detector),
        "channels": channels(dataclasses.replace(detector, weights=detector.weights / detector.bare), 0.01, 0.001),
        "spectrum": spectrophotometer(),
        "dry": colorimeter(detector, tile=Tile(np.full(41, 0.85), "dry")),
        "wetted": colorimeter(detector, tile=Tile(np.full(41, 0.85), "wetted", "d/8")),
    }[kind]
    some = dataclasses.replace(unknown, spectra=unknown.spectra[:3])
    doses, mm = np.array([[0.02, 0.0, 0.03], [0.0, 0.0, 0.0]]), np.array([6.0, 25.0])
    sight = look_ahead(instrument, some, doses, mm, 1.5)
    np.testing.assert_allclose(sight.value, read_ahead(instrument, some, doses, mm, 1.5))
    h = 1e-5
    for d in (0, 5, 12, 40):
        moved = dataclasses.replace(some, spectra=some.spectra * np.exp(h * some.columns[..., d]))
        back = dataclasses.replace(some, spectra=some.spectra * np.exp(-h * some.columns[..., d]))
        slope = (read_ahead(instrument, moved, doses, mm, 1.5) - read_ahead(instrument, back, doses, mm, 1.5)) / (2 * h)
        np.testing.assert_allclose(sight.by_unknown[..., d], slope, rtol=2e-4, atol=1e-5)
    up, down = (read_ahead(instrument, some, doses, mm * np.exp(sign * h), 1.5) for sign in (1, -1))
    np.testing.assert_allclose(sight.by_thickness, (up - down) / (2 * h), rtol=2e-4, atol=1e-5)
    up, down = (read_ahead(instrument, some, doses * np.exp(sign * h), mm, 1.5) for sign in (1, -1))
    # The volume correction (below 1e-3 of the dose) is left out of the slope by dose.
    np.testing.assert_allclose(sight.by_dose.sum(axis=-1), (up - down) / (2 * h), rtol=5e-3, atol=1e-4)
    assert np.all(np.linalg.eigvalsh(sight.spread) > 0)


def test_a_chip_on_a_tile_is_read_as_the_slow_law_has_it(unknown: Belief) -> None:
    # tests/reference/tile.py, bounce by bounce, for one grey resin and a grey tile.
    grey = dataclasses.replace(unknown, spectra=np.full((1, 4, 41), 0.05))
    sight = look_ahead(
        colorimeter(eye("D65", 10), tile=Tile(np.full(41, 0.85))), grey, np.array([[0.0] * 3]), np.array([2.0]), 1.5
    )
    tau = 10.0**-0.1
    expected = slow_tile.dry(tau, 0.85, 1.5)
    assert sight.value[0, 0, 0] == pytest.approx(116 * expected ** (1 / 3) - 16, abs=0.02)
    assert sight.returned[0, 0] == pytest.approx(expected / 0.85, abs=3e-4)
    assert sight.light[0, 0] == pytest.approx(0.96**2 * tau / (1 - (0.04 * tau) ** 2), abs=1e-9)


# The search -----------------------------------------------------------------------------------------------------------


def _toy(seed: int = 0, cups: int = 12) -> tuple[Pool, Aim]:
    rng = np.random.default_rng(seed)
    pool = Pool(np.zeros((cups, 1)), np.zeros((cups, 1)), rng.standard_normal((4, cups, 2, 6)))
    return pool, Aim(rng.standard_normal((4, 2, 5, 6)))


def test_losses_against_the_definition() -> None:
    pool, aim = _toy()
    found = losses(pool, aim, [3, 5], np.arange(12))
    for candidate in range(12):
        told = pool.told[:, [3, 5, candidate]].reshape(4, -1, 6)
        covariance = np.linalg.inv(np.eye(6) + told.swapaxes(1, 2) @ told)
        variance = np.einsum("sgqd,sde,sgqe->sg", aim.rows, covariance, aim.rows)
        assert found[candidate] == pytest.approx(np.log(np.sqrt(variance).mean(axis=0)).mean(), rel=1e-9)
    left = doubt(pool, aim, [3, 5, 7]).sum(axis=-1)
    assert np.log(np.sqrt(left).mean(axis=0)).mean() == pytest.approx(found[7], rel=1e-9)


def test_exchange_finds_what_brute_force_finds() -> None:
    gaps = []
    for seed in range(8):
        pool, aim = _toy(seed)
        slots = [np.arange(12)] * 3
        chosen = exchange(pool, aim, slots)
        got = losses(pool, aim, chosen[:2], np.array(chosen[2:]))[0]
        best = min(losses(pool, aim, list(three[:2]), np.array(three[2:]))[0] for three in combinations(range(12), 3))
        gaps.append(got - best)
    assert np.median(gaps) < 2 * fedorov_exchange._WORTH_A_SWAP
    assert max(gaps) < 0.05


def test_exchange_keeps_to_its_slots() -> None:
    pool, aim = _toy(1)
    slots = [np.array([4]), np.array([0, 1, 2]), np.arange(12)]
    chosen = exchange(pool, aim, slots)
    assert chosen[0] == 4
    assert chosen[1] in (0, 1, 2)


# The plan ---------------------------------------------------------------------------------------------------------------


def test_a_plan_keeps_its_promises(eight: Plan) -> None:
    assert len(eight.cups) == 8
    first = eight.cups[0]
    assert not any(first.doses_phr)
    assert first.thicknesses_mm == (25.0,)
    for p in range(3):
        alone = [c for c in eight.cups if c.doses_phr[p] > 0 and np.count_nonzero(c.doses_phr) == 1]
        assert max(c.doses_phr[p] * c.thicknesses_mm[0] for c in alone) >= 0.98 * PART[p] * 60.0
    assert any(np.count_nonzero(c.doses_phr) > 1 for c in eight.cups)
    assert all(0.015 <= light <= 0.92 for cup in eight.cups for light in cup.light)
    thin, thick = eight.forecasts
    for one in (thin, thick):
        assert one.before is None
        assert one.starter is not None
        assert one.further <= one.after < one.starter
        assert one.half is not None
        assert one.half[0] < one.after < one.half[1]
    assert not eight.warnings


def test_a_plan_is_always_the_same(unknown: Belief, eight: Plan) -> None:
    assert plan(unknown, Wish(PART, SECTIONS, (3.0, 6.0, 12.0, 25.0), 8)) == eight


def test_doses_scale_with_the_parts(eight: Plan) -> None:
    part = 10 * PART
    stronger = plan(nothing_known(NAMES, part, 60.0), Wish(part, SECTIONS, (3.0, 6.0, 12.0, 25.0), 8))
    # The pigments' own volume, at ten times the dose, moves little; cups that serve alike may change places.
    totals = [sum(sum(cup.doses_phr) for cup in found.cups) for found in (stronger, eight)]
    assert totals[0] == pytest.approx(10 * totals[1], rel=0.2)


@pytest.mark.parametrize("cast", [(12.0,), (3.0, 45.0, 80.0), (50.0, 60.0)])
def test_the_block_is_as_near_the_thickest_section_as_can_be(cast: tuple[float, ...]) -> None:
    part = np.array([0.01])
    found = plan(nothing_known(("a",), part, 60.0), Wish(part, SECTIONS, cast, 4))
    assert found.cups[0].thicknesses_mm == (min(cast, key=lambda t: abs(t - 60.0)),)


def test_limits_are_kept() -> None:
    part = np.array([0.1, 0.1])
    wish = Wish(
        part,
        (5.0, 20.0),
        (3.0, 10.0),
        6,
        2,
        max_phr=np.array([0.25, 1.0]),
        max_total_phr=0.5,
        least_phr=np.array([0.08, 0.08]),
    )
    found = plan(nothing_known(("a", "b"), part, 20.0), wish)
    for cup in found.cups:
        assert cup.doses_phr[0] <= 0.25
        assert sum(cup.doses_phr) <= 0.5
        assert all(dose == 0 or dose >= 0.079 for dose in cup.doses_phr)
        assert cup.thicknesses_mm == (3.0, 10.0)


def test_two_more_cups_of_a_known_model(ladder_model: TintModel) -> None:
    names = ladder_model.pigments
    part = np.array([part_dose_of(ladder_model, name, 3, 60.0) for name in names])
    assert np.all(part <= 0.5 * ladder_model.highest_phr)
    belief = model_known(ladder_model, names, part, 60.0)
    assert belief.unknown == (False, False, False)
    # Blanks of 6 mm alone tell little of 60 mm of untinted resin.
    assert belief.resin_unknown
    found = plan(belief, Wish(part, SECTIONS, (3.0, 6.0, 12.0, 25.0), 2))
    assert not any(found.cups[0].doses_phr)
    for one in found.forecasts:
        assert one.before is not None
        assert one.after < one.before
    thick = found.forecasts[1]
    assert thick.after < 0.8 * (thick.before or 0)


def test_a_new_pigment_beside_known_ones(ladder_model: TintModel) -> None:
    names = (*ladder_model.pigments[:2], "new")
    part = np.array([0.01, 0.01, 0.01])
    belief = model_known(ladder_model, names, part, 60.0)
    assert belief.unknown == (False, False, True)
    assert least_cups(belief) == 2
    found = plan(belief, Wish(part, SECTIONS, (3.0, 12.0), 4))
    assert any(c.doses_phr[2] > 0 and np.count_nonzero(c.doses_phr) == 1 for c in found.cups)
    assert all(one.before is None for one in found.forecasts)


@pytest.mark.parametrize("kind", ["channels", "spectrum"])
def test_other_instruments_are_planned_for(kind: str) -> None:
    detector = eye("D65", 10)
    camera = channels(dataclasses.replace(detector, weights=detector.weights / detector.bare), 0.01, 0.001)
    instrument = camera if kind == "channels" else spectrophotometer()
    part = np.array([0.01, 0.02])
    found = plan(nothing_known(("a", "b"), part, 20.0), Wish(part, (4.0, 20.0), (3.0, 10.0), 5, instrument=instrument))
    assert len(found.cups) == 5
    assert all(np.isfinite(one.after) for one in found.forecasts)


def test_on_a_tile_no_chip_is_black_though_light_goes_through_it_twice(unknown: Belief) -> None:
    tile = Tile(np.full(41, 0.85))
    wish = Wish(PART, SECTIONS, (1.0, 2.0, 4.0), 8, 2, instrument=colorimeter(eye("D65", 10), tile=tile))
    found = plan(unknown, wish)
    assert found.cups[0].why == "untinted chip: the resin's own colour"
    assert 4.0 in found.cups[0].thicknesses_mm
    tinted = found.cups[1:]
    doses = np.array([cup.doses_phr for cup in tinted])
    for place in range(2):
        mm = np.array([cup.thicknesses_mm[place] for cup in tinted])
        sight = look_ahead(wish.instrument, unknown, doses, mm, 1.5)
        assert np.median(sight.returned, axis=0).min() >= 0.015
        # Twice through the chip: darker than once through it, each against its own clear chip (0.923 of the light).
        assert np.all(np.median(sight.returned, axis=0) < np.median((sight.light / 0.923) ** 1.5, axis=0))
    # Each new pigment alone, as deep to the instrument as the part is.
    for p in range(3):
        alone = [c for c in tinted if c.doses_phr[p] > 0 and np.count_nonzero(c.doses_phr) == 1]
        assert max(2 * c.doses_phr[p] * max(c.thicknesses_mm) for c in alone) >= 0.98 * PART[p] * 60.0
    through = plan(unknown, dataclasses.replace(wish, instrument=colorimeter(eye("D65", 10))))
    assert [c.doses_phr for c in through.cups] != [c.doses_phr for c in found.cups]


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"cups": 0}, "number of cups is 0"),
        ({"cups": 41}, "number of cups is 41"),
        ({"chips_per_cup": 5}, "chips from a cup is 5"),
        ({"sections_mm": ()}, "at least one place"),
        ({"cast_mm": (0.0,)}, "a thickness to cast is 0 mm"),
        ({"sections_mm": (float("nan"),)}, "a place on the casting is nan mm"),
        ({"part_phr": np.array([0.0])}, "dose for the casting"),
        ({"part_phr": np.array([float("inf")])}, "dose for the casting"),
    ],
)
def test_wishes_that_cannot_be(change: dict[str, object], says: str) -> None:
    good: dict[str, object] = {"part_phr": np.array([0.01]), "sections_mm": SECTIONS, "cast_mm": (3.0,), "cups": 3}
    with pytest.raises(ValueProblem, match=says):
        Wish(**(good | change))  # type: ignore[arg-type]


def test_too_few_cups_and_limits_below_every_dose() -> None:
    part = np.array([0.01, 0.01])
    belief = nothing_known(("a", "b"), part, 60.0)
    with pytest.raises(ValueProblem, match="at least 3"):
        plan(belief, Wish(part, SECTIONS, (3.0,), 2))
    with pytest.raises(ValueProblem, match="no dose of a"):
        plan(belief, Wish(part, SECTIONS, (3.0,), 5, max_phr=np.array([1e-5, 1.0])))


def test_what_can_only_be_pale_is_said() -> None:
    part = np.array([0.01])
    found = plan(nothing_known(("a",), part, 60.0), Wish(part, SECTIONS, (0.5,), 3, max_phr=np.array([0.01])))
    assert found.warnings


def test_the_new_cups_are_fitted_with_the_old_though_they_lack_a_pigment() -> None:
    old = make_set(7, "colour", doses=(0.02, 0.1), thicknesses=(6.0,))
    kept = [at for at, name in enumerate(old.names) if name.startswith(("p1", "blank"))]
    new = dataclasses.replace(
        old,
        names=tuple("A" + old.names[at] for at in kept),
        cups=tuple("A" + old.cups[at] for at in kept),
        **{
            part: getattr(old, part)[kept]
            for part in ("doses_phr", "thickness_mm", "true_doses", "true_thickness", "readings")
        },
    )
    assert fit([to_chipset(old), to_chipset(new)]).pigments == ("p1", "p2", "p3")


def test_a_base_that_thick_pours_change_is_that_of_the_thickest_section() -> None:
    model = make_model(2, seed=3, draws=40)
    names, part = model.pigments, np.array([0.01, 0.02])
    thick = ThickBase(log_ratio=np.full((40, 41), np.log(2.0)), from_mm=12.0, to_mm=60.0, power=np.ones(40))
    plain, yellowed = (model_known(one, names, part, 60.0) for one in (model, dataclasses.replace(model, thick=thick)))
    np.testing.assert_allclose(yellowed.spectra[:, 0], 2 * plain.spectra[:, 0])
    np.testing.assert_array_equal(yellowed.spectra[:, 1:], plain.spectra[:, 1:])
