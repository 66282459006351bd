"""Recipes to keep, made by hand; and writers that are killed at work."""

from __future__ import annotations

import json
import multiprocessing
import os
from functools import cache
from pathlib import Path
from typing import Any

from tests.pictures.stand_in import model as stand_in
from tintmix.book.book import open_book
from tintmix.book.values import PlaceReading, Pour
from tintmix.pigments.model import TintModel
from tintmix.pigments.model_file import IS, MODEL_FORMAT, model_from_table, model_to_table
from tintmix.recipes.recipe_file import Recipe
from tintmix.resin import Part, Resin

RESIN = Resin(
    name="clear casting resin, invented",
    density_g_per_cm3=1.06,
    takes_pigment="B",
    parts=(Part("A", 100, "isocyanate"), Part("B", 90)),
)
PLACES = (("flange", 8.0, (88.0, -12.0, 2.0)), ("point", 60.0, (31.0, -20.0, 4.0)))


@cache
def model(spread: float = 0.05) -> TintModel:
    """A small invented model, as its file gives it back."""
    table = {"format": MODEL_FORMAT.newest, "is": IS, **model_to_table(stand_in(spread=spread, draws=4))}
    return model_from_table(json.loads(json.dumps(table)), "invented")


def recipe(name: str = "sea", azure: float = 0.021, **changed: Any) -> Recipe:
    """A recipe as `solve --keep` would have written it, invented."""
    told: dict[str, Any] = {
        "name": name,
        "doses_phr": {"azure": azure, "emerald": 0.034},
        "resin": RESIN,
        "target": {
            "format": 1, "light": "D65", "observer": 10,
            "section": [{"name": n, "thickness_mm": mm, "lab": list(lab)} for n, mm, lab in PLACES],
        },
        "sections": [
            {
                "name": name_, "thickness_mm": mm, "behind": "panel", "lab": [lab[0] + 0.3, lab[1], lab[2]],
                "lab_covariance": [[0.01, 0.0, 0.0], [0.0, 0.01, 0.0], [0.0, 0.0, 0.01]], "target_lab": list(lab),
                "tolerance": 2.0, "delta_e00": 0.2,
            }
            for name_, mm, lab in PLACES
        ],
        "limits": {"pigments": 3},
        "lots": {"azure": "A-17", "emerald": "E-04"},
        "model": model().digest(),
        "chips": "c" * 64,
        "model_file": "my.json",
        "made_by": "tintmix 0.1.0",
        "made_at": "2026-11-25T12:00:00Z",
    }  # fmt: skip
    return Recipe(**(told | changed))


def reading(place: str = "point", lab: tuple[float, float, float] = (31.2, -20.1, 4.5)) -> PlaceReading:
    return PlaceReading(place, lab)


def writer(path: Path, number: int, acknowledged: int, rounds: int | None = None) -> None:
    """Keep recipes and pours without end; each that the book took is told on the pipe, one line each, before the next."""
    count = 0
    with open_book(path, wait_seconds=60.0) as book:
        while rounds is None or count < rounds:
            count += 1
            kept = book.keep(recipe(f"writer {number}", azure=1e-6 * (1 + count), model_file="x" * 3000))
            os.write(acknowledged, (json.dumps(["recipe", kept.digest]) + "\n").encode())
            pour = book.add_pour(kept.name, Pour("2027-03-01", 450.0, {"A": 236.8}), readings=[reading()])
            os.write(acknowledged, (json.dumps(["pour", pour.digest]) + "\n").encode())


def start_writer(path: Path, number: int, rounds: int | None = None) -> tuple[Any, int]:
    """A writer in a process of its own, and the end of the pipe on which it tells what was kept."""
    reads, writes = os.pipe()
    process = multiprocessing.get_context("fork").Process(target=writer, args=(path, number, writes, rounds))
    process.start()
    os.close(writes)
    return process, reads


def told(reads: int) -> list[tuple[str, str]]:
    """All that a writer has told until it ended; a line cut off by its end was not told."""
    text = b""
    while block := os.read(reads, 1 << 16):
        text += block
    os.close(reads)
    return [tuple(json.loads(line)) for line in text.split(b"\n")[:-1]]


def digests(path: Path) -> set[tuple[str, str]]:
    """All recipes and pours in a book, read with plain SQL."""
    import sqlite3

    db = sqlite3.connect(path)
    try:
        return {(table, row[0]) for table in ("recipe", "pour") for row in db.execute(f"SELECT digest FROM {table}")}
    finally:
        db.close()
