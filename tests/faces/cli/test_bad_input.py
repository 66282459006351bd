"""What a user gets wrong, as a user gets it wrong: exit 2, one line on standard error, nothing written."""

from __future__ import annotations

import json
import os
import re
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.faces.conftest import Refused
from tintmix.desk.demo import demo

COLOUR = 'format = 1\n[reading]\nkind = "colour"\n'
AZURE = "[pigments.azure]\n"
CHIPS = "chip,thickness_mm,azure_phr,L,a,b\nclear,3,,96.5,-0.1,0.3\nb1,3,0.05,90,-9,-8\n"


@pytest.fixture
def chips(tmp_path: Path) -> Callable[..., Path]:
    """Writes a chip set; the folder."""

    def writing(table: str | bytes = CHIPS, setting: str | bytes = COLOUR + AZURE) -> Path:
        folder = tmp_path / "set"
        folder.mkdir(exist_ok=True)
        for name, content in (("set.toml", setting), ("chips.csv", table)):
            (folder / name).write_bytes(content if isinstance(content, bytes) else content.encode())
        return folder

    return writing


@pytest.fixture
def no_fit(refused: Refused, tmp_path: Path) -> Callable[[Path], str]:
    """A fit that is refused and writes nothing."""

    def refusing(folder: Path) -> str:
        told = refused("fit", folder, "--model", tmp_path / "m.json", "--json")
        assert not (tmp_path / "m.json").exists()
        assert not [path for path in tmp_path.iterdir() if path.name.startswith(".")]
        return told

    return refusing


@pytest.mark.parametrize(
    ("table", "word"),
    [
        ("", "chips.csv"),
        (b"\x00\x01\x02\xff\xfe" * 50, "chips.csv"),
        ("chip,thickness_mm,azure_phr,L,a,b\n", "chip"),
        ("chip,thickness_mm,azure_phr,L,a\nb1,3,0.05,90,-9\n", "L, a, b"),
        (CHIPS.replace("90,", "ninety,"), "ninety"),
        (CHIPS.replace("90,", "nan,"), "row 3"),
        (CHIPS.replace("90,", "inf,"), "row 3"),
        (CHIPS.replace("b1,3,", "b1,-3,"), "thickness_mm"),
        (CHIPS.replace("0.05", "-0.05"), "azure_phr"),
        (CHIPS.replace("90,", "99.9,"), "lighter"),
        (CHIPS.replace("b1,", "clear,"), "clear"),
        (CHIPS.encode("utf-16"), "UTF-8"),
        (CHIPS.replace("azure_phr", "blau"), "blau"),
        ("chip,thickness_mm,azure_phr,L,a,b\nclear,3,,,,\nb1,3,0.05,,,\n", "reading"),
    ],
)
def test_a_bad_chip_table(
    no_fit: Callable[[Path], str], chips: Callable[..., Path], table: str | bytes, word: str
) -> None:
    assert word in no_fit(chips(table))


@pytest.mark.parametrize(
    ("setting", "word"),
    [
        ("", "set.toml"),
        (b"\x89PNG\r\n\x1a\n\x00\x00", "set.toml"),
        ("format = 1\n[reading\n", "TOML"),
        ("format = 1\n", "reading"),
        ('format = 99\n[reading]\nkind = "colour"\n', "99"),
        ('format = 1\n[reading]\nkind = "smell"\n', "smell"),
        (COLOUR + 'light = "D66"\n', "D65"),
        (COLOUR + "lihgt = 1\n", "light"),
        (COLOUR + "reading_spread = nan\n", "reading_spread"),
        (COLOUR + "[pigments.red]\n", "red"),
        (COLOUR + '[pigments.azure]\nkind = "pearl"\n', "pearl"),
        (
            COLOUR + '[pigments.azure]\ncarrier = "water"\n[resin]\n[[resin.part]]\nname="A"\nparts_by_weight=1\n'
            'hazard="isocyanate"\n',
            "foam",
        ),
    ],
)
def test_a_bad_set_table(
    no_fit: Callable[[Path], str], chips: Callable[..., Path], setting: str | bytes, word: str
) -> None:
    assert word in no_fit(chips(CHIPS, setting))


