"""The desk's functions as a face or a script calls them."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from tintmix.desk import demo as demo_room
from tintmix.desk.demo import demo
from tintmix.desk.look import lifts_of, look_at
from tintmix.desk.seen import insert_ground, light_of
from tintmix.desk.solve import solve_for
from tintmix.errors import NotThere, TintmixError, ValueProblem
from tintmix.files.plain import finite
from tintmix.optics.detector import Light


@pytest.fixture(scope="module")
def cup(fitted: Callable[[str], Path]) -> Path:
    return fitted("one-cup")


def test_finite_leaves_nothing_that_json_cannot_say() -> None:
    odd = {
        "a": np.array([1.0, np.nan, -np.inf]),
        2: (np.float64(3), np.int64(4), np.bool_(True)),
        "c": None,
        "d": "nan",
    }
    assert finite(odd) == {"a": [1.0, None, None], "2": [3.0, 4, True], "c": None, "d": "nan"}
    json.dumps(finite(odd), allow_nan=False)


def test_a_place_is_shown_brighter_only_where_an_exposure_makes_it_so(cup: Path) -> None:
    look = look_at(cup, {"mix": 1.0}, [12.0, 60.0]).look
    assert look.lab[:, 0] == pytest.approx([64.0, 16.0], abs=0.5)
    light, dark = lifts_of(look)
    assert light is None
    assert dark is not None
    assert dark[1] >= 1
    # By the draws' mean L* below 20, by their mean light above it: there is no stop to be told.
    assert lifts_of(replace(look, lab=look.lab - [[50.0, 0.0, 0.0], [0.0, 0.0, 0.0]])) == (None, dark)


def test_a_light_by_name_or_by_file(tmp_path: Path) -> None:
    assert light_of("d65") == "d65"
    path = tmp_path / "Panel.CSV"
    path.write_text("nm,power\n380,1\n500,2\n780,3\n")
    light = light_of(str(path))
    assert isinstance(light, Light)
    assert light.name == "Panel.CSV"
    for bad in (
        "nm,power\n380,-1\n500,2\n780,3\n",
        "nm,power\n380,0\n500,0\n780,0\n",
        "nm,power\n500,1\n600,1\n780,1\n",
        "",
    ):
        path.write_text(bad)
        with pytest.raises(TintmixError):
            light_of(str(path))


def test_inserts_that_are_none(tmp_path: Path) -> None:
    path = tmp_path / "r.csv"
    for bad in (
        "nm,reflectance\n420,0.5\n780,0.5\n",
        "nm,reflectance\n380,50\n780,50\n",
        "nm,reflectance\n380,-0.1\n780,0.5\n",
    ):
        path.write_text(bad)
        with pytest.raises(ValueProblem):
            insert_ground(str(path), None, "D65", 10)
    for colour in ("#12", "azure", (50.0, float("nan"), 0.0), (101.0, 0.0, 0.0), (50.0, 300.0, 0.0)):
        with pytest.raises(ValueProblem):
            insert_ground(colour, None, "D65", 10)


def test_the_demo_is_found_beside_or_inside_the_package(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert (demo("deck-prism") / "set.toml").is_file()
    for inside in (True, False):
        package = tmp_path / str(inside) / "tintmix"
        swatches = (package if inside else package.parent) / "swatches" / "one-cup"
        swatches.mkdir(parents=True)
        (package / "desk").mkdir(parents=True)
        monkeypatch.setattr(demo_room, "__file__", str(package / "desk" / "demo.py"))
        assert demo("one-cup") == swatches
    with pytest.raises(NotThere, match="deck-prism"):
        demo("deck-prism")


def test_look_and_solve_return_values(cup: Path, tmp_path: Path) -> None:
    looked = look_at(cup, {}, [12, 60])
    assert looked.body["doses_phr"] == {"mix": 1.0}
    assert looked.look.lab.shape == (2, 3)
    # swatches/one-cup/README.md: at 60 mm the cup is L* 15.3 and lets 1.7 % through; two chips tell it to about this.
    assert looked.body["sections"][1]["lab"][0] == pytest.approx(15.3, abs=3)
    assert looked.body["sections"][1]["luminous_transmittance"] == pytest.approx(0.017, abs=0.005)
    target = tmp_path / "target.toml"
    target.write_text("format = 1\n[[section]]\nthickness_mm = 12\nlab = [64.2, -48.5, -4.4]\n")
    solved = solve_for(cup, target)
    assert solved.body["outcome"] == "reached"
    assert solved.body["proposals"][0]["doses_phr"]["mix"] == pytest.approx(1, abs=0.05)
    assert len(solved.swatches) == 1
    assert solved.written == ()


def test_dark_sections_are_lifted_by_whole_stops(cup: Path) -> None:
    looked = look_at(cup, {"mix": 3.0}, [3, 60])
    pale, dark = looked.lifts
    assert pale is None
    assert dark is not None
    assert dark[1] >= 1
