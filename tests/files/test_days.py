"""The day that a maker reads and types is the day on the wall, whatever day it is in Greenwich; stamps stay UTC."""

from __future__ import annotations

import json
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from tests.book.books import model as known_model
from tests.book.books import recipe
from tintmix.desk.demo import demo
from tintmix.errors import ValueProblem
from tintmix.faces.cli.main import run
from tintmix.files.stamp import check_day, local_day, made_at, today
from tintmix.pigments.model_file import save_model
from tintmix.recipes.recipe_file import write_recipe

EVENING = "1796184000"
"""2026-12-02 04:00 UTC (date -u -d @1796184000): the evening of the 1st in Los Angeles, 17:00 of the 2nd in Auckland."""
NIGHT = "1796126400"
"""2026-12-01 12:00 UTC: the 2nd, 01:00, in Auckland."""
PLACES = [
    ("America/Los_Angeles", EVENING, "2026-12-01"),
    ("Pacific/Auckland", NIGHT, "2026-12-02"),
    ("UTC", EVENING, "2026-12-02"),
]

Place = Callable[[str, str], None]
Output = pytest.CaptureFixture[str]


@pytest.fixture
def at(monkeypatch: pytest.MonkeyPatch) -> Iterator[Place]:
    """Put the computer somewhere, at some second."""

    def put(zone: str, second: str) -> None:
        monkeypatch.setenv("TZ", zone)
        monkeypatch.setenv("SOURCE_DATE_EPOCH", second)
        time.tzset()

    yield put
    monkeypatch.undo()
    time.tzset()


@pytest.mark.parametrize(("zone", "second", "day"), PLACES)
def test_today(at: Place, zone: str, second: str, day: str) -> None:
    at(zone, second)
    assert today() == day
    assert local_day(made_at()) == day
    assert made_at().endswith("Z")


def test_a_stamp_that_is_a_day_or_none_at_all(at: Place) -> None:
    at("America/Los_Angeles", EVENING)
    assert [local_day(one) for one in ("2026-11-28", "", "soon", "2026-12-02T04:00:00Z")] == [
        "2026-11-28", "", "soon", "2026-12-01",
    ]  # fmt: skip


@pytest.mark.parametrize(("zone", "second", "day"), PLACES[:2])
def test_book_and_sheet_name_the_day_on_the_wall(
    tmp_path: Path, at: Place, monkeypatch: pytest.MonkeyPatch, capsys: Output, zone: str, second: str, day: str
) -> None:
    file = tmp_path / "sea.json"
    write_recipe(recipe(), file)
    save_model(known_model(), tmp_path / "m.json")
    monkeypatch.setenv("TINTMIX_BOOK", str(tmp_path / "book.db"))
    at(zone, second)

    def shell(*said: object) -> str:
        assert run([*map(str, said)]) == 0
        return capsys.readouterr().out

    shell("book", "keep", file, "--model", tmp_path / "m.json")
    assert f" {day} " in shell("book", "list")
    assert f"kept {day} by" in shell("book", "show", "sea")
    shell("book", "pour", "sea", "--batch", "450")
    assert f" {day} " in shell("book", "show", "sea").split("pour  on")[1]
    shell(
        "book", "bottle", "azure 1+50", "--pigment", "azure", "--pigment-g", "1", "--carrier-g", "50", "--carrier", "B"
    )
    assert json.loads(shell("book", "bottle", "--json"))["bottles"][0]["made_on"] == day
    made = shell("sheet", "sea", "--batch", "450", "--resin", demo("resins", "urethane.toml"))
    assert f"written      {day}" in made
    # What is kept as a stamp stays in UTC.
    assert json.loads(shell("book", "show", "sea", "--json"))["kept_at"] == {
        EVENING: "2026-12-02T04:00:00Z", NIGHT: "2026-12-01T12:00:00Z",
    }[second]  # fmt: skip


@pytest.mark.parametrize("day", ["2030-01-01", "2026-12-04", "1900-01-01", "20260301", "2026-02-30", "soon"])
def test_a_day_that_cannot_be(at: Place, day: str) -> None:
    at("UTC", EVENING)
    with pytest.raises(ValueProblem, match="from 1950-01-01 to tomorrow"):
        check_day("the day of the pour", day)
    for sound in ("", "1950-01-01", "2026-12-02", "2026-12-03"):
        check_day("the day of the pour", sound)
