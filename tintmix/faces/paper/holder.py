"""The holder sheet on paper: marks, windows and names where `chips.holder` has them, and a page that tells how to use it.

Only the sheet's own lines are laid out here; what a photo is searched for are the measures of `chips.holder`.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any, Literal

from fpdf import ViewerPreferences

from tintmix.chips.photo.foreseen import foreseen_hex
from tintmix.chips.photo.sheet import holder
from tintmix.chips.photo.sheet.holder import Tag
from tintmix.faces.paper.parts import POINT_MM, Page
from tintmix.files.stamp import made_by

Paper = Literal["A4", "Letter"]

_HAIR, _THIN = 0.1, 0.2
_GREY, _PALE = 90, 150
_CHIP_MM = 30.0
"""The usual chip, whose corners are marked round each window."""
_BAR_MM = 100.0
_LARGE, _IN_ONE_LINE, _LEAST_LARGE = 12.0, 8.0, 5.0
"""Points of a chip's name: as large as its window's frame takes it, in two lines before it gets small."""
_FILLED = 0.98
"""Of the room for a name: widths are rounded, and a name that just fits is not to lose its end."""
_LINE_MM = 2.7
"""From line to line of a name in two: eight points."""
_NAME_MM, _TAG_MM, _SWATCH_MM = 28.0, 12.2, 5.0
"""How wide a name may be, how far from the window's middle it stands, and the edge of a swatch."""
_MARGIN_MM = 17.0
_EDGE_MM = 9.0
"""Of the page on its use, above and below: printers reach so far, and on Letter its list ends on this page."""
_TEXT, _LEAD = 8.3, 1.27
"""Points, and the height of a line in its size, of the page on its use."""

_SWATCHES = "Swatches show what is predicted, roughly: grey where only the light through is. Like colours lie apart."
_CHIPS = f"{holder.SMALLEST_CHIP_MM:g} to {holder.LARGEST_CHIP_MM:g} mm"


def holder_pdf(
    paper: Paper,
    names: Sequence[Mapping[str, str]] = (),
    title: str = "",
    command: str = "",
    tags: Mapping[str, Tag] | None = None,
) -> bytes:
    """The holder sheet and a page on its use, as PDF. names: window → chip, for each photo.

    Names stand at the windows where one photo takes all chips, else in a list on the second page. title: of the chip
    set. command: what reads the photos. tags: what stands at a chip's window; else its name. The same bytes for the same input
    where SOURCE_DATE_EPOCH is set. Raises LibraryMissing.

    >>> holder_pdf("A4")[:5]
    b'%PDF-'
    """
    pdf = _Pdf(paper, title)
    photos = [{place: pdf.known(chip) for place, chip in photo.items()} for photo in names if photo]
    title, command = pdf.known(title), pdf.known(command)
    pdf.add_page()
    labels = {chip: replace(tag, name=pdf.known(tag.name)) for chip, tag in (tags or {}).items()}
    laid = photos[0] if len(photos) == 1 else {}
    _sheet(pdf, {place: labels.get(chip, Tag(chip)) for place, chip in laid.items()}, title)
    pdf.set_auto_page_break(True, _EDGE_MM)
    pdf.add_page()
    _guide(pdf, photos, title, command, labels)
    return bytes(pdf.output())


class _Pdf(Page):
    """The two pages of the holder sheet."""

    def __init__(self, paper: str, title: str) -> None:
        super().__init__(paper, f"Holder sheet: {title}" if title else "Holder sheet", made_by())
        self.set_subject("holder sheet")
        self.set_auto_page_break(False)
        self.set_margins(_MARGIN_MM, 14.0, _MARGIN_MM)
        # Where the viewer heeds it, the page is then not shrunk to the printer's margins.
        self.viewer_preferences = ViewerPreferences(print_scaling="None")

    def at(self, x: float, y: float, text: str, size: float, bold: bool = False, grey: int = 0) -> None:
        """A line of text, its middle at x and its middle height at y."""
        self.pen(size, bold, grey)
        self.text(x - self.get_string_width(text) / 2, y + 0.36 * size * POINT_MM, text)

    def square(self, x: float, y: float, side: float, fill: int | None = None) -> None:
        """A square round a middle, filled or drawn."""
        if fill is not None:
            self.set_fill_color(fill)
        self.rect(x - side / 2, y - side / 2, side, side, style="D" if fill is None else "F")

    def known(self, text: str) -> str:
        """A text with "?" for what the fonts do not have."""
        self.pen(_TEXT)
        glyphs = getattr(self.current_font, "cmap", None)
        return text if glyphs is None else "".join(c if ord(c) in glyphs else "?" for c in text)


