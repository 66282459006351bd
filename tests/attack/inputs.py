"""What is typed wrong, on purpose or not: numbers, texts, places of files; sound ones beside them; and what no answer may be."""

from __future__ import annotations

import contextlib
import io
import json
import os
import random
import re
import shutil
import sys
from collections.abc import Iterator
from pathlib import Path

import numpy as np
from PIL import Image

from tintmix.desk.demo import demo
from tintmix.errors import LONGEST
from tintmix.faces.cli.main import run

_NM = range(400, 701, 20)
_SPECTRA = "sample," + ",".join(map(str, _NM)) + "\nclear 3 mm," + ",".join("0.91" for _ in _NM) + "\n"
_CORNER = "\n".join(["v 0 0 0", "v 10 0 0", "v 0 10 0", "v 0 0 10", "f 1 3 2", "f 1 2 4", "f 2 3 4", "f 3 1 4"]) + "\n"

NUMBERS = (
    "nan", "NaN", "inf", "-inf", "1e308", "-1e308", "1e-308", "5e-324", "1e999", "9" * 400, "0." + "0" * 400 + "1", "0", "-0",
    "-1", "0.0", "1e15", "1e-9", "0x10", "1_000", "\uff11\uff12", "\u0663", "\u00bd", "1,5", "1.5.5", "1,2,3", "+", "e", "1e",
    ".", "", "  ", "100", "1000000", "1000001", "8 mm", "450 g", "5%", "-5%", "0,02 phr", "true", "None", "2", "3.7", "0.001",
    "12",
)  # fmt: skip
TEXTS = (
    "", " ", "a" * 5000, "\udcff", "caf\udce9", "\ud7ff", "\x1b[31mred\x1b[0m", "two\nlines", "\ttab", "\u202eright to left",
    "\U0001f642" * 100, "../../etc/passwd", "=1+1", "+1", "@x", "-", "--", "--help", "--json", "'; drop table", "{0}",
    "{where}", "%s%n", "CON", "..", ".", "/", "name=value", "=", "==", "a=", "=a", "azure=", "azure=nan", "azure=1e308",
    "azure=-1", "azure=0.02", "azure=0.02=0.02", "mauve=0.1", "azure 1+50=4.8", "azure 1+0=1", "azure 1+1e9=1", "A=236.8",
    "A=1e308", "point=63,-33,-8", "point=-1,0,0", "point=200,0,0", "#b08d3c", "#12", "lab=62,8,45", "lab=nan,0,0", "0,40,30",
    "-1,-24,3", "88,-11,-3", "1,2", "1;2;3", "0,0,-1", "0,0,0", "1e308,0,0", "2026-02-30", "2026-11-02", "0001-01-01",
    "9999-12-31", "D65", "d65", "D66", "A", "FL11", "sea", "deepest", "A1", "2.3", "10,10,50,50", "A=10,10,50,50", "1:1:1",
    "0.01:0.02:200", "resin=0.1", "resin=", "0.01:nan", "part B", "part \udcff", "percent of the whole",
)  # fmt: skip
FOREIGN = (
    "loop",
    "fifo",
    "/dev/zero",
    "/dev/null",
    "/proc/self/mem",
    "/proc/version",
    ".",
    "..",
    "/",
    "nowhere/x.json",
    "n" * 300,
    "m\udcff.json",
    "",
)
"""Places that are no files, or none of ours; the first two are made by `ground`."""


def ground(folder: Path, model: Path) -> None:
    """Sound files of every kind in a new folder, by short names. model: of deck-prism-colours."""
    folder.mkdir()
    shutil.copytree(demo("deck-prism-colours"), folder / "set")
    shutil.copytree(demo("one-cup"), folder / "cup")
    shutil.copy(model, folder / "model.json")
    for ending in ("toml", "csv"):
        shutil.copy(demo("targets", f"sea-green-glass.{ending}"), folder)
    (folder / "sea-green-glass.toml").rename(folder / "target.toml")
    shutil.copy(demo("resins", "urethane.toml"), folder / "resin.toml")
    os.symlink("loop", folder / "loop")
    os.mkfifo(folder / "fifo")
    (folder / "instrument.csv").write_text(_SPECTRA, encoding="utf-8")
    (folder / "mesh.obj").write_text(_CORNER, encoding="utf-8")
    picture = Image.fromarray(np.random.default_rng(1).integers(0, 255, (120, 160, 3), dtype=np.uint8))
    picture.save(folder / "photo.jpg")
    os.mkdir(folder / "out")
    for arguments in (
        ["solve", "model.json", "target.toml", "--keep", "recipe.json"],
        ["book", "keep", "recipe.json", "--name", "sea"],
        [
            "book",
            "bottle",
            "azure 1+50",
            "--pigment=azure",
            "--carrier=B",
            "--pigment-g=0.4",
            "--carrier-g=20",
            "--lot=A-17",
        ],
        ["book", "pour", "sea", "--batch=450"],
        ["book", "export", "export.json"],
    ):
        status, _, said = called(folder, arguments)
        assert status == 0, said


