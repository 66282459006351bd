"""What was done to it, and what it stood: hostile input at every way in, kills in the middle of writes, one chip wrong in a set.

The programs are `tests.attack`, `tests.accuracy.kill_rows`, tests/book/test_book_kill.py and `tests.accuracy.rows.faults`.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

from tests.accuracy.kill_rows import page_row, read_row
from tests.accuracy.rows import faults
from tests.proof.kept import rounded
from tests.simulation import REPORTING_SEEDS
from tintmix.desk.demo import demo

ROOT = Path(__file__).resolve().parents[2]
MINUTES_A_SET, KILLS_A_SET = 0.3, 10
"""By how much longer the attack and the kills go on with more sets: six minutes and 200 kills for 20 sets."""
SEED = 15
WAYS = {
    "arguments": "command lines, every command and option",
    "routes": "requests to the page",
    "models": "damaged model files",
    "readers": "damaged files of every reader",
}
FAULTS = {
    "dose": "a cup holds 1.4 times its dose",
    "swap": "two labels changed over",
    "reading": "a reading ΔE00 5 off",
}


def hard(sets: int) -> dict[str, Any]:
    """Attacks, kills and faults."""
    return {"sets": sets, "attacks": _attacks(sets), "kills": _kills(sets), "faults": _faults(sets)}


def _attacks(sets: int) -> list[dict[str, Any]]:
    rows = []
    for way, name in WAYS.items():
        minutes = MINUTES_A_SET * sets / len(WAYS)
        command = [sys.executable, "-m", "tests.attack", f"--minutes={minutes:g}", f"--seed={SEED}", f"--only={way}"]
        said = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False).stdout
        tried, bad = (
            re.search(r"^ +(\d+) tried", said, re.MULTILINE),
            re.search(r"^(\d+) did not hold", said, re.MULTILINE),
        )
        peak = re.search(r"most memory (\d+) MB", said)
        if not (tried and bad and peak):
            raise ValueError(f"the attack on {way} said {said[-400:]!r}")
        rows.append({"what": name, "tried": int(tried[1]), "did_not_hold": int(bad[1]), "peak_mb": int(peak[1]),
                     "minutes": round(minutes, 2), "seed": SEED})  # fmt: skip
    return rows


def _kills(sets: int) -> list[dict[str, Any]]:
    """Told as kept, and gone after SIGKILL."""
    kills = KILLS_A_SET * sets
    rows = []
    with tempfile.TemporaryDirectory() as place:
        chips = Path(shutil.copytree(demo("deck-prism-colours"), Path(place) / "set"))
        cases: tuple[tuple[str, Callable[[Path, int], tuple[int, int]], Path], ...] = (
            ("the page's folder, three writers", page_row, Path(place) / "page"),
            ("a chip set that is read into", read_row, chips),
        )
        for name, row, folder in cases:
            told, gone = row(folder, kills)
            rows.append({"what": name, "kills": kills, "told": told, "missing": gone})
    test = "tests/book/test_book_kill.py::test_what_was_told_as_kept_is_there_whatever_is_killed"
    command = [sys.executable, "-m", "pytest", "-q", "-n", "0", test]
    ran = subprocess.run(
        command, cwd=ROOT, env={**os.environ, "TINTMIX_KILLS": str(kills)}, capture_output=True, check=False
    )
    rows.append(
        {
            "what": "the recipe book, eight writers",
            "kills": kills,
            "told": None,
            "missing": 0 if ran.returncode == 0 else None,
        }
    )
    return rows


def _faults(sets: int) -> list[dict[str, Any]]:
    rows = []
    for kind, read in (("colour", "L*a*b*"), ("spectrum", "spectra")):
        for fault, name in FAULTS.items():
            found = faults(kind, fault, REPORTING_SEEDS[:sets], 60)
            rows.append({"what": name, "read": read, "named": rounded(found.named), "worse": rounded(found.worse),
                         "sound_chips_doubted": rounded(found.false_alarms)})  # fmt: skip
    return rows
