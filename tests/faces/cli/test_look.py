from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from tests.faces.conftest import Call, Refused, undocumented
from tintmix.pigments.model_file import load_model

SECTION = {
    "thickness_mm",
    "behind",
    "lab",
    "xyz",
    "srgb",
    "inside_srgb",
    "luminous_transmittance",
    "lab_covariance",
    "delta_e00_95",
    "haze_percent",
    "extrapolated",
}
"""formats.md, `look --json`."""
BODY = {
    "light",
    "observer",
    "delta_formula",
    "white_xyz",
    "doses_phr",
    "sections",
    "joint_lab_covariance",
    "wavelengths_nm",
    "transmittance",
    "warnings",
}


def test_json_has_the_shape_of_the_contract(call: Call, model: Path) -> None:
    said = call("look", model, "--dose", "azure=0.02", "--dose", "emerald=0.01", "--at", "8", "--at", "60", "--json")
    assert said.status == 0
    assert said.err == ""
    body = said.json
    assert not undocumented("look", body)
    assert set(body) >= BODY
    assert (body["light"], body["observer"], body["delta_formula"]) == ("D65", 10, "CIEDE2000")
    assert body["doses_phr"] == {"azure": 0.02, "emerald": 0.01}
    assert [set(place) for place in body["sections"]] == [SECTION] * 2
    assert body["sections"][1]["extrapolated"] == {"dose": False, "thickness": True}
    assert any("60 mm" in warning for warning in body["warnings"])
    assert np.shape(body["joint_lab_covariance"]) == (6, 6)
    assert len(body["wavelengths_nm"]) == 41
    assert np.shape(body["transmittance"]) == (2, 41)


def test_json_numbers_are_those_of_the_python_call(call: Call, model: Path) -> None:
    body = call(
        "look", model, "--dose", "azure=0.02", "--at", "8", "--at", "60", "--light", "FL11", "--observer", "2", "--json"
    ).json
    look = load_model(model).look({"azure": 0.02}, [8, 60], "FL11", 2)
    np.testing.assert_array_equal([place["lab"] for place in body["sections"]], look.lab)
    np.testing.assert_array_equal([place["xyz"] for place in body["sections"]], look.xyz)
    np.testing.assert_array_equal(body["transmittance"], look.transmittance)
    np.testing.assert_array_equal(body["white_xyz"], look.white_xyz)
    blocks = [np.array(body["joint_lab_covariance"])[i : i + 3, i : i + 3] for i in (0, 3)]
    np.testing.assert_array_equal([place["lab_covariance"] for place in body["sections"]], blocks)


def test_decimal_comma_and_unit_are_understood(call: Call, model: Path) -> None:
    plain = call("look", model, "--dose", "azure=0.02", "--at", "8.5", "--json").json
    comma = call("look", model, "--dose", "azure = 0,02", "--at", "8,5 mm", "--json").json
    assert comma == plain


def test_own_light_from_a_file(call: Call, model: Path, tmp_path: Path) -> None:
    # CIE 15: illuminant E is the equal-energy spectrum.
    light = tmp_path / "equal.csv"
    light.write_text("nm;power\n380;1,0\n580;1,0\n780;1,0\n")
    own = call("look", model, "--dose", "azure=0.02", "--at", "8", "--light", light, "--json").json
    named = call("look", model, "--dose", "azure=0.02", "--at", "8", "--light", "e", "--json").json
    np.testing.assert_allclose(own["sections"][0]["lab"], named["sections"][0]["lab"], atol=1e-9)
    assert own["light"] == "equal.csv"
    assert named["light"] == "E"


def test_a_usual_light_waits_for_no_library(model: Path) -> None:
    """formats.md: tables of D65 ship; colour-science, and scipy and matplotlib with it, would take over a second."""
    script = (
        "import sys; from tintmix.faces.cli.main import run; status = run(sys.argv[1:]); "
        "print(status, [name for name in ('colour', 'scipy', 'matplotlib') if name in sys.modules], file=sys.stderr)"
    )
    for light, brought in (("D65", "[]"), ("d55", "['colour', 'scipy', 'matplotlib']")):
        look = [sys.executable, "-c", script, "look", str(model), "--dose", "azure=0.02", "--at", "8", "--light", light]
        done = subprocess.run(look, capture_output=True, text=True, check=True)
        assert done.stderr.splitlines()[-1] == f"0 {brought}"


