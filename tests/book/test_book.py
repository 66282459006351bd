"""The recipe book: what is kept comes back, nothing that is kept changes, and a file that is not ours is left alone."""

from __future__ import annotations

import dataclasses
import os
import shutil
import sqlite3
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.book.books import PLACES, model, reading, recipe
from tintmix.book import file as book_file
from tintmix.book import schema as book_schema
from tintmix.book.book import Book, book_place, book_to_ask, open_book, open_book_if_there
from tintmix.book.errors import NotInBook
from tintmix.book.values import CheckChip, Photo, PlaceReading, Pour
from tintmix.errors import CannotWrite, FileProblem, InUse, NotThere, TintmixError, ValueProblem
from tintmix.files.canonical import canonical_json
from tintmix.recipes.recipe_file import recipe_to_table
from tintmix.weighing.bottle import StockBottle

TABLES = ("migration", "model", "recipe", "recipe_content", "pour", "pour_addition", "photo", "bottle", "bottle_event", "lot",
          "check_chip")  # fmt: skip
BOTTLE = StockBottle("azure 1+50", "azure", "B", 0.4, 20.0, 20.4, "2027-02-01", "A-17")


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "book.db"


@pytest.fixture
def book(path: Path) -> Iterator[Book]:
    with open_book(path) as opened:
        yield opened


def fill(book: Book) -> None:
    """One of everything."""
    book.keep(recipe("sea"), model(), "first try")
    book.keep(recipe("sea", azure=0.025), model())
    book.keep(recipe("smoke", azure=0.001), None)
    book.add_bottle(BOTTLE)
    book.add_pour(
        "sea", Pour("2027-03-01", 450.0, {"A": 236.8, "azure 1+50": 4.82}, {"azure": "A-17"}, "24 h", "first"),
        readings=[reading("flange", (87.6, -12.3, 1.9)), reading()], photos=[Photo.of("p.jpg", b"photo")],
        from_bottles={"azure 1+50": 4.82},
    )  # fmt: skip
    book.add_to_pour("sea", 1, note="a bubble at the rim")
    book.set_lot_strength("azure", "A-18", 1.08, 0.02, "2027-02-01", "two chips")
    book.set_lot_strength("emerald", "E-05", None)
    book.add_check_chip(CheckChip("azure", "A-18", 0.05, 12.0, (61.3, -22.4, -18.0), read_on="2027-02-01"))


# Recipes --------------------------------------------------------------------------------------------------------------


def test_what_is_kept_comes_back(book: Book) -> None:
    mine = recipe("sea")
    kept = book.keep(mine, model(), "first try")
    assert (kept.name, kept.revision, kept.digest, kept.is_new, kept.has_model) == ("sea", 1, mine.digest(), True, True)
    again = book.recipe("sea")
    assert canonical_json(recipe_to_table(again.recipe)) == canonical_json(recipe_to_table(mine))
    assert again.recipe.digest() == again.digest == mine.digest()
    assert again.recipe.made_at == mine.made_at
    assert (again.note, again.kept_by) == ("first try", "tintmix 0.1.0")
    learnt = book.model(mine.model)
    assert learnt is not None
    assert learnt.digest() == mine.model
    assert book.model("0" * 64) is None


def test_revisions(book: Book) -> None:
    first = book.keep(recipe("sea"), model())
    second = book.keep(recipe("sea", azure=0.022), model())
    assert (first.revision, second.revision) == (1, 2)
    same = book.keep(dataclasses.replace(recipe("sea"), made_at="2030-01-01T00:00:00Z"), model())
    assert (same.revision, same.is_new) == (1, False)
    assert [one.revision for one in book.revisions("sea")] == [1, 2]
    assert book.recipe("sea").revision == 2
    assert book.recipe("sea", 1).recipe.doses_phr["azure"] == 0.021
    line = book.list()[0]
    assert (line.name, line.revision, line.doses_phr, line.pours) == ("sea", 2, {"azure": 0.022, "emerald": 0.034}, 0)


