"""Plans for chips on a white tile: thin, judged as the instrument will see them there, and said so."""

from __future__ import annotations

import dataclasses
from pathlib import Path

import numpy as np
import pytest

from tests.reference.batched import lab
from tests.reference.tile import dry
from tintmix.chips.folder import read_chips
from tintmix.desk.fit import fit_sets
from tintmix.desk.plan.plan import Order, Planned, plan_chips, planned
from tintmix.desk.plan.text import GoingOn
from tintmix.desk.plan.tile import TILE_CAST_MM, OnTile, thin_moulds, tile_seen
from tintmix.errors import ValueProblem
from tintmix.resin import Resin

WHITE = OnTile((94.0, -0.3, 1.5))
ORDER = Order({"azure": 0.02, "emerald": 0.01}, (8.0, 60.0), (2.0, 4.0, 12.0, 25.0), on_tile=WHITE)


@pytest.fixture(scope="module")
def done(tmp_path_factory: pytest.TempPathFactory) -> tuple[Planned, Path]:
    folder = tmp_path_factory.mktemp("plan") / "chips"
    return plan_chips(folder, ORDER), folder


def test_the_set_is_one_of_a_white_tile(done: tuple[Planned, Path]) -> None:
    plan, folder = done
    reading = read_chips(folder).reading
    assert (reading.relative_to, reading.contact, reading.geometry) == ("white tile", "dry", "45/0")
    assert reading.tile_lab == (94.0, -0.3, 1.5)
    assert plan.body["relative_to"] == "white tile"


def test_its_chips_are_thin_and_it_says_so(done: tuple[Planned, Path]) -> None:
    plan, folder = done
    assert {chip.thickness_mm for chip in plan.chips.chips} == {2.0, 4.0}
    told = " ".join(plan.warnings)
    for words in (
        "white tile",
        "goes through each chip twice",
        "4 mm at most",
        "12, 25 mm left out",
        "no untinted block",
    ):
        assert words in told, words
    page = (folder / "README.md").read_text(encoding="utf-8")
    for words in (
        "white tile",
        "in reflection",
        "L* 94, a* -0.3, b* 1.5",
        "air between",
        "four times as wide",
        "Then fit chips.",
    ):
        assert words in page, words
    assert "in transmission." not in page


def test_it_is_filled_in_and_fitted(done: tuple[Planned, Path], tmp_path: Path) -> None:
    """Grey chips by the slow law, bounce by bounce: the fit finds the greys again."""
    plan, folder = done
    filled = tmp_path / "filled"
    filled.mkdir()
    white = np.interp(np.arange(360.0, 781.0), np.arange(380.0, 781.0, 10.0), tile_seen(WHITE, "D65", 10).reflectance)
    (filled / "set.toml").write_bytes((folder / "set.toml").read_bytes())
    lines = (folder / "chips.csv").read_text().splitlines()
    at = lines[0].split(",").index("L")
    out = [lines[0]]
    for line, chip in zip(lines[1:], plan.chips.chips, strict=True):
        tau = 10.0 ** (-chip.thickness_mm * (0.003 + 1.5 * sum(chip.doses_phr)))
        middle = float(white.mean())
        seen = lab((dry(tau, middle, 1.5) * white / middle)[None, :])[0]
        cells = line.split(",", at + 3)
        cells[at : at + 3] = [f"{value:.2f}" for value in seen]
        out.append(",".join(cells))
    (filled / "chips.csv").write_text("\n".join(out) + "\n")
    model = fit_sets([filled], tmp_path / "m.json").model
    visible = slice(5, 31)
    assert np.median(model.absorptivity[:, visible]) == pytest.approx(1.5, rel=0.1)


def test_moulds() -> None:
    defaults: dict[str, object] = {}
    assert thin_moulds((), None, defaults) == TILE_CAST_MM
    assert defaults == {"cast_mm": list(TILE_CAST_MM)}
    assert thin_moulds((), 3.0, {}) == (1.5, 3.0)
    assert thin_moulds((1.5,), 25.0, {}) == (1.0, 1.5, 2.0, 4.0)
    with pytest.raises(ValueProblem, match="thinnest chip that can be cast is 6 mm"):
        thin_moulds((6.0, 12.0), None, {})
    with pytest.raises(ValueProblem, match="a thickness to cast is nan"):
        thin_moulds((), float("nan"), {})


def test_a_thin_part_needs_no_word_about_a_block() -> None:
    found = planned(dataclasses.replace(ORDER, sections_mm=(3.0, 6.0), cast_mm=()), None, Resin())
    assert not any("block" in warning for warning in found.warnings)
    assert not any("left out" in warning for warning in found.warnings)


@pytest.mark.parametrize(
    ("order", "problem", "says"),
    [
        (dataclasses.replace(ORDER, kind="spectrum"), ValueProblem, "for colours only"),
        (dataclasses.replace(ORDER, cast_mm=(6.0,)), ValueProblem, "at most 4 mm thick"),
        (dataclasses.replace(ORDER, cast_mm=(float("nan"),)), ValueProblem, "a thickness to cast is nan"),
        (dataclasses.replace(ORDER, on_tile=OnTile((5.0, 0.0, 0.0))), ValueProblem, "tile_lab"),
        (dataclasses.replace(ORDER, on_tile=OnTile((94.0, float("nan"), 0.0))), ValueProblem, "tile_lab"),
        (dataclasses.replace(ORDER, on_tile=OnTile((94.0, 0.0, 0.0), "glued")), ValueProblem, "contact"),  # type: ignore[arg-type]
    ],
)
def test_what_cannot_be(order: Order, problem: type[Exception], says: str, tmp_path: Path) -> None:
    with pytest.raises(problem, match=says):
        plan_chips(tmp_path / "chips", order)
    assert not (tmp_path / "chips").exists()


def test_the_page_says_what_lies_between_and_how_colours_come_into_the_set() -> None:
    order = dataclasses.replace(ORDER, on_tile=OnTile((94.0, 0.0, 1.0), "wetted", "d/8"))
    told = planned(order, None, Resin(), going_on=GoingOn(colours="Type them in.")).readme
    assert "drop of clear oil" in told
    assert "gloss excluded" in told
    assert "Type them in." in told
