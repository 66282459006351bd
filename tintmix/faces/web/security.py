"""Who may ask, and how much: checked before anything else sees a request, and stamped on every answer.

Only this machine, only by the page's own names (Host), only from the page itself (Origin, Sec-Fetch-Site), only with the
session's token in a cookie. Fetch, https://fetch.spec.whatwg.org; Fetch Metadata, https://www.w3.org/TR/fetch-metadata/.
"""

from __future__ import annotations

import asyncio
import hmac
from hashlib import sha256
from typing import Any

from markupsafe import escape
from starlette.datastructures import Headers, MutableHeaders, QueryParams
from starlette.exceptions import HTTPException
from starlette.responses import HTMLResponse, Response
from starlette.types import Message, Receive, Scope, Send

from tintmix.files import caps

LOOPBACK = ("127.0.0.1", "localhost", "[::1]")
SMALL_BODY_BYTES = 25_000_000
"""The largest of any other form: an instrument file is read up to 20 MB."""
BODY_PAUSE_S = 20.0
"""The longest pause within an upload."""
LARGE_BODY_BYTES = {
    **dict.fromkeys(
        ("/chips/photo", "/recipes/photo", "/trial/photo", "/book/pour/photo", "/book/lot/photo"),
        2 * caps.PHOTO + SMALL_BODY_BYTES,
    ),
    "/casting/mesh": caps.MESH + SMALL_BODY_BYTES, "/casting/insert": caps.MESH + SMALL_BODY_BYTES,
    "/book/import": 100_000_000, "/book/add": 4 * caps.BOOK_PHOTO + SMALL_BODY_BYTES,
}  # fmt: skip
"""The largest at some addresses: a photo and that of its bare panel, which go to the disk as they come; a book's export is read
whole, so that less of it is taken here than in the shell."""
HEADERS = {
    "content-security-policy": "default-src 'self'; object-src 'none'; base-uri 'none'; form-action 'self'; "
    "frame-ancestors 'none'",
    "x-content-type-options": "nosniff",
    # With "no-referrer", browsers send "Origin: null" with forms, and our own would be refused.
    "referrer-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(), microphone=(), geolocation=()",
}
REFUSED = {
    400: "This is not the page's own address. Open it by the address that `tintmix serve` printed.",
    403: "The page is for the one who started it. Open it by the whole address that `tintmix serve` printed.",
    413: "That is more than the page takes at once ({limit} MB). Send a smaller file.",
}
FORM = "tintmix.form"
"""Where a request's form stands in its scope, so that its uploads are closed when the answer is given."""
OWNER = "tintmix.owner"
"""Says in a request's scope that it came with the cookie. Nothing of what the page keeps is rendered for another."""
HEAD = '<!doctype html><html lang="en"><meta charset="utf-8"><title>tintmix</title>'
_SAFE = ("GET", "HEAD")
_LENGTH_DIGITS = 15


