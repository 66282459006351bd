"""Help: the pages of docs/, as they come with the program."""

from __future__ import annotations

from starlette.responses import FileResponse

from tintmix.errors import NotThere
from tintmix.faces.web.guide import picture, shown, titles
from tintmix.faces.web.visit import Answer, Routes, Visit
from tintmix.page.errors import NoSuchThing

ROUTES = Routes()


@ROUTES.get("/help")
def contents(visit: Visit) -> Answer:
    """All pages."""
    return visit.shows("help.html", "", page="", title="Help", pages=titles())


@ROUTES.get("/help/pictures/{name}")
def drawn(visit: Visit) -> Answer:
    """A picture of a page."""
    found = picture(visit.request.path_params["name"])
    if found is None:
        raise NoSuchThing("picture")
    return FileResponse(found)


@ROUTES.get("/help/{name}")
def page(visit: Visit) -> Answer:
    """One page."""
    name = visit.request.path_params["name"]
    try:
        title, text = shown(name)
    except NotThere:
        raise NoSuchThing("page") from None
    return visit.shows("help.html", "", page=name, title=title, text=text)
