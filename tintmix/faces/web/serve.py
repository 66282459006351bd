"""Starts the page: a free port on the loopback address, a token for whoever started it, and uvicorn."""

from __future__ import annotations

import ctypes
import json
import os
import secrets
import socket
import threading
import webbrowser
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING, Any

import uvicorn

from tintmix.book.place import book_place, place_told
from tintmix.errors import InUse, Remedy, TintmixError
from tintmix.faces.remedies import told_in_shell
from tintmix.faces.web.app import create_app, state_of
from tintmix.faces.web.connections import BACKLOG, KEEP_ALIVE_S, Connection, hush
from tintmix.page.errors import ListDamaged
from tintmix.page.workspace import default_folder

if TYPE_CHECKING:
    from tintmix.page.workspace import Workspace

HOST = "127.0.0.1"
_M_MMAP_THRESHOLD, _LARGE_BYTES = -3, 8_000_000
"""Of glibc's malloc.h; half a block of the picture library."""


def run(port: int, folder: str | None, opens: bool, as_json: bool, say: Callable[[str], object]) -> None:
    """Serve until it is stopped. Raises InUse, FileProblem."""
    token = secrets.token_urlsafe(24)
    app = create_app(Path(folder) if folder else default_folder(), token, port)
    listening = listen(port)
    address = f"http://{HOST}:{port}/?token={token}"
    workspace, notes = state_of(app).workspace, []
    try:
        workspace.now()
    except ListDamaged as problem:
        notes.append(told_in_shell(problem))
    if as_json:
        warned = {"warnings": notes} if notes else {}
        say(json.dumps({"address": address, "folder": str(workspace.folder), "book": str(book_place()), **warned}))
    else:
        kept = f"The recipe book is {place_told()}, whatever folder the page keeps chips and pigments in."
        say("\n".join([f"The page: {address}", "It answers on this machine only. Ctrl-C stops it.", kept, *notes]))
    hush()
    give_memory_back()
    if opens:
        threading.Timer(0.3, webbrowser.open, (address,)).start()
    threading.Thread(target=_tidy, args=(workspace,), daemon=True).start()
    try:
        uvicorn.Server(config_of(app)).run(sockets=[listening])
    except KeyboardInterrupt:
        if not as_json:
            say("Stopped. What you did is kept.")
    finally:
        state_of(app).works.stop_all()
        listening.close()


def give_memory_back() -> None:
    """What a photo took goes back to the system when it is closed, where the C library is glibc; elsewhere nothing is done.

    Left to itself, malloc raises M_MMAP_THRESHOLD up to 32 MB as large blocks are freed, and keeps the picture library's blocks
    of 16 MB in the heap of each thread (https://man7.org/linux/man-pages/man3/mallopt.3.html): four photos of 64 million pixels
    of 16 bits, one after another, then took 3.2 GB at most, and with this 1.2.
    """
    with suppress(OSError, AttributeError, TypeError):
        ctypes.CDLL(None).mallopt(_M_MMAP_THRESHOLD, _LARGE_BYTES)


def config_of(app: Any) -> uvicorn.Config:
    """How the page is served."""
    return uvicorn.Config(
        app, http=Connection, backlog=BACKLOG, timeout_keep_alive=KEEP_ALIVE_S, log_level="critical", lifespan="off", ws="none",
        loop="asyncio", server_header=False, access_log=False, timeout_graceful_shutdown=2, proxy_headers=False,
    )  # fmt: skip


def _tidy(workspace: Workspace) -> None:
    with suppress(OSError, TintmixError):
        workspace.tidy()


def listen(port: int) -> socket.socket:
    """A socket of our own on the loopback address. Raises InUse."""
    # With the protocol named, asyncio sends small answers at once (TCP_NODELAY); else each may wait 40 ms for the browser's word.
    listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    if os.name != "nt":
        listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listening.bind((HOST, port))
        listening.listen(BACKLOG)
    except OSError as problem:
        listening.close()
        reason = (problem.strerror or "refused").lower()
        other = port + 1 if port < 65535 else port - 1
        raise InUse(
            where=f"port {port}", what=f"cannot be used ({reason})", remedy=Remedy.CHOOSE_ANOTHER_PORT, other=other
        ) from None
    return listening
