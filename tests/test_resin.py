"""resin.py: the file of formats.md, what it refuses, and that it comes back as it went."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
import tomlkit
from hypothesis import given
from hypothesis import strategies as st

from tintmix.errors import FileProblem, NotThere, TintmixError
from tintmix.files.errors import BadTable, FormatMissing
from tintmix.files.text import load_toml
from tintmix.resin import HAZARDS, Part, Resin, read_resin, resin_from_table, resin_to_table

EXAMPLE = """\
format = 1
name = "clear casting resin, invented"
refractive_index = 1.50
density_g_per_cm3 = 1.06
max_total_phr = 1.5
takes_pigment = "B"              # the part that pigment goes into
pot_life_min = 8
demould_h = 24
cure = "24 h at 23 °C, 4 h at 65 °C"
[[part]]
name = "A"
parts_by_weight = 100
hazard = "isocyanate"
[[part]]
name = "B"
parts_by_weight = 90
hazard = "none"
"""
"""formats.md, "Resin"."""


def test_reads_the_example_of_the_format(tmp_path: Path) -> None:
    path = tmp_path / "resin.toml"
    path.write_text(EXAMPLE, encoding="utf-8")
    resin = read_resin(path)
    assert resin == Resin(
        "clear casting resin, invented", 1.5, 1.06, 1.5, "B", 8.0, 24.0, "24 h at 23 °C, 4 h at 65 °C",
        (Part("A", 100.0, "isocyanate"), Part("B", 90.0, "none")),
    )  # fmt: skip
    assert resin.has_hazard("isocyanate")
    assert not resin.has_hazard("styrene")
    assert isinstance(resin.pot_life_min, float)


def test_everything_has_a_default() -> None:
    resin = resin_from_table({}, "set.toml")
    assert resin == Resin()
    assert resin.refractive_index == 1.5
    assert resin.parts == ()


def test_windows_line_ends_and_byte_order_mark(tmp_path: Path) -> None:
    path = tmp_path / "resin.toml"
    path.write_bytes(b"\xef\xbb\xbf" + EXAMPLE.replace("\n", "\r\n").encode("utf-8"))
    assert read_resin(path).max_total_phr == 1.5


_numbers = st.floats(0.31, 5)
_names = st.text(st.characters(codec="utf-8", exclude_categories=["Cs"]), min_size=1, max_size=20).filter(str.strip)
_hazards = st.sampled_from(HAZARDS)
_by_weight = st.builds(Part, _names, _numbers, _hazards, st.none() | _numbers)
_by_volume = st.builds(Part, _names, st.just(0.0), _hazards, _numbers, _numbers)
_parts = st.one_of(
    *(st.lists(one, max_size=3, unique_by=lambda part: part.name) for one in (_by_weight, _by_volume)),
)
_resins = st.builds(
    Resin, _names, st.floats(1.3, 1.8), st.none() | _numbers, st.none() | _numbers, st.none(), st.none() | _numbers,
    st.none() | _numbers, st.just("") | _names, _parts.map(tuple),
)  # fmt: skip


@given(_resins)
def test_table_round_trip(resin: Resin) -> None:
    table = resin_to_table(resin)
    assert resin_from_table(table, "here") == resin
    assert resin_from_table(tomlkit.parse(tomlkit.dumps(table)).unwrap(), "here") == resin


def test_parts_by_volume_become_weights() -> None:
    # By hand: 2 volumes of 1.15 g/cm³ and 1 of 0.95 g/cm³ are 2.30 : 0.95 by weight, 100 : 41.304.
    resin = resin_from_table(
        {
            "part": [
                {"name": "resin", "parts_by_volume": 2, "density_g_per_cm3": 1.15, "hazard": "epoxy resin"},
                {"name": "hardener", "parts_by_volume": 1, "density_g_per_cm3": 0.95, "hazard": "amine hardener"},
            ],
            "takes_pigment": "resin",
        },
        "resin.toml",
    )
    first, second = resin.parts
    assert first.parts_by_weight == pytest.approx(2.30, rel=1e-15)
    assert 100 * second.parts_by_weight / first.parts_by_weight == pytest.approx(41.304, abs=5e-4)
    assert replace(first, hazard="none").parts_by_weight == first.parts_by_weight
    assert "parts_by_weight" not in resin_to_table(resin)["part"][0]
    with pytest.raises(BadTable, match="keep one of them"):
        Part("A", 3.0, "none", 1.1, 2.0)


def test_shipped_resins_are_whole() -> None:
    folder = Path(__file__).parents[1] / "swatches" / "resins"
    found = {path.stem: read_resin(path) for path in sorted(folder.glob("*.toml"))}
    assert len(found) == 2
    for resin in found.values():
        assert "invented" in resin.name
        assert None not in (resin.takes_pigment, resin.density_g_per_cm3, resin.pot_life_min)
        assert len(resin.parts) == 2
        # The mixed density is that of the parts, volumes added, within what curing and rounding leave.
        volume = sum(part.parts_by_weight / part.density_g_per_cm3 for part in resin.parts)
        mixed = sum(part.parts_by_weight for part in resin.parts) / volume
        assert resin.density_g_per_cm3 == pytest.approx(mixed, rel=0.02)
    assert found["urethane"].has_hazard("isocyanate")
    assert found["epoxy"].has_hazard("amine hardener")
    assert all(part.parts_by_volume for part in found["epoxy"].parts)


@pytest.mark.parametrize(
    ("table", "said"),
    [
        ({"refractive_indx": 1.5}, "did you mean refractive_index?"),
        ({"name": "r", "part": [{"nam": "A", "parts_by_weight": 1}]}, "did you mean name?"),
        ({"part": [{"name": "A"}]}, "part 1 has no parts_by_weight"),
        ({"part": [{"parts_by_volume": 1}]}, "part 1 has no name"),
        ({"part": [{"name": "A", "parts_by_weight": 1, "parts_by_volume": 1}]}, "keep one of them"),
        ({"part": {"name": "A"}}, "[[part]]"),
        ({"part": [1]}, "[[part]]"),
        ({"part": [{"name": "A", "parts_by_weight": 1}] * 21}, "at most 20"),
    ],
)
def test_bad_tables(table: dict[str, object], said: str) -> None:
    with pytest.raises(BadTable) as error:
        resin_from_table(table, "set.toml, [resin]")
    assert str(error.value).startswith("set.toml, [resin]: ")
    assert said in str(error.value)


@pytest.mark.parametrize(
    ("table", "said"),
    [
        ({"refractive_index": 15}, "at most 2"),
        ({"refractive_index": "1.5"}, "not a finite number"),
        ({"refractive_index": True}, "not a finite number"),
        ({"refractive_index": float("nan")}, "not a finite number"),
        ({"density_g_per_cm3": float("inf")}, "not a finite number"),
        ({"density_g_per_cm3": 10**400}, "larger than any number here can be"),
        ({"max_total_phr": -1}, "above 0"),
        ({"pot_life_min": 0}, "above 0"),
        ({"name": ""}, "not empty"),
        ({"name": 3}, "it must be text"),
        ({"cure": "x" * 501}, "longer than 500 characters"),
        (
            {"name": 3, "pot_life_min": 0, "part": [{"name": "A", "parts_by_weight": 0}]},
            "pot_life_min = 0; it must be above 0",
        ),
        (
            {"name": 3, "part": [{"name": "A", "parts_by_weight": 0}]},
            "parts_by_weight = 0; it must be above 0; the resin has name",
        ),
        ({"takes_pigment": "B"}, "no part at all"),
        ({"takes_pigment": "C", "part": [{"name": "A", "parts_by_weight": 1}]}, "lists A"),
        ({"part": [{"name": "A", "parts_by_weight": 0}]}, "above 0"),
        ({"part": [{"name": "A", "parts_by_weight": 1, "hazard": "isocyanat"}]}, "did you mean isocyanate?"),
        ({"part": [{"name": "A", "parts_by_volume": 1}]}, "needs its density_g_per_cm3"),
        ({"part": [{"name": "A", "parts_by_volume": -2, "density_g_per_cm3": 1}]}, "above 0"),
        ({"part": [{"name": "A", "parts_by_volume": float("nan"), "density_g_per_cm3": 1}]}, "not a finite number"),
        (
            {
                "part": [
                    {"name": "A", "parts_by_weight": 1},
                    {"name": "B", "parts_by_volume": 1, "density_g_per_cm3": 1},
                ]
            },
            "some by volume",
        ),
        ({"part": [{"name": "A", "parts_by_weight": 1}, {"name": "A", "parts_by_weight": 1}]}, "two parts"),
    ],
)
def test_bad_resins(table: dict[str, object], said: str) -> None:
    with pytest.raises(BadTable) as error:
        resin_from_table(table, "resin.toml")
    assert str(error.value).startswith("resin.toml: ")
    assert said in str(error.value)
    assert "\n" not in str(error.value)


@pytest.mark.parametrize(
    ("content", "cause"),
    [
        (b"", FormatMissing),
        (b"format = 0", FormatMissing),
        (b"format = true", FormatMissing),
        (b'format = "1"', FormatMissing),
        (b"format = 2", FileProblem),
        (b"format = 1\nname = ", FileProblem),
        (b"format = 1\nformat = 1", FileProblem),
        (b"a = " + b"[" * 1500 + b"]" * 400, FileProblem),
        (b"a" * 3000, FileProblem),
        (b"a = 1" + b"0" * 1500, FormatMissing),
        (b"\xff\xfef\0o\0", FileProblem),
        (b'name = "caf\xe9"', FileProblem),
        (b"PK\x03\x04\0\0", FileProblem),
        (b"#" * 100_001, FileProblem),
    ],
)
def test_files_that_are_none(tmp_path: Path, content: bytes, cause: type[TintmixError]) -> None:
    path = tmp_path / "resin.toml"
    path.write_bytes(content)
    with pytest.raises(cause) as error:
        read_resin(path)
    assert "resin.toml" in str(error.value)


def test_file_that_is_not_there(tmp_path: Path) -> None:
    for path in (tmp_path / "none.toml", tmp_path, Path("a\0b"), tmp_path / ("x" * 5000)):
        with pytest.raises(TintmixError):
            load_toml(path, "a resin file")
    with pytest.raises(NotThere, match="a resin file is needed there"):
        load_toml(tmp_path / "none.toml", "a resin file")


def test_names_the_line_that_is_not_text(tmp_path: Path) -> None:
    path = tmp_path / "resin.toml"
    path.write_bytes(b'format = 1\nname = "caf\xe9"\n')
    with pytest.raises(FileProblem, match="line 2"):
        read_resin(path)
