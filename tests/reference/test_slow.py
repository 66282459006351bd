"""The slow reference against published values and colour-science; the batched formulas against the slow ones."""

import math
import warnings

import numpy as np
import pytest

from tests.reference import batched, slow
from tests.reference.absorbers import AUTHORITIES, read_columns
from tests.reference.slow import NM, colour

RAMP = np.interp(NM, np.arange(380.0, 731.0, 10.0), np.linspace(0.2, 0.8, 36))


@pytest.mark.parametrize(
    ("light", "observer", "expected"),
    [
        # design notes, physics §6, made there with colour-science 0.4.7 and ASTM E2022 weights on 10 nm, 380-730 nm.
        ("D65", 10, (48.76704, 49.33304, 34.78753)),
        ("A", 2, (62.55339, 52.95339, 12.11971)),
        ("FL11", 10, (55.45003, 51.19153, 20.91435)),
    ],
)
def test_xyz_of_a_ramp(light, observer, expected):
    # The ramp is straight: 1 nm summation and 10 nm weights differ only by the cubic at its two kinks, 2e-5 seen.
    assert slow.xyz(RAMP, light, observer) == pytest.approx(expected, abs=1e-4)


@pytest.mark.parametrize(("light", "observer"), [("D65", 2), ("D65", 10), ("A", 10), ("FL2", 2), ("LED-B3", 10)])
def test_xyz_agrees_with_colour_science(light, observer):
    name = {2: "CIE 1931 2 Degree Standard Observer", 10: "CIE 1964 10 Degree Standard Observer"}[observer]
    shape = colour.SpectralShape(360, 780, 1)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        expected = colour.colorimetry.sd_to_XYZ_integration(
            colour.SpectralDistribution(RAMP, NM),
            colour.MSDS_CMFS[name].copy().trim(shape),
            colour.SDS_ILLUMINANTS[light].copy().align(colour.MSDS_CMFS[name].shape).align(shape),
        )
    assert slow.xyz(RAMP, light, observer) == pytest.approx(expected, abs=1e-8)


def test_white_is_the_published_one():
    # D65, 2 degrees: 95.047, 100, 108.883, as CIE publishes it.
    assert slow.white("D65", 2) == pytest.approx((95.047, 100, 108.883), abs=0.02)


def test_lab_agrees_with_colour_science():
    rng = np.random.default_rng(1)
    white = slow.white()
    for xyz in white * rng.uniform(0, 1, (50, 1)) ** 4 * rng.uniform(0.7, 1, (50, 3)):
        expected = colour.XYZ_to_Lab(xyz / 100, colour.XYZ_to_xy(white / 100))
        assert slow.lab(xyz, white) == pytest.approx(expected, abs=1e-9)


def test_ciede2000_of_the_published_pairs():
    # Sharma, Wu, Dalal 2005, table 1: four decimals.
    table = read_columns("ciede2000_pairs.csv")
    columns = list(table.values())
    found = slow.delta_e00(np.stack(columns[:3], axis=1), np.stack(columns[3:6], axis=1))
    assert len(found) == 34
    assert found == pytest.approx(columns[6], abs=1e-4)


@pytest.mark.parametrize("index", [1.49, 1.50, 1.52, 1.55])
def test_clear_plate(index):
    # 2n/(n^2+1): Fresnel, every inter-reflection, no absorption. All light is then either through or off.
    clear = slow.through_plate(np.ones(1), index)
    assert clear == pytest.approx(2 * index / (index**2 + 1), abs=1e-12)
    assert clear + slow.off_plate(np.ones(1), index) == pytest.approx(1, abs=1e-12)


@pytest.mark.parametrize(("external", "internal"), [(0.325, 0.35447), (0.60, 0.65405), (0.88, 0.95842)])
def test_plate_of_index_1_52(external, internal):
    # A published closed form for n = 1.52, as CIE publishes it. five decimals.
    assert slow.through_plate(np.array([internal]), 1.52) == pytest.approx(external, abs=1e-5)


def test_published_float_glass():
    # Rubin 1985 absorption against the published visible transmittance and reflectance of the same glasses; tolerances
    # 0.015 and 0.0015 are the data's own (header of float_glass_published.csv).
    alpha = read_columns("soda_lime_glass.csv")
    weights = slow.light_power("D65") * slow.matching_functions(2)[:, 1]
    seen = 0
    for glass, thickness, visible, reflected in _published():
        internal = np.exp(-thickness * np.interp(NM, alpha["nm"], alpha[glass]))
        assert slow.luminous_transmittance(slow.through_plate(internal, 1.525)) == pytest.approx(visible, abs=0.015)
        off = float(weights @ slow.off_plate(internal, 1.525) / weights.sum())
        assert off == pytest.approx(reflected, abs=0.0015)
        seen += 1
    assert seen == 14


