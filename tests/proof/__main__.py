"""docs/proof.md with its plots, made anew: `python -m tests.proof`.

    python -m tests.proof                    every part, 20 sets a row, then the tables of the accuracy programs: an hour or two
    python -m tests.proof kinds growth       only these parts
    python -m tests.proof page               nothing is made anew: the page and its plots from the kept results
    python -m tests.proof --sets 60 foretold
    python -m tests.proof --quick            few sets, into build/proof, to see that all of it works: some minutes

Results are kept as JSON in tests/proof/results; a part can be made by itself, and the page is put together from what is kept.
A table whose program cannot run here (`path_rows` needs `mitsuba`) stays as it was.
"""

from __future__ import annotations

import argparse
import os
import shlex
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

from tests.proof import drawn, page
from tests.proof.foretold import foretold
from tests.proof.growth import growth
from tests.proof.hard import hard
from tests.proof.kept import RESULTS, kept, make
from tests.proof.kinds import kinds
from tests.proof.outside import outside

ROOT = Path(__file__).resolve().parents[2]
PARTS: dict[str, Callable[[int], dict[str, Any]]] = {
    "foretold": foretold, "kinds": kinds, "growth": growth, "outside": outside, "hard": hard,
}  # fmt: skip
SETS, QUICK = 20, 2
TABLES = "tables"
"""The accuracy programs, each of which puts its own table into the page."""


def main(arguments: list[str]) -> int:
    """Make parts, draw, put the page together."""
    parser = argparse.ArgumentParser(prog="python -m tests.proof", description=(__doc__ or "").partition("\n")[0])
    parser.add_argument("parts", nargs="*", help=f"{', '.join(PARTS)}, {TABLES}, page; all where none is named")
    parser.add_argument("--sets", type=int, help=f"simulated sets a row; {SETS} unless told")
    parser.add_argument("--quick", action="store_true", help=f"{QUICK} sets a row, into build/proof")
    asked = parser.parse_args(arguments)
    unknown = [name for name in asked.parts if name not in (*PARTS, TABLES, "page")]
    if unknown:
        parser.error(f"no part is called {' or '.join(unknown)}")
    wanted = asked.parts or [*PARTS, *([] if asked.quick else [TABLES])]
    results, target = RESULTS, page.PAGE
    if asked.quick:
        folder = ROOT / "build" / "proof"
        folder.mkdir(parents=True, exist_ok=True)
        results, target = folder / "results", Path(shutil.copy(page.PAGE, folder / "proof.md"))
    for name in wanted:
        if name in PARTS:
            sets = asked.sets or (QUICK if asked.quick else SETS)
            made = make(name, lambda name=name, sets=sets: PARTS[name](sets), results)["made"]  # type: ignore[misc]
            print(f"{name}: {made['seconds']:.0f} s, of one processor {made['processor_seconds']:.0f} s", flush=True)
    pictures = target.parent / "pictures"
    pictures.mkdir(exist_ok=True)
    for name in PARTS:
        if (found := kept(name, results)) is not None:
            drawn.draw(name, found, pictures)
    missing = page.put(target, results)
    if TABLES in wanted:
        tables(target)
    print(f"{target}{': without ' + ', '.join(missing) if missing else ''}")
    return 0


def tables(target: Path) -> None:
    """Each accuracy program that has a place in the page puts its table there; then other pages quote their figures anew."""
    begin, end = "<!-- figures: ", " PAGE -->"
    for line in target.read_text(encoding="utf-8").splitlines():
        if line.startswith(begin) and line.endswith(end):
            command = shlex.split(line.removeprefix(begin).removesuffix(end))
            ran = subprocess.run([sys.executable, *command[1:], str(target)], cwd=ROOT, env=os.environ, check=False)
            print(f"{' '.join(command)}: {'done' if ran.returncode == 0 else 'its table stays as it was'}", flush=True)
    if (quotes := ROOT / "docs" / "put_figures.py").exists():
        subprocess.run([sys.executable, str(quotes)], cwd=ROOT, check=True)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