def test_a_model_is_kept_once_and_may_come_later(book: Book) -> None:
    assert not book.keep(recipe("sea")).has_model
    assert book.keep(recipe("sea"), model()).has_model
    book.keep(recipe("other"), model())
    assert book.recipe("sea").has_model
    assert book.check().counts["model"] == 1


def test_another_model_is_refused(book: Book) -> None:
    with pytest.raises(ValueProblem, match="not the model"):
        book.keep(recipe("sea"), model(0.1))
    assert book.list() == ()


def test_list_by_words(book: Book) -> None:
    for name in ("sea green", "Sea mist", "smoke"):
        book.keep(recipe(name))
    assert [one.name for one in book.list()] == ["Sea mist", "sea green", "smoke"]
    assert [one.name for one in book.list("SEA")] == ["Sea mist", "sea green"]
    assert [one.name for one in book.list("green sea")] == ["sea green"]


@pytest.mark.parametrize("name", ["", " sea", "sea\n", "x" * 121, "a\x00b"])
def test_names_that_cannot_be_found_again(book: Book, name: str) -> None:
    with pytest.raises(ValueProblem, match="cannot be the name of a recipe"):
        book.keep(recipe(name))


def test_what_is_not_there(book: Book) -> None:
    with pytest.raises(NotInBook, match="the book is empty"):
        book.recipe("sea")
    book.keep(recipe("sea green"))
    with pytest.raises(NotInBook, match="did you mean sea green"):
        book.recipe("sea gren")
    with pytest.raises(NotInBook, match="it has 1"):
        book.recipe("sea green", 2)


def test_no_row_can_be_changed_or_taken_out(book: Book, path: Path) -> None:
    fill(book)
    db = sqlite3.connect(path)
    try:
        for table in TABLES:
            column = db.execute(f"PRAGMA table_info({table})").fetchall()[-1][1]
            assert db.execute(f"SELECT count(*) FROM {table}").fetchone()[0] > 0, table
            for statement in (f"UPDATE {table} SET {column} = 'x'", f"DELETE FROM {table}"):
                with pytest.raises(sqlite3.IntegrityError, match="never changed"):
                    db.execute(statement)
    finally:
        db.close()
    assert book.check().is_sound


# Pours ----------------------------------------------------------------------------------------------------------------


def test_a_pour_comes_back(book: Book) -> None:
    fill(book)
    [pour] = book.pours("sea")
    assert (pour.number, pour.revision) == (1, 2)
    assert pour.pour == Pour("2027-03-01", 450.0, {"A": 236.8, "azure 1+50": 4.82}, {"azure": "A-17"}, "24 h", "first")
    assert [(one.place, one.lab, one.light, one.observer) for one in pour.readings] == [
        ("flange", (87.6, -12.3, 1.9), "D65", 10),
        ("point", (31.2, -20.1, 4.5), "D65", 10),
    ]
    assert pour.notes == ("a bubble at the rim",)
    assert book.photo(pour.photos[0].sha256) == b"photo"
    assert book.bottles()[0].left_g == pytest.approx(20.4 - 4.82)
    assert [one.pours for one in book.list()] == [1, 0]
    assert book.pours("sea", 1) == ()


