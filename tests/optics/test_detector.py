"""Eyes under lights against ASTM E308 and colour-science, cameras and rendered photos against sums at 1 nm."""

import subprocess
import sys

import numpy as np
import pytest

from tests.authorities import make_tables
from tests.authorities.compared import compared
from tests.reference import slow
from tests.reference.slow import colour
from tintmix.errors import ValueProblem
from tintmix.optics.detector import (
    Detector,
    Light,
    camera,
    camera_name,
    camera_sensitivities,
    eye,
    known_cameras,
    known_lights,
    light,
    light_from_spectrum,
    luminous,
    rendered,
    rendered_ways,
)
from tintmix.optics.spectrum import FINE_NM, GRID_NM


@pytest.mark.parametrize(
    ("name", "observer", "expected"),
    [
        # design/physics.md §6, made with colour-science 0.4.7: ASTM E308 and E2022, 10 nm, 380-730 nm.
        ("D65", 10, (48.76704, 49.33304, 34.78753)),
        ("A", 2, (62.55339, 52.95339, 12.11971)),
        ("FL11", 10, (55.45003, 51.19153, 20.91435)),
        # Tables that do not ship, made likewise by tests/authorities/make_tables.py with colour-science 0.4.7.
        ("D55", 10, (50.25735, 49.80459, 29.65325)),
        ("FL3.12", 2, (60.83429, 52.71839, 12.98725)),
    ],
)
def test_e308(name, observer, expected):
    weights = eye(name, observer).weights
    folded = weights[:36].copy()
    folded[-1] += weights[36:].sum(axis=0)
    source = "ASTM E308 and E2022, 10 nm, 380-730 nm, by colour-science 0.4.7"
    compared("XYZ of a ramp from 10 nm data", np.linspace(0.2, 0.8, 36) @ folded, expected, within=1e-5, source=source)
    assert folded == pytest.approx(make_tables.weights(name, observer, (380, 730)), abs=1e-10)


@pytest.mark.parametrize(
    # ASTM E308, table 5 (from memory; the first is confirmed in the data README): X and Z of the white, Y = 100.
    ("name", "observer", "x", "z", "within"),
    [
        ("D65", 2, 95.047, 108.883, 0.02), ("D65", 10, 94.811, 107.304, 0.02),
        ("A", 2, 109.850, 35.585, 0.02), ("A", 10, 111.144, 35.200, 0.02),
        ("D50", 2, 96.422, 82.521, 0.02), ("D50", 10, 96.720, 81.427, 0.02),
        ("FL2", 2, 99.186, 67.393, 0.11), ("FL2", 10, 103.279, 69.027, 0.11),
        ("FL7", 2, 95.041, 108.747, 0.11), ("FL7", 10, 95.792, 107.686, 0.11),
        ("FL11", 2, 100.962, 64.350, 0.11), ("FL11", 10, 103.863, 65.607, 0.11),
        ("D55", 2, 95.682, 92.149, 0.02), ("D55", 10, 95.799, 90.926, 0.02),
    ],
)  # fmt: skip
def test_whites(name, observer, x, z, within):
    kind = "fluorescent lights" if name.startswith("FL") else "lights A, D50, D55, D65"
    source = "ASTM E308, table 5 (from memory)"
    compared(f"white of {kind}, XYZ", eye(name, observer).bare, (x, 100.0, z), within=within, source=source)


@pytest.mark.parametrize("observer", [2, 10])
def test_weights_are_those_of_the_library(observer):
    # Every light that can be named: shipped weights, our own E2022 from the light's power, and colour-science's.
    for name in known_lights():
        theirs, source = make_tables.weights(name, observer), "colour-science, an independent library"
        for ours in (eye(name, observer), eye(light(name), observer)):
            compared("E2022 weights of every CIE light", ours.weights, theirs, within=1e-9, source=source)
        assert eye(name, observer).bare[1] == pytest.approx(100.0, abs=1e-10)


@pytest.mark.parametrize("name", ["D65", "A", "FL11", "LED-B3", "HP1"])
def test_a_published_table_typed_in_is_the_shipped_light(name):
    table = colour.SDS_ILLUMINANTS[name]
    own = light_from_spectrum("typed in", table.wavelengths, 7.3 * table.values)
    assert eye(own, 2).weights == pytest.approx(eye(name, 2).weights, abs=1e-9)


