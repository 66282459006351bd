"""A target to which the untinted resin is nearest: solve tells so, and what is made of such a recipe makes sense."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.faces.conftest import ROOT, Call, Refused
from tests.faces.docs.typed import File, typed
from tintmix.desk.demo import demo
from tintmix.desk.fit import fit_sets

SHEET = ("--resin", demo("resins", "urethane.toml"), "--scale", "resin=0.1", "--scale", "pigment=0.01")


@pytest.fixture(scope="module")
def models(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """README's own six chips, and two of the shipped sets, fitted."""
    folder = tmp_path_factory.mktemp("untinted")
    for one in typed((ROOT / "README.md").read_text("utf-8")):
        if isinstance(one, File) and one.name.startswith("my-chips/"):
            (folder / Path(one.name).name).write_text(one.text, "utf-8")
    sets = {"six": folder, "cup": demo("one-cup"), "deck": demo("deck-prism")}
    for name, chips in sets.items():
        fit_sets([chips], folder / f"{name}.json")
    return {name: folder / f"{name}.json" for name in sets}


def target(folder: Path, lab: str, limits: str = "") -> Path:
    path = folder / "target.toml"
    place = f'format = 1\n[[section]]\nname = "rim"\nthickness_mm = 8.0\nlab = {lab}\n'
    path.write_text(place + (f"[limits]\n{limits}\n" if limits else ""), "utf-8")
    return path


@pytest.mark.parametrize(
    ("name", "lab", "limits", "binding"),
    [
        ("six", "[95, -2, 8]", "", "gamut"),
        ("cup", "[96, 0, 0]", "", "chips"),
        ("cup", "[97.5, 0, 0]", "", "chips"),
        ("deck", "[100, 0, 0]", "pigments = 1", "resin"),
    ],
)
def test_the_cases_of_issue_9(
    call: Call, models: dict[str, Path], tmp_path: Path, name: str, lab: str, limits: str, binding: str
) -> None:
    wanted = target(tmp_path, lab, limits)
    body = call("solve", models[name], wanted, "--json").json
    assert (body["outcome"], body["binding"], body["proposals"][0]["doses_phr"]) == ("short", [binding], {})
    said = call("solve", models[name], wanted)
    assert said.status == 0
    # Where the chips do not tell whether it can be reached, the nearest is the model's.
    line = " ".join(said.out.split())
    assert "untinted resin is nearest" in line or "the nearest tint by the model, the untinted resin" in line


def test_what_is_made_of_such_a_recipe(
    call: Call, refused: Refused, models: dict[str, Path], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("TINTMIX_BOOK", str(tmp_path / "book.db"))
    kept = tmp_path / "plain.json"
    wanted = target(tmp_path, "[95, -2, 8]")
    drawn = tmp_path / "plain.png"
    assert call("solve", models["six"], wanted, "--keep", kept, "--picture", drawn).status == 0
    assert drawn.stat().st_size > 1000
    sheet = call("sheet", kept, "--batch", "450", *SHEET)
    assert "Add no pigment" in sheet.out
    assert call("sheet", kept, "--batch", "450", *SHEET, "--json").json["tinted_part"]["looks"] == []
    assert call("sheet", kept, "--batch", "450", *SHEET, "--out", tmp_path / "plain.pdf").status == 0
    assert call("book", "keep", kept).status == 0
    assert "untinted" in call("book", "list").out
    assert "No pigment goes in: this recipe is the untinted resin." in call("book", "show", "plain").out
    assert call("book", "pour", "plain", "--batch", "450").status == 0
    told = refused(
        "adjust", kept, "--left", "195", "--pot", "400", "--batch", "450", "--at", "8", "--lab", "90,-4,3", *SHEET[:2]
    )
    assert "there is no pigment in the pot to adjust" in told


def test_an_untinted_cup_can_be_weighed(call: Call, models: dict[str, Path], tmp_path: Path) -> None:
    """Only a cup's mix cannot: nothing is asked of its bottle here."""
    kept = tmp_path / "cup.json"
    assert call("solve", models["cup"], target(tmp_path, "[96, 0, 0]"), "--keep", kept).status == 0
    assert "Add no pigment" in call("sheet", kept, "--batch", "450", *SHEET).out
