"""A book with damage in it: what is damaged is named and passed over, everything else is read, exported and rescued."""

from __future__ import annotations

import json
import random
import shutil
import sqlite3
from pathlib import Path
from typing import Any

import pytest

from tests.book.books import recipe
from tests.book.test_book import fill
from tintmix.book import file as book_file
from tintmix.book.book import Book, open_book
from tintmix.book.values import Pour
from tintmix.desk.book import recipes as desk
from tintmix.desk.book.history import history
from tintmix.errors import CannotWrite, FileProblem, TintmixError
from tintmix.faces.cli.main import run


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A book with some of everything, in one file."""
    place = tmp_path_factory.mktemp("book") / "book.db"
    with open_book(place) as book:
        fill(book)
        for day in (2, 3):
            book.add_pour("sea", Pour(f"2027-03-0{day}", 460.0), revision=day - 1)
    return place


@pytest.fixture
def place(whole: Path, tmp_path: Path) -> Path:
    return Path(shutil.copy(whole, tmp_path / "book.db"))


def damage(place: Path, table: str, column: str, number: int, put: Any) -> None:
    """What a flipped bit does, past the triggers."""
    with sqlite3.connect(place) as db:
        db.execute(f"DROP TRIGGER {table}_no_update")
        db.execute(f"UPDATE {table} SET {column} = {put} WHERE rowid = ?", (number,))
        assert db.execute("SELECT changes()").fetchone() == (1,)
    db.close()


@pytest.mark.parametrize("put", ["replace(content, '450', '950')", "CAST(X'7BFF' AS TEXT)", "substr(content, 9)", "7"])
def test_a_damaged_pour_is_named_and_passed_over(place: Path, put: str) -> None:
    with open_book(place) as book:
        before = book.pours("sea")
    assert len(before) >= 2
    damage(place, "pour", "content", 1, put)
    with open_book(place) as book:
        after = book.pours("sea")
        assert list(book.damaged) == ["pour 1 of 'sea'"]
        assert after == before[1:], "every other keeps its number"
        book.add_to_pour("sea", 2, note="it goes on")
        assert len(book.pours("sea")) == len(before) - 1
        with pytest.raises(TintmixError, match="no pour 1"):
            book.add_to_pour("sea", 1, note="of what?")
    assert "pour 1 of 'sea'" in str(desk.show("sea", book=place).body["damaged"])
    assert "pour 1 of 'sea'" in str(history("sea", book=place).body["damaged"])
    checked = desk.check(place, place.with_name("rescued.json")).body
    assert checked["problems"] == ["pour 1: its content is not what was kept"]
    with open_book(place.with_name("new.db")) as new:
        new.import_(place.with_name("rescued.json").read_text(encoding="utf-8"), "rescued.json")
        assert [one.digest for one in new.pours("sea")] == [one.digest for one in before[1:]]
        assert new.check().is_sound
    left = json.loads(place.with_name("rescued.json").read_text(encoding="utf-8"))["left_over"]
    assert {one["pour"] for one in left["pour_addition"]} == {before[0].digest}, "what belongs to it is not lost"


def test_a_damaged_recipe_is_never_shown_as_another(place: Path) -> None:
    """A dose of which one digit has changed is still a dose: only the digest tells."""
    with open_book(place) as book:
        revisions = book.revisions("sea")
        damaged = revisions[-1].revision
    damage(place, "recipe_content", "content", damaged, "replace(content, '\"emerald\":0.034', '\"emerald\":0.834')")
    with open_book(place) as book:
        assert [one.revision for one in book.revisions("sea")] == [one.revision for one in revisions[:-1]]
        with pytest.raises(FileProblem, match="is not what was kept"):
            book.recipe("sea")
        assert book.recipe("sea", 1).digest == recipe("sea").digest()
        book.export()
        assert len(book.damaged) == 1
    assert "damaged" in history("sea", book=place).body
    assert run(["book", "check", "--book", str(place), "--rescue", str(place.with_name("left.json"))]) == 2
    assert run(["book", "list", "--book", str(place)]) == 0


def test_damage_of_the_list_the_shelf_and_the_model(place: Path) -> None:
    damage(place, "recipe", "doses", 2, "'{'")
    damage(place, "bottle", "content", 1, "substr(content, 2)")
    damage(place, "lot", "content", 1, "X'00'")
    damage(place, "model", "content", 1, "X'00'")
    body = desk.list_recipes(place).body
    assert "revision" in str(body["damaged"])
    with open_book(place) as book:
        assert book.bottles() == ()
        book.lots()
        assert list(book.damaged) == ["bottle 1", "lot 1"]
        rescued = json.loads(book.export(careful=True))
        assert rescued["models"] == {}
        assert rescued["left_over"]["bottle_event"]
    assert not desk.check(place).body["sound"]


def contents(book: Book) -> set[str]:
    """What an export holds, a text for each thing."""
    table = json.loads(book.export(careful=True))
    lists = [value for value in table.values() if isinstance(value, list)]
    return {json.dumps(one, sort_keys=True) for rows in lists for one in rows}


def test_any_flipped_bit(whole: Path, tmp_path: Path) -> None:
    """Whichever bit it is: a sentence, or an answer; what an export gives out then is of what was kept, and most of it."""
    good, chance = bytearray(whole.read_bytes()), random.Random(13)
    with open_book(whole) as book:
        kept, place = contents(book), tmp_path / "book.db"
    opened = found = 0
    for _ in range(40):
        bad = bytearray(good)
        bad[chance.randrange(len(bad))] ^= 1 << chance.randrange(8)
        place.write_bytes(bad)
        try:
            with open_book(place, create=False) as book:
                sound = book.check().is_sound
                after = contents(book)
                for ask in (book.list, book.lots, book.bottles, book.check_chips, lambda: book.pours("sea")):
                    try:
                        ask()
                    except TintmixError:
                        assert not sound
        except TintmixError:
            continue
        opened += 1
        found += not sound
        noted = {text for text in after - kept if '"note"' in text}
        assert after - kept <= noted, "of a recipe's note, time and program, there is no digest"
        assert after == kept or len(after) >= len(kept) // 3
    assert opened > 20


def test_a_flipped_bit_in_the_name_of_a_table(place: Path) -> None:
    """SQLite tells of such a name in its own words, which are no text then."""
    with sqlite3.connect(place) as db:
        db.execute("PRAGMA journal_mode = DELETE")
    db.close()
    content = place.read_bytes()
    place.write_bytes(content.replace(b"CREATE TABLE recipe ", b"CREATE TABLE re\x8aipe "))
    assert place.read_bytes() != content
    with pytest.raises(FileProblem, match="damaged"), open_book(place) as book:
        book.list()
    with pytest.raises(FileProblem, match="damaged"):
        desk.check(place)


@pytest.mark.parametrize(
    "line", [b"CREATE TABLE recipe ", b"CREATE INDEX pour_nth", b"tablephotophoto", b"CREATE TRIGGER lot_no_u"]
)
def test_a_book_whose_tables_have_lost_their_names_is_rescued_from_a_copy(
    whole: Path, place: Path, line: bytes
) -> None:
    with sqlite3.connect(place) as db:
        db.execute("PRAGMA journal_mode = DELETE")
    db.close()
    bad = place.read_bytes().replace(line, line[:-3] + b"\x8a" + line[-2:])
    place.write_bytes(bad)
    checked = desk.check(place, place.with_name("rescued.json")).body
    assert not checked["sound"]
    assert len(checked["problems"]) == 1
    assert place.read_bytes() == bad, "the book itself is only read"
    with open_book(whole) as book:
        kept = book.export(careful=True)
    assert place.with_name("rescued.json").read_text(encoding="utf-8") == kept


def test_a_full_disk_is_read_all_the_same(place: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """There SQLite has no room for what it puts beside a book even to read it."""
    with open_book(place) as book:
        before = book.list()

    def refuse(*_: object) -> None:
        problem = sqlite3.OperationalError("disk I/O error")
        problem.sqlite_errorcode = sqlite3.SQLITE_IOERR
        raise problem

    monkeypatch.setattr(book_file, "connect", refuse)
    with open_book(place) as book:
        assert book.list() == before
        with pytest.raises(CannotWrite, match="disk"):
            book.add_pour("sea", Pour("2027-03-09", 460.0))
    place.with_name(place.name + "-wal").write_bytes(b"what no one else can read")
    with pytest.raises(CannotWrite):
        open_book(place)


@pytest.mark.parametrize("device", ["/dev/zero", "/proc/version"])
def test_a_device_is_no_book_that_a_copy_is_made_of(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, device: str
) -> None:
    copied: list[object] = []
    monkeypatch.setattr("shutil.copyfile", lambda *paths: copied.append(paths))
    assert run(["book", "check", "--book", device, "--rescue", str(tmp_path / "left.json")]) == 2
    assert not copied
    assert not list(tmp_path.iterdir())
