"""The results of each part, as small JSON files in tests/proof/results, each with what made it."""

from __future__ import annotations

import datetime
import json
import os
import platform
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

from tintmix import __version__

RESULTS = Path(__file__).resolve().parent / "results"


def make(name: str, work: Callable[[], dict[str, Any]], folder: Path = RESULTS) -> dict[str, Any]:
    """Do the work, and keep what it found beside its program, date and machine."""
    started, clock = time.process_time(), time.perf_counter()
    found = work()
    made = {
        "program": f"python -m tests.proof {name}",
        "date": datetime.datetime.now(datetime.UTC).date().isoformat(),
        "cores": os.cpu_count(),
        "processor": platform.machine(),
        "python": platform.python_version(),
        "tintmix": __version__,
        "processor_seconds": round(time.process_time() - started, 1),
        "seconds": round(time.perf_counter() - clock, 1),
    }
    folder.mkdir(parents=True, exist_ok=True)
    text = json.dumps({"made": made, **found}, ensure_ascii=False, indent=1, allow_nan=False)
    (folder / f"{name}.json").write_text(_closed(text) + "\n", encoding="utf-8")
    return {"made": made, **found}


def kept(name: str, folder: Path = RESULTS) -> dict[str, Any] | None:
    """A part's result, None where it was never made."""
    path = folder / f"{name}.json"
    return dict(json.loads(path.read_text(encoding="utf-8"))) if path.exists() else None


def rounded(values: Any, digits: int = 3) -> Any:
    """Numbers, and lists of them, with so many decimals: the files are kept in the repository."""
    if isinstance(values, list | tuple):
        return [rounded(one, digits) for one in values]
    return round(float(values), digits)


def _closed(text: str) -> str:
    """Lists of numbers on one line each."""
    lines: list[str] = []
    for line in text.splitlines():
        word = line.strip().rstrip(",")
        number = word.lstrip("-")[:1].isdigit() or word == "null"
        before = lines[-1] if lines else ""
        if before.endswith("[") and number:
            lines[-1] = before + line.strip()
        elif lines and "[" in before and "]" not in before.rpartition("[")[2] and not before.endswith("["):
            lines[-1] = f"{before.rstrip()} {line.strip()}" if number else before + line.strip()
        else:
            lines.append(line)
    return "\n".join(lines)
