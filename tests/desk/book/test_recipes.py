"""The desk's part of the book: the model found wherever it is, and whole or nothing."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from tests.book.books import model, reading, recipe
from tintmix.book.book import open_book
from tintmix.book.values import PlaceReading, Pour
from tintmix.desk.book import recipes as desk
from tintmix.desk.book.history import history
from tintmix.desk.book.model import bare_name, model_of
from tintmix.desk.book.pours import Found, Weighed, record
from tintmix.errors import InUse, NotThere, TintmixError, ValueProblem
from tintmix.pigments.model_file import save_model
from tintmix.recipes.recipe_file import read_recipe, write_recipe


@pytest.fixture
def place(tmp_path: Path) -> Path:
    return tmp_path / "book.db"


def test_where_a_model_is_looked_for(tmp_path: Path, place: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    mine = recipe(model_file="tints/my.json")
    folder = tmp_path / "here"
    (folder / "tints").mkdir(parents=True)
    monkeypatch.chdir(tmp_path)
    with pytest.raises(NotThere, match=r"tints/my\.json"):
        model_of(mine, folder / "sea.json")
    with open_book(place) as book:
        assert book.keep(mine, model()).has_model
        assert model_of(mine, folder / "sea.json", book).digest() == mine.model
        assert model_of(mine, None, book).digest() == mine.model
    for there in (folder / "tints" / "my.json", folder / "my.json", folder / "sea-model.json"):
        save_model(model(), there)
        assert model_of(mine, folder / "sea.json").digest() == mine.model
        there.unlink()
    save_model(model(0.2), folder / "my.json")
    with pytest.raises(ValueProblem, match="not the model"):
        model_of(mine, folder / "sea.json")
    (folder / "my.json").write_text("{}")
    with pytest.raises(TintmixError, match=r"my\.json"):
        model_of(mine, folder / "sea.json")
    with open_book(place) as book:  # what the book holds is right, whatever lies beside the recipe
        assert model_of(mine, folder / "sea.json", book).digest() == mine.model


@pytest.mark.parametrize("named", ["my.json", "tints/my.json", "C:\\tints\\my.json", "/home/me/my.json"])
def test_a_recipe_is_written_back_with_its_model(tmp_path: Path, place: Path, named: str) -> None:
    mine = recipe(model_file=named)
    write_recipe(mine, tmp_path / "sea.json")
    with open_book(place) as book:
        book.keep(mine, model())
    folder = tmp_path / "new"
    folder.mkdir()
    done = desk.show("sea", book=place, out=folder / "sea.json")
    assert done.written == (str(folder / "sea.json"), str(folder / "my.json"))
    assert bare_name(named) == "my.json"
    assert (folder / "sea.json").read_bytes() == (tmp_path / "sea.json").read_bytes()
    again = read_recipe(folder / "sea.json")
    assert again.digest() == mine.digest()
    assert model_of(again, folder / "sea.json").digest() == mine.model


def test_nothing_is_written_over(tmp_path: Path, place: Path) -> None:
    with open_book(place) as book:
        book.keep(recipe(), model())
        book.keep(recipe("bare", model_file=""), model())
    folder = tmp_path / "new"
    folder.mkdir()
    (folder / "my.json").write_text("shopping list")
    with pytest.raises(InUse, match=r"my\.json"):
        desk.show("sea", book=place, out=folder / "sea.json")
    assert [path.name for path in folder.iterdir()] == ["my.json"]
    assert (folder / "my.json").read_text() == "shopping list"
    with pytest.raises(InUse, match="does not overwrite"):  # the recipe would take its own model's place
        desk.show("sea", book=place, out=tmp_path / "my.json")
    assert not (tmp_path / "my.json").exists()
    done = desk.show("bare", book=place, out=folder / "bare.json")
    assert done.written == (str(folder / "bare.json"), str(folder / "bare-model.json"))


def test_the_history_is_charted_in_the_order_of_pouring(place: Path) -> None:
    with open_book(place) as book:
        book.keep(recipe(), model())
        for day in (3, 1, 2):
            lab = (31.0 + day, -20.0, 4.0)
            book.add_pour("sea", Pour(f"2027-03-0{day}"), readings=[reading("point", lab), reading("point", lab)])
        other = PlaceReading("point", (10.0, 0.0, 0.0), "A", 10)
        book.add_pour("sea", Pour("2027-03-04"), readings=[other])
        book.keep(recipe(azure=0.022), model())
        book.add_pour("sea", Pour("2027-03-05"), readings=[reading("point", (31.0, -20.0, 4.0))])
    body = history("sea", book=place).body
    point = body["places"][1]
    assert [row["L"] for row in point["pours"]] == [32.0, 33.0, 34.0, 31.0]
    assert [row["number"] for row in point["pours"]] == [2, 3, 1, 5]
    assert [row["readings"] for row in point["pours"]] == [2, 2, 2, 1]
    assert point["pours"][3]["delta_e00"] == 0.0
    assert point["against"]["what"] == "target"
    assert body["left_out"] == [{"number": 4, "why": "a reading under another light or observer than the target's"}]
    assert any("revision 2 with pour 5" in line for line in body["says"])
    assert len(history("sea", 1, book=place).body["places"][1]["pours"]) == 3
    assert [one["place"] for one in history("sea", place="point", book=place).body["places"]] == ["point"]
    with pytest.raises(ValueProblem, match="no place"):
        history("sea", place="rim", book=place)


def test_where_the_target_gives_no_colour_the_prediction_stands(place: Path) -> None:
    sections = [{**section, "target_lab": None} for section in recipe().sections]
    with open_book(place) as book:
        book.keep(replace(recipe(), sections=sections), model())
        book.add_pour("sea", Pour("2027-03-01"), readings=[reading("point", (31.3, -20.0, 4.0))])
    point = history("sea", book=place).body["places"][1]
    assert point["against"]["what"] == "prediction"
    assert point["pours"][0]["delta_e00"] == 0.0


def test_a_pour_takes_the_recipes_lots(place: Path) -> None:
    with open_book(place) as book:
        book.keep(recipe(), model())
    body = record("sea", Weighed(450.0, {"A": 236.8}, lots={"azure": "A-18"}), Found(), book=place).body
    assert body["lots"] == {"azure": "A-18", "emerald": "E-04"}
    assert body["poured_on"][:2] == "20"


def test_an_import_that_is_refused_leaves_no_new_book(tmp_path: Path, place: Path) -> None:
    (tmp_path / "demo.json").write_text("{}")
    with pytest.raises(TintmixError, match="nothing was imported"):
        desk.import_file(tmp_path / "demo.json", place)
    assert not list(tmp_path.glob("book*"))
    with open_book(tmp_path / "other.db") as book:
        book.keep(recipe(), model())
    desk.export(tmp_path / "all.json", book=tmp_path / "other.db")
    assert desk.import_file(tmp_path / "all.json", place).body["added"]["recipes"] == 1
    assert place.exists()