@pytest.mark.parametrize(
    ("nm", "word"),
    [
        ("400 500 600 650", "700"),
        ("400 500 450 700", "order"),
        ("400 500 500 700", "twice"),
        ("400 410 690 700", "leave out"),
    ],
)
def test_bad_wavelengths(no_fit: Callable[[Path], str], chips: Callable[..., Path], nm: str, word: str) -> None:
    columns = nm.split()
    rows = [["b1", "3", "0.05", *["0.5"] * len(columns)], ["clear", "3", "", *["0.92"] * len(columns)]]
    table = "\n".join(",".join(row) for row in [["chip", "thickness_mm", "azure_phr", *columns], *rows]) + "\n"
    assert word in no_fit(chips(table, COLOUR.replace("colour", "spectrum") + AZURE))


def test_a_spectrum_brighter_than_a_clear_plate(no_fit: Callable[[Path], str], chips: Callable[..., Path]) -> None:
    columns = [str(nm) for nm in range(400, 701, 20)]
    table = (
        ",".join(["chip", "thickness_mm", "azure_phr", *columns])
        + "\n"
        + ",".join(["b1", "3", "0.05", *["0.98"] * 16])
        + "\n"
    )
    assert "0.98" in no_fit(chips(table, COLOUR.replace("colour", "spectrum") + AZURE))


def test_a_huge_table(no_fit: Callable[[Path], str], chips: Callable[..., Path]) -> None:
    folder = chips()
    with open(folder / "chips.csv", "ab") as file:
        file.truncate(3_000_000_000)
    assert "chips.csv" in no_fit(folder)


def test_missing_files(no_fit: Callable[[Path], str], chips: Callable[..., Path], tmp_path: Path) -> None:
    assert "nowhere" in no_fit(tmp_path / "nowhere")
    folder = chips()
    (folder / "chips.csv").unlink()
    assert "chips.csv" in no_fit(folder)
    (folder / "set.toml").unlink()
    assert "set.toml" in no_fit(folder)


def test_all_bad_cells_are_told_together(no_fit: Callable[[Path], str], chips: Callable[..., Path]) -> None:
    told = no_fit(chips(CHIPS.replace("90,", "x,").replace("96.5", "y").replace("0.05", "z")))
    assert len(re.findall(r"row \d", told)) >= 3


