"""A place as it is seen, by its light paths: against sums written out, the plate formula, and finite differences."""

from dataclasses import replace

import numpy as np
import pytest

from tintmix.errors import ValueProblem
from tintmix.optics.absorption import LN10
from tintmix.optics.light import through, through_with_slope
from tintmix.optics.paths import LightPaths, PathLength, Seen
from tintmix.optics.plate import face_reflectance
from tintmix.optics.section import cautions_of_seen, seen_section

PER_MM = np.linspace(0.0, 0.25, 41)
PAINT = tuple(np.linspace(0.2, 0.7, 41).tolist())
NEVER = ((0.0, 0.0), (0.0, 0.0))


def with_insert():
    rng = np.random.default_rng(3)
    lengths = (0.0, *np.sort(rng.uniform(1, 90, 6)).tolist())
    return LightPaths(
        lengths_mm=lengths, weights=tuple(map(tuple, rng.uniform(0, 0.1, (3, 7)).tolist())), reflectance=PAINT
    )


def slab(thickness_mm, n, terms=12):
    # Every pair of inter-reflections is a path of two thicknesses more: (1 − ρ)² ρ^(2 j) at (2 j + 1) t. Hecht, Optics, ch. 9.
    rho = float(face_reflectance(n))
    j = np.arange(terms)
    rows = ((1 - rho) ** 2 * rho ** (2 * j), 0 * j, 0 * j)
    return LightPaths(lengths_mm=tuple((2 * j + 1) * thickness_mm), weights=tuple(map(tuple, rows)))


def many(seed):
    """As a tracer might find them: a sharp peak, a broad hill, and light that never was in the resin."""
    rng = np.random.default_rng(seed)
    lengths = np.concatenate([[0.0], rng.uniform(40, 42, 20), rng.gamma(2.0, 20.0, 30)])
    weights = np.concatenate([[rng.uniform(0, 0.1)], rng.dirichlet(np.ones(50)) * 0.8])
    return LightPaths(lengths_mm=tuple(lengths), weights=(tuple(weights), (0.0,) * 51, (0.0,) * 51))


def test_the_light_is_the_sum_over_paths():
    paths = with_insert()
    seen = through(PER_MM[None, None] * np.array([[[0.1]], [[1.0]]]), paths.mean_mm, 1.5, paths)
    assert seen.shape == (2, 1, 41)
    for band in (0, 7, 40):
        want = 0.0
        for k in range(3):
            for at, length in enumerate(paths.lengths_mm):
                want += paths.weights[k][at] * PAINT[band] ** k * 10 ** (-PER_MM[band] * length)
        assert seen[1, 0, band] == pytest.approx(want, rel=1e-13)


def test_a_slab_by_its_paths_is_the_plate_formula():
    seen, slope = through_with_slope(PER_MM, slab(8.0, 1.5).mean_mm, 1.5, slab(8.0, 1.5))
    plate, plate_slope = through_with_slope(PER_MM, 8.0, 1.5)
    assert seen == pytest.approx(plate, rel=1e-13)
    # By absorbance per mm, the same whatever length ln τ is told by.
    assert slope * slab(8.0, 1.5).mean_mm == pytest.approx(plate_slope * 8.0, rel=1e-12)


def test_the_slope_is_that_of_finite_differences():
    for paths in (with_insert(), many(1)):
        _, slope = through_with_slope(PER_MM, 17.0, 1.5, paths)
        ahead, behind = (through(PER_MM + step, 17.0, 1.5, paths) for step in (1e-7, -1e-7))
        assert -LN10 * 17.0 * slope == pytest.approx((ahead - behind) / 2e-7, rel=1e-6, abs=1e-8)


@pytest.mark.parametrize("paths", [*map(many, range(6)), slab(8.0, 1.5), with_insert()])
def test_fewer_lengths_tell_the_same_light_at_every_absorption(paths):
    absorptions = np.concatenate([[0.0], np.geomspace(1e-5, 100.0, 2000)])[:, None]
    whole = paths.with_insert(1.0)
    for within, most in ((5e-4, 7), (1e-6, 12)):
        few = whole.fewer(within)
        assert np.abs(few.light(absorptions) - whole.light(absorptions)).max() <= 1.02 * within
        assert few.clear == pytest.approx(whole.clear, rel=1e-12)
        assert len(few.lengths_mm) <= most


def test_a_place_that_is_seen_has_its_mean_path_as_thickness():
    seen = Seen(
        shape="prism.shape.json", place="deepest", straight_mm=17.0, of_clear=0.4,
        path_mm=PathLength(p5=60.0, median=60.0, mean=67.5, p95=90.0),
        paths=LightPaths(lengths_mm=(60.0, 90.0), weights=((0.3, 0.1), *NEVER)),
    )  # fmt: skip
    section = seen_section("point", seen)
    assert section.thickness_mm == seen.paths.mean_mm == 67.5
    assert [said for said in cautions_of_seen(section, 1.5) if "17 mm of resin, seen through 67.5 mm" in said]
    wide = replace(seen, path_mm=PathLength(p5=20.0, median=60.0, mean=67.5, p95=200.0))
    assert any("from 20 to 200 mm" in said for said in cautions_of_seen(seen_section("point", wide), 1.5))
    none = PathLength(p5=0.0, median=0.0, mean=0.0, p95=0.0)
    dark = replace(seen, paths=LightPaths(lengths_mm=(), weights=((), (), ())), path_mm=none, of_clear=0.0, dark=True)
    section = seen_section("point", dark)
    assert section.thickness_mm == 17.0
    assert any("dark by its shape" in said for said in cautions_of_seen(section, 1.5))
    assert through(PER_MM, 17.0, 1.5, section.ground).tolist() == [0.0] * 41


@pytest.mark.parametrize(
    "wrong",
    [
        {"weights": ((0.3,), *NEVER)},
        {"weights": ((0.3, -0.1), *NEVER)},
        {"lengths_mm": (60.0, float("nan"))},
        {"reflectance": 1.2},
        {"reflectance": (0.5, 0.5)},
    ],
)
def test_paths_that_cannot_be_are_refused(wrong):
    sound = {"lengths_mm": (60.0, 90.0), "weights": ((0.3, 0.1), *NEVER)}
    with pytest.raises(ValueProblem):
        LightPaths(**sound | wrong)
