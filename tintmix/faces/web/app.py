"""The app: routes behind the guard, one place where an error becomes a page with its status."""

from __future__ import annotations

import errno
import mimetypes
import os
import traceback
from contextlib import suppress
from datetime import datetime
from functools import cache
from importlib import import_module
from pathlib import Path
from typing import Any

from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, Response
from starlette.routing import BaseRoute, Match, Mount, Router
from starlette.staticfiles import StaticFiles

from tintmix.errors import TintmixError
from tintmix.faces.remedies import Said
from tintmix.faces.web import routes
from tintmix.faces.web.render import Page, make_environment
from tintmix.faces.web.security import HEADERS, OWNER, Guard, TooLarge, form_token, plain_page
from tintmix.faces.web.visit import Visit, status_of, wants_json
from tintmix.faces.web.words import told_in_units
from tintmix.page.errors import ListDamaged, not_kept
from tintmix.page.steps import STEPS
from tintmix.page.workspace import Workspace

STATIC = Path(__file__).parent / "static"
for ending, kind in (
    (".css", "text/css"),
    (".js", "text/javascript"),
    (".svg", "image/svg+xml"),
    (".webp", "image/webp"),
):
    mimetypes.add_type(kind, ending)  # whatever the machine's own list says: browsers run no script of another kind
PORT = 8421
SCREENS = {
    "tint": ("tint",), "chips": ("chips", "chip", "plan", "photo", "instrument"),
    "pigments": ("pigments",), "casting": ("casting",), "recipes": ("recipes", "things"),
    "sheet": ("sheet",), "trial": ("trial", "things"), "book": ("book", "lot", "things"), "resin": ("resin",),
    "help": ("help",), "": ("home",),
}  # fmt: skip
"""How an address begins, and the files of routes/ that answer it; home for all that begin otherwise."""
DISK = (errno.ENOSPC, errno.EROFS, errno.EDQUOT, errno.EACCES)
"""What the disk refuses, such as an upload for which it has no room: the maker can mend it."""
SENTENCES = {
    400: "That cannot be read as a form of the page. Load the page again, then send it.",
    404: "There is no such page. Choose one of the steps above.",
    405: "This address does not take that kind of request. Choose one of the steps above.",
    408: "The rest of it did not come. Send it again.",
    413: "That is more than the page takes at once. Send a smaller file.",
}
TITLES = {404: "Not found", 405: "Not like that", 409: "Changed elsewhere", 413: "Too large", 422: "Not usable"}


def create_app(folder: str | os.PathLike[str], token: str, port: int = PORT) -> Starlette:
    """The page on a folder of its own, for whoever brings the token, under the loopback address and this port."""

    async def on_error(request: Request, error: Exception) -> Response:
        answer = failed(request, error)
        # A fault is answered outside the guard, which stamps all other answers.
        for name, value in {**HEADERS, "cache-control": "no-store"}.items():
            answer.headers.setdefault(name, value)
        return answer

    app = Starlette(
        routes=[Mount("/static", StaticFiles(directory=STATIC)), _Screens()],
        middleware=[Middleware(Guard, token=token, port=port)],
        exception_handlers={
            HTTPException: on_error,
            TintmixError: on_error,
            TooLarge: on_error,
            Exception: on_error,
        },
    )
    app.state.page = Page(Workspace(Path(folder)), form_token(token))
    app.state.templates = make_environment()
    return app


class _Screens(BaseRoute):
    """The routes of all screens. A screen is imported when it is first asked for: the first page need not wait for all."""

    def matches(self, scope: Any) -> tuple[Match, Any]:
        return Match.FULL, {}

    async def handle(self, scope: Any, receive: Any, send: Any) -> None:
        first = scope["path"].strip("/").partition("/")[0]
        await router_of(first if first in SCREENS else "")(scope, receive, send)


@cache
def router_of(first: str) -> Router:
    """What answers the addresses that begin so."""
    files = (import_module(f"{routes.__name__}.{name}") for name in SCREENS[first])
    return Router([route for file in files for route in file.ROUTES])


def failed(request: Request, error: Exception) -> Response:
    """An error as a page: its status, one sentence, nothing of what is inside."""
    status, said = _told(error)
    sentence = told_in_units(said)
    if wants_json(request):
        box = error.facts.get("box") if isinstance(error, TintmixError) else None
        return JSONResponse({"error": sentence} | ({"box": box} if box else {}), status)
    title = TITLES.get(status, "That did not work")
    answer: Response = plain_page(status, sentence, title)
    # Nobody reads a page in the place of a picture or a script, and what is told once would be told there.
    if request.scope.get(OWNER) and not request.url.path.startswith("/static/"):
        with suppress(Exception):  # what the page keeps may be what is wrong
            if isinstance(error, ListDamaged):
                return _offered(request, sentence)
            visit = Visit.of(request)
            visit.status = status
            answer = visit.shows("error.html", "", title=title, sentence=sentence, back=_back(request))
    answer.headers.update(getattr(error, "headers", None) or {})
    if status in (408, 413):
        answer.headers["connection"] = "close"  # the rest of what was sent is not waited for
    return answer


def _offered(request: Request, sentence: str) -> Response:
    """What is left of a damaged list, to go on from. There is no screen to show it on: a screen shows the list."""
    page = request.app.state.page
    found = page.workspace.newest_sound()
    kept_at = found and datetime.fromtimestamp(found[1]).strftime("%Y-%m-%d, %H:%M")
    shown = {"sentence": sentence, "form_token": page.form_token, "revision": found and found[0], "kept_at": kept_at}
    return HTMLResponse(request.app.state.templates.get_template("damaged.html").render(shown), 422)


def _told(error: Exception) -> tuple[int, Said]:
    if isinstance(error, TintmixError):
        return status_of(error), error
    if isinstance(error, TooLarge):
        return 413, str(error)
    if isinstance(error, HTTPException):
        if error.status_code == 400 and error.detail.startswith(("Too many", "Part exceeded", "Field exceeded")):
            return 413, SENTENCES[413]
        # Only what is refused for its token has words of its own; the others' are of the libraries beneath.
        return error.status_code, SENTENCES.get(error.status_code) or error.detail
    if isinstance(error, OSError) and error.errno in DISK:
        return 507, not_kept(error.strerror or "refused")
    if os.environ.get("TINTMIX_DEBUG"):
        traceback.print_exception(error)
    return 500, f"This is a fault of tintmix ({type(error).__name__}); nothing was changed. Go back and try again."


def _back(request: Request) -> str:
    first = request.url.path.strip("/").partition("/")[0]
    return f"/{first}" if first in STEPS and request.url.path.strip("/") != first else "/"


def state_of(app: Any) -> Page:
    """The page of an app, for tests and for `serve`."""
    page: Page = app.state.page
    return page
