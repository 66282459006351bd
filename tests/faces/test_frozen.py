"""What every command answered on the shipped sets when the house was moved, it answers still."""

from __future__ import annotations

from pathlib import Path

from tests import freeze


def test_every_command_answers_as_it_did(tmp_path: Path) -> None:
    answers = freeze.said(tmp_path)
    assert len(answers) > 30
    assert freeze.compared(answers) == []


def test_a_changed_number_and_a_lost_key_are_seen() -> None:
    kept = {"sections": [{"lab": [50.0, 1.0, 2.0], "name": "flange"}], "outcome": "reached"}
    assert list(freeze.differences(kept, {**kept, "more": 1})) == []
    moved = {"sections": [{"lab": [50.0, 1.0, 2.0 + 1e-6], "name": "flange"}], "outcome": "short"}
    assert len(list(freeze.differences(kept, moved))) == 2
    assert len(list(freeze.differences(kept, {"sections": kept["sections"]}))) == 1
