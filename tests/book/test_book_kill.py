"""The book when the power goes: killed in the middle of writes, many writers at once, a full disk.

TINTMIX_KILLS=200 runs the whole row of measures.md; without it, a short one.
"""

from __future__ import annotations

import os
import random
import shutil
import signal
import sqlite3
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

import pytest

from tests.book.books import digests, model, reading, recipe, start_writer, told
from tintmix.book.book import open_book
from tintmix.book.values import Photo, Pour
from tintmix.errors import CannotWrite, FileProblem

pytestmark = pytest.mark.skipif(not hasattr(os, "fork"), reason="processes are forked")

KILLS = int(os.environ.get("TINTMIX_KILLS", "20"))
WRITERS = 8


def fill(write: Callable[[int], object]) -> None:
    """Write until there is no more room."""
    for number in range(1000):
        write(number)


def test_what_was_told_as_kept_is_there_whatever_is_killed(tmp_path: Path) -> None:
    """measures.md, Safe: SIGKILL 200 times in the middle of writes, 8 processes at once."""
    path, chance = tmp_path / "book.db", random.Random(4)
    kept: list[tuple[str, str]] = []
    writers = [start_writer(path, number) for number in range(WRITERS)]
    for kill in range(KILLS):
        time.sleep(chance.uniform(0.01, 0.1))
        at = chance.randrange(WRITERS)
        process, pipe = writers[at]
        os.kill(process.pid, signal.SIGKILL)
        process.join()
        assert process.exitcode == -signal.SIGKILL, "a writer had stopped by itself"
        kept += told(pipe)
        writers[at] = start_writer(path, WRITERS + kill)
    for process, _ in writers:
        os.kill(process.pid, signal.SIGKILL)
        process.join()
        assert process.exitcode == -signal.SIGKILL, "a writer had stopped by itself"
    for _, pipe in writers:
        kept += told(pipe)
    with open_book(path) as book:
        seen = book.check()
    assert seen.problems == ()
    assert len(kept) > KILLS
    missing = set(kept) - digests(path)
    print(f"\n{KILLS + WRITERS} kills of {WRITERS} writers: {len(kept)} writes acknowledged, {len(missing)} missing")
    assert not missing
    assert [name for name in os.listdir(tmp_path) if name.endswith("-journal")] == []


