"""What is told as kept is there, whatever is killed: the page with three processes on its folder, a set that is read into.

    python -m tests.accuracy.kill_rows          # 300 kills each; some minutes

tests/files/test_kills.py is the short form; the book's is tests/book/test_book_kill.py (TINTMIX_KILLS).
"""

from __future__ import annotations

import multiprocessing
import os
import random
import shutil
import signal
import sys
import tempfile
import time
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import Any

from tintmix.chips.folder import read_chips
from tintmix.chips.instruments.dispatch import parse_samples
from tintmix.desk.demo import demo
from tintmix.desk.read.instrument import read_into_set
from tintmix.page.errors import ChangedElsewhere
from tintmix.page.workspace import Workspace

SEED = 13
DARKEST = 20_000
"""Thousandths of L*: a reading as dark as a chip may be, of the colour that is put beside it."""


def change_the_page(folder: Path, told: int) -> None:
    """Count one up without end; each count that the page took is told."""
    workspace = Workspace(folder)
    while True:
        now = workspace.now()
        count = now.area("tint").get("x", 0) + 1
        with suppress(ChangedElsewhere):
            workspace.change("count", {"tint": {"x": count}}, {"tint": now.revision_of("tint")})
            os.write(told, b"%d\n" % count)


def read_into(folder: Path, told: int) -> None:
    """Put a reading of the first chip into the set without end, each brighter than the last; each is told."""
    chips = read_chips(folder)
    name, light = chips.chips[0].name, round(1000 * chips.chips[0].values[0])
    while True:
        light = DARKEST + (light - DARKEST + 1) % 60_000
        text = f"sample,L,a,b\n{name},{light / 1000},-10,-20\n"
        read_into_set(folder, [parse_samples(text.encode(), "typed", "typed")], replace_old=True)
        os.write(told, b"%d\n" % light)


def killed(work: Callable[[Path, int], None], folder: Path, kills: int, at_once: int) -> list[int]:
    """Kill one of so many at work, again and again; all that they told."""
    chance, fork, kept = random.Random(SEED), multiprocessing.get_context("fork"), list[int]()

    def start() -> tuple[Any, int]:
        reads, writes = os.pipe()
        process = fork.Process(target=work, args=(folder, writes))
        process.start()
        os.close(writes)
        return process, reads

    def end(process: Any, reads: int) -> None:
        # From its first word on: else a slow machine kills it before it has begun.
        heard = os.read(reads, 1)
        time.sleep(chance.uniform(0.0, 0.1))
        os.kill(process.pid, signal.SIGKILL)
        process.join()
        assert process.exitcode == -signal.SIGKILL, "it had stopped by itself"
        with os.fdopen(reads, "rb") as stream:
            kept.extend(int(line) for line in (heard + stream.read()).split(b"\n")[:-1])

    working = [start() for _ in range(at_once)]
    for _ in range(kills):
        at = chance.randrange(at_once)
        end(*working[at])
        working[at] = start()
    for one in working:
        end(*one)
    return kept


def page_row(folder: Path, kills: int) -> tuple[int, int]:
    """How many changes were told, and how many of them are gone. Raises what the page's folder raises where it is damaged."""
    told = killed(change_the_page, folder, kills, at_once=3)
    workspace = Workspace(folder)
    count = workspace.now().area("tint").get("x", 0)
    assert count <= len(told) + kills + 3, "more was counted than was done"
    while workspace.now().undo:
        workspace.undo()
    return len(told), max(0, len(set(told)) - count)


def read_row(folder: Path, kills: int) -> tuple[int, int]:
    """The same of readings; a set that is cut off in the middle raises."""
    told = killed(read_into, folder, kills, at_once=1)
    light = round(1000 * read_chips(folder).chips[0].values[0])
    # The last that was told, or the next, which was written and not told any more.
    return len(told), int(light not in (told[-1], told[-1] + 1))


def read_one_chip(folder: Path, at: int, times: int) -> None:
    """Put so many readings of one chip into the set, each brighter than the last."""
    name = read_chips(folder).chips[at].name
    for light in range(DARKEST + 1, DARKEST + times + 1):
        text = f"sample,L,a,b\n{name},{light / 1000},-10,-20\n"
        read_into_set(folder, [parse_samples(text.encode(), "typed", "typed")], replace_old=True)


def together_row(folder: Path, times: int, at_once: int = 3) -> tuple[int, int]:
    """The same of readings by several processes at once, each of a chip of its own: how many were told, and how many chips do not
    hold their last."""
    fork = multiprocessing.get_context("fork")
    working = [fork.Process(target=read_one_chip, args=(folder, at, times)) for at in range(at_once)]
    for one in working:
        one.start()
    for one in working:
        one.join()
    assert all(one.exitcode == 0 for one in working), "one stopped by itself"
    lights = [round(1000 * chip.values[0]) for chip in read_chips(folder).chips[:at_once]]
    return at_once * times, sum(light != DARKEST + times for light in lights)


def main(kills: int) -> int:
    """Print the table; 1 where something is missing."""
    missing = 0
    with tempfile.TemporaryDirectory() as place:
        chips = shutil.copytree(demo("deck-prism-colours"), Path(place) / "set")
        print(f"{'':10} {'kills':>6} {'told':>7} {'missing':>8}")
        for name, row, folder in (("page", page_row, Path(place) / "page"), ("read", read_row, Path(chips))):
            told, gone = row(folder, kills)
            print(f"{name:10} {kills:6} {told:7} {gone:8}")
            missing += gone
        told, gone = together_row(Path(chips), kills)
        print(f"{'together':10} {'':6} {told:7} {gone:8}")
        missing += gone
    return int(missing > 0)


if __name__ == "__main__":
    sys.exit(main(int(sys.argv[1]) if len(sys.argv) > 1 else 300))
