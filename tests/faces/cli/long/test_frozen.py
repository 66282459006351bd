"""What every command answered on the shipped sets when the house was moved, it answers still."""

from __future__ import annotations

import subprocess
import sys

from tests import freeze


def test_every_command_answers_as_it_did() -> None:
    # In a process of its own: one thread of BLAS, as the answers were kept.
    done = subprocess.run([sys.executable, "-m", "tests.freeze"], cwd=freeze.ROOT, capture_output=True, text=True)
    assert (done.returncode, done.stdout, done.stderr) == (0, "all answers are what they were\n", "")


def test_a_changed_number_and_a_lost_key_are_seen() -> None:
    kept = {"sections": [{"lab": [50.0, 1.0, 2.0], "name": "flange"}], "outcome": "reached"}
    assert list(freeze.differences(kept, {**kept, "more": 1})) == []
    moved = {"sections": [{"lab": [50.0, 1.0, 2.0 + 1e-6], "name": "flange"}], "outcome": "short"}
    assert len(list(freeze.differences(kept, moved))) == 2
    assert len(list(freeze.differences(kept, {"sections": kept["sections"]}))) == 1
