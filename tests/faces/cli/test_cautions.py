"""No weight is told on the shell, in a plan's folder or on a printed sheet without the cautions before it (issue 9, fault 5)."""

from __future__ import annotations

import json
import re
from collections.abc import Sequence
from pathlib import Path

import pytest

from tests.faces.cli.test_sheet import words_of
from tests.faces.conftest import Call
from tintmix.chips.folder import read_chips
from tintmix.desk.demo import demo
from tintmix.desk.solve import solve_for
from tintmix.pigments.model_file import load_model
from tintmix.resin import read_resin
from tintmix.sheet.cautions import Caution, cautions, cautions_for, in_short

RESINS = Path(__file__).resolve().parents[3] / "swatches" / "resins"
WEIGHT = re.compile(r"\b\d+(?:\.\d+)? g\b(?! of mixed)")
"""A weight. How much is mixed in all, which may stand in a title, is none."""


def one_line(text: str) -> str:
    return " ".join(text.replace("**", "").split())


def assert_first(text: str, sentences: Sequence[str]) -> int:
    """Each sentence whole, in their order, then the first weight; where that stands."""
    line = one_line(text)
    first = WEIGHT.search(line)
    assert first is not None, line
    at = 0
    for said in sentences:
        at = line.find(said, at)
        assert 0 <= at < first.start(), (said, first[0], line[:300])
    return first.start()


def assert_cautions_first(text: str, expected: tuple[Caution, ...]) -> None:
    """Each caution whole, in their order, then the first weight; behind that the sources."""
    first = assert_first(text, [one.sentence for one in expected])
    for one in expected:
        assert one_line(text).rfind(one.cited) > first, one.cited


def assert_short_first(text: str, expected: tuple[Caution, ...]) -> None:
    """The same in short, and where all of them are."""
    assert_first(text, [*in_short(expected), "All cautions, with their sources:"])