class TooLarge(Exception):
    """A body that went over the limit while it was read."""

    def __init__(self, limit_bytes: int) -> None:
        self.limit_bytes = limit_bytes
        super().__init__(REFUSED[413].format(limit=limit_bytes // 1_000_000))


def form_token(token: str) -> str:
    """What every form carries: made from the session's token, which scripts cannot see."""
    return hmac.new(token.encode(), b"form", sha256).hexdigest()


class Guard:
    """ASGI middleware: refuses what is not ours to answer, and stamps the rest."""

    def __init__(self, app: Any, token: str, port: int) -> None:
        self.app, self.token, self.port = app, token, port
        self.hosts = {f"{name}:{port}" for name in LOOPBACK} | (set(LOOPBACK) if port == 80 else set())
        self.cookie = f"tintmix-{port}"

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer, or pass on."""
        if scope["type"] == "lifespan":
            await self.app(scope, receive, send)
            return
        if scope["type"] != "http":
            return
        headers, path = Headers(scope=scope), scope["path"]
        send = _stamped(send, path)
        status = self._refusal(scope, headers)
        if not status and self._brings_token(scope):
            await self._let_in(path)(scope, receive, send)
            return
        if not status and not self._has_cookie(headers):
            status = 403
        if status:
            await plain_page(status, REFUSED[status])(scope, receive, send)
            return
        limit = LARGE_BODY_BYTES.get(path, SMALL_BODY_BYTES)
        scope[OWNER] = True
        told = headers.get("content-length", "0")
        if not (told.isdecimal() and len(told) <= _LENGTH_DIGITS and int(told) <= limit):
            sentence = REFUSED[413].format(limit=limit // 1_000_000)
            await plain_page(413, sentence, "Too large", _came_from(headers))(scope, receive, send)
            return
        try:
            await self.app(scope, _counted(receive, limit), send)
        finally:
            form = scope.get(FORM)
            if form is not None:
                await form.close()

    def _refusal(self, scope: Scope, headers: Headers) -> int:
        """400 for a foreign host, 403 for another origin, 0 for none."""
        host = headers.get("host", "").lower()
        if host not in self.hosts or len(headers.getlist("host")) != 1:
            return 400
        site, mode = headers.get("sec-fetch-site"), headers.get("sec-fetch-mode")
        origin = headers.get("origin")
        if scope["method"] in _SAFE:
            # Another port of this machine is the same site, and would bring our cookie: only a link may lead here.
            foreign = site in ("cross-site", "same-site") and mode != "navigate"
            return 403 if foreign else 0
        if origin is None:
            return 0 if site == "same-origin" else 403
        return 0 if origin.lower() == f"http://{host}" else 403

    def _brings_token(self, scope: Scope) -> bool:
        if scope["method"] != "GET" or b"token=" not in scope["query_string"]:
            return False
        said = QueryParams(scope["query_string"]).get("token", "")
        return hmac.compare_digest(said.encode(), self.token.encode())

    def _has_cookie(self, headers: Headers) -> bool:
        # Cookies know no ports: what other programs of this machine set comes along, well formed or not (RFC 6265, 5.4).
        pairs = (part.strip().partition("=") for part in headers.get("cookie", "").split(";"))
        mine = [value for name, _, value in pairs if name == self.cookie]
        return any(hmac.compare_digest(value.encode(), self.token.encode()) for value in mine)

    def _let_in(self, path: str) -> Response:
        """The token goes from the address into a cookie, so that it stays out of the history and of every link."""
        path = _quoted(path if path.startswith("/") and not path.startswith("//") else "/")
        # A page rather than a redirect: a strict cookie set on a redirect from another site is not sent at once.
        answer = HTMLResponse(
            f'{HEAD}<link rel="icon" href="/static/mark.svg"><meta http-equiv="refresh" content="0;url={path}">'
            f'<p><a href="{path}">Go on to the page</a>'
        )
        answer.set_cookie(self.cookie, self.token, httponly=True, samesite="strict")
        return answer


def _quoted(path: str) -> str:
    return "".join(c if c.isalnum() or c in "/-_." else "" for c in path) or "/"


def _counted(receive: Receive, limit: int) -> Receive:
    """The body, watched: one that is longer than it said, or does not go on, is cut off. Raises TooLarge, HTTPException."""
    seen, more = 0, True

    async def watching() -> Any:
        nonlocal seen, more
        try:
            # After the body, an answer may wait long to hear that its reader has gone.
            message = await asyncio.wait_for(receive(), BODY_PAUSE_S if more else None)
        except TimeoutError:
            raise HTTPException(408) from None
        if message["type"] == "http.request":
            seen, more = seen + len(message.get("body", b"")), message.get("more_body", False)
            if seen > limit:
                raise TooLarge(limit)
        return message

    return watching


def _stamped(send: Send, path: str) -> Send:

    async def stamping(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(scope=message)
            for name, value in HEADERS.items():
                headers.setdefault(name, value)
            headers.setdefault("cache-control", "no-cache" if path.startswith("/static/") else "no-store")
        await send(message)

    return stamping


def plain_page(status: int, sentence: str, title: str = "Not here", back: str = "") -> Response:
    """A sentence, and nothing of what the page keeps; the connection ends with it. back: where a link leads."""
    link = f'<p><a href="{escape(back)}">Back</a></p>' if back else ""
    said = escape(sentence.replace("`", ""))
    return HTMLResponse(f"{HEAD}<h1>{title}</h1><p>{said}</p>{link}</html>", status, {"connection": "close"})


def _came_from(headers: Headers) -> str:
    """The screen that the form stood on, as its own page says; the first one where it does not."""
    origin = f"http://{headers.get('host', '')}"
    path = headers.get("referer", "").removeprefix(origin)
    # "//" and, to browsers, "/\" begin another host's address.
    return path if path.startswith("/") and path[1:2] not in ("/", "\\") else "/"
