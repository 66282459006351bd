"""A request as the screens see it, and one way in and out for all of them: form, state, answer, what is wrong."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from markupsafe import Markup
from starlette.background import BackgroundTask
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import FileResponse, HTMLResponse, JSONResponse, RedirectResponse, Response
from starlette.routing import Route

from tintmix.errors import Remedy, TintmixError
from tintmix.faces.explained import Asked
from tintmix.faces.remedies import Said
from tintmix.faces.web.forms import Form, read_form, safe_name
from tintmix.faces.web.render import Page
from tintmix.faces.web.units import Units
from tintmix.faces.web.words import told_in_units
from tintmix.page.errors import ChangedElsewhere, NoSuchThing
from tintmix.page.steps import steps_of
from tintmix.page.work import Work
from tintmix.page.workspace import Area, Snapshot, Workspace

STATUS = {ChangedElsewhere: 409, NoSuchThing: 404}
"""Errors with a status of their own; every other of ours is 422: what was asked cannot be used."""


@dataclass(slots=True)
class Visit:
    """One request, with the page as it stood when it came.

    form: the boxes that were sent, or the query of an address. problem: what is wrong with them, and wrong the name of the box
    that it is about. typed: they, to stand in the form again.
    """

    request: Request
    form: Form
    page: Page
    now: Snapshot
    problem: Said = ""
    wrong: str = ""
    status: int = 200
    typed: Mapping[str, Any] = field(default_factory=dict)

    @classmethod
    def of(cls, request: Request, form: Form | None = None) -> Visit:
        """A request as it comes. Raises FileProblem where what the page keeps is damaged."""
        page: Page = request.app.state.page
        return cls(request, form or Form(FormData([*request.query_params.multi_items()])), page, page.workspace.now())

    @property
    def workspace(self) -> Workspace:
        """What the page keeps."""
        return self.page.workspace

    @property
    def units(self) -> Units:
        """What the maker reads and types in."""
        return Units.of(self.now.area("settings"))

    def say(self, sentence: Said) -> None:
        """Tell the maker on the next screen."""
        self.page.told.append(sentence)

    def change(self, label: str, merge: bool = False, **areas: Area) -> Snapshot:
        """Put new areas in the place of those that the form was made from. Raises ChangedElsewhere."""
        expected = {area: self.form.revision(area) for area in areas}
        self.now = self.workspace.change(label, areas, expected, merge)
        return self.now

    def begin(self, what: str, back: str, task: Callable[[Workspace, Work], str], seconds: float) -> Work:
        """Begin work that goes on beside the page, and wait so long for its end: what is quick shows no progress."""
        work = self.page.works.start(what, back, lambda work: task(self.workspace, work))
        work.wait(seconds)
        return work

    def shows(self, template: str, screen: str, **context: Any) -> HTMLResponse:
        """A screen, with what every screen has: the steps with what is missing, the units, the way back."""
        now, units, page = self.now, self.units, self.page
        settings = now.area("settings")
        told, page.told = [told_in_units(sentence, units) for sentence in page.told], []

        def revisions(*areas: str) -> Markup:
            """The hidden boxes that say from which revisions a form was made."""
            box = '<input type="hidden" name="revision_{}" value="{}">'
            return Markup("").join(Markup(box).format(area, now.revision_of(area)) for area in areas)

        values: dict[str, Any] = {
            "screen": screen,
            "steps": steps_of(now),
            "settings": settings,
            "units": units,
            "words": lambda sentence: told_in_units(sentence, units),
            "surround": settings.get("surround", "grey"),
            "undo": now.undo[-1][1] if now.undo else "",
            "redo": now.redo[-1][1] if now.redo else "",
            "revisions": revisions,
            "form_token": page.form_token,
            "works": page.works.running,
            "told": told,
            "problem": told_in_units(self.problem, units),
            "asks_as_weighed": getattr(self.problem, "remedy", None) is Remedy.SAY_AS_WEIGHED,
            "wrong": self.wrong,
            "asks_as_thick": getattr(self.problem, "remedy", None) is Remedy.SAY_AS_THICK,
            "typed": self.typed,
            "here": self.request.url.path,
            "explained": Asked(),
        }
        text = self.request.app.state.templates.get_template(template).render(values | context)
        return HTMLResponse(text, self.status)


Answer = Response | str | dict[str, Any] | Work
"""A screen; where to go on; values for a script; or work, to be followed until it is done."""
Handler = Callable[[Visit], Answer]


class Routes(list[Route]):
    """The routes of a screen. Their functions run in a thread each, so none holds up another."""

    def get(self, *paths: str) -> Callable[[Handler], Handler]:
        """What answers these addresses."""

        def register(handler: Handler) -> Handler:
            async def endpoint(request: Request) -> Response:
                return await run_in_threadpool(lambda: _response(handler(Visit.of(request))))

            self.extend(Route(path, endpoint) for path in paths)
            return handler

        return register

    def post(self, path: str, again: Handler | None = None) -> Callable[[Handler], Handler]:
        """What takes a form. again: the screen that shows it once more, with what is wrong; else that is a page of its own."""

        def register(handler: Handler) -> Handler:
            def answered(request: Request, form: Form) -> Response:
                visit = Visit.of(request, form)
                try:
                    return _response(handler(visit))
                except TintmixError as problem:
                    visit.wrong = problem.facts["box"] = form.box_of(problem)
                    if again is None or wants_json(request):
                        raise
                    visit.problem, visit.status, visit.typed = problem, status_of(problem), form.typed
                    return _response(again(visit))

            async def endpoint(request: Request) -> Response:
                return await run_in_threadpool(answered, request, await read_form(request))

            self.append(Route(path, endpoint, methods=["POST"]))
            return handler

        return register


def _response(answer: Answer) -> Response:
    if isinstance(answer, Work):
        answer = answer.goes_to if answer.state == "done" else f"/work/{answer.name}"
    if isinstance(answer, str):
        # So that loading again sends nothing twice.
        return RedirectResponse(answer, 303)
    return JSONResponse(answer) if isinstance(answer, dict) else answer


def download(content: str | bytes, kind: str, name: str, ending: str) -> Response:
    """A file to be kept, under a name that any disk takes."""
    return Response(content, media_type=kind, headers=_kept_as(name, ending))


def download_made(make: Callable[[Path], None], kind: str, name: str, ending: str) -> Response:
    """The same of a file that may be larger than the memory: make puts it at a place, from where it is sent."""
    folder = TemporaryDirectory()
    try:
        place = Path(folder.name) / "made"
        make(place)
    except BaseException:
        folder.cleanup()
        raise
    return FileResponse(
        place, media_type=kind, headers=_kept_as(name, ending), background=BackgroundTask(folder.cleanup)
    )


def _kept_as(name: str, ending: str) -> dict[str, str]:
    return {"content-disposition": f'attachment; filename="{safe_name(name, ending)}"'}


def wants_json(request: Request) -> bool:
    """Whether a script asks."""
    return "application/json" in request.headers.get("accept", "")


def status_of(error: TintmixError) -> int:
    """The status of one of our errors."""
    return next((code for kind, code in STATUS.items() if isinstance(error, kind)), 422)
