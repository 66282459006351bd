"""What a batch sheet on paper is made of: pages with a running head, boxes to tick, lines to write on, swatches, a strip.

Drawn so that it prints well in grey: black on white, colour only where a colour is the thing shown.
"""

from __future__ import annotations

import logging
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from datetime import datetime

from fpdf import FPDF
from fpdf.enums import XPos, YPos

from tintmix.files.stamp import made_at
from tintmix.pictures.fonts import fonts

PAPERS = ("A4", "Letter")
MARGIN_MM = 16.0
FOOT_MM = 14.0
FAMILY = "DejaVu"
BODY, SMALL, TINY = 9.5, 8.0, 7.0
POINT_MM = 0.3528
_GREY = 95
_LIGHT = 200
_PAGES = "{number of pages}"
"""Filled in at the end; no name is likely to hold it."""


class Page(FPDF):
    """Portrait paper in mm, with one family of type and the program's stamp."""

    def __init__(self, paper: str, title: str, made_by: str) -> None:
        super().__init__(orientation="portrait", unit="mm", format=paper.lower())
        for style, path in fonts().items():
            self.add_font(FAMILY, style, path)
        self.set_title(title)
        self.set_creator(made_by)
        self.set_producer(made_by)
        self.set_creation_date(datetime.fromisoformat(made_at()))

    def pen(self, size: float, bold: bool = False, grey: int = 0) -> None:
        """The type of what comes next: points, weight, 0 for black."""
        self.set_font(FAMILY, "B" if bold else "", size)
        self.set_text_color(grey)

    def stroke(self, width_mm: float, grey: int = 0) -> None:
        """The lines of what comes next."""
        self.set_draw_color(grey)
        self.set_line_width(width_mm)

    def say(
        self,
        text: str,
        size: float = BODY,
        bold: bool = False,
        grey: bool = False,
        indent: float = 0.0,
        lead: float = 1.38,
        right: float = 0.0,
    ) -> None:
        """A paragraph across the page, so far from its edges, from the pen's height on, which moves below it."""
        self.pen(size, bold, _GREY if grey else 0)
        self.set_x(self.l_margin + indent)
        wide = self.epw - indent - right
        self.multi_cell(wide, line_mm(size, lead), text, align="L", new_x=XPos.LMARGIN, new_y=YPos.NEXT)

    def fitted(self, text: str, width_mm: float) -> str:
        """A text, shortened with … where it is wider than the room for it."""
        if self.get_string_width(text) <= width_mm:
            return text
        while text and self.get_string_width(text + "…") > width_mm:
            text = text[:-1]
        return text.rstrip() + "…"