def _sheet(pdf: _Pdf, laid: Mapping[str, Tag], title: str) -> None:
    """The page that is cut."""
    x0, y0 = pdf.w / 2, pdf.h / 2
    for dots, (x, y) in enumerate(holder.MARKS_MM, start=1):
        _mark(pdf, x0 + float(x), y0 + float(y), dots)
    for window in holder.WINDOWS:
        _window(pdf, window, x0 + window.x_mm, y0 + window.y_mm, laid.get(window.name))
    top = y0 - 129.0
    pdf.at(x0, top + 2, "Holder sheet for chips on a light panel", 12, bold=True)
    pdf.pen(9)
    pdf.at(x0, top + 7.6, pdf.fitted(title, 118), 9)
    _bar(pdf, x0, top + 15)
    foot = y0 + 107.0
    told = (
        "Glue onto opaque black card. In the card, not in the paper, cut out the four",
        "dashed squares at the corners. Cut the windows out through both;",
        "leave the black ones as they are. No side is up: the dots tell.",
    )
    for i, line in enumerate(told):
        pdf.at(x0, foot + 4.4 * i, line, 8)
    pdf.at(x0, foot + 15.5, f"Chips {_CHIPS} wide, laid over the windows, on feet 20 to 30 mm above the panel.", 8)
    pdf.at(x0, foot + 20.5, made_by(), 6, grey=_PALE)


def _mark(pdf: _Pdf, x: float, y: float, dots: int) -> None:
    pdf.stroke(_HAIR, _PALE)
    pdf.set_dash_pattern(dash=1, gap=1)
    pdf.square(x, y, holder.MARK_MM)
    pdf.set_dash_pattern()
    pdf.square(x, y, holder.RING_OUTER_MM, fill=0)
    pdf.square(x, y, holder.RING_INNER_MM, fill=255)
    pdf.set_fill_color(0)
    for dx, dy in holder.DOTS_MM[dots]:
        pdf.circle(x + dx, y + dy, holder.DOT_MM / 2, style="F")


def _window(pdf: _Pdf, window: holder.Window, x: float, y: float, tag: Tag | None) -> None:
    half = holder.WINDOW_MM / 2
    if window.role == "blocked":
        pdf.square(x, y, holder.WINDOW_MM, fill=0)
        pdf.at(x, y + half + 2.6, "leave uncut", 6.5, grey=_GREY)
    else:
        pdf.stroke(_THIN)
        pdf.square(x, y, holder.WINDOW_MM)
        pdf.at(x, y, "cut out", 6.5, grey=_PALE)
    if window.role == "open":
        pdf.at(x, y + half + 2.6, "open: no chip", 6.5, grey=_GREY)
    elif window.role != "blocked":
        _corners(pdf, x, y)
        if window.check and tag is None:
            pdf.at(x, y + half + 2.6, f"{window.check}: check chip or empty", 6, grey=_GREY)
    if tag is not None:
        _tag(pdf, x, y, tag)
    # Upright beside the window: no chip of 32 mm covers it there.
    place = f"{window.place} {window.check}".strip()
    pdf.pen(6.5, grey=_GREY)
    with pdf.rotation(90, x - 17.8, y):
        pdf.text(x - 17.8 - pdf.get_string_width(place) / 2, y + 1.0, place)


def _tag(pdf: _Pdf, x: float, y: float, tag: Tag) -> None:
    """A chip's name large above its window; below it how thick it is, and a swatch of what is foreseen."""
    lines, size = _lines(pdf, tag.name)
    pdf.pen(size, bold=True)
    for at, line in enumerate(lines):
        off = (at - (len(lines) - 1) / 2) * _LINE_MM
        pdf.at(x, y - _TAG_MM + off, pdf.fitted(line, _NAME_MM), size, bold=True)
    colour = foreseen_hex(tag.foreseen)
    pdf.at(x - (_SWATCH_MM if colour else 0.0), y + _TAG_MM, tag.below, _LARGE, bold=True)
    if colour:
        pdf.set_fill_color(*bytes.fromhex(colour[1:]))
        pdf.stroke(_HAIR, _GREY)
        pdf.rect(x + _SWATCH_MM + 1.0, y + _TAG_MM - _SWATCH_MM / 2, _SWATCH_MM, _SWATCH_MM, style="DF")


