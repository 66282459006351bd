"""The long form: `python -m tests.attack [--minutes M] [--count N] [--seed S] [--only arguments|routes|models]`. Exit 1 where anything did not hold."""

from __future__ import annotations

import argparse
import resource
import shutil
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path

from tests.attack import arguments, inputs
from tintmix.desk.demo import demo
from tintmix.desk.fit import fit_sets

AFRESH = 100
"""After so many the files are made anew: one that was written over would no longer be sound."""
MOST_SECONDS = 60.0
MOST_KB = 1_500_000


def main() -> int:
    """Attack, and tell what did not hold."""
    asked = argparse.ArgumentParser()
    asked.add_argument("--minutes", type=float, default=10.0)
    asked.add_argument("--count", type=int, default=10**9)
    asked.add_argument("--seed", type=int, default=time.time_ns() % 10**6)
    asked.add_argument("--only", default="")
    said = asked.parse_args()
    kinds = {"arguments": of_arguments}
    chosen = {name: kind for name, kind in kinds.items() if said.only in ("", name)}
    bad = 0
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder)
        fit_sets([demo("deck-prism-colours")], place / "model.json")
        for name, kind in chosen.items():
            print(f"{name}: seed {said.seed}", flush=True)
            bad += kind(place, inputs.Chance(said.seed), said.count, time.monotonic() + 60 * said.minutes / len(chosen))
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    print(f"{bad} did not hold; the most memory {peak / 1000:.0f} MB")
    return 1 if bad or peak > MOST_KB else 0


def of_arguments(place: Path, chance: inputs.Chance, count: int, until: float) -> int:
    """Command lines, every command as often as another."""
    made, used = place / "ground", place / "used"
    inputs.ground(made, place / "model.json")
    commands = list(arguments.commands())
    tried: Counter[str] = Counter()
    bad: Counter[str] = Counter()
    while sum(tried.values()) < count and time.monotonic() < until:
        if sum(tried.values()) % AFRESH == 0:
            shutil.rmtree(used, ignore_errors=True)
            shutil.copytree(made, used, symlinks=True, ignore=lambda _, names: [one for one in names if one == "fifo"])
        name, command = commands[sum(tried.values()) % len(commands)]
        line = arguments.line_of(chance, name, command)
        tried[name] += 1
        begun = time.monotonic()
        fault = arguments.answer_at_fault(used, line)
        if time.monotonic() - begun > MOST_SECONDS:
            fault = fault or f"{time.monotonic() - begun:.0f} s"
        if fault:
            bad[name] += 1
            print(f"  {fault}: {line!r}"[:700], flush=True)
            if fault.startswith(("a fault", "not well", "unprintable")) or "letters" in fault:
                print("   ", inputs.called(used, line)[2][:600], flush=True)
    print(f"  {sum(tried.values())} tried, {tried}", flush=True)
    return sum(bad.values())


if __name__ == "__main__":
    sys.exit(main())
