"""target.toml: what docs show is read, what is wrong is told, all of it together."""

import re
import tomllib
from contextlib import suppress
from dataclasses import replace

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tintmix.errors import FileProblem, NotThere, TintmixError
from tintmix.files.errors import BadTable, FormatMissing
from tintmix.recipes.target import Limits, Target
from tintmix.recipes.target_file import read_target, target_from_table, target_to_table

FULL = """
format = 1
light = "D65"
observer = 10
also_under = ["A", "LED-B3"]

[[section]]
name = "flange"
thickness_mm = 8.0
lab = [88, -12, 2]
behind = "panel"
tolerance = 2.0
weight = 1.0

[[section]]
name = "point"
thickness_mm = 60

[[section]]
thickness_mm = 12.5
behind = "insert"
insert_srgb = "#b08d3c"
insert_width_mm = 30.0

[glass]
thickness_mm = 6.0
spectrum = "green-glass.csv"
relative_to = "air"
refractive_index = 1.52

[limits]
pigments = 3
total_phr = 1.0
luminous_transmittance = 0.08
haze_percent = 5.0
leave_out = ["brown"]
"""
GREEN = "nm,transmittance\n" + "".join(f"{nm},{0.5 + 0.0005 * (nm - 400):g}\n" for nm in range(380, 781, 10))


def write(folder, text, **files):
    folder.joinpath("target.toml").write_text(text, encoding="utf-8")
    for name, content in {"green-glass.csv": GREEN, **files}.items():
        folder.joinpath(name).write_text(content, encoding="utf-8")
    return folder / "target.toml"


def test_the_page_of_the_docs_is_read(tmp_path):
    target = read_target(write(tmp_path, FULL))
    assert [s.name for s in target.sections] == ["flange", "point", "12.5 mm"]
    assert target.sections[0].lab == (88.0, -12.0, 2.0)
    assert target.sections[2].insert.width_mm == 30.0
    assert target.also_under == ("A", "LED-B3")
    assert target.glass.spectrum.nm[0] == 380.0
    assert target.limits == Limits(3, 1.0, 0.08, 5.0, ("brown",))


def test_as_read_it_comes_back(tmp_path):
    target = read_target(write(tmp_path, FULL))
    assert target_to_table(target) == tomllib.loads(FULL)
    assert target_from_table(target_to_table(target), tmp_path) == target
    by_hand = replace(target, table=None)
    assert target_from_table(target_to_table(by_hand), tmp_path) == target


@pytest.mark.parametrize(("column", "unit"), [("log10_per_mm", "log10_per_mm"), ("ln_per_mm", "ln_per_mm")])
def test_an_absorption_names_its_unit(tmp_path, column, unit):
    text = 'format = 1\n[[section]]\nthickness_mm = 8\n[glass]\nabsorption = "f.csv"\n'
    path = write(tmp_path, text, **{"f.csv": f"nm,{column}\n380,0.01\n780,0.02\n"})
    assert read_target(path).glass.absorption_unit == unit
    with pytest.raises(BadTable, match="log10_per_mm or ln_per_mm"):
        read_target(write(tmp_path, text, **{"f.csv": "nm,per_mm\n380,0.01\n780,0.02\n"}))


def test_a_light_of_ones_own(tmp_path):
    text = 'format = 1\nlight = "lamp.csv"\n[[section]]\nthickness_mm = 8\nlab = [80, 0, 0]\n'
    target = read_target(write(tmp_path, text, **{"lamp.csv": "nm,power\n380,1\n580,2\n780,3\n"}))
    assert target.light.name == "lamp.csv"
    assert target_to_table(target)["light"] == "lamp.csv"


def test_all_that_is_wrong_comes_in_one_error(tmp_path):
    text = """
format = 1
lihgt = "D65"
observer = 5
[[section]]
name = "flange"
thickness_mm = -8.0
lab = [88, -12]
tolerence = 2.0
[[section]]
tolerance = 0
behind = "wood"
srgb = "green"
[glass]
spectrun = "g.csv"
[limits]
total_phr = true
luminous_transmittance = 8
"""
    with pytest.raises(BadTable) as caught:
        read_target(write(tmp_path, text))
    told = str(caught.value)
    for words in (
        "no key lihgt; did you mean light?", "has observer = 5; it must be 2 or 10",
        "section 'flange' has thickness_mm = -8; it must be from 0.001", "section 'flange' has lab = [88, -12]; it must hold 3",
        "section 'flange' has no key tolerence; did you mean tolerance?", "section 2 has no thickness_mm; add it",
        "section 2 has tolerance = 0; it must be from 0.001", 'section 2 has behind = "wood"; it must be "panel", "white"',
        'section 2 has srgb = "green"; it must be written "#rrggbb"', "[glass] has no key spectrun; did you mean spectrum?",
        "[limits] has total_phr = true, which is not a finite number", "luminous_transmittance = 8; it must be below 1",
    ):  # fmt: skip
        assert words in told, told
    assert "\n" not in told


