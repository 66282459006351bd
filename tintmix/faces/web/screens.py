"""The files of routes/, each with how its addresses begin, and imported when one of them is first asked for.

A file of routes/ imports at its top all that its screens need; that would keep the first page waiting for 0.9 s of scipy and the
like (process time: 1.3 s for all screens, 0.35 s for the first).
"""

from __future__ import annotations

from importlib import import_module

from starlette.routing import BaseRoute, Match, Route
from starlette.types import Receive, Scope, Send

from tintmix.faces.web import routes

SCREENS = {
    "photo": ("/chips/photo", "/chips/holder.pdf", "/recipes/photo"),
    "chip": ("/chips/chip",),
    "chips": ("/chips",),
    "tint": ("/tint",),
    "pigments": ("/pigments",),
    "recipes": ("/recipes",),
    "sheet": ("/sheet",),
    "trial": ("/trial",),
    "book": ("/book",),
    "home": ("",),
}
"""The first whose addresses begin so is asked. A screen that is added is a line here."""
_FOUND = "tintmix.route"


class Screen(BaseRoute):
    """The addresses of a file of routes/."""

    def __init__(self, name: str) -> None:
        self.name = name
        self._beginnings = SCREENS[name]

    def load(self) -> list[Route]:
        """Its addresses, as the file has them."""
        made: list[Route] = import_module(f"{routes.__name__}.{self.name}").ROUTES
        return made

    def matches(self, scope: Scope) -> tuple[Match, Scope]:
        """Whether one of its addresses is asked for."""
        best: tuple[Match, Scope] = (Match.NONE, {})
        if any(f"{scope.get('path', '')}/".startswith(f"{beginning}/") for beginning in self._beginnings):
            for route in self.load():
                match, found = route.matches(scope)
                if match.value > best[0].value:
                    best = (match, {**found, _FOUND: route})
        return best

    async def handle(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer by the address that was found."""
        await scope[_FOUND].handle(scope, receive, send)