def _published():
    lines = (AUTHORITIES / "float_glass_published.csv").read_text(encoding="utf-8").splitlines()
    for line in lines:
        if line and not line.startswith(("#", "glass,")):
            glass, *numbers = line.split(",")
            yield glass, *map(float, numbers)


@pytest.mark.parametrize(("index", "expected"), [(1.49, 0.590247), (1.50, 0.596346), (1.55, 0.625001)])
def test_internal_diffuse_reflectance(index, expected):
    # Walsh's closed form, values in design notes, physics §11.
    assert slow.diffuse_return(1.0, index) == pytest.approx(expected, abs=1e-6)


@pytest.mark.parametrize(
    ("internal", "reflectance", "at_45", "diffuse"),
    # design notes, physics §11, n = 1.50.
    [
        (1, 0.9, 0.787215, 0.752786),
        (0.8, 0.9, 0.287918, 0.275137),
        (0.5, 0.5, 0.047286, 0.045184),
        (0.1, 0.9, 0.002681, 0.002596),
    ],
)
def test_insert(internal, reflectance, at_45, diffuse):
    assert slow.insert_radiance_factor(internal, reflectance) == pytest.approx(at_45, abs=1e-6)
    assert slow.insert_radiance_factor(internal, reflectance, diffuse=True) == pytest.approx(diffuse, abs=1e-6)


def test_insert_limits():
    # physics.md §11: 1.0039 at tau = R = 1; a narrow insert gets 0.46 and 0.79 of a wide one's at tau 1 and 0.8, R 0.9.
    assert slow.insert_radiance_factor(1.0, 1.0) == pytest.approx(1.0039, abs=1e-4)
    for internal, part in ((1.0, 0.46), (0.8, 0.79)):
        narrow = slow.insert_radiance_factor(internal, 0.9, narrow=True)
        assert narrow / slow.insert_radiance_factor(internal, 0.9) == pytest.approx(part, abs=0.005)


def test_fresnel_meets_brewster_and_the_critical_angle():
    index = 1.5
    brewster = math.atan(index)
    across = (math.sin(brewster - math.asin(math.sin(brewster) / index))) ** 2
    assert slow.fresnel(math.cos(brewster), 1.0, index) == pytest.approx(across / 2, abs=1e-12)
    assert slow.fresnel(math.sqrt(1 - 1 / index**2) - 1e-9, index, 1.0) == 1.0


def test_camera_reads_one_off_the_bare_panel_and_a_grey_as_it_is():
    sensitivities = slow.camera_sensitivities("Nikon 5100 (NPL)")
    assert slow.camera_channels(np.full(len(NM), 0.3), sensitivities, "LED-B3") == pytest.approx([0.3] * 3, abs=1e-12)


@pytest.mark.parametrize("panel", ["D65", "A", "LED-B1"])
def test_bare_panel_renders_white(panel):
    white = slow.white(panel, 2)
    assert slow.linear_srgb(white, white) == pytest.approx([1, 1, 1], abs=1e-9)


def test_batched_is_slow_but_quick():
    rng = np.random.default_rng(7)
    base, strengths = rng.uniform(0, 0.005, len(NM)), rng.uniform(0, 3, (3, len(NM)))
    doses, thickness = rng.uniform(0, 0.2, (4, 3)), rng.uniform(3, 60, 4)
    factors = batched.plate(batched.internal(doses, thickness, base, strengths), 1.5)
    sensitivities = slow.camera_sensitivities("Nikon 5100 (NPL)")
    for dose, mm, factor, lab, light, rgb, screen in zip(
        doses,
        thickness,
        factors,
        batched.lab(factors, "FL11", 2),
        batched.luminous(factors, "A"),
        batched.channels(factors, sensitivities, "LED-B2"),
        batched.rendered(factors, "LED-B2"),
        strict=True,
    ):
        internal = slow.internal_transmittance(slow.internal_absorbance(dose, mm, base, strengths))
        expected = slow.through_plate(internal, 1.5)
        assert factor == pytest.approx(expected, abs=1e-13)
        assert lab == pytest.approx(slow.lab_of(expected, "FL11", 2), abs=1e-9)
        assert light == pytest.approx(slow.luminous_transmittance(expected, "A"), abs=1e-12)
        assert rgb == pytest.approx(slow.camera_channels(expected, sensitivities, "LED-B2"), abs=1e-12)
        seen = slow.linear_srgb(slow.xyz(expected, "LED-B2", 2), slow.white("LED-B2", 2))
        assert screen == pytest.approx(seen, abs=1e-12)
