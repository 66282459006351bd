"""How many connections the page keeps, and how long it waits on one: nobody who sends half a request holds up its owner.

The address is this machine's own, but any program on it may connect. What is asked is judged in `security`; here it is not
known yet.
"""

from __future__ import annotations

import asyncio
import logging
import os

from uvicorn.protocols.http.h11_impl import H11Protocol

MOST_CONNECTIONS = 64
"""A browser keeps six to one address. Descriptors are as few as 256 on some systems, and the book and the photos need theirs."""
BACKLOG = 32
"""So many are accepted at once, before any can be closed."""
KEEP_ALIVE_S = 5
HEADER_S = 10.0
"""A head comes in one piece, within the moment. What is longer on its way is none."""


class Connection(H11Protocol):
    """A connection that must say what it wants in time; the one that waits longest makes room for a new one."""

    _since = 0.0
    _in_time: asyncio.TimerHandle | None = None

    @property
    def waits(self) -> bool:
        """Whether no request of it is being answered."""
        return self.cycle is None or self.cycle.response_complete

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        """Take it, and make room for it where there is none."""
        others = [one for one in self.connections if isinstance(one, Connection) and not one.transport.is_closing()]
        super().connection_made(transport)
        self._since = self.loop.time()
        if len(others) >= MOST_CONNECTIONS:
            idle = [one for one in others if one.waits]
            min(idle, key=lambda one: one._since, default=self).transport.abort()
        self._give(HEADER_S)

    def on_response_complete(self) -> None:
        """The next request of the same connection has as much time again."""
        self._since = self.loop.time()
        self._give(KEEP_ALIVE_S + HEADER_S)
        super().on_response_complete()

    def connection_lost(self, exc: Exception | None) -> None:
        """Nothing is waited for any more."""
        self._give(None)
        super().connection_lost(exc)

    def _give(self, seconds: float | None) -> None:
        if self._in_time is not None:
            self._in_time.cancel()
        self._in_time = None if seconds is None else self.loop.call_later(seconds, self._is_late)

    def _is_late(self) -> None:
        if self.waits:
            self.transport.abort()


def hush() -> None:
    """No traceback for each connection that the system cannot give: asyncio writes hundreds a second, and goes on by itself."""
    if not os.environ.get("TINTMIX_DEBUG"):
        logging.getLogger("asyncio").setLevel(logging.CRITICAL + 1)