def test_an_unknown_light(refused: Refused, model: Path) -> None:
    said = refused("look", model, "--dose", "azure=0.02", "--at", "8", "--light", "D64")
    assert "'D64'" in said
    assert "D65" in said


@pytest.mark.parametrize("behind", ["white", "dark"])
def test_a_ground_behind(call: Call, model: Path, behind: str) -> None:
    place = call("look", model, "--dose", "azure=0.02", "--at", "8", "--behind", behind, "--json").json["sections"][0]
    over = call("look", model, "--dose", "azure=0.02", "--at", "8", "--json").json["sections"][0]
    assert place["behind"] == behind
    assert place["lab"][0] < over["lab"][0]
    # Light through is of the plate alone, whatever is behind it (formats.md).
    assert place["luminous_transmittance"] == over["luminous_transmittance"]


def test_an_insert_three_ways(call: Call, model: Path, tmp_path: Path) -> None:
    def seen(*insert: object) -> list[float]:
        said = call("look", model, "--at", "2", "--insert", *insert, "--json")
        assert said.status == 0, said
        place = said.json["sections"][0]
        assert place["behind"] == "insert"
        return list(place["lab"])

    # sRGB #808080 is L* 53.6 (IEC 61966-2-1: 128/255 is 0.2159 linear); a grey of that reflectance looks alike all
    # three ways.
    grey = tmp_path / "grey.csv"
    grey.write_text("nm,reflectance\n380,0.21586\n580,0.21586\n780,0.21586\n")
    by_file, by_screen, by_lab = seen(grey), seen("#808080"), seen("lab=53,585; 0; 0")
    np.testing.assert_allclose(by_screen, by_file, atol=0.05)
    np.testing.assert_allclose(by_lab, by_file, atol=0.05)
    assert seen("#808080", "--insert-width", "3")[0] < by_screen[0]


def test_without_doses(call: Call, model: Path, cup: Path) -> None:
    assert call("look", model, "--at", "8", "--json").json["doses_phr"] == {}
    assert "Untinted resin" in call("look", model, "--at", "8").out
    assert call("look", cup, "--at", "8", "--json").json["doses_phr"] == {"mix": 1.0}
    assert "mix 1 of the cup as poured" in call("look", cup, "--at", "8").out


def test_half_a_cup_at_twice_the_thickness_is_a_cup(call: Call, cup: Path) -> None:
    # Beer-Lambert without volume correction (formats.md): t·c decides, times what the resin itself takes on the longer way.
    def through(dose: str, mm: str) -> float:
        said = call("look", cup, "--dose", f"mix={dose}", "--at", mm, "--json").json
        return float(said["sections"][0]["luminous_transmittance"])

    longer = through("0", "24") / through("0", "12")
    assert through("0.5", "24") == pytest.approx(through("1", "12") * longer, rel=0.02)


def test_text_tells_what_the_numbers_mean(call: Call, model: Path) -> None:
    said = call("look", model, "--dose", "azure=0.3", "--at", "8", "--at", "200")
    assert said.status == 0
    assert said.err == ""
    assert "\x1b" not in said.out
    for word in (
        "azure 0.3 phr",
        "light D65, 10° observer",
        "8 mm",
        "200 mm",
        "light through",
        "± ΔE00",
        "exposure +",
        "#",
    ):
        assert word in said.out
    assert "Thicker than any chip" in said.out
    assert all(len(line) <= 100 for line in said.out.splitlines())


@pytest.mark.parametrize("ending", ["png", "svg", "pdf", "PNG"])
def test_picture(call: Call, model: Path, tmp_path: Path, ending: str) -> None:
    where = tmp_path / f"wedge.{ending}"
    said = call("look", model, "--dose", "azure=0.02", "--at", "8", "--picture", where)
    assert said.status == 0, said
    assert where.stat().st_size > 1000
    assert [path.name for path in tmp_path.iterdir()] == [where.name]
    assert f"Written: {where}." in said.out


def test_picture_and_json_leave_standard_output_to_json(call: Call, model: Path, tmp_path: Path) -> None:
    where = tmp_path / "wedge.svg"
    assert set(call("look", model, "--at", "8", "--picture", where, "--json").json) >= BODY
    assert where.exists()
