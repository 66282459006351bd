"""The shipped swatches are what the script writes, and the sea green is within reach."""

import tomllib

import numpy as np
import pytest

from tests import make_swatches
from tests.reference import deck, slow


def test_shipped_files_are_the_scripts(tmp_path):
    make_swatches.write_all(tmp_path)
    made = {
        path.relative_to(tmp_path): path.read_text(encoding="utf-8") for path in tmp_path.rglob("*") if path.is_file()
    }
    assert len(made) == 23
    for name, text in made.items():
        assert (make_swatches.SWATCHES / name).read_text(encoding="utf-8") == text, name


def test_sea_green_is_light_and_within_reach():
    wanted = np.array([slow.lab_of(deck.glass_factor(mm)) for mm in make_swatches.SECTIONS])
    assert 85 <= wanted[0, 0] <= 90
    assert 45 <= wanted[1, 0] <= 65
    doses, worst = deck.best_recipe(make_swatches.SECTIONS, wanted, ("blue", "green", "brown"))
    assert worst < 1.0
    assert 0.01 < doses.sum() < 0.1
    assert slow.luminous_transmittance(deck.factor(doses, 60.0)) > 0.08


def test_one_chip_is_plainly_wrong():
    chips = {chip.name: chip for chip in make_swatches.pour()}
    apart = {
        name: float(
            slow.delta_e00(
                slow.lab_of(chip.factor()), slow.lab_of(deck.factor(deck.doses(**chip.doses), chip.thickness_mm))
            )
        )
        for name, chip in chips.items()
        if name in (make_swatches.WRONG_CHIP, "v2-3", "v2-25", "g2-12")
    }
    assert apart.pop(make_swatches.WRONG_CHIP) > 3
    assert max(apart.values()) < 1


@pytest.mark.parametrize("path", sorted(make_swatches.SWATCHES.rglob("*.toml")), ids=lambda path: path.stem)
def test_toml_is_toml(path):
    assert tomllib.loads(path.read_text(encoding="utf-8"))["format"] == 1
