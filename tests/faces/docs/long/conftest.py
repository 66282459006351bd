"""A fresh folder for each page."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from tests.faces.conftest import ROOT
from tests.faces.docs.long.bench import Bench


@pytest.fixture
def bench(tmp_path: Path, walked: Path, monkeypatch: pytest.MonkeyPatch) -> Bench:
    """What the set-up commands leave, in a folder that is then the present one; book and page have their places in it."""
    (tmp_path / "swatches").symlink_to(ROOT / "swatches")
    shutil.copytree(walked / "tintmix-tour", tmp_path / "tintmix-tour")
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("TINTMIX_BOOK", str(tmp_path / "book.db"))
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    return Bench(tmp_path, tmp_path / "tintmix-tour" / "model.json")