def test_pours_that_look_alike_stay_two(book: Book, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1700000000")
    book.keep(recipe("sea"))
    for _ in range(3):
        book.add_pour("sea", Pour("2027-03-01"), again=True)
    assert [one.number for one in book.pours("sea")] == [1, 2, 3]
    book.add_to_pour("sea", 2, set_aside="wrong cup")
    assert [one.set_aside for one in book.pours("sea")] == ["", "wrong cup", ""]


def test_pours_that_cannot_be(book: Book) -> None:
    book.keep(recipe("sea"))
    with pytest.raises(ValueProblem, match="must be 0, or from"):
        book.add_pour("sea", Pour("2027-03-01", 450.0, {"A": -1.0}))
    with pytest.raises(ValueProblem, match="must be from"):
        Pour("2027-03-01", 0.0)
    with pytest.raises(ValueProblem, match="2027-03-01"):
        Pour("1 March")
    with pytest.raises(ValueProblem, match="flange, point"):
        book.add_pour("sea", Pour("2027-03-01"), readings=[reading("rim")])
    with pytest.raises(ValueProblem, match="lies from"):
        PlaceReading("point", (float("nan"), 0.0, 0.0))
    with pytest.raises(NotThere, match="the shelf is empty"):
        book.add_pour("sea", Pour("2027-03-01"), from_bottles={"azure 1+50": 1.0})
    with pytest.raises(FileProblem, match="photos up to 30 MB"):
        book.add_pour("sea", Pour("2027-03-01"), photos=[Photo("big.tif", "0" * 64, b"0" * 30_000_001)])
    with pytest.raises(NotInBook, match="no pour of it"):
        book.add_to_pour("sea", 1, note="?")
    assert book.pours("sea") == ()
    book.add_pour("sea", Pour("2027-03-01"))
    with pytest.raises(NotInBook, match="pours 1 to 1"):
        book.add_to_pour("sea", 2, note="?")
    with pytest.raises(ValueProblem, match="nothing is given to add"):
        book.add_to_pour("sea", 1)


# The shelf ------------------------------------------------------------------------------------------------------------


def test_a_bottle_is_used_up(book: Book) -> None:
    book.add_bottle(BOTTLE)
    assert book.bottles("azure") == (BOTTLE,)
    assert book.bottles("emerald") == ()
    assert book.use_bottle("azure 1+50", 4.82).left_g == pytest.approx(15.58)
    assert book.set_bottle_strength("azure 1+50", 1.05, 0.02).strength == 1.05
    with pytest.raises(ValueProblem, match=r"holds 15\.58 g"):
        book.use_bottle("azure 1+50", 16.0)
    with pytest.raises(InUse, match="on the shelf already"):
        book.add_bottle(BOTTLE)
    assert book.set_bottle_left("azure 1+50", 15.0).left_g == 15.0
    book.use_bottle("azure 1+50", 15.0)
    assert book.bottles() == ()
    with pytest.raises(NotThere, match="no stock bottle"):
        book.use_bottle("azure 1+50", 1.0)
    book.add_bottle(BOTTLE)  # the next one of that name begins anew
    assert book.bottles() == (BOTTLE,)
    assert book.use_bottle("azure 1+50", 20.4).left_g == 0.0


@pytest.mark.parametrize("grams", [0.0, -1.0, float("nan"), 1e9])
def test_amounts_that_cannot_be_taken(book: Book, grams: float) -> None:
    book.add_bottle(BOTTLE)
    with pytest.raises(ValueProblem, match="must be"):
        book.use_bottle("azure 1+50", grams)
    assert book.bottles() == (BOTTLE,)


def test_the_last_strength_of_a_lot_counts(book: Book, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1700000000")
    assert book.lot_strengths({"azure": "A-18"}).get("azure") is None
    assert book.set_lot_strength("azure", "A-18", None).strength is None
    assert book.lot_strengths({"azure": "A-18"}).get("azure") is None
    for strength in (1.10, 1.05, 1.08):
        book.set_lot_strength("azure", "A-18", strength, 0.02)
    assert book.lot_strengths({"azure": "A-18"}).get("azure") == (1.08, 0.02)
    book.set_lot_strength("azure", "A-18", None)  # came in once more; its strength is still known
    assert [(one.lot, one.strength) for one in book.lots("azure")] == [("A-18", 1.08)]
    for strength in (0.0, -1.0, float("inf")):
        with pytest.raises(ValueProblem, match="must be"):
            book.set_lot_strength("azure", "A-18", strength)


def test_check_chips(book: Book) -> None:
    chip = CheckChip("azure", "A-18", 0.05, 12.0, (61.3, -22.4, -18.0), read_on="2027-02-01", name="c1")
    book.add_check_chip(chip)
    assert book.check_chips("azure", "A-18") == (chip,)
    assert book.check_chips("emerald") == ()
    assert [(one.lot, one.strength, one.check_chips) for one in book.lots()] == [("A-18", None, 1)]
    with pytest.raises(ValueProblem, match="must be"):
        CheckChip("azure", "A-18", 0.05, 0.0, (61.3, -22.4, -18.0))


# The file -------------------------------------------------------------------------------------------------------------


def test_settings_and_migrations(book: Book, path: Path) -> None:
    db = book.db
    settings = {
        key: db.execute(f"PRAGMA {key}").fetchone()[0] for key in ("journal_mode", "foreign_keys", "synchronous")
    }
    assert settings == {"journal_mode": "wal", "foreign_keys": 1, "synchronous": 2}
    seen = book.check()
    assert [row["version"] for row in seen.migrations] == [1, 2, 3] == [step.version for step in book_schema.MIGRATIONS]
    assert seen.format == 3
    assert db.execute("PRAGMA application_id").fetchone()[0] == book_schema.APPLICATION_ID


def test_an_older_book_is_brought_up_to_date_and_one_step_fails_alone(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    steps = book_schema.MIGRATIONS
    monkeypatch.setattr(book_schema, "MIGRATIONS", steps[:1])
    with open_book(path) as book:
        book.keep(recipe("sea"), model())
        assert book.db.execute("PRAGMA user_version").fetchone()[0] == 1
    broken = dataclasses.replace(steps[2], statements=(*steps[2].statements, "CREATE TABLE lot (again TEXT)"))
    monkeypatch.setattr(book_schema, "MIGRATIONS", (*steps[:2], broken))
    with pytest.raises(TintmixError):
        open_book(path)
    db = sqlite3.connect(path)
    assert db.execute("PRAGMA user_version").fetchone()[0] == 2
    assert db.execute("SELECT version FROM migration ORDER BY 1").fetchall() == [(1,), (2,)]
    assert db.execute("SELECT count(*) FROM sqlite_master WHERE name = 'bottle'").fetchone() == (0,)
    db.close()
    monkeypatch.setattr(book_schema, "MIGRATIONS", steps)
    with open_book(path) as book:
        assert book.check().is_sound
        assert [one.name for one in book.list()] == ["sea"]


def untouched(path: Path, before: bytes) -> bool:
    """The file and its folder are as they were."""
    return path.read_bytes() == before and not [name for name in os.listdir(path.parent) if name != path.name]


def test_a_newer_book_is_left_alone(path: Path) -> None:
    open_book(path).close()
    db = sqlite3.connect(path)
    db.execute("PRAGMA user_version = 99")
    db.commit()
    db.close()
    before = path.read_bytes()
    with pytest.raises(FileProblem, match="format 99") as caught:
        open_book(path)
    assert "\n" not in str(caught.value)
    assert untouched(path, before)


def other_program(path: Path) -> None:
    db = sqlite3.connect(path)
    db.execute("CREATE TABLE recipe (name TEXT)")
    db.commit()
    db.close()


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda path: path.write_bytes(b""), "empty"),
        (lambda path: path.write_text("my recipes\n" * 100), "no database"),
        (lambda path: path.write_bytes(b"SQLite format 3\0"), "no database"),
        (other_program, "another program"),
    ],
)
def test_a_file_of_others_is_left_alone(path: Path, make: object, words: str) -> None:
    make(path)  # type: ignore[operator]
    before = path.read_bytes()
    for create in (True, False):
        with pytest.raises(FileProblem, match=words) as caught:
            open_book(path, create=create)
        assert str(path) in str(caught.value)
        assert "\n" not in str(caught.value)
    assert untouched(path, before)


