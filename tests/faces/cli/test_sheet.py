"""`tintmix sheet` as a maker calls it: the text, the PDF, the JSON, and each bad input."""

from __future__ import annotations

import importlib.util
import json
import os
import re
import shutil
import subprocess
import sys
import zlib
from dataclasses import replace
from pathlib import Path

import pytest

from tests.faces.conftest import ROOT, Call, Refused
from tintmix.desk.bench.sheet import Amount, sheet_of
from tintmix.errors import LibraryMissing
from tintmix.faces.paper.sheet import pdf_of
from tintmix.faces.paper.sheet_text import text_of
from tintmix.pictures.fonts import fonts
from tintmix.pigments.model_file import load_model
from tintmix.recipes.recipe_file import read_recipe
from tintmix.weighing.scales import scales_from_text

BATCH = ("--batch", "450", "--scale", "0.01")


@pytest.fixture(autouse=True)
def no_book(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("TINTMIX_BOOK", str(tmp_path / "no-book.db"))


@pytest.fixture
def recipe(call: Call, model: Path, target: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    where = model.parent / "sea-green.json"
    if not where.exists():
        said = call("solve", model, target, "--most", "1", "--keep", where)
        assert said.status == 0, said
    return where


def words_of(pdf: Path) -> str:
    if shutil.which("pdftotext") is None:
        pytest.skip("no pdftotext on this machine")
    done = subprocess.run(["pdftotext", "-layout", pdf, "-"], capture_output=True, text=True, check=True)
    return done.stdout


def pages(pdf: bytes) -> int:
    return len(re.findall(rb"/Type /Page\b(?!s)", pdf))


def test_the_text_reads_from_top_to_bottom(call: Call, recipe: Path) -> None:
    said = call("sheet", recipe, *BATCH)
    assert said.status == 0, said
    told = " ".join(said.out.split())
    words = [
        "sea-green", "450 g of mixed clear casting resin, invented", "fingerprint", "lots", "cure", "BEFORE YOU MIX", "asthma",
        "WHAT IT WILL LOOK LIKE", "flange", "WHAT GOES IN", "100 g of mixed resin, all parts", "THE DAY BEFORE",
        "to the bottom", "by difference", "Weigh part B", "Add the pigment to part B", "scraping sides and bottom",
        "10 to 20 mm deep", "2.11 times as strong", "coarse check", "trial chip", "ON THE DAY", "CLOCK STARTS: 8 minutes",
        "Add part A", "part A = this × 1.1", "second pot", "three to four times as large", "a minute or two more", "keep a chip",
        "Cure", "HOW EXACT THE WEIGHING IS", "Signature", "WHERE THE CAUTIONS COME FROM", "NIOSH",
    ]  # fmt: skip
    at = -1
    for word in words:
        assert word in told[at + 1 :], word
        at = told.index(word, at + 1)
    assert all(len(line) <= 100 for line in said.out.splitlines())
    fingerprint = read_recipe(recipe).digest()[:12]
    assert fingerprint in told


def test_every_weight_has_a_box_and_a_line(call: Call, recipe: Path) -> None:
    text, body = call("sheet", recipe, *BATCH).out, call("sheet", recipe, *BATCH, "--json").json
    weighed = [line for line in text.splitlines() if "actual ____" in line]
    assert all(re.fullmatch(r" {4}\[ \] .+ \.* +\d+\.\d\d g {3}actual _+ g", line) for line in weighed), weighed
    shown = [re.search(r"(\d+\.\d\d) g   actual", line) for line in weighed]
    numbers = [float(found[1]) for found in shown if found]
    planned = [one["grams_to_weigh"] for one in body["parts"]] + [one["weigh"]["grams"] for one in body["pigments"]]
    planned += [one[key] for one in body["letdowns"] for key in ("pigment_g", "carrier_g") if not one["from_letdown"]]
    for number in planned:
        assert any(abs(number - found) < 1e-9 for found in numbers), number


def test_json_is_one_object(call: Call, recipe: Path) -> None:
    said = call("sheet", recipe, *BATCH, "--json")
    assert said.out.count("\n") == 1
    assert said.json["batch_g"] == 450.0
    assert said.err == ""


def test_the_pdf_holds_the_same_and_numbers_its_pages(call: Call, recipe: Path, tmp_path: Path) -> None:
    said = call("sheet", recipe, *BATCH, "--out", tmp_path / "a.pdf")
    assert said.status == 0, said
    assert "a.pdf" in said.out
    data = (tmp_path / "a.pdf").read_bytes()
    assert data.startswith(b"%PDF-")
    count = pages(data)
    assert 3 <= count <= 6
    told = words_of(tmp_path / "a.pdf")
    for number in range(1, count + 1):
        assert f"page {number} of {count}" in told
    assert told.count("sea-green · batch sheet, 450 g · ") == count
    for word in (
        "CLOCK STARTS: 8 minutes",
        "signature",
        "actual",
        "fingerprint",
        "Weigh part B",
        "see a doctor",
        "2.11 times",
    ):
        assert word in told
    weights = call("sheet", recipe, *BATCH, "--json").json["parts"]
    for part in weights:
        assert f"{part['grams_to_weigh']:.2f} g" in told


@pytest.mark.parametrize(
    ("paper", "size"), [("A4", (595.28, 841.89)), ("Letter", (612.0, 792.0)), ("letter", (612.0, 792.0))]
)
def test_papers(call: Call, recipe: Path, tmp_path: Path, paper: str, size: tuple[float, float]) -> None:
    """ISO 216: A4 is 210 × 297 mm; ANSI Y14.1: Letter is 8.5 × 11 in. In points of 1/72 in."""
    assert call("sheet", recipe, *BATCH, "--out", tmp_path / "a.pdf", "--paper", paper).status == 0
    found = re.search(rb"/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]", (tmp_path / "a.pdf").read_bytes())
    assert found is not None
    assert (float(found[1]), float(found[2])) == pytest.approx(size, abs=0.01)


def test_nothing_is_written_off_the_paper(call: Call, recipe: Path, tmp_path: Path) -> None:
    assert call("sheet", recipe, *BATCH, "--out", tmp_path / "a.pdf").status == 0
    data = (tmp_path / "a.pdf").read_bytes()
    streams = re.findall(rb"stream\r?\n(.*?)\r?\nendstream", data, re.DOTALL)
    places = []
    for stream in streams:
        try:
            text = zlib.decompress(stream).decode("latin-1")
        except zlib.error:
            continue
        places += re.findall(r"BT (-?[\d.]+) (-?[\d.]+) Td", text)
    assert len(places) > 150
    # A4 in points, with at least 12 mm at the sides and 8 mm at top and bottom that no desk printer reaches.
    assert all(34 <= float(x) <= 561 and 22 <= float(y) <= 820 for x, y in places)


def test_the_text_file(call: Call, recipe: Path, tmp_path: Path) -> None:
    assert call("sheet", recipe, *BATCH, "--out", tmp_path / "a.txt").status == 0
    lines = (tmp_path / "a.txt").read_text(encoding="utf-8").splitlines()
    assert lines[0] == "sea-green"
    assert max(map(len, lines)) <= 84


@pytest.mark.parametrize("ending", ["pdf", "txt"])
def test_the_same_bytes_twice(recipe: Path, tmp_path: Path, ending: str) -> None:
    """In processes of their own, with another seed for Python's hashes, some time apart."""
    made = []
    for seed in ("1", "2"):
        out = tmp_path / f"{seed}.{ending}"
        environment = {**os.environ, "SOURCE_DATE_EPOCH": "1790000000", "PYTHONHASHSEED": seed}
        subprocess.run(
            [sys.executable, "-m", "tintmix", "sheet", recipe, *BATCH, "--out", out], cwd=ROOT, env=environment,
            check=True, capture_output=True,
        )  # fmt: skip
        made.append(out.read_bytes())
    assert made[0] == made[1]


def test_mould_volumes_and_commas(call: Call, recipe: Path) -> None:
    body = call("sheet", recipe, "--volume", "400,0 cm3", "--waste", "5 %", "--json").json
    assert body["batch_g"] == pytest.approx(400 * 1.06 * 1.05)
    assert call("sheet", recipe, "--water", "400g", "--json").json["batch_g"] == pytest.approx(
        400.7185 * 1.06 * 1.1, rel=1e-4
    )


def test_text_needs_nothing_heavy(recipe: Path) -> None:
    code = (
        "import sys; from tintmix.faces.cli.main import run; "
        f"status = run(['sheet', {str(recipe)!r}, '--batch', '450', '--scale', '0.01']); "
        "heavy = {'scipy', 'matplotlib', 'fpdf', 'PIL', 'colour', 'fontTools'} & set(sys.modules); "
        "print(sorted(heavy), status, file=sys.stderr)"
    )
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True)
    assert done.stderr.strip() == "[] 0"


def test_fonts_come_without_matplotlib(monkeypatch: pytest.MonkeyPatch) -> None:
    assert all(path.is_file() for path in fonts().values())
    monkeypatch.setattr(importlib.util, "find_spec", lambda name: None)
    with pytest.raises(LibraryMissing, match="DejaVu"):
        fonts()


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        ((), "how much resin"),
        (("--batch", "450", "--volume", "400"), "one of --batch, --volume"),
        (("--batch", "450", "--waste", "5"), "--waste goes with"),
        (("--batch", "much"), "not a number"),
        (("--batch", "-450"), "must be from"),
        (("--batch", "0"), "must be from"),
        (("--batch", "1e9"), "must be from"),
        (("--volume", "-1"), "must be from"),
        (("--water", "nan"), "not a number"),
        (("--volume", "400", "--waste", "-5"), "waste"),
        (("--batch", "1e-308"), "must be from"),
        (("--batch", "450", "--scale", "1"), "finer scale"),
        (("--batch", "450", "--scale", "x"), "scale cannot be used"),
        (("--batch", "450", "--scale", "1e-308"), "must be from 0.0000001 to 100 g"),
        (("--batch", "450", "--revision", "9" * 400), "--revision"),
        (("--batch", "450", "--scale", "spoon=1"), "resin"),
        (("--batch", "450", "--scale", "0.01:0.01:0.05"), "capacity"),
        (("--batch", "450", "--scale", "-0.01"), "readability"),
        (("--batch", "900000", "--scale", "0.001:0.001:50"), "weighings"),
        (("--batch", "450", "--resin", "gone.toml"), "gone.toml"),
        (("--batch", "450", "--model", "gone.json"), "gone.json"),
        (("--batch", "450", "--book", "gone.db"), "gone.db"),
        (("--batch", "450", "--lot", "azure"), "names no pigment and lot"),
        (("--batch", "450", "--lot", "mauve=X"), "mauve"),
        (("--batch", "450", "--lot", "azure=A", "--lot", "azure=B"), "named twice"),
        (("--batch", "450", "--revision", "2"), "--revision picks one out of the book"),
        (("--batch", "-5"), "-5 g; it must be from 0.1 to 1000000 g"),
        (("--batch", "450", "--out", "sheet.doc"), ".pdf or .txt"),
        (("--batch", "450", "--out", "gone/sheet.pdf"), "gone"),
        (("--batch", "450", "--paper", "A3"), "A3"),
        (("--batch", "450", "--revision", "0"), "--revision"),
    ],
)
def test_bad_input_is_one_sentence_and_nothing_is_written(
    refused: Refused,
    recipe: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    arguments: tuple[str, ...],
    says: str,
) -> None:
    monkeypatch.chdir(tmp_path)
    assert says in refused("sheet", recipe, *arguments)
    assert not list(tmp_path.iterdir())


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"", "cut off"),
        (b"\x00\x01\xff", "text"),
        (b"[]", "JSON object"),
        (b'{"format": 99}', "format 99"),
        (b'{"format": 1, "name": "x"}', "doses_phr; it must be a table; and 7 more"),
        (b'{"made_by": "tintmix 1", "is": "tintmix model"}', "it is a model that tintmix made"),
    ],
)
def test_files_that_are_no_recipe(refused: Refused, tmp_path: Path, content: bytes, says: str) -> None:
    (tmp_path / "r.json").write_bytes(content)
    assert says in refused("sheet", tmp_path / "r.json", *BATCH)


