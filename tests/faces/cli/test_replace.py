"""What stands where an output goes: the same kind made by tintmix gives way, everything else only to --replace. And what is
done once is not done twice."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from PIL import Image

from tests.faces.conftest import ROOT, Call, Refused
from tintmix.book.book import open_book
from tintmix.desk.demo import demo
from tintmix.files.made import kind_at

PLAN = ("--pigment", "azure=0.02", "--at", "8", "--cast", "8", "--cups", "2")
WRITERS: dict[str, tuple[str, ...]] = {
    "fit.json": ("fit", "SET", "--model", "OUT"),
    "curves.png": ("fit", "SET", "--model", "new.json", "--picture", "OUT"),
    "misfits.pdf": ("fit", "SET", "--model", "new.json", "--residuals", "OUT"),
    "look.svg": ("look", "MODEL", "--dose", "azure=0.02", "--at", "8", "--picture", "OUT"),
    "solve.png": ("solve", "MODEL", "TARGET", "--picture", "OUT"),
    "kept.json": ("solve", "MODEL", "TARGET", "--keep", "OUT"),
    "prism.shape.json": ("shape", "MESH", "--unit", "mm", "--out", "OUT"),
    "paths.png": ("shape", "MESH", "--unit", "mm", "--picture", "OUT"),
    "sheet.pdf": ("sheet", "RECIPE", "--batch", "450", "--out", "OUT"),
    "sheet.txt": ("sheet", "RECIPE", "--batch", "450", "--out", "OUT"),
    "holder.pdf": ("plan", "planned", *PLAN, "--holder", "OUT"),
    "printed.pdf": ("read", "SET", "--print-holder", "OUT"),
    "shown.json": ("book", "show", "sea", "--out", "OUT"),
    "rescaled.json": ("book", "rescale", "sea", "--lot", "azure=B-9", "--out", "OUT"),
    "chart.png": ("book", "history", "sea", "--picture", "OUT"),
    "export.json": ("book", "export", "OUT"),
    "backup.db": ("book", "backup", "OUT"),
}
KINDS = {".png": "picture", ".svg": "picture", ".txt": "batch sheet", ".db": ""}


@pytest.fixture
def shop(tmp_path: Path, model: Path, target: Path, call: Call, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with a model, a recipe and a book, in which one works."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("TINTMIX_BOOK", str(tmp_path / "book.db"))
    shutil.copy(model, tmp_path / "deck.json")
    shutil.copytree(demo("one-cup"), tmp_path / "set")
    assert call("solve", "deck.json", target, "--keep", "sea.json").status == 0
    assert call("book", "keep", "sea.json").status == 0
    return tmp_path


def words(line: tuple[str, ...], out: str, target: Path) -> list[str]:
    named = {
        "OUT": out, "SET": "set", "MODEL": "deck.json", "RECIPE": "sea.json", "TARGET": str(target),
        "MESH": str(demo("castings", "deck-prism.obj")),
    }  # fmt: skip
    return [named.get(word, word) for word in line]


def others(folder: Path) -> dict[str, bytes]:
    """A file that tintmix did not make, for each ending, and one of another kind that it made."""
    Image.new("RGB", (4, 4)).save(folder / "mine.png")
    return {
        ".png": (folder / "mine.png").read_bytes(), ".svg": b'<svg xmlns="http://www.w3.org/2000/svg"/>',
        ".pdf": b"%PDF-1.4\n/Producer (another program)\n", ".txt": b"what I wrote down\n",
        ".db": (folder / "book.db").read_bytes(), ".json": b'{"is": "mine"}',
    }  # fmt: skip


def test_an_output_takes_the_place_of_nothing_else(shop: Path, target: Path, refused: Refused) -> None:
    theirs = others(shop)
    for name, line in WRITERS.items():
        place = shop / name
        made = (shop / ("sea.json" if name == "fit.json" else "deck.json")).read_bytes()
        for content in (theirs[place.suffix], made):
            place.write_bytes(content)
            told = refused(*words(line, name, target))
            assert name in told
            assert "is there already" in told
            assert "--replace" in told
            assert place.read_bytes() == content, f"{name} is not as it was"
    assert not (shop / "new.json").exists()
    assert not (shop / "planned").exists()


def test_with_replace_it_does_and_the_same_kind_gives_way_by_itself(shop: Path, target: Path, call: Call) -> None:
    theirs = others(shop)
    for name in ("look.svg", "sheet.pdf", "sheet.txt", "shown.json", "export.json"):
        place, line = shop / name, words(WRITERS[name], name, target)
        place.write_bytes(theirs[place.suffix])
        assert call(*line, "--replace").status == 0
        first = place.read_bytes()
        assert kind_at(place), f"{name} carries no mark"
        place.write_bytes(first + b"\n")
        assert call(*line).status == 0, f"{name} is of the same kind"
        assert place.read_bytes() != first + b"\n"


def test_a_backup_never_takes_the_place_of_a_book_that_is_open(shop: Path, call: Call, refused: Refused) -> None:
    assert call("book", "backup", "copy.db").status == 0
    assert "--replace" in refused("book", "backup", "copy.db")
    assert call("book", "backup", "copy.db", "--replace").status == 0
    assert call("book", "check", "--book", "copy.db").status == 0
    assert "does not overwrite it" in refused("book", "backup", "book.db", "--replace")
    (shop / "copy.db-wal").write_bytes(b"what is not in the file yet")
    assert "does not overwrite it" in refused("book", "backup", "copy.db", "--replace")


def test_a_model_beside_a_recipe_gives_way_only_to_replace(shop: Path, call: Call, refused: Refused) -> None:
    other = json.loads((shop / "deck.json").read_text(encoding="utf-8")) | {"refractive_index": 1.51}
    (shop / "deck.json").write_text(json.dumps(other), encoding="utf-8")
    assert "--replace" in refused("book", "show", "sea", "--out", "again.json")
    assert not (shop / "again.json").exists()
    assert call("book", "show", "sea", "--out", "again.json", "--replace").status == 0
    assert json.loads((shop / "deck.json").read_text(encoding="utf-8"))["refractive_index"] == 1.5


def test_the_tour_takes_the_place_of_files_of_its_names_only_with_replace(
    tmp_path: Path, call: Call, refused: Refused, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("tintmix.desk.tour._Guide.steps", lambda guide: iter(()))
    (tmp_path / "recipe.json").write_text("mine", encoding="utf-8")
    refused("tour", "--into", tmp_path)
    assert call("tour", "--into", tmp_path, "--replace").status == 0


def test_what_is_written_is_told_where_standard_output_fails(shop: Path, target: Path) -> None:
    """A retry would do it twice: exit 0, and standard error says what is done."""
    lines = (
        ("recorded as pour 1", "book", "pour", "sea", "--batch", "450"),
        ("recorded as pour 2", "book", "pour", "sea", "--batch", "460", "--json"),
        ("written: again.json", "book", "show", "sea", "--out", "again.json"),
        ("written: copy.db", "book", "backup", "copy.db"),
        ("", "book", "show", "sea"),
    )
    for done, *line in lines:
        with open("/dev/full", "w", encoding="utf-8") as full:
            ran = subprocess.run(
                [sys.executable, "-m", "tintmix", *line], stdout=full, stderr=subprocess.PIPE, text=True, check=False,
                env=os.environ | {"PYTHONPATH": str(ROOT)},
            )  # fmt: skip
        assert ran.returncode == (0 if done else 2), ran.stderr
        assert ran.stderr.startswith(f"tintmix: {done}")
        assert ran.stderr.count("\n") == 1
    assert (shop / "again.json").exists()
    with open_book() as book:
        assert [one.pour.batch_g for one in book.pours("sea")] == [450.0, 460.0]


def test_the_same_pour_is_recorded_again_only_where_that_is_said(
    shop: Path, call: Call, refused: Refused, monkeypatch: pytest.MonkeyPatch
) -> None:
    line = ("book", "pour", "sea", "--on", "2025-03-01", "--batch", "450", "--weighed", "A=236.8")
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1800000000")
    assert call(*line).status == 0
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1800000590")
    assert "--again" in refused(*line, "--note", "a note makes it no other")
    assert call(*line, "--again").status == 0
    others = (("--on", "2025-03-02"), ("--batch", "451"), ("--weighed", "B=213"), ("--lot", "azure=B-9"))
    for other in others:
        assert call(*line, *other).status == 0
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1800001300")
    assert call(*line).status == 0, "after ten minutes it is another"
    with open_book() as book:
        assert len(book.pours("sea")) == 3 + len(others)
