"""The app: routes behind the guard, one place where an error becomes a page with its status."""

from __future__ import annotations

import errno
import os
import traceback
from collections.abc import Sequence
from hashlib import sha256
from importlib import import_module
from pathlib import Path
from typing import Any

from markupsafe import escape
from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, Response
from starlette.routing import Mount, Route, Router
from starlette.types import Receive, Scope, Send

from tintmix.errors import TintmixError
from tintmix.faces.remedies import Said
from tintmix.faces.web import routes
from tintmix.faces.web.render import Page, make_environment, page_of, render
from tintmix.faces.web.screens import FIRST, LATER
from tintmix.faces.web.security import HEADERS, Guard, TooLarge, form_token
from tintmix.faces.web.status import status_of
from tintmix.faces.web.words import told_in_units
from tintmix.page.errors import not_kept
from tintmix.page.steps import STEPS
from tintmix.page.workspace import Workspace

STATIC = Path(__file__).parent / "static"
KINDS = {".css": "text/css; charset=utf-8", ".js": "text/javascript; charset=utf-8", ".svg": "image/svg+xml"}
PORT = 8421
DISK = (errno.ENOSPC, errno.EROFS, errno.EDQUOT, errno.EACCES)
"""What the disk refuses, such as an upload for which it has no room: the maker can mend it."""
SENTENCES = {
    400: "That cannot be read as a form of the page. Load the page again, then send it.",
    404: "There is no such page. Go on from one of the steps above.",
    405: "This address does not take that kind of request. Go on from one of the steps above.",
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
        routes=[Route("/static/{name}", static), *routes_of(FIRST), Mount("/", Later())],
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


def routes_of(screens: Sequence[str]) -> list[Route]:
    """The routes of screens, whose files are imported now."""
    return [route for screen in screens for route in import_module(f"{routes.__name__}.{screen}").ROUTES]


class Later:
    """The screens that are imported when one of them is first asked for."""

    def __init__(self) -> None:
        self._router: Router | None = None

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if self._router is None:
            # The first ones, too: it is here that a method which they do not take is told.
            self._router = Router(routes_of((*FIRST, *LATER)))
        await self._router(scope, receive, send)


async def static(request: Request) -> Response:
    """A style sheet or a script, by one of the names that are there."""
    files = _static_files(request)
    name = request.path_params["name"]
    if name not in files:
        raise HTTPException(404)
    content, kind, tag = files[name]
    headers = {"cache-control": "no-cache", "etag": tag}
    if request.headers.get("if-none-match") == tag:
        return Response(status_code=304, headers=headers)
    return Response(content, media_type=kind, headers=headers)


def _static_files(request: Request) -> dict[str, tuple[bytes, str, str]]:
    files: dict[str, tuple[bytes, str, str]] | None = getattr(request.app.state, "static", None)
    if files is None:
        files = {}
        for path in STATIC.iterdir():
            if path.suffix in KINDS:
                content = path.read_bytes()
                files[path.name] = (content, KINDS[path.suffix], f'"{sha256(content).hexdigest()[:16]}"')
        request.app.state.static = files
    return files


def failed(request: Request, error: Exception) -> Response:
    """An error as a page: its status, one sentence, nothing of what is inside."""
    status, said = _told(error)
    sentence = told_in_units(said)
    if "application/json" in request.headers.get("accept", ""):
        return JSONResponse({"error": sentence}, status)
    title = TITLES.get(status, "That did not work")
    headers = getattr(error, "headers", None)
    try:
        back = _back(request)
        answer: Response = render(
            request, "error.html", "", {"title": title, "sentence": sentence, "back": back}, status=status
        )
    except Exception:
        # What the page keeps may be what is wrong.
        text = f'<!doctype html><html lang="en"><meta charset="utf-8"><title>tintmix</title><p>{escape(sentence)}</p>'
        answer = HTMLResponse(text, status)
    answer.headers.update(headers or {})
    return answer


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
        return 507, not_kept((error.strerror or "refused").lower())
    if os.environ.get("TINTMIX_DEBUG"):
        traceback.print_exception(error)
    return 500, f"This is a fault of tintmix ({type(error).__name__}); nothing was changed. Go back and try again."


def _back(request: Request) -> str:
    """The step that the request belongs to."""
    first = request.url.path.strip("/").partition("/")[0]
    return f"/{first}" if first in STEPS and request.url.path.strip("/") != first else "/"


def state_of(app: Any) -> Page:
    """The page of an app, for tests and for `serve`."""
    page: Page = app.state.page
    return page


__all__ = ["create_app", "failed", "page_of", "state_of"]
