"""The recipe book's speed (issue 4): a list of 10⁴ recipes takes at most 50 ms.

    python -m pytest -n 0 tests/benchmarks/test_book_speed.py -s

Beside it, in the same run: what SQLite and Python take for the same rows as bare tuples. Time of the processor: the book's
pages are in memory, so that is what a list takes on a machine that does nothing else.
"""

from __future__ import annotations

import sqlite3
import statistics
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from tests.book.books import recipe
from tintmix.book import recipes as book_recipes
from tintmix.book.book import Book, open_book
from tintmix.recipes.recipe_file import recipe_to_table

RECIPES = 10_000
LIMIT_MS = 50.0


@pytest.fixture(scope="module")
def full(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Book]:
    path = tmp_path_factory.mktemp("book") / "book.db"
    table = recipe_to_table(recipe())
    with open_book(path) as book:
        with book.writing() as db:  # as `keep` does, in one transaction
            for number in range(RECIPES):
                doses = {"azure": 0.02 + number * 1e-6, "emerald": 0.034, "rose": 0.001}
                one = {**table, "name": f"recipe {number:05d}", "doses_phr": doses}
                for revision in (1, 2):
                    kept = "2026-11-25T12:00:00Z", "tintmix 0.1.0", "a note"
                    book_recipes.put_recipe(db, str(one["name"]), revision, f"{number:060d}{revision:04d}", one, kept)
        yield book


def median_ms(do: Callable[[], object], rounds: int = 21) -> float:
    seconds = []
    for _ in range(rounds):
        started = time.process_time()
        do()
        seconds.append(time.process_time() - started)
    return 1000 * statistics.median(seconds)


def test_list_of_ten_thousand(full: Book) -> None:
    assert len(full.list()) == RECIPES
    assert full.list()[77].revision == 2
    took = median_ms(full.list)
    bare = median_ms(lambda: rows(full.path))
    print(f"\nlist of {RECIPES} recipes of 2 revisions: {took:.0f} ms (limit {LIMIT_MS:.0f}); bare rows {bare:.0f} ms")
    assert took <= LIMIT_MS


def test_one_of_ten_thousand(full: Book) -> None:
    took = median_ms(lambda: full.recipe("recipe 05000"))
    print(f"\none recipe of {RECIPES}: {took:.2f} ms")
    assert took <= 5.0


def rows(path: Path) -> list[tuple[object, ...]]:
    db = sqlite3.connect(path)
    try:
        return db.execute("SELECT name, revision, digest, doses, kept_at, note FROM recipe").fetchall()
    finally:
        db.close()