BAD_MODELS = {
    "missing": lambda path: path.unlink(),
    "empty": lambda path: path.write_bytes(b""),
    "binary": lambda path: path.write_bytes(bytes(range(256)) * 40),
    "truncated": lambda path: path.write_bytes(path.read_bytes()[: path.stat().st_size // 2]),
    "folder": lambda path: (path.unlink(), path.mkdir()),
    "a link to itself": lambda path: (path.unlink(), path.symlink_to(path.name)),
    "another JSON": lambda path: path.write_text('{"a": 1}'),
    "a list": lambda path: path.write_text("[1, 2]"),
    "nested": lambda path: path.write_text("[" * 200_000),
    "huge": lambda path: os.truncate(path, 2_000_000_000),
    "newer": lambda path: _edited(path, format=99),
    "not finite": lambda path: path.write_text(
        path.read_text().replace('"thickest_mm": 25.0', '"thickest_mm": Infinity')
    ),
    "no draws": lambda path: _edited(path, draws={"count": 3}),
    "odd refraction": lambda path: _edited(path, refractive_index="NaN"),
}


def _edited(path: Path, **changes: object) -> None:
    path.write_text(json.dumps(json.loads(path.read_text()) | changes))


@pytest.mark.parametrize("kind", BAD_MODELS)
@pytest.mark.parametrize("command", ["look", "solve"])
def test_a_bad_model(refused: Refused, model: Path, target: Path, tmp_path: Path, kind: str, command: str) -> None:
    broken = tmp_path / "broken.json"
    shutil.copy(model, broken)
    BAD_MODELS[kind](broken)
    told = refused(*(["look", broken, "--at", "8"] if command == "look" else ["solve", broken, target]), "--json")
    assert "broken.json" in told
    if kind == "newer":
        assert "99" in told


@pytest.mark.parametrize(
    ("arguments", "word"),
    [
        (["--dose", "purple=0.1", "--at", "8"], "purple"),
        (["--dose", "azure", "--at", "8"], "azure=0.02"),
        (["--dose", "=1", "--at", "8"], "azure=0.02"),
        (["--dose", "azure=much", "--at", "8"], "much"),
        (["--dose", "azure=nan", "--at", "8"], "nan"),
        (["--dose", "azure=inf", "--at", "8"], "inf"),
        (["--dose", "azure=1e999", "--at", "8"], "1e999"),
        (["--dose", "azure=-0.1", "--at", "8"], "-0.1"),
        (["--dose", "azure=1e308", "--at", "8"], "from 0 to 100 phr"),
        (["--dose", "azure=" + "9" * 9000, "--at", "8"], "azure=0.02"),
        (["--dose", "caf\udce9=1", "--at", "8"], "UTF-8"),
        (["--dose", "azure=1.000.000", "--at", "8"], "1.000.000"),
        (["--dose", "azure=1", "--dose", "azure=2", "--at", "8"], "twice"),
        (["--dose", "azure=0.1"], "--at"),
        (["--at", "0"], "0 mm"),
        (["--at", "-3"], "-3 mm"),
        (["--at", "thick"], "thick"),
        (["--at", "1e9"], "mm"),
        (["--at", ""], "--at"),
        (["--at", "8", "--light", "D66"], "D65"),
        (["--at", "8", "--light", "nowhere.csv"], "nowhere.csv"),
        (["--at", "8", "--observer", "5"], "observer"),
        (["--at", "8", "--behind", "curtain"], "curtain"),
        (["--at", "8", "--behind", "insert"], "--insert"),
        (["--at", "8", "--behind", "white", "--insert", "#ffffff"], "--insert"),
        (["--at", "8", "--insert-width", "4"], "--insert"),
        (["--at", "8", "--insert", "#12345"], "#12345"),
        (["--at", "8", "--insert", "red"], "red"),
        (["--at", "8", "--insert", "lab=1,2"], "lab"),
        (["--at", "8", "--insert", "lab=200,0,0"], "lab"),
        (["--at", "8", "--insert", "lab=50,nan,0"], "nan"),
        (["--at", "8", "--insert", "gone.csv"], "gone.csv"),
        (["--at", "8", "--insert", "#808080", "--insert-width", "0"], "0 mm"),
        (["--at", "8", "--insert", "#808080", "--insert-width", "-2"], "-2 mm"),
        (["--at", "8", "--picture", "wedge.gif"], ".png"),
        (["--at", "8", "--picture", "wedge"], ".png"),
        (["--at", "8", "--picture", "no/such/folder/wedge.png"], "no/such/folder"),
        (["--at", "8", "--colour", "red"], "--colour"),
        (["--at", "8", "extra"], "extra"),
        (["--at"], "--at"),
    ],
)
def test_a_bad_look(
    refused: Refused, model: Path, arguments: list[str], word: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    assert word in refused("look", model, *arguments)
    assert not list(tmp_path.iterdir())


@pytest.mark.parametrize(
    ("content", "word"),
    [
        (None, "target.toml"),
        ("", "empty"),
        (b"\xff\xfe\x00", "UTF-8"),
        ("format = ", "TOML"),
        ("format = 99\n[[section]]\nthickness_mm = 8\nlab=[50,0,0]\n", "99"),
        ("format = 1\n", "section"),
        ("format = 1\n[[section]]\nthickness_mm = 8\n", "colour"),
        ("format = 1\n[[section]]\nlab = [50,0,0]\n", "thickness_mm"),
        ("format = 1\n[[section]]\nthickness_mm = -8\nlab=[50,0,0]\n", "thickness_mm"),
        ("format = 1\n[[section]]\nthickness_mm = nan\nlab=[50,0,0]\n", "thickness_mm"),
        ("format = 1\n[[section]]\nthickness_mm = 8\nlab=[150,0,0]\n", "L*"),
        ("format = 1\n[[section]]\nthickness_mm = 8\nlab=[50,inf,0]\n", "lab"),
        ('format = 1\nlight = "D66"\n[[section]]\nthickness_mm = 8\nlab=[50,0,0]\n', "D65"),
        ("format = 1\n[[section]]\nthickness_mm = 8\nlab=[50,0,0]\n[limits]\npigments = 0\n", "pigments"),
        ('format = 1\n[[section]]\nthickness_mm = 8\nlab=[50,0,0]\n[limits]\nleave_out = ["mauve"]\n', "mauve"),
        (
            "format = 1\n[[section]]\nthickness_mm = 8\nlab=[50,0,0]\n[limits]\n"
            'leave_out = ["azure", "emerald", "rose", "violet", "lemon"]\n',
            "left out",
        ),
        ("format = 1\n[[section]]\nthickness_mm = 8\n[glass]\nthickness_mm = 6\nspectrum = 'gone.csv'\n", "gone.csv"),
        ("format = 1\n[[section]]\nthicknes_mm = 8\n", "thickness_mm"),
    ],
)
def test_a_bad_target(refused: Refused, model: Path, tmp_path: Path, content: str | bytes | None, word: str) -> None:
    target, kept = tmp_path / "target.toml", tmp_path / "kept.json"
    if content is not None:
        target.write_bytes(content if isinstance(content, bytes) else content.encode())
    assert word in refused("solve", model, target, "--keep", kept, "--json")
    assert not kept.exists()


@pytest.mark.parametrize("most", ["0", "-1", "many", "1.5", "100000"])
def test_a_bad_number_of_recipes(refused: Refused, model: Path, target: Path, most: str) -> None:
    assert "--most" in refused("solve", model, target, "--most", most)


def test_places_that_cannot_be_written(refused: Refused, model: Path, target: Path, tmp_path: Path) -> None:
    (tmp_path / "folder.png").mkdir()
    (tmp_path / "file").write_text("")
    for where in (
        tmp_path / "gone" / "x.png",
        tmp_path / "folder.png",
        tmp_path / "file" / "x.png",
        "/proc/x.png",
        "/dev/null",
    ):
        for command in (
            ["fit", demo("one-cup"), "--model", where],
            ["solve", model, target, "--keep", where],
            ["look", model, "--at", "8", "--picture", where],
        ):
            told = refused(*command)
            assert str(where) in told
    assert sorted(path.name for path in tmp_path.iterdir()) == ["file", "folder.png"]


def test_a_full_disk_leaves_nothing(
    refused: Refused, model: Path, target: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.replace", full)
    told = refused("solve", model, target, "--keep", tmp_path / "r.json")
    assert "no space left" in told
    assert told.endswith("Make room and do it again.\n")
    assert not list(tmp_path.iterdir())


def test_inputs_are_not_written_over(refused: Refused, model: Path, target: Path, tmp_path: Path) -> None:
    folder = tmp_path / "set"
    shutil.copytree(demo("one-cup"), folder)
    wanted = tmp_path / "target.toml"
    shutil.copy(target, wanted)
    shutil.copy(target.with_suffix(".csv"), tmp_path)
    for arguments, where in (
        (["fit", folder, "--model"], folder / "chips.csv"),
        (["fit", folder, "--model"], folder / "set.toml"),
        (["solve", model, wanted, "--keep"], wanted),
        (["solve", model, wanted, "--keep"], model),
    ):
        before = where.read_bytes()
        assert "read" in refused(*arguments, where)
        assert where.read_bytes() == before


def test_two_outputs_of_one_name(refused: Refused, tmp_path: Path) -> None:
    where = tmp_path / "m.png"
    assert "two different" in refused("fit", demo("one-cup"), "--model", where, "--picture", where)
    assert not list(tmp_path.iterdir())


@pytest.mark.parametrize(
    ("arguments", "word"),
    [
        (["lok"], "lok"),
        (["look", "m.json", "--att", "8"], "Did you mean '--at'? `tintmix look --help`"),
        (["--fast"], "--fast"),
        (["fit"], "SET"),
        (["fit", "x"], "--model"),
        (["solve"], "MODEL"),
        (["solve", "m.json"], "TARGET"),
        (["look"], "MODEL"),
        (["tour", "x"], "x"),
        (["look", "a\nb\x1b[31m.json", "--at", "8"], "a b"),
    ],
)
def test_bad_usage(refused: Refused, arguments: list[str], word: str) -> None:
    told = refused(*arguments)
    assert word in told
    assert "\x1b" not in told