def test_a_recipe_whose_model_is_gone(refused: Refused, recipe: Path, tmp_path: Path) -> None:
    text = recipe.read_text(encoding="utf-8")
    named = read_recipe(recipe).model_file
    (tmp_path / "r.json").write_text(text.replace(named, "gone.json"), encoding="utf-8")
    assert "model" in refused("sheet", tmp_path / "r.json", *BATCH)


def test_doses_that_somebody_changed_in_the_file_are_told(
    call: Call, recipe: Path, model: Path, tmp_path: Path
) -> None:
    table = json.loads(recipe.read_text(encoding="utf-8"))
    table["doses_phr"] = {name: 10 * dose for name, dose in table["doses_phr"].items()}
    (tmp_path / "r.json").write_text(json.dumps(table), encoding="utf-8")
    said = call("sheet", tmp_path / "r.json", "--model", model, *BATCH).out
    assert "The recipe's doses are not those that its colours were worked out for" in " ".join(
        said.replace("!", "").split()
    )
    assert "not those" not in call("sheet", recipe, *BATCH).out


def test_a_recipe_of_negative_weight(refused: Refused, recipe: Path, tmp_path: Path) -> None:
    text = recipe.read_text(encoding="utf-8")
    (tmp_path / "r.json").write_text(re.sub(r'("doses_phr":{"\w+":)', r"\1-", text, count=1), encoding="utf-8")
    assert "must be from 0 to 100 phr" in refused("sheet", tmp_path / "r.json", *BATCH)


