"""Mutated recipes, resins and exports, all the way to a batch sheet or into a book: an answer or one of our errors in one line.

`python -m tests.book.test_fuzz_shop 25000` runs as many of each kind as one asks for (measures.md: 10⁵ in all).
"""

from __future__ import annotations

import copy
import json
import random
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.book.books import model, recipe
from tests.book.test_book import fill
from tests.chips.test_fuzz import mutated
from tintmix.book.book import open_book
from tintmix.book.export import _OUTSIDE
from tintmix.desk.bench.sheet import Amount, Shelf, sheet_of
from tintmix.desk.book import recipes as book_desk
from tintmix.desk.book.history import history
from tintmix.errors import TintmixError
from tintmix.faces.paper.sheet_text import text_of
from tintmix.files.canonical import canonical_json, digest
from tintmix.recipes.recipe_file import read_recipe, recipe_digest, recipe_to_table
from tintmix.resin import Resin, read_resin
from tintmix.weighing.scales import scales_from_text

RESINS = [path.read_text() for path in sorted(Path(__file__).parents[2].joinpath("swatches", "resins").glob("*.toml"))]
RECIPE = recipe_to_table(recipe())
ODD = (
    None, True, False, 0, -1, 1, 2, 1e-300, 1e300, -0.5, 0.5, 10**400, "", "x", "D65", "A", "panel", "white", "insert", "\n\x00é",
    "y" * 600, [], {}, [1, 2, 3], [None], {"name": "x"}, {"azure": 1}, "nowhere.csv", "2027-03-01", 10, 7, [[1, 2], [3]],
)  # fmt: skip
SCALES = [
    scales_from_text(texts) for texts in (["0.01"], ["1"], ["resin=0.1:0.1:500", "pigment=0.001:0.002:50"], ["0.05"])
]


def nodes(table: Any) -> list[tuple[Any, Any]]:
    """Every place in a JSON value that something can be put in: (the list or table, index or key)."""
    found = []
    if isinstance(table, dict | list):
        for key in list(table) if isinstance(table, dict) else range(len(table)):
            found += [(table, key), *nodes(table[key])]
    return found


def shaken(table: Any, rng: random.Random) -> Any:
    """A JSON value with a few of its values or keys lost, doubled, swapped or replaced."""
    table = copy.deepcopy(table)
    for _ in range(rng.choice((1, 1, 1, 2, 4))):
        places = nodes(table)
        if not places:
            break
        owner, key = rng.choice(places)
        what, old = rng.randrange(6), owner[key]
        if what == 0:
            del owner[key]
        elif what == 1:
            other, at = rng.choice(places)
            owner[key] = (
                copy.deepcopy(other[at]) if at in (other if isinstance(other, dict) else range(len(other))) else 0
            )
        elif what == 2 and isinstance(owner, dict):
            owner[rng.choice(("x", "name", "format", key.upper(), ""))] = owner.pop(key)
        elif what == 3 and isinstance(owner, list):
            owner.insert(key, copy.deepcopy(old))
        elif what == 4 and isinstance(old, int | float) and not isinstance(old, bool):
            owner[key] = old * rng.choice((-1, 0, 0.5, 3, 1e6, 1e-9))
        else:
            owner[key] = copy.deepcopy(rng.choice(ODD))
    return table


def weighed(path: Path, resin: Resin | None, rng: random.Random) -> None:
    """The recipe of a file as a batch sheet, in words and as JSON."""
    read = read_recipe(path)
    own = read.resin if resin is None else resin
    if own is None:
        return
    amount = rng.choice(
        (Amount(450.0), Amount(12.0), Amount(volume_cm3=200.0), Amount(water_g=80.0, waste_percent=0.0))
    )
    done = sheet_of(read, model(), own, amount, rng.choice(SCALES), read.lots, Shelf(), path.parent)
    json.dumps(done.body, allow_nan=False)
    assert text_of(done.sheet).endswith("\n")


def recipe_bytes(folder: Path, rng: random.Random) -> None:
    """recipe.json with bytes lost or changed."""
    path = folder / "r.json"
    path.write_bytes(mutated(canonical_json(RECIPE), rng))
    weighed(path, None, rng)


