"""A page on a folder of its own: as Starlette's client sees it, and as a real browser does."""

from __future__ import annotations

import os
import re
import shutil
import threading
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from tintmix.faces.web.app import create_app, state_of
from tintmix.faces.web.serve import config_of, listen
from tintmix.page import demo as page_demo
from tintmix.page.work import Works
from tintmix.page.workspace import Workspace

TOKEN = "a-token-for-tests-only"
PORT = 8421
CHROMIUM = ("/usr/bin/chromium", "/usr/bin/chromium-browser", "/usr/bin/google-chrome")
CHROMIUM_ARGUMENTS = (
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync",
)  # fmt: skip
HERE = Path(__file__).parent
ROOT = HERE.parents[2]


class Client(TestClient):
    """Behaves as a browser that has the page open: same host, same origin, the session's cookie, the form's token."""

    def __init__(self, folder: Path) -> None:
        self.page_app = create_app(folder, TOKEN, PORT)
        super().__init__(self.page_app, base_url=f"http://127.0.0.1:{PORT}", raise_server_exceptions=False)
        self.cookies.set(f"tintmix-{PORT}", TOKEN)
        self.headers["origin"] = f"http://127.0.0.1:{PORT}"

    @property
    def workspace(self) -> Workspace:
        """What the page keeps."""
        return state_of(self.page_app).workspace

    def fill(self, path: str, data: dict[str, Any] | None = None, **more: Any) -> Any:
        """Send a form as it stands now: with the token and the present revisions of all areas. data wins."""
        now = self.workspace.now()
        boxes = {"form_token": state_of(self.page_app).form_token}
        for area in (
            "settings",
            "part",
            "casting",
            "chips",
            "pigments",
            "tint",
            "recipes",
            "sheet",
            "trial",
            "lot",
            "book",
            "resins",
        ):
            boxes[f"revision_{area}"] = str(now.revision_of(area))
        return self.post(path, data=boxes | (data or {}), **more)

    def finish(self, answer: Any, seconds: float = 60.0) -> Any:
        """Wait for the work that an answer led to, and go on to where it goes."""
        name = re.fullmatch(r"/work/([0-9a-f]+)", answer.url.path)
        if name is None:
            return answer
        assert state_of(self.page_app).works.find(name.group(1)).wait(seconds)
        return self.get(f"/work/{name.group(1)}")


def ok(answer: Any) -> Any:
    """The answer to something that the page should do; fails where it did not."""
    assert answer.status_code == 200, f"{answer.url.path}: {answer.status_code}\n{answer.text}"
    return answer


@pytest.fixture(autouse=True, scope="session")
def no_book_of_the_user(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """No test reads or writes the recipe book of whoever runs it."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("TINTMIX_BOOK", str(tmp_path_factory.mktemp("book") / "none.db"))
        yield


@pytest.fixture
def book(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Where the test's own recipe book is; there is none yet."""
    place = tmp_path / "book.db"
    monkeypatch.setenv("TINTMIX_BOOK", str(place))
    return place


@pytest.fixture
def client(tmp_path: Path) -> Iterator[Client]:
    """A page on which nothing has been done yet."""
    with Client(tmp_path / "page") as client:
        yield client


@pytest.fixture(scope="session")
def demo_folder(once: Callable[[str, Callable[[Path], object]], Path]) -> Path:
    """A page's folder with the demo in it; to be copied, not to be used."""

    def fill(folder: Path) -> None:
        workspace = Workspace(folder)
        work = Works().start("the demo", "/", lambda work: page_demo.fill(workspace, work))
        assert work.wait(120.0)
        assert work.state == "done", work.says

    return once("page", fill)


@pytest.fixture
def demo(demo_folder: Path, tmp_path: Path) -> Iterator[Client]:
    """A page with the demo's chips, model, part, target and doses."""
    shutil.copytree(demo_folder, tmp_path / "page")
    with Client(tmp_path / "page") as client:
        yield client


@dataclass(frozen=True)
class Served:
    """A page that really listens."""

    address: str
    token: str
    app: Any

    @property
    def start(self) -> str:
        """The address with the token in it."""
        return f"{self.address}/?token={self.token}"

    @property
    def workspace(self) -> Workspace:
        """What the page keeps."""
        return state_of(self.app).workspace


@pytest.fixture
def serve() -> Iterator[Callable[[Path], Served]]:
    """Serves a folder on a free port of this machine, in a thread."""
    import uvicorn

    running: list[tuple[Any, threading.Thread, Any]] = []

    def serving(folder: Path) -> Served:
        listening = listen(0)
        port = listening.getsockname()[1]
        app = create_app(folder, TOKEN, port)
        server = uvicorn.Server(config_of(app))
        thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]}, daemon=True)
        thread.start()
        while not server.started:
            time.sleep(0.01)
        running.append((server, thread, listening))
        return Served(f"http://127.0.0.1:{port}", TOKEN, app)

    yield serving
    for server, thread, listening in running:
        server.should_exit = True
        thread.join(5.0)
        listening.close()