@pytest.fixture(scope="module")
def sea(model: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("sea") / "sea.json"
    solve_for(model, demo("targets", "sea-green-glass.toml"), 1, None, path)
    return path


@pytest.fixture
def own(model: Path) -> tuple[Caution, ...]:
    """Those of the demo's resin, a urethane."""
    found = cautions_for(load_model(model).resin)
    assert {one.hazard for one in found} == {"isocyanate", "all"}
    return found


@pytest.fixture
def off(model: Path, sea: Path) -> str:
    """What a trial reads whose pigments are all a fifth too weak."""
    doses = json.loads(sea.read_text(encoding="utf-8"))["doses_phr"]
    look = load_model(model).look({name: 0.8 * dose for name, dose in doses.items()}, [25.0])
    return ",".join(f"{v:.1f}" for v in look.lab[0])


def test_sheet_as_text(call: Call, sea: Path, own: tuple[Caution, ...], tmp_path: Path) -> None:
    assert_cautions_first(call("sheet", sea, "--batch", "450").out, own)
    assert call("sheet", sea, "--batch", "450", "--out", tmp_path / "a.txt").status == 0
    assert_cautions_first((tmp_path / "a.txt").read_text(encoding="utf-8"), own)


def test_sheet_as_pdf(call: Call, sea: Path, own: tuple[Caution, ...], tmp_path: Path) -> None:
    assert call("sheet", sea, "--batch", "450", "--out", tmp_path / "a.pdf").status == 0
    assert_cautions_first(words_of(tmp_path / "a.pdf").partition("tintmix 0.")[2], own)


@pytest.mark.parametrize("name", ["epoxy.toml", "urethane.toml"])
def test_sheet_has_them_of_its_own_resin(call: Call, sea: Path, name: str) -> None:
    said = call("sheet", sea, "--batch", "450", "--resin", RESINS / name)
    assert_cautions_first(said.out, cautions_for(read_resin(RESINS / name)))
    assert ("Isocyanate, in the hardener" in one_line(said.out)) == (name == "urethane.toml")


def test_a_resin_that_says_no_hazard_is_told_all(call: Call, sea: Path, tmp_path: Path) -> None:
    """And why; on the sheet, in a plan and its page. Only where the resin may be a urethane does water make it foam."""
    mine = tmp_path / "mine.toml"
    mine.write_text(
        'format = 1\ntakes_pigment = "B"\n'
        '[[part]]\nname = "A"\nparts_by_weight = 100\n[[part]]\nname = "B"\nparts_by_weight = 90\n'
    )
    why = "resin's file does not say what its parts hold: all cautions are told"
    said = call("sheet", sea, "--batch", "400", "--resin", mine)
    assert_cautions_first(said.out, cautions())
    assert why in one_line(said.out)
    basic = ("--pigment", "emerald=0.02", "--at", "60")
    said = call("plan", tmp_path / "p", *basic, "--resin", mine)
    assert_short_first(said.out, cautions())
    page = (tmp_path / "p" / "README.md").read_text(encoding="utf-8")
    assert why in one_line(said.out)
    assert why in one_line(page)
    assert "urethane foam" in page
    assert call("plan", tmp_path / "e", *basic, "--resin", RESINS / "epoxy.toml").status == 0
    assert "foam" not in (tmp_path / "e" / "README.md").read_text(encoding="utf-8")


def test_plan_and_the_page_in_its_folder(call: Call, model: Path, own: tuple[Caution, ...], tmp_path: Path) -> None:
    """With a resin its own, without one all."""
    basic = ("--pigment", "emerald=0.02", "--at", "8", "--at", "60", "--batch", "450")
    unknown = call("plan", tmp_path / "a", *basic)
    assert_short_first(unknown.out, cautions())
    assert_cautions_first((tmp_path / "a" / "README.md").read_text(encoding="utf-8").partition("\n## ")[2], cautions())
    known = call("plan", tmp_path / "b", *basic, "--model", model)
    assert_short_first(known.out, own)
    page = (tmp_path / "b" / "README.md").read_text(encoding="utf-8")
    assert_cautions_first(page.partition("\n## ")[2], own)
    assert page.index("Before any bottle is opened") < page.index("Stock bottles")
    casting = one_line(page.partition("## Casting")[2].partition("## Reading")[0])
    for words in ("implode", "in a heap", "down the drain", "gauge stands at zero", "never used for food"):
        assert words in casting
    assert read_chips(tmp_path / "b").resin == load_model(model).resin


def test_adjust_lot_and_convert(call: Call, model: Path, sea: Path, own: tuple[Caution, ...], off: str) -> None:
    said = call("adjust", sea, "--left", "195", "--pot", "400", "--at", "25", "--lab", off)
    assert_short_first(said.out, own)
    lab = ",".join(f"{v:.1f}" for v in load_model(model).look({"emerald": 0.096}, [12.0]).lab[0])
    line = one_line(call("lot", model, "--dose", "emerald=0.08", "--at", "12", "--lab", lab).out)
    assert max(map(line.index, in_short(own))) < line.index("weigh its dose divided by")
    # What was asked stands first all the same, without a weight.
    assert line.startswith("Emerald is 20 % stronger than the pigment of the chips")
    assert one_line(said.out).startswith("Top it up. First the cautions, then the weights. ")
    assert_short_first(call("convert", "0.02", "--batch", "450").out, cautions())
    assert "Before you mix" not in call("convert", "0.02").out


def test_the_book(
    call: Call, model: Path, sea: Path, own: tuple[Caution, ...], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("TINTMIX_BOOK", str(tmp_path / "book.db"))
    assert call("book", "keep", sea).status == 0
    assert call("plan", tmp_path / "p", "--pigment", "emerald=0.02", "--at", "60", "--model", model).status == 0
    assert_short_first(call("book", "bottle", "--from-plan", tmp_path / "p").out, own)
    new = ("--pigment", "emerald", "--carrier", "B", "--pigment-g", "0.4", "--carrier-g", "20")
    assert_short_first(call("book", "bottle", "emerald 1+50", *new).out, cautions())
    assert_short_first(call("book", "bottle", "emerald 1+50", "--used", "2").out, cautions())
    assert_short_first(call("book", "bottle").out, cautions())
    # What was poured already stands first: nothing is weighed any more.
    poured = one_line(call("book", "pour", "sea", "--batch", "450", "--weighed", "A=236.8").out)
    assert poured.startswith("Recorded pour 1 of sea.")
    assert all(poured.index("236.8") < poured.index(said) for said in in_short(own))
    assert_short_first(call("book", "show", "sea").out, own)
    assert call("book", "lot", "emerald", "E-9", "--strength", "1.1").status == 0
    line = one_line(call("book", "rescale", "sea", "--lot", "emerald=E-9").out)
    assert max(map(line.index, in_short(own))) < line.index("to weigh, phr")


def test_the_tour(walked: Path, own: tuple[Caution, ...]) -> None:
    line = one_line((walked / "said.txt").read_text(encoding="utf-8"))
    table = re.search(r"weigh stock bottle|weigh part", line)
    assert table is not None
    assert all(line.index(said) < table.start() for said in in_short(own))


def test_an_answer_that_comes_too_late_stands_first(call: Call, sea: Path, own: tuple[Caution, ...], off: str) -> None:
    """The pot that is mixed heats itself. What to weigh for the next pour has the cautions before it. The demo's pot life is 8
    minutes."""
    line = one_line(call("adjust", sea, "--left", "195", "--at", "25", "--lab", off, "--mixed", "12").out)
    assert line.startswith("Too late")
    assert max(map(line.index, in_short(own))) < line.index("For the next pour weigh, in g per 100 g")


def test_json_carries_them(
    call: Call, sea: Path, model: Path, own: tuple[Caution, ...], off: str, tmp_path: Path
) -> None:
    answers = [
        call("sheet", sea, "--batch", "450", "--json"),
        call("adjust", sea, "--left", "195", "--at", "25", "--lab", off, "--json"),
        call("lot", model, "--dose", "emerald=0.08", "--at", "12", "--lab", "70,-40,5", "--json"),
        call("plan", tmp_path / "p", "--pigment", "emerald=0.02", "--at", "60", "--model", model, "--json"),
    ]
    for said in answers:
        assert said.json["cautions"] == [one.sentence for one in own]
        assert [one["grave"] for one in said.json["caution_sources"]] == [one.grave for one in own]


def test_on_the_sheet_each_stands_again_where_it_acts(call: Call, sea: Path) -> None:
    line = one_line(call("sheet", sea, "--batch", "450").out)
    order = [
        "[ ] Get ready Before any bottle is opened: gloves and goggles on", "[ ] Make the stock bottle",
        "[ ] If you like: a trial chip", "A trial opens part A: gloves and goggles on",
        "It has a pot life of its own, about 8 minutes",
        "[ ] tinted part", "but for a trial it stays shut until now", "[ ] Degas", "A vacuum chamber can implode",
        "[ ] Pour, and keep a chip", "never leave mixed leftovers in a heap", "nothing goes down the drain", "[ ] Cure",
        "only when its gauge stands at zero", "an oven that is never used for food", "poured at",
    ]  # fmt: skip
    at = line.index("THE DAY BEFORE")
    for words in order:
        at = line.find(words, at)
        assert at >= 0, words
    assert "stays shut until now" not in line.replace("but for a trial it stays shut until now", "")
