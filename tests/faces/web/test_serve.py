"""`tintmix serve`: it starts, answers on the loopback address, and ends when it is told to."""

from __future__ import annotations

import json
import os
import signal
import socket
import subprocess
import sys
import urllib.error
import urllib.request
from contextlib import suppress
from pathlib import Path

import pytest

from tests.faces.conftest import Refused
from tests.faces.web.conftest import ROOT, TOKEN, Served
from tintmix.book.place import book_place
from tintmix.errors import InUse
from tintmix.faces.web import connections, security
from tintmix.faces.web.serve import listen
from tintmix.page.workspace import default_folder

DESCRIPTORS = 256
"""What a process may open on systems that allow the least."""


def free_port() -> int:
    with socket.socket() as listening:
        listening.bind(("127.0.0.1", 0))
        port: int = listening.getsockname()[1]
    return port


def start(folder: Path, *more: str, cwd: Path = ROOT) -> subprocess.Popen[str]:
    """`tintmix serve` on a folder and a free port, with as few open files as a small machine allows."""
    import resource

    serve = ["-m", "tintmix", "serve", "--no-open", "--port", str(free_port()), "--folder", str(folder), *more]
    environment = {key: value for key, value in os.environ.items() if key != "TINTMIX_DEBUG"}
    return subprocess.Popen(
        [sys.executable, *serve], cwd=cwd, env=environment | {"PYTHONPATH": str(ROOT)}, text=True,
        stdout=subprocess.PIPE, stderr=subprocess.PIPE,
        preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_NOFILE, (DESCRIPTORS, DESCRIPTORS)),
    )  # fmt: skip


@pytest.mark.skipif(os.name == "nt", reason="signals are another matter on Windows")
def test_it_answers_until_it_is_interrupted(tmp_path: Path) -> None:
    (tmp_path / "page").mkdir()
    (tmp_path / "page" / "state.json").write_text("{", encoding="utf-8")
    process = start(tmp_path / "page", "--json")
    try:
        assert process.stdout is not None
        told = json.loads(process.stdout.readline())
        assert told["book"] == str(book_place())
        assert ["is damaged" in note for note in told["warnings"]] == [True]
        address = told["address"]
        assert address.startswith("http://127.0.0.1:")
        with urllib.request.urlopen(address) as answer:
            assert answer.status == 200
        with pytest.raises(urllib.error.HTTPError, match="403") as refused:
            urllib.request.urlopen(address.partition("?")[0])
        refused.value.close()
        half_asked_by_300(int(address.split(":")[2].partition("/")[0]), address)
        process.send_signal(signal.SIGINT)
        out, err = process.communicate(timeout=20)
        assert (process.returncode, out, err) == (0, "", "")
    finally:
        process.kill()


def half_asked_by_300(port: int, address: str) -> None:
    """More half-sent requests than the page has descriptors (256, as some systems give): its owner gets through meanwhile."""
    half: list[socket.socket] = []
    try:
        for _ in range(300):
            half.append(socket.create_connection(("127.0.0.1", port), timeout=5.0))
            half[-1].sendall(b"GET /tint HTTP/1.1\r\nHost: 127.0.0.1")
        for _ in range(3):
            with urllib.request.urlopen(address, timeout=5.0) as answer:
                assert answer.status == 200
    finally:
        for one in half:
            one.close()


def test_it_waits_only_so_long_for_a_request(served_empty: Served, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(connections, "HEADER_S", 0.2)
    monkeypatch.setattr(security, "BODY_PAUSE_S", 0.2)
    host = served_empty.address.removeprefix("http://")
    head = (
        f"POST /settings HTTP/1.1\r\nHost: {host}\r\nOrigin: http://{host}\r\nCookie: tintmix-{host[10:]}={TOKEN}\r\n"
    )
    head += "Content-Type: application/x-www-form-urlencoded\r\nContent-Length: 50\r\n\r\nlength="
    for sent, told in ((b"GET /ti", b""), (head.encode(), b"HTTP/1.1 408 ")):
        with socket.create_connection(("127.0.0.1", int(host[10:])), timeout=5.0) as asking:
            asking.sendall(sent)
            answer = b""
            with suppress(ConnectionResetError):
                while more := asking.recv(4096):
                    answer += more
            assert answer[:13] == told


def test_it_listens_on_this_machine_only() -> None:
    with listen(0) as listening:
        assert listening.getsockname()[0] == "127.0.0.1"
        # asyncio sends small answers at once only where the protocol is named.
        assert listening.proto == socket.IPPROTO_TCP


def test_a_port_that_is_taken_is_told(refused: Refused, tmp_path: Path) -> None:
    with listen(0) as listening:
        port = listening.getsockname()[1]
        assert f"--port {port + 1}" in refused("serve", "--no-open", "--port", port, "--folder", tmp_path / "page")


def test_a_folder_that_cannot_be_is_told(refused: Refused, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("x", encoding="utf-8")
    refused("serve", "--no-open", "--port", free_port(), "--folder", tmp_path / "file")


def test_the_usual_folder_is_the_users_own() -> None:
    assert default_folder().name == "page"
    assert default_folder().is_absolute()


def test_no_port_beyond_the_last_is_advised(monkeypatch: pytest.MonkeyPatch) -> None:
    def taken(*_: object) -> None:
        raise OSError(98, "in use")

    monkeypatch.setattr(socket.socket, "bind", taken)
    with pytest.raises(InUse) as raised:
        listen(65535)
    assert raised.value.facts == {"other": 65534}
