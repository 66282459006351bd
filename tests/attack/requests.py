"""Requests to every route of the page, right and wrong: forms as its own screens have them, with boxes typed wrong, dropped or
doubled; addresses, methods and heads that nobody sends."""

from __future__ import annotations

import json
from collections.abc import Iterator
from html.parser import HTMLParser
from typing import Any

from tests.attack.inputs import Chance, at_fault
from tintmix.faces.web.app import SCREENS, router_of, state_of

FILES = (
    ("chips.csv", b"chip,thickness_mm,azure_phr,L,a,b\nclear,3,,96.5,-0.1,0.3\n"),
    ("set.toml", b"format = 1\n[reading]\nkind = \"colour\"\n"), ("x.csv", b"\xff\xfe\x00\xd8"),
    ("x.csv", b"nm,power\n400,1\n"), ("photo.jpg", b"\xff\xd8\xff\xe0 no more"), ("x.png", b"\x89PNG\r\n\x1a\n"),
    ("mesh.stl", b"solid\nfacet"), ("mesh.obj", b"v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 3\n"),
    ("export.json", b'{"is": "tintmix recipe book"}'), ("resin.toml", b"format = 1\nname = 3\n"), ("../../x", b""),
    ("\ud83d.csv".encode("utf-8", "replace").decode(), b"[" * 3000), ("a\tb\r\n.csv", b"\0"),
)  # fmt: skip
HEADS: tuple[dict[str, str], ...] = (
    {"host": "evil.example"}, {"origin": "http://evil.example"}, {"cookie": "tintmix-8421=no"}, {"cookie": "=;;\x01;"},
    {"content-length": "9" * 30}, {"content-type": "text/plain"}, {"content-type": "multipart/form-data"},
    {"content-type": "multipart/form-data; boundary=\"" + "b" * 500}, {"accept": "application/json"},
    {"accept-encoding": "\x00"}, {"range": "bytes=-9999999"}, {"if-modified-since": "yesterday"}, {"x" * 500: "1"},
)  # fmt: skip
METHODS = ("PUT", "DELETE", "HEAD", "OPTIONS", "PATCH", "TRACE", "BREW")
LONG = ("/pigments/fit", "/demo", "/chips/demo", "/casting/trace", "/casting/make", "/recipes/find", "/chips/plan")
"""What begins work of seconds."""
DEAR = (
    *LONG, "/sheet/sheet.pdf", "/chips/holder.pdf", "/casting/view", "/casting/body", "/casting/insert", "/recipes/like-tint",
    "/recipes/keep", "/recipes/choose", "/sheet/make", "/sheet/keep", "/sheet/casting.png",
)  # fmt: skip
"""What takes a tenth of a second or more where all is well with the request."""
LET_IN = 0.05
"""How often such a request is let in where `request_of` is told to spare them: the others are turned away at the door."""
AWAY: tuple[dict[str, str], ...] = (
    {"host": "evil.example"},
    {"cookie": "tintmix-8421=no"},
    {"sec-fetch-site": "cross-site"},
)


class Forms(HTMLParser):
    """The forms of a screen: where each goes, and its boxes as they stand."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.found: dict[str, list[tuple[str, str]]] = {}
        self.links: list[str] = []
        self._boxes: list[tuple[str, str]] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Remember a form, a box or a link."""
        named = {key: value or "" for key, value in attrs}
        if tag == "form":
            self._boxes = []
            if named.get("method") == "post":
                self._boxes = self.found.setdefault(named.get("action", ""), [])
        elif tag in ("input", "select", "textarea", "button") and "name" in named:
            self._boxes.append((named["name"], named.get("value", "")))
        elif tag in ("a", "img") and (address := named.get("href") or named.get("src", "")).startswith("/"):
            self.links.append(address)


def routes() -> Iterator[tuple[str, str]]:
    """Method and address of every route, with what stands for a part of the address in braces."""
    for first in SCREENS:
        for route in router_of(first).routes:
            for method in sorted(getattr(route, "methods", None) or {"GET"}):
                yield method, getattr(route, "path", "/")