def test_places_where_no_book_can_be(tmp_path: Path) -> None:
    with pytest.raises(FileProblem, match="folder"):
        open_book(tmp_path)
    with pytest.raises(CannotWrite, match="does not exist"):
        open_book(tmp_path / "no" / "book.db")
    with pytest.raises(CannotWrite, match="no recipe book can be made"):
        open_book(tmp_path / "a\0b")
    with pytest.raises(NotInBook, match="no recipe book"):
        open_book(tmp_path / "book.db", create=False)
    assert open_book_if_there(tmp_path / "book.db") is None
    assert os.listdir(tmp_path) == []


@pytest.mark.parametrize("leads_to", ["gone/book.db", "not-begun.db", "link.db"])
def test_a_link_that_leads_nowhere_is_no_new_book(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, leads_to: str
) -> None:
    link = tmp_path / "link.db"
    link.symlink_to(leads_to)
    monkeypatch.setenv("TINTMIX_BOOK", str(link))
    for ask in (open_book, lambda: open_book(create=False), open_book_if_there, lambda: book_to_ask(None).__enter__()):
        with pytest.raises(CannotWrite, match="a link that leads nowhere"):
            ask()
    assert os.listdir(tmp_path) == ["link.db"]
    assert os.readlink(link) == leads_to


