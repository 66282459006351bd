"""Work that takes a while: it goes on beside the page, tells how far it is, and can be stopped."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import threading
import time
import traceback
from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import Literal

from tintmix.errors import CannotReach, FileProblem, Remedy, TintmixError
from tintmix.page.errors import NoSuchThing

State = Literal["running", "done", "stopped", "failed"]
Task = Callable[["Work"], str]
"""What is to be done: told of the work, so that it can say how far it is and see whether to stop; returns where to go on."""
MOST_REMEMBERED = 20
_KILLED = 9
"""The signal by which a system ends what takes too much memory."""


class Stopped(Exception):
    """The maker stopped the work."""


@dataclass(slots=True)
class Work:
    """One piece of work. part: how much is done, 0 to 1, None where it cannot be told. goes_to: the page to go on to."""

    name: str
    what: str
    back: str
    state: State = "running"
    part: float | None = None
    goes_to: str = ""
    says: TintmixError | str = ""
    started: float = field(default_factory=time.monotonic)
    _stop: threading.Event = field(default_factory=threading.Event)
    _ended: threading.Event = field(default_factory=threading.Event)

    def progress(self, part: float) -> None:
        """Say how much is done. Raises Stopped where the maker wants it stopped."""
        self.part = min(max(part, 0.0), 1.0)
        if self._stop.is_set():
            raise Stopped

    def stop(self) -> None:
        """Ask it to stop."""
        self._stop.set()

    @property
    def stopping(self) -> bool:
        """Whether it was asked to stop."""
        return self._stop.is_set()

    def wait(self, seconds: float) -> bool:
        """Wait for its end; whether it came."""
        return self._ended.wait(seconds)


class Works:
    """The pieces of work of a page, by names made here.

    >>> works = Works()
    >>> work = works.start("counting", "/", lambda work: "/tint")
    >>> work.wait(5.0), work.state, work.goes_to
    (True, 'done', '/tint')
    """

    def __init__(self) -> None:
        self._works: dict[str, Work] = {}

    def start(self, what: str, back: str, task: Task) -> Work:
        """Begin. what: in words, "Learning from 60 chips". back: the page to go back to where it fails or is stopped."""
        work = Work(os.urandom(8).hex(), what, back)
        for old in [name for name, one in self._works.items() if one.state != "running"][: -MOST_REMEMBERED or None]:
            del self._works[old]
        self._works[work.name] = work
        threading.Thread(target=_carry_out, args=(work, task), daemon=True, name=f"work {work.name}").start()
        return work

    def find(self, name: str) -> Work:
        """One of them. Raises NoSuchThing."""
        if name not in self._works:
            raise NoSuchThing("work")
        return self._works[name]

    @property
    def running(self) -> list[Work]:
        """Those that still go on."""
        return [work for work in self._works.values() if work.state == "running"]

    def stop_all(self) -> None:
        """Ask all to stop, and wait a moment for them."""
        for work in self.running:
            work.stop()
        for work in self.running:
            work.wait(2.0)


def _carry_out(work: Work, task: Task) -> None:
    try:
        work.goes_to = task(work)
        work.state = "done"
    except Stopped:
        work.state, work.says = "stopped", "Stopped; nothing was changed."
    except TintmixError as problem:
        work.state, work.says = "failed", problem
    except Exception as problem:
        if os.environ.get("TINTMIX_DEBUG"):
            traceback.print_exc()
        kind = type(problem).__name__
        work.state, work.says = "failed", f"This is a fault of tintmix ({kind}); nothing was changed."
    finally:
        work._ended.set()


def fit_aside(work: Work, folders: Sequence[Path], model_place: Path, upto: float = 1.0) -> None:
    """Fit chip sets in a process of its own: the page stays quick meanwhile, and stopping ends it at once. upto: what part of
    the work is then done; 0 where other work tells.

    Raises Stopped, and CannotReach with what is wrong with the chips.
    """
    home = str(Path(__file__).resolve().parents[2])
    paths = os.pathsep.join(path for path in (home, os.environ.get("PYTHONPATH", "")) if path)
    environment = {**os.environ, "PYTHONPATH": paths, "OPENBLAS_NUM_THREADS": "1", "PYTHONWARNINGS": "ignore"}
    command = [sys.executable, "-m", "tintmix.page.fit_process", str(model_place), *map(str, folders)]
    errors = None if os.environ.get("TINTMIX_DEBUG") else subprocess.DEVNULL
    process = subprocess.Popen(
        command, env=environment, stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=errors
    )
    said: list[bytes] = []

    def listen() -> None:
        for line in process.stdout or ():
            said.append(line)

    listener = threading.Thread(target=listen, daemon=True)
    listener.start()
    try:
        while listener.is_alive():
            listener.join(0.05)
            if upto and said and (told := _part_of(said[-1])) is not None:
                work.progress(upto * told)
            if work.stopping:
                raise Stopped
        process.wait()
    finally:
        if process.poll() is None:
            process.kill()
            process.wait()
        listener.join()
        if process.stdout is not None:
            process.stdout.close()
        if process.returncode:
            with suppress(OSError):
                model_place.unlink(missing_ok=True)
    if process.returncode:
        problem = _refused(said[-1] if said else b"", process.returncode)
        problem.call(model_place, "the page's folder")
        raise problem


def _part_of(line: bytes) -> float | None:
    """How much is done, where a line of the process tells that."""
    try:
        return float(json.loads(line)["part"])
    except (ValueError, KeyError, TypeError):
        return None


def _refused(said: bytes, code: int) -> TintmixError:
    """What the process told at its end, or, where it told nothing, how it ended. code: as `subprocess` has it, below zero where a
    signal ended it."""
    try:
        told = json.loads(said)
        if "fault" in told:
            return CannotReach(
                where="The fit", what=f"this is a fault of tintmix ({told['fault']}); nothing was changed"
            )
        told = told["error"]
        remedy = None if told["remedy"] is None else Remedy(told["remedy"])
        facts = told.pop("facts")
        return FileProblem(**{**facts, **told, "remedy": remedy})
    except (ValueError, KeyError, TypeError):
        what = f"it ended without an answer (code {code})"
        if code == -_KILLED:
            what = "the system ended it, as it does where memory runs out"
        return CannotReach(where="The fit", what=what, remedy=Remedy.TRY_AGAIN)