_BOOK_GREW = 200_000
"""Bytes: some recipes with their models. A larger book takes longer to open, export and check."""


def copied(made: Path, used: Path) -> None:
    """The ground as it was made, but for the pipe, which no copy can read; what was there is gone."""
    shutil.rmtree(used, ignore_errors=True)
    shutil.copytree(made, used, symlinks=True, ignore=lambda _, names: [one for one in names if one == "fifo"])
    os.mkfifo(used / "fifo")


class Kept:
    """A ground that is made anew where somebody wrote on it, and else left: a look costs a hundredth of a copy."""

    def __init__(self, made: Path, used: Path) -> None:
        self.made, self.used = made, used
        self._renew()

    def restore(self) -> None:
        """As it was made, but for what is in `out`, and for a book that grew by little."""
        now = self._looks()
        if now != self._sound or not 0 < self._book_bytes() < self._book_was + _BOOK_GREW:
            self._renew()

    def _renew(self) -> None:
        copied(self.made, self.used)
        self._sound, self._book_was = self._looks(), self._book_bytes()

    def _book_bytes(self) -> int:
        book = self.used / "book.db"
        return book.stat().st_size if book.is_file() else 0

    def _looks(self) -> dict[str, tuple[int, int, int]]:
        """Size and time of each file but the book's."""
        looks: dict[str, tuple[int, int, int]] = {}
        for folder in (self.used, self.used / "set", self.used / "cup"):
            with os.scandir(folder) as files:
                for one in files:
                    if not one.name.lstrip(".").startswith("book.db"):
                        told = one.stat(follow_symlinks=False)
                        # A folder's time tells what was put in it, which is looked at by itself.
                        when = 0 if one.is_dir(follow_symlinks=False) else told.st_mtime_ns
                        looks[os.path.relpath(one.path, self.used)] = (told.st_mode, told.st_size, when)
        return looks


@contextlib.contextmanager
def within(folder: Path) -> Iterator[None]:
    """In that folder, with a recipe book of its own."""
    before, book = Path.cwd(), os.environ.get("TINTMIX_BOOK")
    os.chdir(folder)
    os.environ["TINTMIX_BOOK"] = "book.db"
    try:
        yield
    finally:
        os.chdir(before)
        if book is None:
            del os.environ["TINTMIX_BOOK"]
        else:
            os.environ["TINTMIX_BOOK"] = book


def called(folder: Path, arguments: list[str], typed: str = "") -> tuple[int, str, str]:
    """A call in that folder: status, standard output, standard error. typed: on standard input."""
    out, err = (io.TextIOWrapper(io.BytesIO(), "utf-8", "replace") for _ in range(2))
    stdin, sys.stdin = sys.stdin, io.StringIO(typed)
    try:
        with within(folder), contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
            status = run(arguments)
    finally:
        sys.stdin = stdin
    texts = []
    for stream in (out, err):
        stream.flush()
        texts.append(stream.buffer.getvalue().decode("utf-8"))  # type: ignore[attr-defined]
    return status, texts[0], texts[1]


class Chance:
    """Draws of one run, the same for the same seed."""

    def __init__(self, seed: int) -> None:
        self.draw = random.Random(seed)

    def one(self, *of: str) -> str:
        """One of these."""
        return self.draw.choice(of)

    def happens(self, chance: float) -> bool:
        """Whether it does, this time."""
        return self.draw.random() < chance

    def wrong(self, sound: str) -> str:
        """Something else in the place of what is right: another kind of thing, or the same with a letter or two changed."""
        if sound and self.happens(0.25):
            at = self.draw.randrange(len(sound))
            return (
                sound[:at]
                + self.one("", "-", "9", "e", ",", "\udcff", "0" * 30, sound)
                + sound[at + self.draw.randrange(2) :]
            )
        return self.one(*self.draw.choice((NUMBERS, NUMBERS, TEXTS)))


def at_fault(said: str) -> str:
    """What is wrong with a sentence for whoever did something wrong; empty where nothing is."""
    if "fault of" in said or "Traceback" in said:
        return "a fault of the program"
    # A list of all that is wrong with a file may be longer: it is no sentence.
    if len(said) > LONGEST + 10 and said.count("; ") < 2:  # "tintmix: " and the line's end
        return f"{len(said)} letters long"
    if re.search(r"\?\.(?:\s|$)|\w\.\.(?:\s|$)|\b1 (?:things|cells|chips|cups|rows|spectra)\b", said):
        return "not well said"
    if any(not letter.isprintable() and letter != "\n" for letter in said):
        return "unprintable"
    return ""


def strict(text: str) -> object:
    """JSON as the standard has it. Raises ValueError."""

    def refuse(word: str) -> float:
        raise ValueError(f"{word} in JSON")

    return json.loads(text, parse_constant=refuse)