@pytest.fixture
def served_demo(demo_folder: Path, tmp_path: Path, serve: Callable[[Path], Served]) -> Served:
    """The demo, served."""
    shutil.copytree(demo_folder, tmp_path / "page")
    return serve(tmp_path / "page")


@pytest.fixture
def served_empty(tmp_path: Path, serve: Callable[[Path], Served]) -> Served:
    """A page on which nothing has been done, served."""
    return serve(tmp_path / "page")


def needed(reason: str) -> None:
    """Skip at home, with the reason; fail where TINTMIX_CI says that nothing may be skipped."""
    if os.environ.get("TINTMIX_CI"):
        pytest.fail(reason)
    pytest.skip(reason)


@pytest.fixture(scope="session")
def chromium() -> Iterator[Any]:
    """The system's Chromium, driven by Playwright."""
    try:
        from playwright.sync_api import sync_playwright
    except ImportError:
        needed("playwright is not installed: pip install playwright")
    path = os.environ.get("TINTMIX_CHROMIUM") or next((path for path in CHROMIUM if Path(path).exists()), None)
    if path is None:
        needed("no Chromium is installed (Debian: apt-get install chromium); TINTMIX_CHROMIUM names another")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path, args=list(CHROMIUM_ARGUMENTS))
        yield browser
        browser.close()


@pytest.fixture
def open_page(chromium: Any) -> Iterator[Callable[..., Any]]:
    """Opens a served page as its owner does. Fails at the end where a script or the policy complained, or a request left."""
    contexts: list[Any] = []
    complaints: list[str] = []

    def opening(served: Served, path: str = "/tint", width: int = 1400, height: int = 900, **options: Any) -> Any:
        context = chromium.new_context(viewport={"width": width, "height": height}, **options)
        contexts.append(context)
        tab = context.new_page()
        tab.on("pageerror", lambda error: complaints.append(str(error)))
        tab.on("console", lambda said: complaints.append(said.text) if said.type in ("error", "warning") else None)
        tab.on(
            "request",
            lambda asked: (
                None if asked.url.startswith((served.address, "blob:", "data:")) else complaints.append(asked.url)
            ),
        )
        bare, _, query = path.partition("?")
        tab.goto(f"{served.address}{bare}?token={served.token}")
        tab.wait_for_url(served.address + bare)
        if query:
            tab.goto(served.address + path)
        return tab

    opening.complaints = complaints  # type: ignore[attr-defined]
    yield opening
    for context in contexts:
        context.close()
    assert complaints == []


AXE_PLACES = (HERE / "node_modules/axe-core/axe.min.js", ROOT / "node_modules/axe-core/axe.min.js")


@pytest.fixture(scope="session")
def axe() -> str:
    """axe-core's script, from npm (Deque Systems, MPL-2.0; used in tests only). TINTMIX_AXE may name axe.min.js."""
    named = os.environ.get("TINTMIX_AXE")
    path = next((path for path in ([Path(named)] if named else AXE_PLACES) if path.is_file()), None)
    if path is None:
        needed("axe-core is not there: npm install --no-save axe-core, or name axe.min.js in TINTMIX_AXE")
        raise AssertionError
    return path.read_text(encoding="utf-8")


def violations(tab: Any, axe: str) -> list[str]:
    """What axe-core finds against WCAG 2.2 AA on a screen, a line each."""
    # Through the browser's own tools, so that the page's policy stays as strict as it is.
    tab.evaluate(axe + "; undefined")
    found = tab.evaluate(
        "() => axe.run(document, {resultTypes: ['violations'],"
        " runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice']})"
    )
    return [f"{one['id']}: {one['help']}: {node['html'][:160]}" for one in found["violations"] for node in one["nodes"]]
