"""Mutated files all the way into a set: a set that can still be read, or one of our errors and the set as it was.

`python -m tests.desk.read.test_fuzz 20000` runs as many as one asks for.
"""

from __future__ import annotations

import random
import sys
import tempfile
from pathlib import Path

from tests.chips.instruments.test_fuzz import KINDS, mutated
from tests.desk.read.test_instrument import colour_set, snapshot, spectra_set
from tintmix.chips.folder import read_chips
from tintmix.chips.instruments.dispatch import read_samples
from tintmix.chips.instruments.tabular.typed_colours import parse_colours
from tintmix.desk.read.instrument import read_into_set
from tintmix.errors import TintmixError


def run(folder: Path, count: int, seed: int) -> tuple[int, int]:
    """How many of `count` inputs were read, and how many were refused."""
    rng = random.Random(seed)
    (folder / "s").mkdir()
    (folder / "c").mkdir()
    sets = [spectra_set(folder / "s"), colour_set(folder / "c")]
    start = [snapshot(path) for path in sets]
    read = refused = 0
    for _ in range(count):
        which = rng.randrange(2)
        target, kind = sets[which], rng.choice(list(KINDS))
        data = mutated(rng.choice(KINDS[kind]), rng)
        path = folder / "input"
        path.write_bytes(data)
        try:
            if kind == "colours":
                text = data.decode("utf-8", "replace")
                read_into_set(target, [parse_colours(text)], others_ignored=True, replace_old=rng.random() < 0.5)
            else:
                read_into_set(target, [read_samples(path)], others_ignored=True, replace_old=rng.random() < 0.5)
        except TintmixError:
            refused += 1
            assert snapshot(target) == start[which]
        else:
            read += 1
            read_chips(target)
            for name in set(snapshot(target)) - set(start[which]):
                (target / name).unlink()
            for name, content in start[which].items():
                (target / name).write_bytes(content)
    return read, refused


def test_a_set_is_read_whole_or_left_alone(tmp_path: Path) -> None:
    read, refused = run(tmp_path, 250, seed=5)
    assert read > 10
    assert refused > 10


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as where:
        taken, left = run(Path(where), int(sys.argv[1]) if len(sys.argv) > 1 else 20_000, seed=9)
        print(f"{taken} read, {left} refused")