def seen(client: Any) -> tuple[dict[str, list[tuple[str, str]]], list[str]]:
    """The forms and links of all screens."""
    forms: dict[str, list[tuple[str, str]]] = {}
    links: list[str] = []
    for method, path in routes():
        if method == "GET" and "{" not in path:
            answer = client.get(path)
            if "text/html" in answer.headers.get("content-type", ""):
                found = Forms(answer.text)
                forms |= found.found
                links += found.links
    return forms, sorted({*links})


def request_of(
    client: Any,
    chance: Chance,
    method: str,
    path: str,
    forms: dict[str, list[tuple[str, str]]],
    links: list[str],
    spare: bool = False,
) -> dict[str, Any]:
    """A request to that route, as the client takes it. spare: most of those that are dear to answer are turned away."""
    dear = spare and path in DEAR and not chance.happens(LET_IN)
    while "{" in path:
        head, _, rest = path.partition("{")
        path = (
            head
            + chance.one("0", "a" * 16, "%2e%2e", "b1", "x.json", "%ff", "9" * 40, "clear")
            + rest.partition("}")[2]
        )
    asked: dict[str, Any] = {
        "method": method,
        "url": path,
        "headers": {"accept": "application/json"} if chance.happens(0.5) else {},
    }
    if method == "POST":
        boxes = [(name, value) for name, value in forms.get(path, []) if not chance.happens(0.03)]
        boxes += [("form_token", state_of(client.page_app).form_token)]
        now = client.workspace.now()
        boxes += [(f"revision_{area}", str(now.revision_of(area))) for area in now.areas]
        for _ in range(chance.draw.randrange(4)):
            at = chance.draw.randrange(len(boxes))
            name, value = boxes[at]
            if name != "form_token" or chance.happens(0.05):
                boxes[at] = (name, sendable(chance.wrong(value)))
                boxes += [boxes[at]] * chance.draw.choice((0, 0, 0, 1, 30))
        asked["data"] = gathered(boxes)
        if chance.happens(0.4):
            names = (
                "files",
                "instrument",
                "photo",
                "panel",
                "export",
                "mesh",
                "insert_mesh",
                "resin_file",
                "piece_file",
                "photos",
            )
            asked["files"] = [
                (chance.one(*names), chance.draw.choice(FILES)) for _ in range(chance.draw.randrange(1, 4))
            ]
    elif chance.happens(0.6):
        alike = [one for one in links if one.partition("?")[0] == path and "?" in one] or [
            f"{path}?name=sea&revision=1"
        ]
        query = chance.one(*alike).partition("?")[2]
        pairs = [pair.partition("=")[::2] for pair in query.split("&")]
        pairs += [(chance.one("number", "name", "revision", "dose.azure", "place_0_x", "of", "paper", "first"), "1")]
        asked["params"] = [
            (key, sendable(chance.wrong(value)) if chance.happens(0.5) else value) for key, value in pairs
        ]
    if dear:
        asked["headers"] |= chance.draw.choice(AWAY)
    elif chance.happens(0.1):
        asked["headers"] |= chance.draw.choice(HEADS)
    if chance.happens(0.03):
        asked["method"] = chance.one(*METHODS)
    return asked


def sendable(text: str) -> str:
    """Text as a browser can send it: no lone surrogates."""
    return text.encode("utf-8", "replace").decode()


def gathered(boxes: list[tuple[str, str]]) -> dict[str, list[str]]:
    """Boxes as the client takes them."""
    out: dict[str, list[str]] = {}
    for name, value in boxes:
        out.setdefault(name, []).append(value)
    return out


def reply_at_fault(client: Any, asked: dict[str, Any]) -> str:
    """What is wrong with the answer to a request; empty where nothing is."""
    answer = client.request(**asked, follow_redirects=False)
    if answer.status_code >= 500:
        return f"status {answer.status_code}"
    text = answer.text if "text/html" in answer.headers.get("content-type", "") else ""
    if "Traceback" in text or "fault of tintmix" in text:
        return "a fault of the program"
    if answer.text and answer.status_code >= 400 and answer.headers.get("content-type") == "application/json":
        return at_fault(str(json.loads(answer.text)["error"]))
    if "default-src 'self'" not in answer.headers.get("content-security-policy", ""):
        return "not stamped"
    return ""