def test_killed_while_the_book_is_made(tmp_path: Path) -> None:
    """Whoever comes next finds a whole book or none, never half of one."""
    chance = random.Random(5)
    for number in range(max(KILLS // 2, 5)):
        path = tmp_path / f"book{number}.db"
        started = [start_writer(path, k) for k in range(2)]
        time.sleep(chance.uniform(0.0, 0.03))
        for process, _ in started:
            os.kill(process.pid, signal.SIGKILL)
            process.join()
        kept = [one for _, pipe in started for one in told(pipe)]
        with open_book(path) as book:
            assert book.check().is_sound
        assert set(kept) <= digests(path)


def test_eight_writers_to_the_end(tmp_path: Path) -> None:
    path = tmp_path / "book.db"
    writers = [start_writer(path, number, rounds=5) for number in range(WRITERS)]
    kept = []
    for process, pipe in writers:
        kept += told(pipe)
        process.join()
        assert process.exitcode == 0
    assert len(set(kept)) == WRITERS * 5 * 2
    assert set(kept) == digests(path)
    with open_book(path) as book:
        assert book.check().is_sound
        assert [one.pours for one in book.list()] == [5] * WRITERS
        assert [one.revision for one in book.list()] == [5] * WRITERS


def test_a_full_book_keeps_what_it_has(tmp_path: Path) -> None:
    """PRAGMA max_page_count: SQLite itself says that the disk is full."""
    path = tmp_path / "book.db"
    with open_book(path) as book:
        before = book.keep(recipe("first"), model())
        book.db.execute("PRAGMA max_page_count = 1")  # its present size, that is
        with pytest.raises(CannotWrite, match="disk is full") as caught:
            fill(lambda number: book.keep(recipe(f"more {number}", model_file="x" * 4000)))
        assert "\n" not in str(caught.value)
        assert book.recipe("first").digest == before.digest
        assert book.check().is_sound
    with open_book(path) as book:
        kept = book.list()
        assert "first" in [one.name for one in kept]
        book.keep(recipe("and on it goes"))
        assert book.check().is_sound


def test_a_file_that_may_not_grow(tmp_path: Path) -> None:
    """RLIMIT_FSIZE: the system refuses to write any further, in the middle of a page."""
    path = tmp_path / "book.db"
    with open_book(path) as book:
        book.keep(recipe("first"), model())
    program = (
        "import resource, signal, sys\n"
        "from pathlib import Path\n"
        "from tests.book.books import recipe\n"
        "from tintmix.book.book import open_book\n"
        "signal.signal(signal.SIGXFSZ, signal.SIG_IGN)\n"
        "resource.setrlimit(resource.RLIMIT_FSIZE, (100_000, 100_000))\n"
        "with open_book(Path(sys.argv[1])) as book:\n"
        "    for number in range(1000):\n"
        "        kept = book.keep(recipe(f'more {number}', model_file='x' * 4000))\n"
        "        print(kept.digest, flush=True)\n"
    )
    ran = subprocess.run(
        [sys.executable, "-c", program, str(path)], capture_output=True, text=True, check=False, timeout=60,
        cwd=Path(__file__).resolve().parents[2],
    )  # fmt: skip
    assert ran.returncode != 0
    assert "CannotWrite" in ran.stderr, ran.stderr[-500:]
    acknowledged = {("recipe", line) for line in ran.stdout.split()}
    assert acknowledged
    with open_book(path) as book:
        assert book.check().is_sound
        assert book.recipe("first").has_model
    assert acknowledged <= digests(path)


@contextmanager
def small_disk(disk: Path, kilobytes: int) -> Iterator[None]:
    """A file system of so much, where the machine lets us make one."""
    disk.mkdir(exist_ok=True)
    mounted = shutil.which("mount") and subprocess.run(
        ["mount", "-t", "tmpfs", "-o", f"size={kilobytes}k", "tmpfs", str(disk)], capture_output=True, check=False
    )
    if not mounted or mounted.returncode:
        pytest.skip("no file system can be mounted here")
    try:
        yield
    finally:
        subprocess.run(["umount", "-l", str(disk)], capture_output=True, check=False)


@pytest.mark.parametrize("kilobytes", [60, 120, 148, 160, 180, 204, 260, 300, 340])
def test_a_new_book_on_a_nearly_full_disk_is_whole_or_not_there(tmp_path: Path, kilobytes: int) -> None:
    """With 300 kB, the book once lost its log with the name under which it was made, and was damaged for ever."""
    path = tmp_path / "disk" / "book.db"
    with small_disk(path.parent, kilobytes):
        kept = False
        with suppress(CannotWrite), open_book(path) as book:
            kept = book.keep(recipe("first"), model()).is_new
        assert [name for name in os.listdir(path.parent) if not name.startswith("book.db")] == []
        if not path.exists():
            assert not kept
            return
        subprocess.run(["mount", "-o", "remount,size=2m", str(path.parent)], capture_output=True, check=True)
        with open_book(path, create=False) as book:
            assert book.check().problems == ()
            assert [one.name for one in book.list()] == (["first"] if kept else [])


def test_a_new_book_that_reads_otherwise_gets_no_name(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A disk that takes what is written and keeps something else."""

    def losing(connection: object) -> None:
        raise sqlite3.DatabaseError("what was written reads otherwise")

    monkeypatch.setattr("tintmix.book.file._read_over", losing)
    with pytest.raises(FileProblem, match="reads otherwise"):
        open_book(tmp_path / "book.db")
    assert os.listdir(tmp_path) == []


def test_a_disk_that_is_full(tmp_path: Path) -> None:
    """A file system of 1 MB."""
    disk = tmp_path / "disk"
    with small_disk(disk, 1024):
        path = disk / "book.db"
        with open_book(path) as book:
            book.keep(recipe("first"), model())
            pour = book.add_pour("first", Pour("2027-03-01"), readings=[reading()])
            with pytest.raises(CannotWrite):
                fill(lambda n: book.add_to_pour("first", 1, photos=[Photo.of(f"{n}.jpg", os.urandom(100_000))]))
            assert book.pours("first")[0].digest == pour.digest
        with open_book(path) as book:
            assert book.check().is_sound
            assert book.recipe("first").has_model
