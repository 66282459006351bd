"""From chips to paper in processes of their own: the same bytes again, and out of another book."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

from tests.faces.cli.test_sheet import BATCH
from tests.faces.conftest import ROOT


def test_chips_to_paper_again_and_after_export_and_import(tmp_path: Path) -> None:
    """Issue 4, item 7: the same chips and target give the same recipe and the same paper, on a second run in another process, and
    out of an empty book into which the first one was imported."""
    chips, target = (str(ROOT / "swatches" / name) for name in ("deck-prism-colours", "targets/sea-green-glass.toml"))

    def run(folder: Path, seed: str, *arguments: str) -> None:
        environment = {**os.environ, "SOURCE_DATE_EPOCH": "1790000000", "PYTHONHASHSEED": seed, "PYTHONPATH": str(ROOT)}
        subprocess.run(
            [sys.executable, "-m", "tintmix", *arguments], cwd=folder, env=environment, check=True, capture_output=True
        )

    papers = []
    for seed in ("1", "2"):
        folder = tmp_path / seed
        folder.mkdir()
        run(folder, seed, "fit", chips, "--model", "my.json")
        run(folder, seed, "solve", "my.json", target, "--most", "1", "--keep", "sea.json")
        run(folder, seed, "book", "keep", "sea.json", "--book", "a.db")
        run(folder, seed, "sheet", "sea", "--book", "a.db", *BATCH, "--out", "sea.pdf")
        papers.append((folder / "sea.pdf").read_bytes())
    assert (tmp_path / "1" / "sea.json").read_bytes() == (tmp_path / "2" / "sea.json").read_bytes()
    first, other = tmp_path / "1", tmp_path / "other"
    other.mkdir()
    run(first, "3", "book", "export", "all.json", "--book", "a.db")
    run(other, "4", "book", "import", str(first / "all.json"), "--book", "b.db")
    run(other, "5", "sheet", "sea", "--book", "b.db", *BATCH, "--out", "sea.pdf")
    papers.append((other / "sea.pdf").read_bytes())
    assert papers[0] == papers[1] == papers[2]
