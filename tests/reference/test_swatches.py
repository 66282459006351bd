"""The shipped swatches are what the script writes, the sea green is within reach and can be shown; those of before open."""

import tomllib
from pathlib import Path

import numpy as np
import pytest

import tintmix as tm
from tests import make_swatches
from tests.reference import deck, slow

BEFORE = Path(__file__).parent / "sets"
"""What swatches/ held before the present palette."""


def test_shipped_files_are_the_scripts(tmp_path):
    make_swatches.write_all(tmp_path)
    made = {
        path.relative_to(tmp_path): path.read_text(encoding="utf-8") for path in tmp_path.rglob("*") if path.is_file()
    }
    assert len(made) == 26
    for name, text in made.items():
        assert (make_swatches.SWATCHES / name).read_text(encoding="utf-8") == text, name


def test_sea_green_is_light_and_within_reach():
    wanted = np.array([slow.lab_of(deck.glass_factor(mm)) for mm in make_swatches.SECTIONS])
    assert 85 <= wanted[0, 0] <= 92
    assert 45 <= wanted[1, 0] <= 65
    doses, worst = deck.best_recipe(make_swatches.SECTIONS, wanted, make_swatches.SEA_GREEN)
    assert worst < 1.0
    assert 0.01 < doses.sum() < 0.1
    assert slow.luminous_transmittance(deck.factor(doses, 60.0)) > 0.08


def test_the_readme_s_six_chips_are_the_scripts():
    readme = (make_swatches.SWATCHES.parent / "README.md").read_text(encoding="utf-8")
    assert f"```csv\n{make_swatches.readme_chips()}```" in readme


def test_the_sea_green_is_inside_srgb_at_every_thickness():
    """Screens and print show the target, and the tint that comes nearest, as they are."""
    wanted = np.array([slow.lab_of(deck.glass_factor(mm)) for mm in make_swatches.SECTIONS])
    tint, _ = deck.best_recipe(make_swatches.SECTIONS, wanted, make_swatches.SEA_GREEN)
    for mm in np.arange(0.0, 65.1, 0.5):
        for factor in (deck.glass_factor(mm), deck.factor(tint, mm)):
            linear = slow.linear_srgb(slow.xyz(factor), slow.white())
            assert 0 <= linear.min() <= linear.max() <= 1, mm


def test_the_sea_green_needs_two_or_three_of_the_pigments():
    model = tm.fit(tm.read_chips(make_swatches.SWATCHES / "deck-prism-colours"))
    answer = tm.solve(model, tm.read_target(make_swatches.SWATCHES / "targets" / "sea-green-glass.toml"))
    assert answer.outcome == "reached"
    best = [name for name, dose in answer.proposals[0].doses_phr.items() if dose > 0]
    assert 2 <= len(best) <= 3


@pytest.mark.parametrize(
    ("name", "chips", "pigments"),
    [
        ("deck-prism", 60, ("blue", "green", "brown", "violet", "yellow")),
        ("deck-prism-colours", 60, ("blue", "green", "brown", "violet", "yellow")),
        ("one-cup", 2, ("mix",)),
        ("readme-six-chips", 6, ("blue",)),
    ],
)
def test_the_sets_of_before_can_be_read(name, chips, pigments):
    found = tm.read_chips(BEFORE / name)
    assert len(found.chips) == chips
    assert tuple(pigment.name for pigment in found.pigments) == pigments


@pytest.mark.parametrize(
    "path", sorted(BEFORE.rglob("targets/*.toml")) + sorted(BEFORE.rglob("glasses/*.toml")), ids=lambda path: path.stem
)
def test_the_targets_of_before_can_be_read(path):
    assert len(tm.read_target(path).sections) >= 2


def test_one_chip_is_plainly_wrong():
    chips = {chip.name: chip for chip in make_swatches.pour()}
    apart = {
        name: float(
            slow.delta_e00(
                slow.lab_of(chip.factor()), slow.lab_of(deck.factor(deck.doses(**chip.doses), chip.thickness_mm))
            )
        )
        for name, chip in chips.items()
        if name in (make_swatches.WRONG_CHIP, "v2-3", "v2-25", "e2-12")
    }
    assert apart.pop(make_swatches.WRONG_CHIP) > 3
    assert max(apart.values()) < 1


@pytest.mark.parametrize("path", sorted(make_swatches.SWATCHES.rglob("*.toml")), ids=lambda path: path.stem)
def test_toml_is_toml(path):
    assert tomllib.loads(path.read_text(encoding="utf-8"))["format"] == 1
