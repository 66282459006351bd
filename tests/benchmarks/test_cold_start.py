"""Cold start, as ratios to importing what each command cannot do without (measures.md, Fast).

    python -m pytest -n 0 tests/benchmarks/test_cold_start.py -s

Each round starts every process once, in turn, so that a slow spell of the machine strikes all of them; medians are
compared. The first round is not counted: it fills the disk's cache and writes bytecode, which an installed program has.
"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import time
from pathlib import Path

import pytest

from tintmix.desk.demo import demo
from tintmix.desk.fit import fit_sets
from tintmix.desk.solve import solve_for

ROOT = Path(__file__).resolve().parents[2]
ROUNDS = 15
CLICK = "import click"
ALL = "import numpy, click, pydantic"
LIMITS = {"--help": (CLICK, 2.0), "look": (ALL, 1.6), "solve": (ALL, 2.5), "sheet": (ALL, 3.0)}
"""measures.md, and issue 4 for `sheet`: each command, its reference, and the ratio to stay within."""


@pytest.fixture(scope="module")
def medians(tmp_path_factory: pytest.TempPathFactory) -> dict[str, float]:
    model = tmp_path_factory.mktemp("cold") / "deck.json"
    fit_sets([demo("deck-prism")], model)
    recipe = model.with_name("recipe.json")
    solve_for(model, demo("targets", "sea-green-glass.toml"), most=1, keep=recipe)
    tintmix = [sys.executable, "-m", "tintmix"]
    commands = {
        CLICK: [sys.executable, "-c", CLICK],
        ALL: [sys.executable, "-c", ALL],
        "--help": [*tintmix, "--help"],
        "look": [
            *tintmix,
            "look",
            str(model),
            "--dose",
            "azure=0.02",
            "--dose",
            "emerald=0.01",
            "--at",
            "8",
            "--at",
            "60",
        ],
        "solve": [*tintmix, "solve", str(model), str(demo("targets", "sea-green-glass.toml"))],
        "sheet": [*tintmix, "sheet", str(recipe), "--batch", "450", "--scale", "0.01"],
    }
    # An installed program has its bytecode; a shell that forbids writing it must not make the measure one of compiling.
    environment = {key: value for key, value in os.environ.items() if key != "PYTHONDONTWRITEBYTECODE"}
    environment["TINTMIX_BOOK"] = str(model.with_name("no-book.db"))
    environment["PYTHONPYCACHEPREFIX"] = str(tmp_path_factory.mktemp("bytecode"))
    seconds: dict[str, list[float]] = {name: [] for name in commands}
    for count in range(ROUNDS + 1):
        for name, command in commands.items():
            started = time.perf_counter()
            subprocess.run(command, cwd=ROOT, env=environment, stdout=subprocess.DEVNULL, check=True)
            if count:
                seconds[name].append(time.perf_counter() - started)
    return {name: statistics.median(values) for name, values in seconds.items()}


@pytest.mark.parametrize("command", LIMITS)
def test_cold_start(medians: dict[str, float], command: str) -> None:
    reference, limit = LIMITS[command]
    ratio = medians[command] / medians[reference]
    print(f"\ntintmix {command}: {1000 * medians[command]:.0f} ms, {ratio:.2f}x of `{reference}` (limit {limit}x)")
    assert ratio <= limit
