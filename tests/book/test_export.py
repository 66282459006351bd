"""Export and import: the same bytes back, nothing twice, nothing overwritten, and all or nothing."""

from __future__ import annotations

import contextlib
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.book.books import model, reading, recipe
from tests.book.test_book import fill
from tintmix.book.book import open_book
from tintmix.book.errors import NotInBook
from tintmix.book.values import Pour
from tintmix.errors import FileProblem, TintmixError
from tintmix.files.canonical import canonical_json, digest


@pytest.fixture(scope="module")
def text(tmp_path_factory: pytest.TempPathFactory) -> str:
    with open_book(tmp_path_factory.mktemp("book") / "book.db") as book:
        fill(book)
        return book.export()


def test_export_into_an_empty_book_and_out_again(text: str, tmp_path: Path) -> None:
    with open_book(tmp_path / "new.db") as book:
        done = book.import_(text, "all.json")
        assert done.added["recipes"] == 3
        assert done.added["models"] == 1
        assert sum(done.already.values()) == 0
        assert book.export() == text
        assert book.check().is_sound
        again = book.import_(text, "all.json")
        assert sum(again.added.values()) == 0
        assert book.export() == text
        # issue 4, 7: the same recipe after export and import into an empty book.
        assert book.recipe("sea", 1).digest == recipe("sea").digest()
        assert book.recipe("sea", 1).recipe.digest() == recipe("sea").digest()
        kept = book.model(recipe("sea").model)
        assert kept is not None
        assert kept.digest() == model().digest()
        assert book.bottles()[0].left_g == pytest.approx(20.4 - 4.82)
        assert book.lot_strengths({"azure": "A-18"}).get("azure") == (1.08, 0.02)
        assert len(book.pours("sea")[0].readings) == 2


def test_the_file_is_canonical_and_says_its_digest(text: str) -> None:
    table = json.loads(text)
    assert text == canonical_json(table) + "\n"
    assert table["digest"] == digest({k: v for k, v in table.items() if k not in ("digest", "made_by", "made_at")})
    assert (table["format"], table["is"], table["made_by"]) == (1, "tintmix recipe book", "tintmix 0.1.0")


def test_a_conflicting_name_gets_a_new_revision(text: str, tmp_path: Path) -> None:
    with open_book(tmp_path / "mine.db") as book:
        mine = book.keep(recipe("sea", azure=0.5))
        done = book.import_(text, "all.json")
        assert done.renumbered == (("sea", 1, 2), ("sea", 2, 3))
        assert book.recipe("sea", 1).digest == mine.digest
        assert book.recipe("sea", 2).digest == recipe("sea").digest()
        assert [one.revision for one in book.pours("sea")] == [3]
        assert book.check().is_sound


def test_two_books_come_together(text: str, tmp_path: Path) -> None:
    with open_book(tmp_path / "one.db") as one, open_book(tmp_path / "other.db") as other:
        one.import_(text, "")
        other.import_(text, "")
        one.add_pour("sea", Pour("2027-04-01", 100.0))
        other.add_pour("sea", Pour("2027-05-01", 200.0))
        other.add_pour("sea", Pour("2027-04-01", 100.0), readings=[reading()])
        one.import_(other.export(), "")
        other.import_(one.export(), "")
        mine, theirs = json.loads(one.export()), json.loads(other.export())
        for table in (mine, theirs):
            table["pour"].sort(key=canonical_json)  # the same pours; those of the other book come after one's own
            table.pop("digest")
        assert mine == theirs
        # The pour that both books were told of alike may be one pour told twice: it is kept once or twice, never lost.
        batches = sorted(pour.pour.batch_g or 0 for pour in one.pours("sea"))
        assert batches in ([100.0, 200.0, 450.0], [100.0, 100.0, 200.0, 450.0])


def test_some_recipes_only(tmp_path: Path) -> None:
    with open_book(tmp_path / "book.db") as book, open_book(tmp_path / "new.db") as new:
        fill(book)
        part = book.export(["smoke"])
        assert [one["name"] for one in json.loads(part)["recipes"]] == ["smoke"]
        assert json.loads(part)["pour"] == []
        new.import_(part, "")
        assert [one.name for one in new.list()] == ["smoke"]
        with pytest.raises(NotInBook, match="no recipe 'nothing'"):
            book.export(["nothing"])