def recipe_tree(folder: Path, rng: random.Random) -> None:
    """recipe.json with values lost or changed."""
    path = folder / "r.json"
    path.write_text(json.dumps(shaken(RECIPE, rng)))
    weighed(path, None, rng)


def resin_file(folder: Path, rng: random.Random) -> None:
    """resin.toml with bytes lost or changed."""
    path = folder / "resin.toml"
    path.write_bytes(mutated(rng.choice(RESINS), rng))
    resin = read_resin(path)
    (folder / "r.json").write_text(canonical_json(RECIPE))
    weighed(folder / "r.json", resin, rng)


def an_export(folder: Path) -> dict[str, Any]:
    """An export with one of everything, as a table."""
    with open_book(folder / "whole.db") as book:
        fill(book)
        table: dict[str, Any] = json.loads(book.export())
    return table


def export_tree(folder: Path, rng: random.Random) -> None:
    """An export whose values were changed by somebody who knew how to make its digests anew."""
    keep = folder / "export.json"
    if not keep.exists():
        keep.write_text(json.dumps(an_export(folder)))
    table = json.loads(keep.read_text())
    part = rng.choice([key for key in table if key not in ("digest", "models")])
    changed = {**table, part: shaken(table[part], rng)} if rng.random() < 0.95 else shaken({**table, "models": {}}, rng)
    recipes = changed.get("recipes")
    for one in recipes if isinstance(recipes, list) else []:
        if isinstance(one, dict) and isinstance(one.get("recipe"), dict):
            one["digest"] = recipe_digest(one["recipe"])
    changed["digest"] = digest({key: value for key, value in changed.items() if key not in _OUTSIDE})
    book_file = folder / "fuzz.db"
    try:
        with open_book(book_file) as book:
            try:
                book.import_(json.dumps(changed), "all.json")
            except TintmixError:
                assert not book.list()
                raise
            # What was let in can be used: from here on only a sheet may be refused.
            try:
                names = [one.name for one in book.list()]
                assert book.check().is_sound
                book.export()
                shelf = Shelf(book.bottles())
                recipes = [book.recipe(name).recipe for name in names]
                for name in names:
                    book_desk.show(name, book=book_file)
                    history(name, book=book_file)
            except TintmixError as error:
                raise AssertionError(f"a book that cannot be used: {error}") from error
            for kept in recipes:
                if kept.resin is not None:
                    sheet_of(kept, model(), kept.resin, Amount(450.0), SCALES[0], kept.lots, shelf, folder)
    finally:
        for left in folder.glob("fuzz.db*"):
            left.unlink()


KINDS: dict[str, Callable[[Path, random.Random], None]] = {
    one.__name__: one for one in (recipe_bytes, recipe_tree, resin_file, export_tree)
}


def tried(kind: str, count: int, seed: int, folder: Path) -> tuple[int, int]:
    """How many inputs of a kind were taken, and how many were refused in one line."""
    rng = random.Random(seed)
    taken = 0
    for number in range(count):
        state = rng.getstate()
        said = ""
        try:
            KINDS[kind](folder, rng)
            taken += 1
        except TintmixError as error:
            said = str(error)
        except Exception as error:
            raise AssertionError(f"{kind}, seed {seed}, input {number}: {error!r}; {state[1][:2]}") from error
        assert not said or ("\n" not in said and 10 < len(said) < 20_000), said
    return taken, count - taken


@pytest.mark.parametrize(
    ("kind", "count"), [("recipe_bytes", 300), ("recipe_tree", 250), ("resin_file", 150), ("export_tree", 25)]
)
def test_mutated_input(kind: str, count: int, tmp_path: Path) -> None:
    taken, refused = tried(kind, count, 4, tmp_path)
    assert taken > 0.03 * count
    assert refused > 0.1 * count


if __name__ == "__main__":
    for which in sys.argv[2:] or KINDS:
        with tempfile.TemporaryDirectory() as where:
            print(which, tried(which, int(sys.argv[1]), int(sys.argv[1]), Path(where)), flush=True)
