"""`tintmix book`, as a maker types it: JSON, text, and each bad input in one sentence with the book unchanged."""

from __future__ import annotations

import json
import sqlite3
from pathlib import Path

import pytest

from tests.book.books import recipe
from tests.faces.conftest import Call, Refused
from tintmix.recipes.recipe_file import write_recipe


@pytest.fixture
def place(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A book of this test's own."""
    monkeypatch.setenv("TINTMIX_BOOK", str(tmp_path / "book.db"))
    return tmp_path / "book.db"


@pytest.fixture
def sea(call: Call, model: Path, target: Path, tmp_path: Path, place: Path) -> Path:
    """A solved recipe, kept."""
    path = tmp_path / "sea.json"
    call("solve", model, target, "--keep", path)
    assert call("book", "keep", path, "--note", "first try").status == 0
    return path


def state(call: Call, tmp_path: Path) -> str:
    """All that the book holds."""
    said = call("book", "export", tmp_path / "state.json")
    assert said.status == 0, said
    return (tmp_path / "state.json").read_text(encoding="utf-8")


def test_keep_list_show(call: Call, sea: Path, place: Path) -> None:
    again = call("book", "keep", sea, "--json").json
    assert (again["name"], again["revision"], again["is_new"], again["has_model"]) == ("sea", 1, False, True)
    kept = json.loads(sea.read_text(encoding="utf-8"))
    listed = call("book", "list", "--json").json
    assert listed["count"] == 1
    assert listed["book"] == str(place)
    assert listed["recipes"][0]["doses_phr"] == kept["doses_phr"]
    shown = call("book", "show", "sea", "--json").json
    for key in ("doses_phr", "resin", "target", "sections", "limits", "lots", "model", "chips", "made_by", "made_at"):
        assert shown[key] == kept[key]
    assert shown["digest"] == again["digest"]
    text = call("book", "show", "sea").out
    for word in ("sea, revision 1 of 1", again["digest"][:12], "first try", "phr", "flange", "in the book"):
        assert word in text
    assert "first try" in call("book", "list").out
    assert "Nothing new was kept" in call("book", "keep", sea).out


def test_show_writes_it_back_and_a_sheet_works_next_year(call: Call, sea: Path, model: Path, tmp_path: Path) -> None:
    folder = tmp_path / "next year"
    folder.mkdir()
    text = sea.read_text(encoding="utf-8")
    said = call("book", "show", "sea", "--out", folder / "again.json", "--json")
    assert said.json["written"] == [str(folder / "again.json"), str(folder / model.name)]
    assert (folder / "again.json").read_text(encoding="utf-8") == text
    kept = folder / model.name
    sections = json.loads(text)["sections"]
    doses = [part for name, dose in json.loads(text)["doses_phr"].items() for part in ("--dose", f"{name}={dose!r}")]
    look = call("look", kept, *doses, "--at", "8", "--at", "60", "--json").json
    for here, there in zip(look["sections"], sections, strict=True):
        assert here["lab"] == pytest.approx(there["lab"], abs=1e-9)
    # Once more into the same folder: the model that is there is the same, and is left alone.
    assert call("book", "show", "sea", "--out", folder / "again.json", "--json").json["written"] == [
        str(folder / "again.json")
    ]


def test_the_model_may_be_gone_or_elsewhere(
    call: Call, refused: Refused, model: Path, target: Path, tmp_path: Path, place: Path
) -> None:
    mine = tmp_path / "mine.json"
    mine.write_bytes(model.read_bytes())
    call("solve", mine, target, "--keep", tmp_path / "sea.json")
    moved = tmp_path / "moved.json"
    mine.rename(moved)
    told = refused("book", "keep", tmp_path / "sea.json")
    assert "mine.json" in told
    assert "neither there" in told
    assert not place.exists()
    other = tmp_path / "cup.json"
    call("fit", "swatches/one-cup", "--model", other)
    if other.exists():
        assert "not the model" in refused("book", "keep", tmp_path / "sea.json", "--model", other)
    assert call("book", "keep", tmp_path / "sea.json", "--without-model").status == 0
    assert "NOT in the book" in call("book", "show", "sea").out
    assert call("book", "check", "--json").json["without_model"] == ["sea"]
    assert call("book", "keep", tmp_path / "sea.json", "--model", moved, "--json").json["has_model"]
    assert call("book", "check", "--json").json["without_model"] == []


def test_pours_and_history(call: Call, sea: Path, tmp_path: Path) -> None:
    lightness = (64.2, 64.6, 64.0, 64.4, 63.9, 64.3, 64.1, 62.0)
    for day, value in enumerate(lightness, 1):
        said = call(
            "book", "pour", "sea", "--on", f"2025-03-{day:02d}", "--batch", "450 g", "--weighed", "A=236,8", "--reading",
            f"point={value},-33.6,-8.3", "--json",
        )  # fmt: skip
        assert said.status == 0, said
        assert said.json["number"] == day
    body = call("book", "history", "sea", "--json").json
    flange, point = body["places"]
    assert flange["pours"] == []
    assert [row["L"] for row in point["pours"]] == list(lightness)
    chart = point["charts"]["L"]
    # The example of docs/make-it-again-next-year.md, 33 higher.
    assert (round(chart["middle"], 2), round(chart["low"], 2), round(chart["high"], 2)) == (63.94, 62.19, 65.69)
    assert not body["steady"]
    assert body["says"][0].startswith("point, ")
    assert any("pour 8 stands out, darker" in line for line in body["says"])
    drawn = tmp_path / "history.png"
    text = call("book", "history", "sea", "--picture", drawn)
    assert text.status == 0
    assert drawn.stat().st_size > 1000
    for word in ("stands out", "common practice", "mean", "2.66", "within ΔE00 2"):
        assert word in " ".join(text.out.split())
    assert all(len(line) <= 100 for line in text.out.splitlines())
    call("book", "pour", "sea", "--number", "8", "--set-aside", "wrong cup")
    again = call("book", "history", "sea", "--json").json
    assert again["steady"]
    assert again["left_out"] == [{"number": 8, "why": "set aside: wrong cup"}]
    assert "No drift" in call("book", "history", "sea").out
    assert "wrong cup" in call("book", "show", "sea").out


def test_a_pour_is_added_to(call: Call, refused: Refused, sea: Path, tmp_path: Path) -> None:
    photo = tmp_path / "point.jpg"
    photo.write_bytes(b"\xff\xd8 invented")
    said = call("book", "pour", "sea", "--batch", "450", "--cure", "24 h at 23 °C")
    assert "--number 1 --reading" in said.out
    assert call("book", "history", "sea").out.startswith("No pour has a reading")
    added = call(
        "book", "pour", "sea", "--number", "1", "--reading", "point=31.2,-20.1,4.5", "--photo", photo,
        "--photo-fingerprint", photo, "--note", "a bubble", "--json",
    ).json  # fmt: skip
    assert [one["place"] for one in added["readings"]] == ["point"]
    assert (added["readings"][0]["light"], added["readings"][0]["observer"]) == ("D65", 10)
    assert len(added["photos"]) == 2
    assert added["notes"] == ["a bubble"]
    before = state(call, tmp_path)
    assert "--batch does not go with --number" in refused("book", "pour", "sea", "--number", "1", "--batch", "300")
    assert "nothing is given" in refused("book", "pour", "sea", "--number", "1")
    assert "no pour 7" in refused("book", "pour", "sea", "--number", "7", "--note", "?")
    assert "--number" in refused("book", "pour", "sea", "--set-aside", "why")
    assert "flange, point" in refused("book", "pour", "sea", "--reading", "rim=1,2,3")
    assert "point=63.6" in refused("book", "pour", "sea", "--reading", "point")
    assert "must be 0, or from" in refused("book", "pour", "sea", "--weighed", "A=-3")
    assert "A=236.8" in refused("book", "pour", "sea", "--weighed", "A")
    assert "uses no pigment" in refused("book", "pour", "sea", "--lot", "pink=P-1")
    assert "year-month-day" in refused("book", "pour", "sea", "--on", "yesterday")
    pigment, dose = next(iter(json.loads(sea.read_text(encoding="utf-8"))["doses_phr"].items()))
    far = ("book", "pour", "sea", "--batch", "450", f"--weighed={pigment}={4500 * dose:.4f}")
    assert "say with --as-weighed" in refused(*far)
    assert "there is no such file" in refused("book", "pour", "sea", "--photo", tmp_path / "none.jpg")
    assert state(call, tmp_path) == before
    assert call(*far, "--as-weighed").status == 0


def test_bottles_and_lots(call: Call, refused: Refused, sea: Path, tmp_path: Path) -> None:
    assert "No stock bottle" in call("book", "bottle").out
    new = ("--pigment", "emerald", "--carrier", "B", "--pigment-g", "0.4", "--carrier-g", "20", "--lot", "E-05")
    assert call("book", "bottle", "emerald 1+50", *new).status == 0
    said = call("book", "pour", "sea", "--from-bottle", "emerald 1+50=4.82", "--json")
    assert said.json["weights_g"] == {"emerald 1+50": 4.82}
    [bottle] = call("book", "bottle", "--json").json["bottles"]
    assert bottle["left_g"] == pytest.approx(15.58)
    assert bottle["n"] == pytest.approx(50)
    assert "15.58 g" in call("book", "bottle").out
    before = state(call, tmp_path)
    assert "on the shelf already" in refused("book", "bottle", "emerald 1+50", *new)
    assert "holds 15.58 g" in refused("book", "bottle", "emerald 1+50", "--used", "16")
    assert "holds 15.58 g" in refused("book", "pour", "sea", "--from-bottle", "emerald 1+50=16")
    assert "no stock bottle" in refused("book", "bottle", "azure 1+9", "--used", "1")
    assert "must be from" in refused("book", "bottle", "emerald 1+50", "--used", "-1")
    assert "--carrier" in refused("book", "bottle", "x", "--pigment-g", "1")
    assert "contradict" in refused("book", "bottle", "emerald 1+50", "--empty", "--left", "3")
    assert "name the bottle" in refused("book", "bottle", "--used", "3")
    assert "say what is new" in refused("book", "bottle", "emerald 1+50")
    assert "must be from" in refused("book", "lot", "emerald", "E-05", "--strength", "0")
    assert "needs a pigment" in refused("book", "lot", "--strength", "1.1")
    assert state(call, tmp_path) == before
    assert call("book", "bottle", "emerald 1+50", "--empty").out == "emerald 1+50 is empty.\n"
    assert "knows no lot" in call("book", "lot").out
    assert "check chip" in call("book", "lot", "emerald", "E-05").out
    said = call(
        "book", "check-chip", "E-05", "--dose", "emerald=0.05", "--at", "12", "--reading", "61,-22,-18", "--json"
    )
    assert said.json["count"] == 1
    assert "7.0 % weaker" in call("book", "lot", "emerald", "E-05", "--strength", "0,93", "--spread", "2%").out
    [lot] = call("book", "lot", "--json").json["lots"]
    assert (lot["strength"], lot["spread"], lot["check_chips"]) == (0.93, 0.02, 1)
    assert "0.93 ± 2 %" in call("book", "lot").out


def test_rescale_and_compare(call: Call, refused: Refused, sea: Path, tmp_path: Path) -> None:
    assert "one revision" in refused("book", "compare", "sea")
    assert "Say what changes" in refused("book", "rescale", "sea")
    assert "uses no pigment" in refused("book", "rescale", "sea", "--lot", "pink=P-1")
    call("book", "lot", "emerald", "E-05", "--strength", "1.08")
    plain = call("book", "rescale", "sea", "--lot", "emerald=E-05")
    assert "Nothing was kept" in plain.out
    assert "/1.08 =" in plain.out
    body = call("book", "rescale", "sea", "--lot", "emerald=E-05", "--keep", "--json").json
    assert body["weighed_phr"]["emerald"] * 1.08 == pytest.approx(body["doses_phr"]["emerald"])
    assert body["kept"]["revision"] == 2
    assert call("book", "rescale", "sea", "--revision", "1", "--lot", "emerald=E-05", "--keep", "--json").json["kept"][
        "revision"
    ] == 2  # fmt: skip
    resin = tmp_path / "resin.toml"
    resin.write_text(
        'format = 1\nname = "clear casting resin, invented"\nrefractive_index = 1.5\ntakes_pigment = "B"\n'
        '[[part]]\nname = "A"\nparts_by_weight = 100\n[[part]]\nname = "B"\nparts_by_weight = 50\n'
    )
    said = call("book", "rescale", "sea", "--resin", resin, "--out", tmp_path / "new.json", "--model", "x")
    assert said.status == 2
    said = call("book", "rescale", "sea", "--resin", resin, "--out", tmp_path / "new.json")
    assert "33.33 g of each 100 g" in " ".join(said.out.split())
    assert json.loads((tmp_path / "new.json").read_text())["resin"]["part"][1]["parts_by_weight"] == 50
    body = call("book", "compare", "sea", "--json").json
    assert (body["first"]["revision"], body["second"]["revision"]) == (1, 2)
    assert body["changed"] == ["lots"]
    assert all(one["delta_e00"] == 0 for one in body["sections"])
    text = call("book", "compare", "sea", "2", "1").out
    for word in ("revision 2", "revision 1", "same", "Lots of revision 2", "E-05"):
        assert word in text
    assert "no revision 9" in refused("book", "compare", "sea", "1", "9")


def test_compare_two_tints(call: Call, tmp_path: Path, place: Path) -> None:
    from dataclasses import replace

    from tintmix.optics.difference import delta_e00

    one = recipe()
    write_recipe(one, tmp_path / "one.json")
    sections = [{**section, "lab": [section["lab"][0] - 2, *section["lab"][1:]]} for section in one.sections]
    write_recipe(replace(recipe(azure=0.0231), sections=sections), tmp_path / "two.json")
    for name in ("one", "two"):
        call("book", "keep", tmp_path / f"{name}.json", "--without-model")
    body = call("book", "compare", "sea", "--json").json
    assert body["doses"][0]["change_percent"] == pytest.approx(10)
    for row, before, after in zip(body["sections"], one.sections, sections, strict=True):
        assert row["delta_e00"] == pytest.approx(float(delta_e00(before["lab"], after["lab"])), abs=1e-9)
    assert "+10.0 %" in call("book", "compare", "sea").out


def test_export_import_backup_check(call: Call, refused: Refused, sea: Path, tmp_path: Path) -> None:
    call("book", "pour", "sea", "--reading", "point=58,-55,5")
    out, new = tmp_path / "all.json", tmp_path / "new.db"
    assert "1 recipe, 1 model, 1 pour, 1 addition" in " ".join(call("book", "export", out).out.split())
    first = call("book", "import", out, "--book", new, "--json").json
    assert first["added"]["recipes"] == 1
    second = call("book", "--book", new, "import", out, "--json").json
    assert sum(second["added"].values()) == 0
    call("book", "export", tmp_path / "again.json", "--book", new)
    assert (tmp_path / "again.json").read_bytes() == out.read_bytes()
    digest = call("book", "show", "sea", "--json").json["digest"]
    assert call("book", "show", "sea", "--book", new, "--json").json["digest"] == digest
    copy = tmp_path / "copy.db"
    assert "read over" in " ".join(call("book", "backup", copy).out.split())
    assert "does not overwrite" in refused("book", "backup", copy)
    checked = call("book", "check", "--book", copy, "--json").json
    assert checked["sound"]
    assert checked["counts"]["pour"] == 1
    assert "as it was written" in call("book", "check").out
    cut = tmp_path / "cut.json"
    cut.write_text(out.read_text(encoding="utf-8")[:-100], encoding="utf-8")
    before = state(call, tmp_path)
    assert "cut off" in refused("book", "import", cut)
    assert "no such file" in refused("book", "import", tmp_path / "none.json")
    assert "is being read" in refused("book", "export", tmp_path / "book.db")
    assert state(call, tmp_path) == before


def test_a_check_that_finds_something(call: Call, sea: Path, place: Path) -> None:
    db = sqlite3.connect(place, isolation_level=None)
    db.execute("DROP TRIGGER recipe_content_no_update")
    db.execute("UPDATE recipe_content SET content = replace(content, 'phr', 'PHR')")
    db.close()
    said = call("book", "check")
    assert said.status == 2
    assert "recipe 'sea', revision 1" in said.out
    assert not call("book", "check", "--json").json["sound"]


def test_books_that_cannot_be(
    call: Call, refused: Refused, sea: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    foreign = tmp_path / "foreign.db"
    foreign.write_text("shopping list")
    for command in (["list"], ["keep", sea], ["show", "sea"], ["check"], ["backup", tmp_path / "b.db"], ["lot"]):
        assert "not a recipe book" in refused("book", *command, "--book", foreign)
    assert foreign.read_text() == "shopping list"
    none = tmp_path / "none.db"
    for command in (["list"], ["show", "sea"], ["check"], ["history", "sea"], ["bottle"], ["pour", "sea"]):
        assert "there is no recipe book" in refused("book", *command, "--book", none)
    assert not none.exists()
    assert "does not exist" in refused("book", "keep", sea, "--book", tmp_path / "no" / "book.db")
    assert "not a recipe that can be read" in refused("book", "keep", foreign)
    assert "no recipe 'see' is kept there; did you mean sea?" in refused("book", "show", "see")
    monkeypatch.delenv("TINTMIX_BOOK")
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    monkeypatch.setattr("tintmix.book.file.usual_place", lambda: tmp_path / "data" / "book.db")
    assert "No recipe is kept" in call("book", "list").out
    assert not (tmp_path / "data").exists()


def test_help(call: Call) -> None:
    said = call("book", "--help")
    assert "--json" in said.out
    places = [said.out.index(f"\n  {name} ") for name in ("keep", "list", "show", "history", "pour", "lot", "import")]
    assert places[:4] == sorted(places[:4])
    for name in ("keep", "list", "show", "compare", "history", "pour", "rescale", "lot", "bottle", "check-chip", "export",
                 "import", "backup", "check"):  # fmt: skip
        one = call("book", name, "--help")
        assert one.status == 0
        assert "--json" in one.out
        assert "--book FILE" in one.out


def test_the_same_sheet_from_another_book(
    call: Call, sea: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Issue 4, 7: the same PDF bytes after export and import into an empty book, and from the file that is written back."""
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1700000000")
    resin = tmp_path / "resin.toml"
    resin.write_text(
        'format = 1\nname = "clear casting resin, invented"\nrefractive_index = 1.5\ntakes_pigment = "B"\npot_life_min = 8\n'
        '[[part]]\nname = "A"\nparts_by_weight = 100\nhazard = "isocyanate"\n[[part]]\nname = "B"\nparts_by_weight = 90\n'
    )
    call("book", "export", tmp_path / "all.json")
    other = tmp_path / "other.db"
    call("book", "import", tmp_path / "all.json", "--book", other)
    folder = tmp_path / "back"
    folder.mkdir()
    call("book", "show", "sea", "--out", folder / "sea.json", "--book", other)
    more = ("--batch", "450", "--scale", "resin=0.1", "--scale", "pigment=0.01", "--resin", resin)
    sheets = []
    for number, what in enumerate((["sea"], ["sea", "--book", other], [folder / "sea.json", "--book", other])):
        pdf = tmp_path / f"{number}.pdf"
        said = call("sheet", *what, *more, "--out", pdf)
        assert said.status == 0, said
        sheets.append(pdf.read_bytes())
    assert sheets[0] == sheets[1] == sheets[2]
