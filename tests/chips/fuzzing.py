"""Mutated inputs put through a check, many of them: what the fuzz tests of instruments' files and of photos share."""

from __future__ import annotations

import random
import resource
import sys
import time
from collections.abc import Callable, Mapping, Sequence

from tintmix.errors import TintmixError

Check = Callable[[str, bytes], None]
Mutate = Callable[[object, random.Random], bytes]
Kinds = Mapping[str, Sequence[object]]


def said_well(error: TintmixError) -> None:
    """One line, neither a word nor a book."""
    said = str(error)
    assert "\n" not in said, said
    assert 10 < len(said) < 20_000, said


def slowest_of(check: Check, mutated: Mutate, kinds: Kinds, kind: str, count: int, seed: int) -> float:
    """The slowest of `count` inputs, in seconds."""
    rng = random.Random(seed)
    slowest = 0.0
    for _ in range(count):
        data = mutated(rng.choice(kinds[kind]), rng)
        started = time.perf_counter()
        try:
            check(kind, data)
        except BaseException:
            print(kind, data, file=sys.stderr)
            raise
        slowest = max(slowest, time.perf_counter() - started)
    return slowest


def main(check: Check, mutated: Mutate, kinds: Kinds) -> None:
    """As many inputs of each kind as the command line says, and of those kinds that it names."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 100_000
    for kind in sys.argv[2:] or kinds:
        started = time.perf_counter()
        slowest = slowest_of(check, mutated, kinds, kind, count, seed=11)
        megabytes = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
        print(f"{kind}: {count} inputs in {time.perf_counter() - started:.0f} s, slowest {1000 * slowest:.0f} ms, "
              f"at most {megabytes:.0f} MB", flush=True)  # fmt: skip
