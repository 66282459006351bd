"""Killed at work: what was told as kept is there, and nothing is half. The short form of tests/accuracy/kill_rows.py."""

from __future__ import annotations

import os
import shutil
from pathlib import Path

import pytest

from tests.accuracy.kill_rows import page_row, read_row, together_row
from tintmix.desk.demo import demo

pytestmark = pytest.mark.skipif(not hasattr(os, "fork"), reason="processes are forked")


def test_the_page_with_three_processes_on_its_folder(tmp_path: Path) -> None:
    told, missing = page_row(tmp_path / "page", kills=5)
    assert told > 0
    assert missing == 0


def test_a_set_that_is_read_into(tmp_path: Path) -> None:
    folder = Path(shutil.copytree(demo("deck-prism-colours"), tmp_path / "set"))
    told, missing = read_row(folder, kills=8)
    assert told > 0
    assert missing == 0
    # Nor is a reading lost where others read into the set at the same time.
    assert together_row(folder, times=4) == (12, 0)
