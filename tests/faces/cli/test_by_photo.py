"""What is no chip of a set, by photo: a piece of glass, a trial, a lot's check chip, a pour's chip."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import pytest

from tests.chips.photo.photo_files import png
from tests.faces.conftest import Call, Refused
from tests.photo_simulation import Shot, draw_camera, holder_scene, jpeg, pose, random_pieces, raw_codes, through_lens
from tests.reference import batched
from tintmix.chips.photo.sheet.holder import window
from tintmix.desk.demo import demo
from tintmix.desk.read.things import look_of
from tintmix.desk.solve import solve_for
from tintmix.optics.detector import camera as detector_of
from tintmix.optics.detector import light
from tintmix.optics.difference import delta_e00
from tintmix.optics.spectrum import FINE_NM, GRID_NM
from tintmix.pigments.model_file import load_model, save_model

RESIN = Path(__file__).resolve().parents[3] / "swatches" / "resins" / "urethane.toml"
GLASS, TRIAL, LOT, FLANGE = "2.2", "1.2", "1.3", "1.4"
TRIAL_MM, LOT_MM, LOT_PHR = 25.0, 12.0, 0.1
WEAK = 0.82


@dataclass(frozen=True)
class Bench:
    """A folder with a model whose camera took chips.png and bare.png there, and the JPEGs; its recipe; what is true."""

    folder: Path
    model: Path
    recipe: Path
    glass: np.ndarray
    channels: dict[str, np.ndarray]

    def photos(self, kind: str = "png", option: str = "--photo") -> list[str]:
        return [option, str(self.folder / f"chips.{kind}"), "--panel", str(self.folder / f"bare.{kind}")]


@pytest.fixture(scope="module")
def bench(model: Path, tmp_path_factory: pytest.TempPathFactory) -> Bench:
    folder = tmp_path_factory.mktemp("by-photo")
    rng = np.random.default_rng(4)
    camera, shot = draw_camera(rng), Shot(width=900, height=675, turn=3.0, exposure=0.7)
    learnt = load_model(model)
    weights = detector_of(FINE_NM, camera.sensitivities, light(camera.panel)).weights
    save_model(replace(learnt, camera_weights=weights), folder / "model.json")
    solve_for(folder / "model.json", demo("targets", "sea-green-glass.toml"), 3, None, folder / "recipe.json")
    doses = json.loads((folder / "recipe.json").read_text())["doses_phr"]
    weak = {pigment: dose * (WEAK if pigment == "emerald" else 1.0) for pigment, dose in doses.items()}

    def cast(poured: dict[str, float], mm: float) -> np.ndarray:
        return np.asarray(np.interp(FINE_NM, GRID_NM, learnt.look(poured, [mm]).transmittance[0]))

    pieces = random_pieces(rng, 3, 1.2)
    lying = {
        GLASS: pieces[0], TRIAL: cast(weak, TRIAL_MM), LOT: cast({"emerald": WEAK * LOT_PHR}, LOT_MM),
        FLANGE: cast(doses, 8.0), window("K1").name: pieces[1], window("K2").name: pieces[2],
    }  # fmt: skip
    channels = dict(zip(lying, camera.ratio(np.array([*lying.values()])), strict=True))
    for name, contents in (("chips", channels), ("bare", {})):
        lit = through_lens(holder_scene(contents, shot, pose(shot), np.random.default_rng(9)), shot)
        (folder / f"{name}.png").write_bytes(png(raw_codes(lit, camera, shot, rng)))
        (folder / f"{name}.jpg").write_bytes(jpeg(lit, camera, shot, rng, quality=95))
    checks = {"k1": channels[window("K1").name].tolist(), "k2": channels[window("K2").name].tolist()}
    report = {**learnt.report, "camera": {"taken_with": "Plain One 1.2", "check_chips": checks}}
    save_model(replace(learnt, camera_weights=weights, report=report), folder / "model.json")
    return Bench(folder, folder / "model.json", folder / "recipe.json", pieces[0], channels)


def test_a_piece_of_glass_is_read_and_told_as_a_target(call: Call, bench: Bench) -> None:
    asked = ("read", "--model", bench.model, *bench.photos(), "--at", f"glass={GLASS}", "--thickness", "glass=6 mm")
    said = call(*asked, "--json")
    assert said.status == 0, said.err
    [(name, found)] = said.json["things"].items()
    assert (name, found["thickness_mm"]) == ("glass", 6.0)
    assert found["camera"] == pytest.approx(bench.channels[GLASS], rel=0.02, abs=0.003)
    truth = batched.lab(bench.glass[None], "D65", 10)[0]
    assert delta_e00(np.array(found["lab"]), truth) < found["delta_e00_95"]
    assert np.linalg.eigvalsh(found["lab_covariance"]).min() > 0
    assert not said.json["drift"]["drifted"]
    assert not any(b.name.startswith("set") for b in bench.folder.iterdir())
    text = call(*asked).out
    assert "[glass]\n" in text
    assert "The check chips (k1, k2) read as on the first day" in text


def test_a_trial_and_a_lot_are_read_by_photo(call: Call, bench: Bench) -> None:
    photo = bench.photos(option="--read-photo")
    basic = (
        "adjust",
        bench.recipe,
        "--model",
        bench.model,
        "--resin",
        RESIN,
        "--at",
        TRIAL_MM,
        "--left",
        "195",
        "--json",
    )
    said = call(*basic, "--pot", "400", *photo, "--window", TRIAL)
    assert said.status == 0, said.err
    assert said.json["trial"][0]["reading"] == pytest.approx(bench.channels[TRIAL], rel=0.02, abs=0.003)
    # A reading cannot part the two quite; the weak one is found by its own spread.
    assert "emerald" in [one["pigment"] for one in said.json["additions"]]
    found = said.json["lot_strengths"]["emerald"]
    assert found["factor"] == pytest.approx(WEAK, abs=2 * found["spread"])
    lot = call(
        "lot", bench.model, "--dose", f"emerald={LOT_PHR}", "--at", LOT_MM, *photo, "--window", LOT, "--json"
    ).json
    strength = lot["strengths"]["emerald"]
    assert strength["factor"] == pytest.approx(WEAK, abs=3 * WEAK * strength["spread"])
    assert strength["spread"] < 0.05


def test_a_pours_chip_by_photo_goes_into_book_and_history(
    call: Call, bench: Bench, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("TINTMIX_BOOK", str(tmp_path / "book.db"))
    assert call("book", "keep", bench.recipe, "--name", "sea").status == 0
    call("book", "pour", "sea")
    photo = bench.photos(option="--read-photo")
    said = call("book", "pour", "sea", "--number", "1", *photo, "--window", f"flange={FLANGE}", "--json")
    assert said.status == 0, said.err
    [reading] = said.json["readings"]
    assert reading["place"] == "flange"
    assert "by photo: camera" in reading["note"]
    [place] = [one for one in call("book", "history", "sea", "--json").json["places"] if one["place"] == "flange"]
    [row] = place["pours"]
    predicted = np.array(load_model(bench.model).look(json.loads(bench.recipe.read_text())["doses_phr"], [8.0]).lab[0])
    assert delta_e00(np.array([row["L"], row["a"], row["b"]]), predicted) < 1.0

    # Of the same chip, taken for one of 6 mm, the place of 8 mm is told as darker.
    thin = call("book", "pour", "sea", "--number", "1", *photo, "--window", f"flange={FLANGE}", "--thickness", "flange=6 mm",
                "--json")  # fmt: skip
    assert thin.status == 0, thin.err
    assert "of a chip of 6 mm" in thin.json["readings"][-1]["note"]
    assert thin.json["readings"][-1]["lab"][0] < reading["lab"][0]


def test_a_further_chip_is_typed_beside_the_photo(call: Call, bench: Bench) -> None:
    model, doses = load_model(bench.model), json.loads(bench.recipe.read_text())["doses_phr"]
    weak = {pigment: dose * (WEAK if pigment == "emerald" else 1.0) for pigment, dose in doses.items()}
    typed = ",".join(f"{value:.2f}" for value in model.look(weak, [8.0]).lab[0].tolist())
    asked = ("adjust", bench.recipe, "--model", bench.model, "--resin", RESIN, "--left", "195", "--pot", "400",
             "--at", TRIAL_MM, *bench.photos(option="--read-photo"), "--window", TRIAL)  # fmt: skip
    alone = call(*asked, "--json").json["lot_strengths"]["emerald"]
    both = call(*asked, "--beside", f"8 mm={typed}", "--json")
    assert both.status == 0, both.err
    assert both.json["beside"] == [{"thickness_mm": 8.0, "lab": pytest.approx([float(v) for v in typed.split(",")])}]
    found = both.json["lot_strengths"]["emerald"]
    assert found["spread"] < alone["spread"]
    assert found["factor"] == pytest.approx(WEAK, abs=2 * found["spread"])


def test_a_pours_chip_of_another_thickness_tells_of_the_place(bench: Bench) -> None:
    model, doses = load_model(bench.model), json.loads(bench.recipe.read_text())["doses_phr"]
    absorbs = model.drawn_resins().per_mm(model.dose_vector(doses)[None]).mean(axis=0)[0]
    values = bench.channels[FLANGE]
    found = look_of(model, values, 8.0, 0.01 * values, like=absorbs, seen_mm=20.0)
    assert delta_e00(found.lab, np.array(model.look(doses, [20.0]).lab[0])) < min(found.delta_e00_95, 3.0)


REFUSED: tuple[tuple[str, Callable[[Bench], tuple[object, ...]], str], ...] = (
    ("no thickness", lambda b: ("read", "--model", b.model, *b.photos(), "--at", f"glass={GLASS}"), "--thickness glass=6"),
    ("empty window", lambda b: ("read", "--model", b.model, *b.photos(), "--at", "glass=6.2", "--thickness", "glass=6"),
     "nothing lies where glass"),
    ("no window", lambda b: ("read", "--model", b.model, *b.photos(), "--at", "g=9.9", "--thickness", "g=6"), "no window"),
    ("a set too", lambda b: ("read", b.folder, "--model", b.model, *b.photos(), "--at", "g=2.2"), "--model takes no SET"),
    ("a JPEG", lambda b: ("read", "--model", b.model, *b.photos("jpg"), "--at", f"g={GLASS}", "--thickness", "g=6"),
     "the model's chips were read from raw photos"),
    ("which window", lambda b: ("lot", b.model, "--dose", "emerald=0.1", "--at", "12", *b.photos(option="--read-photo")),
     "it is not said which is what"),
    ("two ways", lambda b: ("lot", b.model, "--dose", "emerald=0.1", "--at", "12", "--lab", "80,-9,2",
                            *b.photos(option="--read-photo")), "in two ways"),
    ("beside nothing", lambda b: ("lot", b.model, "--dose", "emerald=0.1", "--at", "12", "--lab", "80,-9,2",
                                  "--beside", "4=90,-3,1"), "--beside MM=L,A,B goes with --read-photo"),
    ("beside, no colour", lambda b: ("lot", b.model, "--dose", "emerald=0.1", "--at", "12", *b.photos(option="--read-photo"),
                                     "--window", LOT, "--beside", "4=90"), "its thickness and its colour"),
    ("no photo", lambda b: ("lot", b.model, "--dose", "emerald=0.1", "--at", "12", "--window", "1.2"), "goes with --read-photo"),
)  # fmt: skip


@pytest.mark.parametrize("which", range(len(REFUSED)), ids=[one[0] for one in REFUSED])
def test_one_sentence_each(refused: Refused, bench: Bench, which: int) -> None:
    _, made, words = REFUSED[which]
    said = refused(*made(bench))
    assert words in said
    assert len(said) <= 400


def test_a_model_of_no_photo_knows_no_camera(refused: Refused, bench: Bench, model: Path) -> None:
    said = refused("read", "--model", model, *bench.photos(), "--at", f"glass={GLASS}", "--thickness", "glass=6")
    assert "was read from a photo" in said