def resealed(change: Callable[[dict[str, Any]], object]) -> Callable[[str], str]:
    """An export that was changed by somebody who mends the outer digest."""

    def changed(text: str) -> str:
        table = json.loads(text)
        change(table)
        table["digest"] = digest({k: v for k, v in table.items() if k not in ("digest", "made_by", "made_at")})
        return canonical_json(table)

    return changed


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (lambda text: text[: len(text) // 2], "cut off"),
        (lambda text: text[:-3], "cut off"),
        (lambda text: "", "cut off"),
        (lambda text: "[]", "does not say"),
        (lambda text: "[" * 100_000, "nested|cut off"),
        (lambda text: '{"is": "tintmix recipe book", "format": NaN}', "JSON"),
        (lambda text: '{"is": "tintmix recipe book", "format": "1"}', "format"),
        (lambda text: text.replace('"format":1', '"format":7'), "format 7|digest"),
        (resealed(lambda table: table.update(format=7)), "format 7"),
        (lambda text: text.replace("0.021", "0.029"), "digest"),
        (resealed(lambda table: table["recipes"][0]["recipe"]["doses_phr"].update(azure=1.0)), "sea"),
        (resealed(lambda table: table["recipes"][0].update(revision=0)), "revision"),
        (resealed(lambda table: table["recipes"][0].update(name="x")), "'x'"),
        (resealed(lambda table: table["pour"][0].update(note="\ud800")), "UTF-8"),
        (resealed(lambda table: table.pop("pour")), "pour is missing"),
        (resealed(lambda table: table["pour"][0].update(recipe="0" * 64)), "no recipe 000000000000"),
        (resealed(lambda table: table["pour"][0]["weights_g"].update(A=-1.0)), "must be 0, or from"),
        (resealed(lambda table: table["pour_addition"][0].update(kind="?")), "kind"),
        (resealed(lambda table: table["bottle_event"][0].update(grams="much")), "much"),
        (resealed(lambda table: table["lot"][0].update(nth=0)), "number"),
        (resealed(lambda table: table["photos"].update({"0" * 64: ""})), "photo"),
        (resealed(lambda table: table["models"].update({"0" * 64: {}})), "model|export"),
        (resealed(lambda table: table["recipes"].append(3)), "a part is not"),
    ],
)
def test_exports_that_cannot_be(text: str, tmp_path: Path, change: Any, words: str) -> None:
    with open_book(tmp_path / "book.db") as book:
        book.keep(recipe("mine"), model())
        before = book.export()
        with pytest.raises(FileProblem, match=words) as caught:
            book.import_(change(text), "all.json")
        assert "all.json" in str(caught.value)
        assert "\n" not in str(caught.value)
        assert book.export() == before


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.data())
def test_any_damage_is_an_error_of_ours_and_changes_nothing(text: str, tmp_path: Path, data: st.DataObject) -> None:
    at = data.draw(st.integers(0, len(text) - 1))
    much = data.draw(st.integers(0, 40))
    put = data.draw(st.text(max_size=5))
    damaged = text[:at] + put + text[at + much :]
    with open_book(tmp_path / "fuzz.db") as book:
        before = book.export()
        refused = ""
        try:
            book.import_(damaged, "all.json")
        except TintmixError as problem:
            refused = str(problem)
        assert "\n" not in refused
        # What is let in differs at most in what stands outside the content: who made it, and when.
        assert book.export() in ((before,) if refused else (before, text))
    if not refused:
        (tmp_path / "fuzz.db").unlink()


KEYS = st.sampled_from(["recipes", "models", "photos", "pour", "format", "digest", "x"])
ANY_JSON = st.recursive(
    st.none() | st.booleans() | st.floats() | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(KEYS, inner, max_size=4),
    max_leaves=12,
)


@given(ANY_JSON)
def test_any_json_is_refused_in_a_sentence(value: Any) -> None:
    from tintmix.book.export import IS, _checked
    from tintmix.files.long_texts import LongTexts

    table = {"is": IS, "format": 1, **value} if isinstance(value, dict) else value
    if isinstance(table, dict):
        with contextlib.suppress(TintmixError):  # NaN has no digest
            table["digest"] = digest({k: v for k, v in table.items() if k not in ("digest", "made_by", "made_at")})
    with pytest.raises(TintmixError) as caught:
        _checked(LongTexts(json.dumps(table)), "all.json")
    assert "\n" not in str(caught.value)