def test_a_plain_sum_would_be_wrong_for_fluorescent_lights():
    # Physics §6: why E2022 is there. FL11's narrow lines fall between the bands.
    cmf = slow.matching_functions(10)[20::10]
    plain = cmf * slow.light_power("FL11")[20::10, None]
    plain *= 100 / plain[:, 1].sum()
    assert abs(plain.sum(axis=0)[2] - eye("FL11", 10).bare[2]) > 1


@pytest.mark.parametrize("name", ["D65", "A", "FL2", "LED-RGB1"])
def test_against_the_sum_at_one_nanometre(name):
    # 0.02 of Y = 100: what cubic interpolation costs a band 40 nm wide.
    def factor(nm):
        return 0.1 + 0.8 * np.exp(-(((nm - 545.0) / 40.0) ** 2))

    for observer in (2, 10):
        assert factor(GRID_NM) @ eye(name, observer).weights == pytest.approx(
            slow.xyz(factor(FINE_NM), name, observer), abs=0.02
        )


def test_luminous_transmittance_uses_the_two_degree_observer():
    weights = luminous("A")
    assert weights.sum() == pytest.approx(1.0, abs=1e-14)
    blue = np.exp(-(((GRID_NM - 450) / 25) ** 2))
    assert blue @ weights == pytest.approx((blue @ eye("A", 2).weights)[1] / 100, rel=1e-12)
    # Physics §6: the observers differ by up to 30 % in deep blues.
    assert (blue @ eye("A", 10).weights)[1] / 100 > 1.15 * (blue @ weights)
    assert luminous(light("A")) == pytest.approx(weights, abs=1e-10)


@pytest.mark.parametrize("name", ["Nikon 5100 (NPL)", "Sigma SDMerill (NPL)"])
def test_camera_against_the_sum_at_one_nanometre(name):
    nm, rgb = slow.camera_table(name)
    detector = camera(nm, rgb, light("LED-B3"))
    assert detector.bare == pytest.approx((1, 1, 1), abs=1e-13)
    assert detector.kind == "camera"

    def factor(at):
        return 0.05 + 0.9 / (1 + np.exp((at - 560.0) / 15.0))

    expected = slow.camera_channels(factor(FINE_NM), slow.camera_sensitivities(name), "LED-B3")
    assert factor(GRID_NM) @ detector.weights == pytest.approx(expected, abs=5e-4)


@pytest.mark.parametrize("name", known_cameras())
def test_a_camera_by_name(name):
    nm, rgb = camera_sensitivities(f" {name.upper()} ")
    published = colour.MSDS_CAMERA_SENSITIVITIES[name]
    assert nm.tolist() == published.wavelengths.tolist()
    assert rgb.tolist() == published.values.tolist()
    assert published.labels == ["red", "green", "blue"]
    # Blue sees the shorter light: the columns stand in the order R, G, B.
    assert np.all(np.diff(nm @ rgb / rgb.sum(axis=0)) < 0)
    assert camera(nm, rgb, "LED-B3").bare == pytest.approx((1, 1, 1), abs=1e-13)
    assert camera_name(name.lower()) == name


def test_a_camera_that_is_not_known():
    with pytest.raises(ValueProblem) as caught:
        camera_sensitivities("my phone")
    assert all(name in str(caught.value) for name in ("my phone", *known_cameras()))


def test_camera_is_blind_outside_its_table():
    narrow = camera([500.0, 520.0, 540.0], np.ones((3, 1)), "E")
    far = (GRID_NM < 470) | (GRID_NM > 570)
    assert narrow.weights[far] == pytest.approx(0.0, abs=1e-15)


