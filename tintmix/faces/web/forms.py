"""What a form sent: checked to come from one of our pages, within limits, and read a box at a time."""

from __future__ import annotations

import hmac
import math
from dataclasses import dataclass, field
from typing import IO, Any

from starlette.datastructures import FormData, UploadFile
from starlette.exceptions import HTTPException
from starlette.requests import Request

from tintmix.errors import TintmixError
from tintmix.faces.web import units
from tintmix.faces.web.security import FORM
from tintmix.files import caps
from tintmix.files.errors import too_large
from tintmix.files.stamp import check_day
from tintmix.page.errors import about_box, not_chosen, not_typed

MOST_FIELDS = 6000
MOST_FILES = 20
MOST_TEXT_BYTES = 2_000_000
NAME_LETTERS = 80
NOTE_LETTERS = 2000


@dataclass(frozen=True, slots=True)
class Form:
    """The boxes of a form by name. Texts are stripped; files are not kept longer than the request.

    read: the boxes that were asked for so far and what stood in them, so that one that is wrong is found again.
    """

    data: FormData
    read: list[tuple[str, str]] = field(default_factory=list, compare=False)

    def text(self, name: str, default: str = "") -> str:
        """A box's text; the default where there is none."""
        value = self.data.get(name, default)
        text = value.strip() if isinstance(value, str) else default
        self.read.append((name, text))
        return text

    def lines(self, name: str) -> str:
        """A box's text with the blanks around it, so that its lines are counted as they are seen."""
        value = self.data.get(name)
        return value if self.text(name) and isinstance(value, str) else ""

    def box_of(self, problem: TintmixError) -> str:
        """The name of the box that a problem is about: the one that it names (`about_box`), else the last that was read with just
        this in it, else the last that was read, if what is wrong stands somewhere in it; empty where it is about none."""
        box = problem.facts.get("box")
        if isinstance(box, str) and box in self.data:
            return box
        typed = problem.facts.get("typed")
        if not isinstance(typed, str) or not self.read:
            return ""
        same = (name for name, text in reversed(self.read) if text == typed and name in self.data)
        last, text = self.read[-1]
        return next(same, last if typed and typed in text else "")

    def texts(self, name: str) -> list[str]:
        """All boxes of that name, in their order, empty ones too."""
        return [value.strip() if isinstance(value, str) else "" for value in self.data.getlist(name)]

    def line(self, name: str, field: str, default: str = "") -> str:
        """A short text in one line. Raises ValueProblem for an endless one."""
        value = " ".join(self.text(name, default).split())
        if len(value) > NAME_LETTERS or not value.isprintable():
            raise not_typed(field, value, f"Type at most {NAME_LETTERS} letters.")
        return value

    def day(self, name: str, field: str) -> str:
        """A day, empty where none is said. Raises ValueProblem."""
        day = self.line(name, field)
        with about_box(name):
            check_day(field, day)
        return day

    def number(self, name: str, field: str, least: float = -math.inf, most: float = math.inf) -> float:
        """A number. Raises ValueProblem."""
        return units.number(self.text(name), field, least, most)

    def maybe(self, name: str, field: str, least: float = -math.inf, most: float = math.inf) -> float | None:
        """A number, or None where the box is empty. Raises ValueProblem."""
        return None if not self.text(name) else self.number(name, field, least, most)

    def whole(self, name: str, field: str, least: int, most: int) -> int | None:
        """A whole number, or None where the box is empty. Raises ValueProblem."""
        text = self.text(name)
        if text and not (text.isdecimal() and len(text) < 12 and least <= int(text) <= most):
            raise not_typed(field, text, f"Type a whole number from {least} to {most}.")
        return int(text) if text else None

    def choice(self, name: str, allowed: Any, default: str) -> str:
        """One of some words; the default for any other."""
        value = self.text(name)
        return value if value in allowed else default

    def revision(self, area: str) -> int:
        """The revision of an area that the form was made from."""
        return self.count(f"revision_{area}", -1)

    def count(self, name: str, default: int) -> int:
        """A whole number that one of our pages put there; the default for anything else."""
        value = self.text(name)
        return int(value) if value.isdecimal() and len(value) < 12 else default

    def file(self, name: str, field: str = "the file") -> tuple[str, bytes]:
        """An uploaded file: how its owner calls it, to be shown only, and what is in it. Raises ValueProblem."""
        label, stream = self.upload(name, field, caps.EXPORT)
        return label, stream.read()

    def upload(self, name: str, field: str, most_bytes: int) -> tuple[str, IO[bytes]]:
        """An uploaded file of so many bytes at most, to be read from the disk. Raises ValueProblem, FileProblem."""
        value = self.data.get(name)
        if not isinstance(value, UploadFile) or not value.filename:
            raise not_chosen(name, field, "Choose one.")
        label = label_of(value.filename)
        if (value.size or 0) > most_bytes:
            raise too_large(label, most_bytes)
        return label, value.file

    def has_file(self, name: str) -> bool:
        """Whether a file was chosen."""
        value = self.data.get(name)
        return isinstance(value, UploadFile) and bool(value.filename)

    def files(self, name: str) -> list[tuple[str, bytes]]:
        """All files of that name; none where none was chosen."""
        found = [one for one in self.data.getlist(name) if isinstance(one, UploadFile) and one.filename]
        return [(label_of(one.filename or ""), one.file.read()) for one in found]

    def lab(self, boxes: str, of: str, most: tuple[float, float] = (100.0, 200.0)) -> tuple[float, float, float]:
        """L*a*b* of three boxes, whose names have L, a and b in the place of the star. most: of L*, and of a* and b*."""
        L, a, b = (
            self.number(boxes.replace("*", axis), f"{axis}* of {of}", least, high)
            for axis, least, high in (("L", 0.0, most[0]), ("a", -most[1], most[1]), ("b", -most[1], most[1]))
        )
        return L, a, b

    def note(self, name: str = "note") -> str:
        """A text of some lines. Raises ValueProblem for an endless one."""
        note = self.text(name)
        if len(note) > NOTE_LETTERS:
            raise not_typed("the note", note, f"Write at most {NOTE_LETTERS} letters.")
        return note

    @property
    def typed(self) -> dict[str, Any]:
        """What was typed, to be shown again beside what is wrong."""
        return {name: value for name, value in reversed(self.data.multi_items()) if isinstance(value, str)}