def test_a_finished_file_takes_no_link_s_place(tmp_path: Path) -> None:
    (tmp_path / "link.db").symlink_to("gone.db")
    (tmp_path / "made.part").write_text("a book")
    with pytest.raises(FileExistsError):
        book_file.into_place(tmp_path / "made.part", tmp_path / "link.db")


def test_where_the_book_is(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("TINTMIX_BOOK", raising=False)
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    usual = book_place()
    assert usual.name == "recipe-book.db"
    monkeypatch.setattr("tintmix.book.place.usual_place", lambda: tmp_path / "data" / "tintmix" / "recipe-book.db")
    with open_book() as book:  # the usual place is made with its folders
        assert book.path == tmp_path / "data" / "tintmix" / "recipe-book.db"
    monkeypatch.setenv("TINTMIX_BOOK", str(tmp_path / "mine.db"))
    assert book_place() == tmp_path / "mine.db"
    assert book_place("other.db") == Path("other.db")


def test_a_locked_book(path: Path) -> None:
    open_book(path).close()
    holder = sqlite3.connect(path, isolation_level=None)
    try:
        holder.execute("BEGIN IMMEDIATE")
        with open_book(path, wait_seconds=0.2) as book:
            assert book.list() == ()  # reading goes on beside a writer
            with pytest.raises(InUse, match=r"0\.2 s") as caught:
                book.keep(recipe("sea"))
            assert "\n" not in str(caught.value)
            holder.execute("COMMIT")
            book.keep(recipe("sea"))
            assert len(book.list()) == 1
    finally:
        holder.close()


def test_a_book_held_by_itself(path: Path) -> None:
    open_book(path).close()
    holder = sqlite3.connect(path, isolation_level=None)
    try:
        holder.execute("PRAGMA locking_mode = EXCLUSIVE")
        holder.execute("BEGIN EXCLUSIVE")
        before = path.read_bytes()
        with pytest.raises(InUse, match="another program holds"):
            open_book(path, wait_seconds=0.2)
        assert path.read_bytes() == before
    finally:
        holder.close()


@pytest.mark.skipif(not hasattr(os, "geteuid"), reason="modes of files are told by users here")
@pytest.mark.parametrize(("file_mode", "folder_mode"), [(0o444, 0o777), (0o444, 0o555), (0o644, 0o555)])
def test_a_book_that_may_only_be_read(file_mode: int, folder_mode: int) -> None:
    # pytest's own folders are the owner's alone, and the reader below is nobody.
    folder = Path(tempfile.mkdtemp(prefix="tintmix-book-"))
    path = folder / "book.db"
    try:
        with open_book(path) as book:
            fill(book)
        before = path.read_bytes()
        path.chmod(file_mode)
        folder.chmod(folder_mode)
        program = (
            "import os, sys\n"
            "from pathlib import Path\n"
            "from tests.book.books import recipe\n"
            "import tintmix.files.stamp, tintmix.book.export, tintmix.book.care, tintmix.pigments.model_file\n"
            "from tintmix.book.book import open_book\n"
            "from tintmix.errors import CannotWrite\n"
            "mine = recipe('new')\n"
            "os.geteuid() or os.setuid(65534)\n"
            "with open_book(Path(sys.argv[1])) as book:\n"
            "    print(book.read_only, len(book.list()), book.recipe('sea').revision, book.check().is_sound)\n"
            "    try:\n"
            "        book.keep(mine)\n"
            "    except CannotWrite as problem:\n"
            "        print(problem)\n"
        )
        ran = subprocess.run(
            [sys.executable, "-c", program, str(path)], capture_output=True, text=True, check=False, timeout=60,
            cwd=Path(__file__).resolve().parents[2],
        )  # fmt: skip
        assert ran.stderr == ""
        said = ran.stdout.splitlines()
        assert said[0] == "True 2 2 True"
        assert len(said) == 2
        assert "can only be read" in said[1]
        assert path.read_bytes() == before
    finally:
        folder.chmod(0o777)
        shutil.rmtree(folder)


def test_a_broken_file_is_told_and_check_answers(path: Path) -> None:
    with open_book(path) as book:
        for number in range(200):
            book.keep(recipe(f"sea {number}", model_file="x" * 2000))
    data = bytearray(path.read_bytes())
    data[20_000:40_000] = os.urandom(20_000)
    path.write_bytes(data)
    with open_book(path) as book:
        seen = book.check()
        assert not seen.is_sound
        assert "more" in seen.problems[0]
        assert len(seen.problems[0]) < 400
        with pytest.raises(FileProblem) as caught:
            book.export()
        assert "\n" not in str(caught.value)
        with pytest.raises(TintmixError):
            book.backup(path.with_name("copy.db"))
    assert not path.with_name("copy.db").exists()


def test_a_digit_that_was_changed_is_found(book: Book, path: Path) -> None:
    fill(book)
    db = sqlite3.connect(path, isolation_level=None)
    db.execute("DROP TRIGGER recipe_content_no_update")
    db.execute("UPDATE recipe_content SET content = replace(content, '0.021', '0.029')")
    db.execute("DROP TRIGGER pour_no_update")
    db.execute("UPDATE pour SET content = replace(content, '236.8', '237.8')")
    db.execute("DROP TRIGGER photo_no_update")
    db.execute("UPDATE photo SET content = 'x'")
    db.execute("DROP TRIGGER model_no_update")
    db.execute("UPDATE model SET content = 'x'")
    db.execute("DROP TRIGGER pour_addition_no_delete")
    db.execute("PRAGMA foreign_keys = OFF")
    db.execute("DROP TRIGGER bottle_no_delete")
    db.execute("DELETE FROM bottle")
    db.close()
    told = " ".join(book.check().problems)
    for words in ("recipe 'sea', revision 1", "pour 1:", "photo", "model", "a row of bottle_event belongs"):
        assert words in told
    assert "smoke" not in told


@pytest.mark.parametrize("place", ["/", ".", ".."])
def test_a_folder_is_no_place_for_a_backup(book: Book, place: str) -> None:
    with pytest.raises(InUse):
        book.backup(place, replace=True)


def test_backup_is_a_book_and_overwrites_nothing(book: Book, path: Path, tmp_path: Path) -> None:
    fill(book)
    copy = tmp_path / "copy.db"
    done = book.backup(copy)
    assert done.size_bytes == copy.stat().st_size
    assert done.counts == book.check().counts
    before = copy.read_bytes()
    with pytest.raises(InUse, match="does not overwrite"):
        book.backup(copy)
    assert copy.read_bytes() == before
    assert sorted(name for name in os.listdir(tmp_path) if "copy" in name) == ["copy.db"]
    with open_book(copy) as again:
        assert again.export() == book.export()
        again.keep(recipe("next"))
    with pytest.raises(CannotWrite, match="does not exist"):
        book.backup(tmp_path / "no" / "copy.db")


def stopped(book: Book) -> None:
    with book.writing() as db:
        db.execute("INSERT INTO photo VALUES ('x', 'y')")
        raise KeyboardInterrupt


def test_a_write_that_is_broken_off_leaves_nothing(book: Book, monkeypatch: pytest.MonkeyPatch) -> None:
    book.keep(recipe("sea"))
    before = book.export()
    with pytest.raises(ValueProblem, match="no place"):
        book.add_pour("sea", Pour("2027-03-01"), readings=[reading("point"), reading("nowhere")])
    with pytest.raises(KeyboardInterrupt):
        stopped(book)
    assert book.export() == before
    assert [place[0] for place in PLACES] == ["flange", "point"]


def test_read_only_says_so(book: Book) -> None:
    book.read_only = True
    with pytest.raises(CannotWrite, match="can only be read"):
        book.keep(recipe("sea"))