def _lines(pdf: _Pdf, name: str) -> tuple[list[str], float]:
    """A name in one line or two, and in how many points it fits the frame."""

    def size_of(lines: Sequence[str]) -> float:
        pdf.pen(_LARGE, bold=True)
        return min(_LARGE, _FILLED * _LARGE * _NAME_MM / max(map(pdf.get_string_width, lines)))

    if not name or size_of([name]) >= _IN_ONE_LINE:
        return [name], size_of([name or "-"])
    # Parted behind a sign that parts its words, where there is one about the middle.
    ends = [at for at in range(1, len(name)) if name[at - 1] in "+- "] or [len(name) // 2]
    end = max(ends, key=lambda at: size_of([name[:at], name[at:]]))
    size = min(_IN_ONE_LINE, size_of([name[:end], name[end:]]))
    return [name[:end].strip(), name[end:].strip()], max(size, _LEAST_LARGE)


def _corners(pdf: _Pdf, x: float, y: float) -> None:
    """Where the corners of the usual chip come to lie."""
    pdf.stroke(_HAIR, _PALE)
    half, arm = _CHIP_MM / 2, 2.5
    for sx in (-1, 1):
        for sy in (-1, 1):
            cx, cy = x + sx * half, y + sy * half
            pdf.line(cx, cy, cx - sx * arm, cy)
            pdf.line(cx, cy, cx, cy - sy * arm)


def _bar(pdf: _Pdf, x: float, y: float) -> None:
    """The bar that shows whether the page was printed at its size."""
    pdf.stroke(_THIN)
    left = x - _BAR_MM / 2
    pdf.line(left, y, left + _BAR_MM, y)
    for tick in range(11):
        tall = 2.2 if tick % 5 == 0 else 1.4
        pdf.line(left + 10 * tick, y - tall, left + 10 * tick, y + (tall if tick % 10 == 0 else 0))
    pdf.at(x, y + 4.4, "This bar must be 100 mm long. If not, print again at 100 % (“actual size”).", 7.5)


def _guide(pdf: _Pdf, photos: Sequence[Mapping[str, str]], title: str, command: str, tags: Mapping[str, Tag]) -> None:
    """The page that tells how to use it."""
    pdf.set_xy(pdf.l_margin, _EDGE_MM)
    pdf.say(f"Photograph your chips{' – ' + title if title else ''}", 14, bold=True, lead=_LEAD)
    pdf.ln(1.5)
    table = tomllib.loads(Path(__file__).with_name("holder.toml").read_text(encoding="utf-8"))
    _drawing(pdf, table["drawing"])
    read = command or "tintmix read SET --photo chips.dng --panel bare.dng"
    for chapter in table["chapters"]:
        _head(pdf, chapter["head"])
        for number, step in enumerate(chapter["says"], 1):
            top = pdf.get_y()
            pdf.pen(_TEXT)
            numbered = f"{number}." if chapter["numbered"] else "–"
            pdf.text(pdf.l_margin + 0.5, top + 0.92 * _TEXT * POINT_MM + 0.1, numbered)
            pdf.say(step.format(chips=_CHIPS, command=read), _TEXT, indent=5.5, lead=_LEAD)
            pdf.ln(0.35)
        if chapter.get("haze"):
            _haze(pdf)
    if photos:
        _list(pdf, photos, tags)


def _head(pdf: _Pdf, head: str) -> None:
    pdf.ln(1.8)
    pdf.say(head, 10.5, bold=True, lead=_LEAD)
    pdf.ln(0.5)


def _drawing(pdf: _Pdf, drawn: Mapping[str, Any]) -> None:
    """The set-up from the side: panel, feet, holder, chips, camera. Not to scale."""
    middle, top = pdf.w / 2, pdf.get_y()

    def lines(ends: Sequence[Sequence[float]]) -> None:
        for x, y, to_x, to_y in ends:
            pdf.line(middle + x, top + y, middle + to_x, top + to_y)

    pdf.stroke(_THIN)
    for x, y, wide, high, grey, style in drawn["rectangles"]:
        pdf.set_fill_color(grey)
        pdf.rect(middle + x, top + y, wide, high, style=style)
    lines(drawn["arrow"])
    pdf.stroke(_THIN, _PALE)
    pdf.set_dash_pattern(dash=1, gap=1)
    lines(drawn["sight"])
    pdf.set_dash_pattern()
    pdf.stroke(_HAIR, _GREY)
    lines(drawn["pointers"])
    pdf.pen(7.5)
    for name, x, y in drawn["names"]:
        pdf.text(middle + x, top + y, name)
    pdf.set_y(top + drawn["high"] + 1.5)


def _haze(pdf: _Pdf) -> None:
    """A printed line seen through a clear, a slightly hazy and a milky chip."""
    top = pdf.get_y() + 0.6
    for at, (word, ink, veil) in enumerate(
        (("clear: sharp", 0, ()), ("slight: soft edges", 40, (0.35, 0.7)), ("milky: a veil", 190, (0.5, 1.0, 1.5)))
    ):
        x = pdf.l_margin + 26 + 60 * at
        pdf.stroke(_HAIR, _GREY)
        pdf.rect(x - 14, top, 28, 9)
        for far in reversed(veil):
            for dx, dy in ((-far, 0), (far, 0), (0, -far), (0, far)):
                pdf.at(x + dx, top + 4.5 + dy, "prism", 14, grey=205 + round(25 * far))
        pdf.at(x, top + 4.5, "prism", 14, grey=ink)
        pdf.at(x, top + 11.2, word, 7)
    pdf.set_y(top + 13.4)


def _list(pdf: _Pdf, photos: Sequence[Mapping[str, str]], tags: Mapping[str, Tag]) -> None:
    """Which chip lies where: the sheet once more with the names in it, or a line for each photo where there are many."""
    _head(pdf, "Which chip where")
    for number, laid in enumerate(photos, 1):
        if len(photos) > 1:
            pdf.say(f"Photo {number}", _TEXT, bold=True, lead=_LEAD)
        if len(photos) > 2:
            pairs = ", ".join(
                f"{holder.told_place(name)}:\u00a0{chip}".replace(" ", "\u00a0") for name, chip in laid.items()
            )
            pdf.say(pairs, _TEXT, lead=_LEAD)
        else:
            _grid(pdf, laid, tags)
    if any(tag.foreseen for tag in tags.values()):
        pdf.say(_SWATCHES, _TEXT, lead=_LEAD)


def _grid(pdf: _Pdf, laid: Mapping[str, str], tags: Mapping[str, Tag]) -> None:
    """The windows in their rows; about 26 mm high."""
    columns = len({window.x_mm for window in holder.WINDOWS})
    wide, high = pdf.epw / columns, 4.2
    top = pdf.get_y()
    pdf.stroke(_HAIR, _PALE)
    for at, window in enumerate(holder.WINDOWS):
        x, y = pdf.l_margin + wide * (at % columns), top + high * (at // columns)
        pdf.rect(x, y, wide, high)
        chip = laid.get(window.name, "")
        said = {"open": "open", "blocked": "black"}.get(window.role, window.check)
        pdf.pen(7, grey=_GREY)
        pdf.text(x + 1, y + 3, window.name)
        pdf.pen(7.5, bold=bool(chip), grey=0 if chip else _PALE)
        if (long := pdf.get_string_width(chip) / (_FILLED * (wide - 11.5))) > 1:
            # The thickness stands last in a name: smaller rather than cut.
            pdf.pen(max(4.5, 7.5 / long), bold=True)
        pdf.text(x + 7, y + 3, pdf.fitted(chip or said, wide - 11.5))
        if colour := foreseen_hex(tags[chip].foreseen if chip in tags else ""):
            pdf.set_fill_color(*bytes.fromhex(colour[1:]))
            pdf.rect(x + wide - 3.6, y + 0.6, 3.0, 3.0, style="F")
    pdf.set_y(top + high * len(holder.WINDOWS) / columns + 1)