def test_values_that_need_more_than_a_type_are_told_together_too(tmp_path):
    text = """
format = 1
light = "D66"
[[section]]
name = "flange"
thickness_mm = 8.0
lab = [188, -12, 2]
[[section]]
name = "point"
thickness_mm = 60.0
behind = "insert"
[glass]
thickness_mm = 6
spectrum = "missing.csv"
"""
    with pytest.raises(
        BadTable, match=re.compile(r"flange.*L\*.*point.*insert.*missing\.csv.*D66.*FL1 to FL12")
    ) as caught:
        read_target(write(tmp_path, text))
    assert len(caught.value.problems) == 4


@pytest.mark.parametrize(
    ("content", "error"),
    [
        (b"", FormatMissing),
        (b"\x00\x01\xff", FileProblem),
        ("format = 1".encode("utf-16"), FileProblem),
        (b"format = ", FileProblem),
        (b"format = 2\n[[section]]\nthickness_mm = 8\n", FileProblem),
        (b"format = '1'\n", FormatMissing),
        (b"format = 1\n", FileProblem),
        (b"format = 1\nsection = []\n", FileProblem),
        (b"format = 1\nsection = 3\n", BadTable),
        (b"format = 1\nsection = [3]\n", BadTable),
        (b"format = 1\n[[section]]\nthickness_mm = 8\n", FileProblem),
        (b"format = 1\n[[section]]\nthickness_mm = nan\nlab = [1, 2, 3]\n", BadTable),
        (b"format = 1\n[[section]]\nthickness_mm = inf\nlab = [1, 2, 3]\n", BadTable),
        (b"format = 1\n[[section]]\nthickness_mm = '8'\nlab = [1, 2, 3]\n", BadTable),
        (b"format = 1\n[[section]]\nthickness_mm = 8\nlab = [1, 2, 3]\n[limits]\npigments = 0\n", BadTable),
    ],
)
def test_files_that_are_no_target(tmp_path, content, error):
    path = tmp_path / "target.toml"
    path.write_bytes(content)
    with pytest.raises(error) as caught:
        read_target(path)
    assert "\n" not in str(caught.value)
    assert "target.toml" in str(caught.value)


def test_no_file(tmp_path):
    with pytest.raises(NotThere, match="no such file"):
        read_target(tmp_path / "none.toml")
    with pytest.raises(TintmixError):
        read_target(tmp_path)


KEYS = st.sampled_from(
    [
        "format",
        "light",
        "observer",
        "section",
        "glass",
        "limits",
        "lab",
        "xyz",
        "srgb",
        "thickness_mm",
        "behind",
        "x",
        "camera",
    ]
    + ["insert_lab", "tolerance", "pigments", "leave_out", "absorption", "spectrum", "name", "also_under"]
)
LEAVES = st.one_of(
    st.none(), st.booleans(), st.integers(-5, 5), st.floats(), st.text(max_size=5),
    st.sampled_from(["D65", "panel", "insert", "#ffffff", "a.csv"]), st.lists(st.floats(-200, 200), max_size=4),
)  # fmt: skip
TABLES = st.recursive(
    LEAVES, lambda inner: st.one_of(st.lists(inner, max_size=3), st.dictionaries(KEYS, inner)), max_leaves=12
)


@settings(suppress_health_check=[HealthCheck.too_slow])
@given(st.dictionaries(KEYS, TABLES))
def test_any_table_is_a_target_or_an_error_of_ours(table):
    made = told = None
    try:
        made = target_from_table({**table, "format": 1})
    except TintmixError as error:
        told = str(error)
    assert isinstance(made, Target) or (told and "\n" not in told)


@given(st.binary(max_size=60), st.integers(0, len(FULL)))
def test_mutated_files_raise_nothing_else(tmp_path_factory, junk, at):
    path = tmp_path_factory.getbasetemp() / "mutated.toml"
    path.write_bytes(FULL.encode()[:at] + junk + FULL.encode()[at:])
    with suppress(TintmixError):
        read_target(path)
