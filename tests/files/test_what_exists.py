"""What the program of commit 56ccf92 wrote goes on: it opens, is read on and written anew; what is newer is left alone."""

from __future__ import annotations

import json
import shutil
import sqlite3
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from tests.faces.web.conftest import Client
from tintmix.book import schema as book_schema
from tintmix.book.book import open_book
from tintmix.chips import set_file
from tintmix.chips.folder import read_chips, write_chips
from tintmix.desk.book.recipes import show
from tintmix.errors import FileProblem
from tintmix.files.upgrades import Format
from tintmix.page import workspace as page_workspace
from tintmix.page.workspace import Workspace
from tintmix.pigments import model_file
from tintmix.pigments.fit import fit
from tintmix.pigments.model_file import load_model, save_model
from tintmix.recipes import recipe_file
from tintmix.recipes.recipe_file import read_recipe, write_recipe
from tintmix.recipes.target_file import read_target
from tintmix.resin import read_resin

WRITTEN = Path(__file__).parents[1] / "reference" / "written-by-56ccf92"
SCREENS = ("/chips", "/pigments", "/tint", "/recipes", "/sheet", "/trial", "/book")


@pytest.fixture
def old(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A copy of all that was written then."""
    shutil.copytree(WRITTEN, tmp_path / "old")
    monkeypatch.setenv("TINTMIX_BOOK", str(tmp_path / "old" / "recipe-book.db"))
    return tmp_path / "old"


def next_format(what: str) -> Format:
    """A format of the future, whose one step leaves a mark."""
    return Format(what=what, steps=(lambda table: table | {"title": "brought up to date"},))


def test_set_resin_and_target_are_read(old: Path) -> None:
    chips = read_chips(old / "set")
    assert [pigment.name for pigment in chips.pigments] == ["blue", "green"]
    assert len(chips.chips) == len((old / "set" / "chips.csv").read_text(encoding="utf-8").splitlines()) - 1
    assert [part.hazard for part in read_resin(old / "resin.toml").parts] == ["epoxy resin", "amine hardener"]
    assert [section.thickness_mm for section in read_target(old / "target.toml").sections] == [8.0, 40.0]
    # Written anew, it says the same.
    write_chips(chips, old / "set")
    assert read_chips(old / "set") == chips


def test_the_model_is_read_used_and_written_anew(old: Path) -> None:
    model = load_model(old / "model.json")
    assert model.pigments == ("blue", "green")
    assert fit(read_chips(old / "set")).pigments == model.pigments
    save_model(model, old / "anew.json")
    assert load_model(old / "anew.json").digest() == model.digest()
    recipe = read_recipe(old / "recipe.json")
    # Its digest is one of before; today's tell models apart.
    assert model.is_called(recipe.model)
    assert model.is_called(model.digest())
    assert not model.is_called(model.digest()[::-1])


def test_the_recipe_is_read_and_written_anew_as_it_was(old: Path) -> None:
    before = (old / "recipe.json").read_bytes()
    write_recipe(read_recipe(old / "recipe.json"), old / "recipe.json")
    assert (old / "recipe.json").read_bytes() == before


def test_the_book_is_sound_and_shows_all(old: Path) -> None:
    place = old / "recipe-book.db"
    with open_book(place) as book:
        assert book.check().problems == ()
        assert {one.name for one in book.list()} == {"recipe", "sea-green prism"}
    shown = show("recipe", book=place).body
    assert len(shown["pours"]) == 1


def test_every_screen_of_the_page_opens_and_undo_goes_back(old: Path) -> None:
    with Client(old / "page") as client:
        for screen in SCREENS:
            assert client.get(screen).status_code == 200, screen
        assert "sea-green prism: what to weigh" in client.get("/sheet").text
        doses = client.workspace.now().areas["recipes"]["kept"][0]["doses_phr"]
        assert list(doses) == ["blue", "green", "brown"]
        for _ in range(8):
            assert client.fill("/undo").status_code == 200
        assert client.workspace.now().undo == ()
        for _ in range(9):
            assert client.fill("/redo").status_code == 200
        assert client.workspace.now().area("sheet")["asked"]["amount"] == 300.0
    # Nothing of the format has changed, so there is nothing to keep.
    assert not list((old / "page").glob("*.format-*"))


def test_the_pages_list_is_brought_up_to_date_with_a_copy_beside(old: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    before = (old / "page" / "state.json").read_bytes()

    def renamed(table: dict[str, Any]) -> dict[str, Any]:
        table["areas"]["room"] = table["areas"].pop("settings", {})
        return table

    monkeypatch.setattr(page_workspace, "STATE_FORMAT", Format(what="page", steps=(renamed,)))
    workspace = Workspace(old / "page")
    assert workspace.now().area("room")["mass"] == "g"
    assert (old / "page" / "state.json").read_bytes() == before
    workspace.change("doses", {"tint": {"doses": {"azure": 0.5}}}, {})
    assert (old / "page" / "state.format-1.json").read_bytes() == before
    assert json.loads((old / "page" / "state.json").read_bytes())["format"] == 2
    # The lists of undo are of the old format, and go the same way; the copy is made once.
    workspace.undo()
    assert workspace.undo().area("room")["mass"] == "g"
    assert (old / "page" / "state.format-1.json").read_bytes() == before


def test_model_recipe_and_set_are_brought_up_to_date_with_a_copy_beside(
    old: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = {name: (old / name).read_bytes() for name in ("model.json", "recipe.json", "set/set.toml")}
    monkeypatch.setattr(model_file, "MODEL_FORMAT", next_format("model"))
    monkeypatch.setattr(recipe_file, "RECIPE_FORMAT", next_format("recipe"))
    monkeypatch.setattr(set_file, "SET_FORMAT", next_format("chip set"))
    monkeypatch.setattr("tintmix.chips.folder.SET_FORMAT", set_file.SET_FORMAT)
    save_model(load_model(old / "model.json"), old / "model.json")
    write_recipe(read_recipe(old / "recipe.json"), old / "recipe.json")
    chips = read_chips(old / "set")
    assert chips.title == "brought up to date"
    # It says the same in another format: what its maker wrote is left.
    write_chips(chips, old / "set")
    assert (old / "set" / "set.toml").read_bytes() == before["set/set.toml"]
    write_chips(replace(chips, title="another"), old / "set")
    for name, content in before.items():
        place = old / name
        assert place.with_name(f"{place.stem}.format-1{place.suffix}").read_bytes() == content
    assert json.loads((old / "model.json").read_bytes())["format"] == 2
    assert json.loads((old / "recipe.json").read_bytes())["format"] == 2
    assert "format = 2" in (old / "set" / "set.toml").read_text(encoding="utf-8")


def test_the_book_is_brought_up_to_date_with_a_copy_beside(old: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    place = old / "recipe-book.db"
    step = book_schema.Migration(4, "a table of the future", ("CREATE TABLE future (id INTEGER PRIMARY KEY)",))
    monkeypatch.setattr(book_schema, "MIGRATIONS", (*book_schema.MIGRATIONS, step))
    with open_book(place) as book:
        assert book.check().format == 4
        assert len(list(book.list())) == 2
    copy = sqlite3.connect(place.with_name("recipe-book.format-3.db"))
    assert copy.execute("PRAGMA user_version").fetchone() == (3,)
    assert copy.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    assert copy.execute("SELECT count(*) FROM recipe").fetchone() == (2,)
    copy.close()
    assert sorted(path.name for path in old.glob("*.db*")) == ["recipe-book.db", "recipe-book.format-3.db"]


READERS: dict[str, Callable[[Path], object]] = {
    "set/set.toml": lambda path: read_chips(path.parent),
    "resin.toml": read_resin,
    "target.toml": read_target,
    "model.json": load_model,
    "recipe.json": read_recipe,
    "page/state.json": lambda path: Workspace(path.parent).now(),
}
WRITERS: dict[str, Callable[[Path, Path], object]] = {
    "set/set.toml": lambda path, good: write_chips(read_chips(good.parent), path.parent),
    "model.json": lambda path, good: save_model(load_model(good), path),
    "recipe.json": lambda path, good: write_recipe(read_recipe(good), path),
    "page/state.json": lambda path, good: Workspace(path.parent).change("doses", {"tint": {"doses": {}}}, {}),
}


def made_newer(path: Path) -> bytes:
    text = path.read_text(encoding="utf-8")
    newer = text.replace("format = 1", "format = 9", 1).replace('"format": 1', '"format":9', 1)
    path.write_text(newer.replace('"format":1', '"format":9', 1), encoding="utf-8")
    return path.read_bytes()


@pytest.mark.parametrize("name", READERS)
def test_a_newer_file_is_refused_in_one_sentence_and_left_alone(name: str, old: Path) -> None:
    newer = made_newer(old / name)
    beside = sorted((old / name).parent.rglob("*"))
    with pytest.raises(FileProblem) as caught:
        READERS[name](old / name)
    assert "format 9" in str(caught.value)
    assert "up to format 1" in str(caught.value)
    assert "\n" not in str(caught.value)
    if name in WRITERS:
        with pytest.raises(FileProblem):
            WRITERS[name](old / name, WRITTEN / name)
    assert (old / name).read_bytes() == newer
    assert [path for path in sorted((old / name).parent.rglob("*")) if path.name != "lock"] == [
        path for path in beside if path.name != "lock"
    ]


def test_a_newer_book_is_refused_and_left_alone(old: Path) -> None:
    place = old / "recipe-book.db"
    with sqlite3.connect(place) as db:
        db.execute("PRAGMA user_version = 9")
        db.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    db.close()
    before = place.read_bytes()
    with pytest.raises(FileProblem, match="format 9"), open_book(place):
        pass
    assert place.read_bytes() == before
    assert not list(old.glob("recipe-book.format-*"))


def test_a_page_of_a_newer_program_says_so_on_every_screen(old: Path) -> None:
    made_newer(old / "page" / "state.json")
    with Client(old / "page") as client:
        for screen in SCREENS:
            answer = client.get(screen)
            assert answer.status_code == 422
            assert "format 9" in answer.text
