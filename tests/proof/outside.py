"""Against the outside: every comparison that the tests make through `compared`, with its source."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Any

from tests.authorities.compared import NAMED

ROOT = Path(__file__).resolve().parents[2]
CALL = "from tests.authorities.compared import compared"


def outside(sets: int) -> dict[str, Any]:
    """Run the tests that compare; one row for each thing compared, at the value where the two are farthest apart."""
    files = sorted(
        str(path.relative_to(ROOT)) for path in ROOT.glob("tests/**/test_*.py") if CALL in path.read_text("utf-8")
    )
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder) / "rows"
        # Colours of films are in the accuracy folder, which a plain run leaves out; naming the file runs it.
        command = [sys.executable, "-m", "pytest", "-q", "-n", "0", "-p", "no:cacheprovider", *files]
        ran = subprocess.run(
            command, cwd=ROOT, env={**os.environ, NAMED: str(place)}, capture_output=True, text=True, check=False
        )
        if ran.returncode:
            raise ValueError(f"a comparison failed: {ran.stdout[-600:]}")
        lines = [json.loads(line) for line in place.read_text("utf-8").splitlines()]
    rows: dict[str, dict[str, Any]] = {}
    for line in lines:
        row = rows.setdefault(line["what"], {**line, "values": 0})
        row["values"] += line["values"]
        # The farthest by what was allowed it: those of one row may differ in that.
        if line["difference"] / line["within"] >= row["difference"] / row["within"]:
            row.update({key: line[key] for key in ("ours", "theirs", "difference", "within", "source", "test")})
    return {"files": files, "rows": [*rows.values()]}