class Paper(Page):
    """Of a batch sheet. title, about: at the top of every page, the title shortened if need be, beside its number."""

    def __init__(self, paper: str, title: str, about: str, made_by: str) -> None:
        super().__init__(paper, f"Batch sheet: {title}", made_by)
        self.set_subject("batch sheet")
        self._title, self._about = title, about
        self.c_margin = 0.0
        self.set_margins(MARGIN_MM, MARGIN_MM + 4, MARGIN_MM)
        self.set_auto_page_break(True, FOOT_MM)
        self.alias_nb_pages(_PAGES)
        self.add_page()

    @property
    def right(self) -> float:
        """The right edge of the text."""
        return float(self.w - self.r_margin)

    def header(self) -> None:
        """The running head."""
        self.set_xy(self.l_margin, 9.0)
        self.pen(TINY, grey=_GREY)
        about = f" · {self._about}"
        self.cell(self.epw - 30, 5, self.fitted(self._title, self.epw - 32 - self.get_string_width(about)) + about)
        # The number of pages is filled in at the end: its width is guessed, at one digit.
        number = self.page_no()
        self.set_xy(self.right - self.get_string_width(f"page {number} of {max(number, 9)}"), 9.0)
        self.cell(30, 5, f"page {number} of {_PAGES}")
        self.stroke(0.2, _LIGHT)
        self.line(self.l_margin, 14.5, self.right, 14.5)
        self.set_xy(self.l_margin, MARGIN_MM + 4)

    def room(self, height_mm: float) -> None:
        """Go to a new page where so much does not fit on this one."""
        if self.get_y() + height_mm > self.page_break_trigger:
            self.add_page()

    def gap(self, height_mm: float) -> None:
        """Leave some white; none at the top of a page."""
        if self.get_y() > MARGIN_MM + 5:
            self.set_y(self.get_y() + height_mm)

    def tall(self, text: str, size: float = BODY, bold: bool = False, indent: float = 0.0, lead: float = 1.38) -> float:
        """How high a paragraph will be, in mm."""
        return len(self.folded(text, self.epw - indent, size, bold)) * line_mm(size, lead)

    def heading(self, text: str) -> None:
        """A heading with a rule under it."""
        self.gap(3.5)
        self.room(24)
        self.pen(12.5, bold=True)
        self.set_x(self.l_margin)
        self.multi_cell(self.epw, 6.2, text, align="L", new_x=XPos.LMARGIN, new_y=YPos.NEXT)
        self.stroke(0.35)
        self.line(self.l_margin, self.get_y() + 0.6, self.right, self.get_y() + 0.6)
        self.set_y(self.get_y() + 2.6)

    def band(self, text: str) -> None:
        """A black bar with white letters: what nobody may overlook."""
        self.gap(4)
        self.room(45)
        top = self.get_y()
        self.set_fill_color(0)
        self.rect(self.l_margin, top, self.epw, 10.5, style="F")
        self.pen(14, bold=True, grey=255)
        self.set_xy(self.l_margin + 4, top)
        self.cell(self.epw - 8, 10.5, self.fitted(text, self.epw - 8))
        self.set_text_color(0)
        self.set_xy(self.l_margin, top + 12.5)

    def box(self, x: float, y: float, size: float = 4.0) -> None:
        """A box to tick."""
        self.stroke(0.35)
        self.rect(x, y, size, size)

    def rule(self, x: float, y: float, width: float) -> None:
        """A line to write on."""
        self.stroke(0.2, _GREY)
        self.line(x, y, x + width, y)

    def patch(self, colour: str, x: float, y: float, width: float, height: float, edge: bool = True) -> None:
        """A rectangle of a colour, with a fine edge so that pale ones are seen on white paper."""
        self.set_fill_color(*(int(colour[at : at + 2], 16) for at in (1, 3, 5)))
        self.rect(x, y, width, height, style="F")
        if edge:
            self.stroke(0.15, _GREY)
            self.rect(x, y, width, height)

    def put(
        self,
        x: float,
        y: float,
        text: str,
        width: float = 0.0,
        align: str = "L",
        size: float = BODY,
        bold: bool = False,
        grey: bool = False,
    ) -> None:
        """One line of text at a place, shortened where it would not fit."""
        self.pen(size, bold, _GREY if grey else 0)
        self.set_xy(x, y)
        shown = self.fitted(text, width) if width else text
        self.cell(width or None, line_mm(size), shown, align=align)

    def grid(
        self, heads: Sequence[str], rows: Sequence[Sequence[str]], widths: Sequence[float], size: float = SMALL
    ) -> None:
        """A plain table; the first column left, the others right. widths: shares of the page's width."""
        whole = [self.epw * share / sum(widths) for share in widths]
        table = [
            [self.folded(cell, whole[c] - 2, size, bold=n == 0 or c == 0) for c, cell in enumerate(row)]
            for n, row in enumerate([heads, *rows])
        ]
        heights = [max(map(len, row)) * line_mm(size) + 1.2 for row in table]
        # In one piece where it is short.
        self.room(sum(heights[:12]))
        for n, (row, height) in enumerate(zip(table, heights, strict=True)):
            self.room(height)
            top, x = self.get_y(), self.l_margin
            for c, lines in enumerate(row):
                self.pen(size, bold=n == 0 or c == 0)
                self.set_xy(x, top + 0.6)
                for line in lines:
                    self.set_x(x)
                    align, width = ("L", whole[c] - 2) if c == 0 else ("R", whole[c])
                    self.cell(width, line_mm(size), line, align=align, new_x=XPos.LEFT, new_y=YPos.NEXT)
                x += whole[c]
            self.stroke(0.2, 0 if n == 0 else _LIGHT)
            self.line(self.l_margin, top + height, self.right, top + height)
            self.set_xy(self.l_margin, top + height)

    def folded(self, text: str, width: float, size: float, bold: bool = False) -> list[str]:
        """A text in lines of at most that width."""
        self.pen(size, bold)
        lines = self.multi_cell(width, line_mm(size), text, align="L", dry_run=True, output="LINES")
        assert isinstance(lines, list)
        return lines or [""]


@contextmanager
def quiet() -> Iterator[None]:
    """Without fpdf's word on standard error that a name holds a letter the font has not: an empty box stands there then."""
    log = logging.getLogger("fpdf")
    before = log.level
    log.setLevel(logging.ERROR)
    try:
        yield
    finally:
        log.setLevel(before)


def line_mm(size: float, lead: float = 1.38) -> float:
    """Height of a line of that size, in mm."""
    return size * POINT_MM * lead