async def read_form(request: Request) -> Form:
    """The form of a POST. 403 where it was not made by one of our pages, 413 and 400 where it is endless or no form."""
    kind = request.headers.get("content-type", "").partition(";")[0].strip()
    if kind not in ("application/x-www-form-urlencoded", "multipart/form-data"):
        raise HTTPException(400, "This is no form of the page.")
    data = await request.form(max_files=MOST_FILES, max_fields=MOST_FIELDS, max_part_size=MOST_TEXT_BYTES)
    request.scope[FORM] = data
    form = Form(data)
    if not hmac.compare_digest(form.text("form_token").encode(), request.app.state.page.form_token.encode()):
        raise HTTPException(403, "This form is of an earlier session. Load the page again, then send it.")
    return form


def label_of(filename: str) -> str:
    """A file's name as its owner gave it, fit to be shown; never used to open anything."""
    last = filename.replace("\\", "/").rsplit("/", 1)[-1]
    return "".join(c for c in last if c.isprintable())[:NAME_LETTERS] or "file"


def safe_name(text: str, ending: str) -> str:
    """The name of a download: plain letters, digits and dashes, and the ending.

    >>> safe_name("../Sea green №1", "pdf"), safe_name("§", "csv")
    ('sea-green-1.pdf', 'tintmix.csv')
    """
    plain = "".join(c if c.isascii() and c.isalnum() else "-" for c in text.lower())
    plain = "-".join(part for part in plain.split("-") if part)[:60]
    return f"{plain or 'tintmix'}.{ending}"
