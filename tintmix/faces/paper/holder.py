"""The holder sheet on paper: marks, windows and names where `chips.holder` has them, and a page that tells how to use it.

Only the sheet's own lines are laid out here; what a photo is searched for are the measures of `chips.holder`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Literal

from fpdf import ViewerPreferences

from tintmix.chips.photo import holder
from tintmix.faces.paper.parts import POINT_MM, Page
from tintmix.files.stamp import made_by

Paper = Literal["A4", "Letter"]

_HAIR, _THIN = 0.1, 0.2
_GREY, _PALE = 90, 150
_CHIP_MM = 30.0
"""The usual chip, whose corners are marked round each window."""
_BAR_MM = 100.0
_MARGIN_MM = 17.0
_TEXT, _LEAD = 8.3, 1.32
"""Points, and the height of a line in its size, of the page on its use."""

_MAKE = (
    "Print the sheet at 100 % (“actual size”), on plain white paper of 80 g. The bar on it must be 100 mm long.",
    "Prick through the corners of the four dashed squares round the ring marks onto a piece of black card as large as the "
    "sheet. The card must be opaque: hold it against the panel and look. Cut these four squares out of the card.",
    "Glue the sheet onto the card, its printed side up, so that the marks lie over the four holes: they light up later.",
    "Cut the windows out, through paper and card: those for chips and the open ones. Leave the black ones uncut. Blacken "
    "cut edges that are white.",
    "Put feet under it, 20 to 30 mm high, at the edges and one in the middle, beside the windows (corks, stacked card). A chip "
    "that lies on the panel itself sends light back into it and reads 6 to 10 % too bright.",
)
_CHIPS = f"{holder.SMALLEST_CHIP_MM:g} to {holder.LARGEST_CHIP_MM:g} mm"
_SET_UP = (
    "Lay the holder on the light panel, and cover all of the panel that shows beside it with black card or cloth. Wipe the lens.",
    "Switch the panel on a quarter of an hour before, at one setting, and leave it so: it fades while it warms up.",
    "Fix the camera straight above the middle, lens 500 mm or more from the sheet, so that all four marks are in the picture; "
    "zoom in rather than go nearer. Chips near the edge of a close photo are seen aslant.",
    "Take raw photos (DNG) if the camera or an app for it can. JPEGs are rough. Switch off HDR, night mode, filters and flash.",
    "Lock exposure, white balance and focus on the bare panel. No open window may be overexposed: choose an exposure that "
    "shows the panel light grey, not white.",
    "Darken the room. What the black windows reflect counts as glare and is taken off, but less of it is better.",
)
_TAKE = (
    f"Lay the chips over their windows by the list, each as wide as to cover its window all round ({_CHIPS}). Leave the open "
    "windows open and the black ones uncovered. Check chips lie in K1 and K2.",
    "Take the photo of the chips with the self-timer or a remote, without touching anything.",
    "Take the chips off, move nothing, and take a second photo of the bare windows with the same locked settings.",
)
_MIND = (
    "Use an LED panel that stays cool to the hand. A hot lamp softens chips, scorches card and changes while you work.",
    "Only cured chips: an uncured one sticks to the card, and its resin and hardener harm skin and lungs.",
    "Do not look into a bright panel for long. Cut on a mat with a sharp knife, away from your hand.",
)  # fmt: skip


def holder_pdf(
    paper: Paper, names: Mapping[str, str] | Sequence[Mapping[str, str]] = (), title: str = "", command: str = ""
) -> bytes:
    """The holder sheet and a page on its use, as PDF. names: window → chip, or one such mapping for each photo.

    Names stand beside the windows where one photo takes all chips, else in a list on the second page. title: of the chip
    set. command: what reads the photos. The same bytes for the same input where SOURCE_DATE_EPOCH is set. Raises LibraryMissing.

    >>> holder_pdf("A4")[:5]
    b'%PDF-'
    """
    photos = [names] if isinstance(names, Mapping) else list(names)
    pdf = _Pdf(paper, title)
    photos = [{place: pdf.known(chip) for place, chip in photo.items()} for photo in photos if photo]
    title, command = pdf.known(title), pdf.known(command)
    pdf.add_page()
    _sheet(pdf, photos[0] if len(photos) == 1 else {}, title)
    pdf.set_auto_page_break(True, 12.0)
    pdf.add_page()
    _guide(pdf, photos, title, command)
    return bytes(pdf.output())


class _Pdf(Page):
    """The two pages of the holder sheet."""

    def __init__(self, paper: str, title: str) -> None:
        super().__init__(paper, f"Holder sheet: {title}" if title else "Holder sheet", made_by())
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
        if fill is None:
            self.rect(x - side / 2, y - side / 2, side, side)
            return
        self.set_fill_color(fill)
        self.rect(x - side / 2, y - side / 2, side, side, style="F")

    def known(self, text: str) -> str:
        """A text with "?" for what the fonts do not have."""
        self.pen(_TEXT)
        glyphs = getattr(self.current_font, "cmap", None)
        return text if glyphs is None else "".join(c if ord(c) in glyphs else "?" for c in text)


def _sheet(pdf: _Pdf, laid: Mapping[str, str], title: str) -> None:
    """The page that is cut."""
    x0, y0 = pdf.w / 2, pdf.h / 2
    for dots, (x, y) in enumerate(holder.MARKS_MM, start=1):
        _mark(pdf, x0 + float(x), y0 + float(y), dots)
    for window in holder.WINDOWS:
        _window(pdf, window, x0 + window.x_mm, y0 + window.y_mm, laid.get(window.name, ""))
    top = y0 - 129.0
    pdf.at(x0, top + 2, "Holder sheet for chips on a light panel", 12, bold=True)
    pdf.pen(9)
    if title:
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


def _window(pdf: _Pdf, window: holder.Window, x: float, y: float, chip: str) -> None:
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
    # Upright beside the window: no chip of 32 mm covers it there. The chip's name first: windows and cups are named alike.
    place = f"{window.name} {window.check}".strip()
    place = f"in {place}" if chip else place
    pdf.pen(6.5)
    small = pdf.get_string_width(place)
    pdf.pen(8, bold=True)
    said = pdf.fitted(chip, 30.0 - small - 1.5)
    wide = pdf.get_string_width(said) + 1.5 if said else 0.0
    with pdf.rotation(90, x - 17.8, y):
        left = x - 17.8 - (wide + small) / 2
        if said:
            pdf.text(left, y + 1.0, said)
        pdf.pen(6.5, grey=_GREY)
        pdf.text(left + wide, y + 1.0, place)


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


def _guide(pdf: _Pdf, photos: Sequence[Mapping[str, str]], title: str, command: str) -> None:
    """The page that tells how to use it."""
    pdf.set_xy(pdf.l_margin, 12.0)
    pdf.say(f"Photograph your chips{' – ' + title if title else ''}", 14, bold=True, lead=_LEAD)
    pdf.ln(1.5)
    _drawing(pdf, pdf.l_margin, pdf.get_y(), pdf.epw)
    for head, steps in (("Make the holder", _MAKE), ("Set up", _SET_UP), ("Take the photos", _TAKE)):
        _steps(pdf, head, steps)
    read = command or "tintmix read SET --photo chips.dng --panel bare.dng"
    _steps(pdf, "Read them", (f"{read}   (try it first with --dry-run)",), numbered=False)
    _steps(pdf, "Mind", _MIND, numbered=False)
    if photos:
        _list(pdf, photos)


def _head(pdf: _Pdf, head: str) -> None:
    pdf.ln(1.8)
    pdf.say(head, 10.5, bold=True, lead=_LEAD)
    pdf.ln(0.5)


def _steps(pdf: _Pdf, head: str, steps: Sequence[str], numbered: bool = True) -> None:
    _head(pdf, head)
    for number, step in enumerate(steps, 1):
        top = pdf.get_y()
        pdf.pen(_TEXT)
        pdf.text(pdf.l_margin + 0.5, top + 0.92 * _TEXT * POINT_MM + 0.1, f"{number}." if numbered else "–")
        pdf.say(step, _TEXT, indent=5.5, lead=_LEAD)
        pdf.ln(0.35)


def _drawing(pdf: _Pdf, left: float, top: float, width: float) -> None:
    """The set-up from the side: panel, feet, holder, chips, camera. Not to scale."""
    floor = top + 37.0
    middle = left + width / 2
    pdf.stroke(_THIN)
    pdf.set_fill_color(225)
    pdf.rect(middle - 52, floor - 4, 104, 4, style="DF")
    pdf.set_fill_color(0)
    pdf.rect(middle - 54, floor - 10.6, 108, 0.9, style="F")
    pdf.set_fill_color(160)
    for x in (-46, -0.75, 44.5):
        pdf.rect(middle + x, floor - 9.7, 1.5, 5.7, style="DF")
    for x, tone in ((-36, 205), (-22, 150), (20, 110), (34, 180)):
        pdf.set_fill_color(255)
        pdf.rect(middle + x - 3, floor - 10.7, 6, 1.1, style="F")
        pdf.set_fill_color(tone)
        pdf.rect(middle + x - 5, floor - 13.2, 10, 2.6, style="DF")
    pdf.set_fill_color(255)
    pdf.rect(middle - 11, floor - 10.7, 6, 1.1, style="F")
    pdf.set_fill_color(60)
    pdf.rect(middle - 8, top, 16, 4, style="F")
    pdf.rect(middle - 2.2, top + 4, 4.4, 1.6, style="F")
    pdf.set_draw_color(_PALE)
    pdf.set_dash_pattern(dash=1, gap=1)
    for x in (-50, 50):
        pdf.line(middle, top + 5.6, middle + x, floor - 10.8)
    pdf.set_dash_pattern()
    arrow = middle + 66
    pdf.set_draw_color(0)
    pdf.line(arrow, top + 5.6, arrow, floor - 10.8)
    for y, turn in ((top + 5.6, 1), (floor - 10.8, -1)):
        pdf.line(arrow - 1, y + 2 * turn, arrow, y)
        pdf.line(arrow + 1, y + 2 * turn, arrow, y)
    pdf.stroke(_HAIR, _GREY)
    for x, y, to_x, to_y in (
        (-60, floor - 21, -36, floor - 13.4),
        (-60, floor - 13.5, -53.5, floor - 10.4),
        (-58, floor - 2, -52.2, floor - 2),
        (0, floor - 18.6, -8, floor - 11.2),
        (25, floor - 21, 21, floor - 11.2),
    ):
        pdf.line(middle + x, y, middle + to_x, to_y)
    pdf.pen(7.5)
    for text, x, y in (
        ("camera,", middle + 10, top + 2.2),
        ("exposure and white balance locked", middle + 10, top + 5.6),
        ("500 mm", arrow + 2, (top + floor) / 2 - 4),
        ("or more", arrow + 2, (top + floor) / 2 - 0.6),
        ("open window", middle - 8, floor - 19.4),
        ("window", middle + 22, floor - 21.8),
        ("chip", middle - 67, floor - 20.4),
        ("holder, on feet", left, floor - 13),
        ("20 to 30 mm high", left, floor - 9.6),
        ("light panel", middle - 73.5, floor - 1.2),
        ("black cover round it all", middle + 55, floor - 1.2),
    ):
        pdf.text(x, y, text)
    pdf.set_y(floor + 1.5)


def _list(pdf: _Pdf, photos: Sequence[Mapping[str, str]]) -> None:
    """Which chip lies where: the sheet once more with the names in it, or a line for each photo where there are many."""
    _head(pdf, "Which chip where")
    for number, laid in enumerate(photos, 1):
        if len(photos) > 1:
            pdf.say(f"Photo {number}", _TEXT, bold=True, lead=_LEAD)
        if len(photos) > 2:
            pairs = ", ".join(f"{name}\u00a0{chip}".replace(" ", "\u00a0") for name, chip in laid.items())
            pdf.say(pairs, _TEXT, lead=_LEAD)
            continue
        _grid(pdf, laid)


def _grid(pdf: _Pdf, laid: Mapping[str, str]) -> None:
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
        pdf.text(x + 7, y + 3, pdf.fitted(chip or said, wide - 8))
    pdf.set_y(top + high * len(holder.WINDOWS) / columns + 1)