def test_names_that_are_nowhere(refused: Refused) -> None:
    assert "book list" in refused("sheet", "sea-green", *BATCH)
    refused("sheet", "x" * 5000, *BATCH)


ODD = ["blau \u2603 漢字 \U0001f600", "emerald\nline\ttab", "x" * 200, "{nb} **bold** <b>", "\u05d0\u05d1 a\x07b"]


@pytest.mark.parametrize("name", ["", "\n", "a{nb}b\x00", "y" * 500])
def test_names_that_no_printer_likes(recipe: Path, name: str, capfd: pytest.CaptureFixture[str]) -> None:
    kept = read_recipe(recipe)
    model = load_model(kept.model_file)
    names = dict(zip(model.pigments, ODD, strict=True))
    odd = replace(model, pigments=tuple(ODD), lots=dict.fromkeys(ODD, "L\n1"))
    places = [{**one, "name": ODD[i]} for i, one in enumerate(kept.sections)]
    wanted = [{**one, "name": ODD[i]} for i, one in enumerate(kept.target["section"])]
    made = replace(
        kept,
        name=name,
        doses_phr={**{names[pigment]: dose for pigment, dose in kept.doses_phr.items()}, ODD[4]: 0.01, ODD[3]: 0.002},
        sections=places,
        target={**kept.target, "section": wanted},
    )
    assert made.resin is not None
    done = sheet_of(made, odd, made.resin, Amount(450.0), scales_from_text(["0.01"]), odd.lots)
    assert pdf_of(done.sheet).startswith(b"%PDF-")
    told = text_of(done.sheet)
    assert not re.search(r"[\x00-\x09\x0b-\x1f]", told)
    assert max(map(len, told.splitlines())) <= 86
    assert capfd.readouterr() == ("", "")