def test_rendered_photo():
    detector = rendered("LED-B1")
    assert detector.bare == pytest.approx((1, 1, 1), abs=1e-12)
    factor = np.linspace(0.2, 0.8, 41)
    seen = eye("LED-B1", 2)
    ways = [
        slow.linear_srgb(factor @ seen.weights, seen.bare, way)
        for way in ("CAT16", "Bradford", "Von Kries", "XYZ Scaling")
    ]
    assert factor @ rendered_ways("LED-B1") == pytest.approx(np.array(ways), abs=1e-5)
    assert factor @ detector.weights == pytest.approx(np.mean(ways, axis=0), abs=1e-5)
    assert rendered(light("LED-B1")).weights == pytest.approx(detector.weights, abs=1e-10)


def test_names():
    assert light("fl3.12").name == "FL3.12"
    assert light(" led-bh1 ").name == "LED-BH1"
    for name in ("D64", "", "ISO 7589 Photoflood", "../A"):
        with pytest.raises(ValueProblem) as caught:
            light(name)
        told = (repr(name), "D65", "FL1 to FL12", "FL3.1 to FL3.15", "LED-B1 to LED-B5", "LED-V2", "CSV")
        assert all(known in str(caught.value) for known in told)


@pytest.mark.parametrize("observer", [0, 31, "10", None])
def test_observers(observer):
    with pytest.raises(ValueProblem, match=r"2 \(CIE 1931"):
        eye("D65", observer)


def test_fine_spectra_keep_narrow_lines():
    # A line 0.2 nm wide between two nanometres, on a spectrometer's 0.1 nm: its power must not be lost.
    nm = np.arange(38000, 78001, 10) / 100
    line = np.where(np.abs(nm - 546.5) < 0.1001, 100.0, 0.0)
    own = light_from_spectrum("line", nm, 1.0 + line)
    assert own.power_1nm.sum() - FINE_NM.size == pytest.approx(line.sum() * 0.1, rel=1e-6)
    assert light_from_spectrum("flat", nm, np.ones(nm.size)).power_1nm == pytest.approx(np.ones(421), abs=1e-9)


@pytest.mark.parametrize(
    ("nm", "power", "error"),
    [
        ([400, 500, 690], [1, 1, 1], ValueProblem),
        ([410, 500, 700], [1, 1, 1], ValueProblem),
        ([400, 500, 500, 700], [1, 1, 1, 1], ValueProblem),
        ([400, np.nan, 700], [1, 1, 1], ValueProblem),
        ([400, 500, 700], [1, 1], ValueProblem),
        ([400, 500, 700], [[1], [1], [1]], ValueProblem),
        ([400, 500, 700], [1, np.nan, 1], ValueProblem),
        ([400, 700], [1, 1], ValueProblem),
        ([400, 500, 700], [1, -1, 1], ValueProblem),
        ([400, 500, 700], [0, 0, 0], ValueProblem),
        ([300, 350, 359, 1000], [1, 1, 0, 0], ValueProblem),
    ],
)
def test_lights_that_will_not_do(nm, power, error):
    with pytest.raises(error, match="lamp"):
        light_from_spectrum("lamp", nm, power)


@pytest.mark.parametrize(
    ("sensitivities", "error"),
    [
        (np.full((3, 3), np.nan), ValueProblem),
        (np.ones((4, 3)), ValueProblem),
        (np.ones(3), ValueProblem),
        (-np.ones((3, 3)), ValueProblem),
        (np.array([[1.0, 1, 0]] * 3), ValueProblem),
    ],
)
def test_cameras_that_will_not_do(sensitivities, error):
    with pytest.raises(error, match="camera"):
        camera([400, 500, 700], sensitivities, "E")


def test_values_check_themselves():
    with pytest.raises(ValueProblem, match=r"\(40, 3\)"):
        Detector("short", np.ones((40, 3)), "eye")
    with pytest.raises(ValueProblem):
        Light("short", np.ones(41))
    for shared in (eye("D65", 10).weights, light("D65").power_1nm):
        with pytest.raises(ValueError, match="read-only"):
            shared[0] = 1.0


def test_numpy_is_all_that_is_imported():
    script = (
        "import sys, tintmix.optics.section, tintmix.optics.detector as d; d.eye('D65'); d.known_lights(); "
        "d.known_cameras(); "
        "print([m for m in ('scipy', 'colour', 'matplotlib', 'pydantic', 'importlib.resources') if m in sys.modules])"
    )
    out = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert out.stdout.strip() == "[]"
