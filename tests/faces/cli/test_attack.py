"""Two wrong command lines for each command, the same each time; `python -m tests.attack` goes on from there."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.attack import arguments, inputs, models
from tests.attack.arguments import SLOW, STARTS_NOTHING, answer_at_fault, commands, line_of

SEEDS = (5, 11)


@pytest.fixture(scope="module")
def ground(tmp_path_factory: pytest.TempPathFactory, model: Path) -> Path:
    folder = tmp_path_factory.mktemp("attack") / "ground"
    inputs.ground(folder, model)
    return folder


@pytest.mark.parametrize("seed", SEEDS)
def test_whatever_is_typed_is_answered_or_told_in_a_sentence(ground: Path, seed: int) -> None:
    chance = inputs.Chance(seed)
    lines = [line_of(chance, name, command) for name, command in commands() if name not in SLOW]
    assert {line: fault for line in map(tuple, lines) if (fault := answer_at_fault(ground, list(line)))} == {}


def test_every_option_that_takes_a_value_is_known_to_the_attack() -> None:
    known = {*arguments.FILES, *arguments.SOUND, *(name for _, name in arguments.OF_COMMAND)}
    asked = {
        str(one.name)
        for name, command in commands()
        for one in command.params
        if name not in STARTS_NOTHING and not getattr(one, "is_flag", False) and not hasattr(one.type, "choices")
    }
    assert asked <= known


def test_a_model_that_somebody_edited_is_read_or_refused(ground: Path) -> None:
    chance, sound = inputs.Chance(3), (ground / "model.json").read_text(encoding="utf-8")
    table = json.loads(sound)
    try:
        for at in range(16):
            text, what = models.changed(table, chance)
            (ground / "model.json").write_text(text, encoding="utf-8")
            assert not answer_at_fault(ground, list(models.LINES[(0, 3)[at % 2]])), what
    finally:
        (ground / "model.json").write_text(sound, encoding="utf-8")
