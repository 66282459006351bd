"""Puts what an accuracy program printed into a page, between two comments that name the program."""

from __future__ import annotations

import datetime
import os
import platform
import sys
from collections.abc import Iterable
from pathlib import Path

from tintmix import __version__
from tintmix.numerals import counted

END = "<!-- end of figures -->"


def made_by(program: str, date: str = "", cores: int = 0, version: str = __version__, python: str = "") -> str:
    """The line below figures: the program, and when and on what it ran; now and here where it is not told.

    >>> made_by("python -m tests.accuracy", "2026-11-29", 2, "0.1.0", "3.11.7")
    '*`python -m tests.accuracy`; 2026-11-29, tintmix 0.1.0, Python 3.11.7, 2 cores.*'
    """
    date = date or datetime.datetime.now(datetime.UTC).date().isoformat()
    cores = cores or os.cpu_count() or 1
    return f"*`{program}`; {date}, tintmix {version}, Python {python or platform.python_version()}, {counted(cores, 'core')}.*"


def put_into(page: str | Path, program: str, told: str, made: str | None = None) -> None:
    """Replace what stands between the comment that names the program and the next END.

    made: the line below it; None: by the running program, here and now, with what was typed. Raises ValueError where the page has
    no such place.
    """
    path, begin = Path(page), f"<!-- figures: {program} -->"
    before, found, rest = path.read_text(encoding="utf-8").partition(begin)
    _, ended, after = rest.partition(END)
    if not (found and ended):
        raise ValueError(f"{path} has no place for the figures: it must hold {begin} and {END} after it")
    below = made_by(_typed(program)) if made is None else made
    path.write_text(f"{before}{begin}\n{told}\n\n{below}\n{END}{after}", encoding="utf-8")


def _typed(program: str) -> str:
    """The program as it was started, but for the page: another number of sets, or other seeds, give other figures."""
    begun = [word for word in program.split() if word.startswith(("python", "-m", "tests."))]
    seeds = [f"TINTMIX_FIRST_SEED={seed}"] if (seed := os.environ.get("TINTMIX_FIRST_SEED")) else []
    return " ".join([*seeds, *begun, *(word for word in sys.argv[1:] if not word.endswith(".md"))])


def print_table(program: str, lines: Iterable[str]) -> None:
    """Print a table as it grows; with a page as the second word that was typed, put it there too."""
    told = []
    for line in lines:
        print(line, flush=True)
        told.append(line)
    if len(sys.argv) > 2:
        put_into(sys.argv[2], program, "\n".join(told))


def sets_typed(usual: int) -> int:
    """How many sets the first word that was typed asks for."""
    return int(sys.argv[1]) if len(sys.argv) > 1 else usual
