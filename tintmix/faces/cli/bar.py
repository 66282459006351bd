"""How far work is that takes a while."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable

import click

QUIET_SECONDS = 2.0
BAR_COLUMNS = 30


class Bar:
    """A progress bar on standard error, where that is a terminal, once work has taken two seconds. what: in a word."""

    def __init__(self, what: str, clock: Callable[[], float] = time.monotonic) -> None:
        self._what, self._clock, self._started, self._shown = what, clock, clock(), False

    def show(self, done: float) -> None:
        """Draw the part done, if it is time to."""
        if self._clock() - self._started < QUIET_SECONDS or not sys.stderr.isatty():
            return
        self._shown = True
        filled = round(BAR_COLUMNS * min(max(done, 0.0), 1.0))
        click.echo(
            f"\r{self._what} [{'#' * filled}{'.' * (BAR_COLUMNS - filled)}] {100 * done:3.0f} %", err=True, nl=False
        )

    def clear(self) -> None:
        """Take the bar away."""
        if self._shown:
            click.echo(f"\r{' ' * (BAR_COLUMNS + 20)}\r", err=True, nl=False)
