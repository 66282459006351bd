"""The batch sheet on paper: a PDF that is read at the bench like a recipe in the kitchen."""

from __future__ import annotations

from collections.abc import Sequence

from PIL import Image

from tintmix.desk.bench.castings import CastingDrawn
from tintmix.faces.cautions_text import SOURCES, TITLE
from tintmix.faces.paper.parts import BODY, SMALL, TINY, Paper, quiet
from tintmix.faces.paper.sheet_words import exactness, facts, ingredient, off_target, through, triple
from tintmix.faces.remedies import told_on_paper as told
from tintmix.numerals import numeral, percent
from tintmix.sheet.cautions import sources_of
from tintmix.sheet.lines import Blank, Line, Stage, Step, grams_plain, one_line
from tintmix.sheet.looks import CupLook, PlaceLook
from tintmix.sheet.sheet import BASIS, Sheet

_STRIP_MM = 13.0
_PATCH_MM = 11.0
_LINE_MM = 7.6
_NUMBER_AT, _NUMBER_MM = 92.0, 30.0
_INDENT = 8.0
_NUMBERED = 7.0
_CASTING_MM = 62.0
"""The longer side of a casting's picture."""
_PAGE_MM = 225.0
"""What surely fits on one page of either paper."""
_FINE = 6.3
_MARKS = 6
"""At most so many places are marked on the strip with their thickness; more would overlap."""


def pdf_of(sheet: Sheet, castings: Sequence[CastingDrawn] = (), paper: str = "A4") -> bytes:
    """The sheet as the bytes of a PDF, on A4 or Letter. The same sheet at the same SOURCE_DATE_EPOCH gives the same bytes.
    castings: to be shown in its tint.

    Raises LibraryMissing.
    """
    about = f"batch sheet, {grams_plain(sheet.weighed.batch_g)} · {sheet.fingerprint} · {sheet.made_on}"
    pdf = Paper(paper, sheet.title, about, sheet.made_by)
    _title(pdf, sheet)
    _cautions(pdf, sheet)
    _notes(pdf, sheet)
    _appearance(pdf, sheet, castings)
    _ingredients(pdf, sheet)
    for stage in sheet.stages:
        _stage(pdf, stage, sheet)
    _signature(pdf)
    _exactness(pdf, sheet)
    _sources(pdf, sheet)
    with quiet():
        return bytes(pdf.output())


def _title(pdf: Paper, sheet: Sheet) -> None:
    pdf.say(sheet.title, 21, bold=True, lead=1.2)
    pdf.say(sheet.headline, 12)
    pdf.gap(1.5)
    for name, value in facts(sheet):
        top = pdf.get_y()
        pdf.put(pdf.l_margin, top, name, 24, size=SMALL, grey=True)
        pdf.set_xy(pdf.l_margin, top)
        pdf.say(value, SMALL, indent=24)


def _notes(pdf: Paper, sheet: Sheet) -> None:
    """What has to be known before all else, in a frame."""
    if not sheet.notes:
        return
    inner = 4.0
    height = sum(pdf.tall(note, SMALL, indent=2 * inner) + 1.2 for note in sheet.notes) + 3
    pdf.gap(1)
    pdf.room(height)
    top = pdf.get_y()
    pdf.stroke(0.5)
    pdf.rect(pdf.l_margin, top, pdf.epw, height)
    pdf.set_y(top + 1.8)
    for note in sheet.notes:
        pdf.say(note, SMALL, indent=inner, right=inner)
        pdf.set_y(pdf.get_y() + 1.2)
    pdf.set_xy(pdf.l_margin, top + height + 1)


def _appearance(pdf: Paper, sheet: Sheet, castings: Sequence[CastingDrawn]) -> None:
    looks = sheet.looks
    pdf.heading("What it will look like")
    pdf.room(_STRIP_MM + 12)
    _strip(pdf, sheet)
    pdf.say(
        f"One tint from thin to thick, over bare light {looks.light}; the marks are the places on the casting. Colours on "
        "paper are a hint, not a proof.",
        TINY,
        grey=True,
    )
    for casting in castings:
        _casting(pdf, casting)
    pdf.gap(2)
    _place_heads(pdf)
    for place in looks.places:
        if pdf.get_y() + _PATCH_MM + 2 > pdf.page_break_trigger:
            pdf.add_page()
            _place_heads(pdf)
        _place(pdf, place)
    pdf.say(
        f"Light {looks.light}, {looks.observer}° observer. ± is ΔE00: 95 times in 100 the colour lies within it; from "
        "the model (what the chips leave open) and from the weighing. 1 is just seen side by side, 5 is plainly another colour.",
        TINY,
        grey=True,
    )


def _strip(pdf: Paper, sheet: Sheet) -> None:
    strip, top = sheet.looks.strip, pdf.get_y()
    whole = strip[-1][0]
    left = 0.0
    for at, colour in strip:
        x, right = pdf.l_margin + pdf.epw * left / whole, pdf.l_margin + pdf.epw * at / whole
        # A hair wider than it is, so that no white shows between two patches.
        pdf.patch(colour, x, top, min(right - x + 0.15, pdf.right - x), _STRIP_MM, edge=False)
        left = at
    pdf.stroke(0.15, 95)
    pdf.rect(pdf.l_margin, top, pdf.epw, _STRIP_MM)
    low = top + _STRIP_MM
    used = -99.0
    # A thickness as it was typed, a path as far as it is known.
    marks = {place.length_mm: numeral(place.length_mm, 6 if place.behind else 3) for place in sheet.looks.places}
    for number, thickness in enumerate(sorted(marks)):
        x = pdf.l_margin + pdf.epw * thickness / whole
        pdf.stroke(0.3)
        pdf.line(x, low, x, low + 1.8)
        if x - used >= 15 and (len(marks) <= _MARKS or number in (0, len(marks) - 1)):
            pdf.put(x - 10, low + 1.6, f"{marks[thickness]} mm", 20, "C", SMALL)
            used = x
    pdf.set_xy(pdf.l_margin, low + 6.5)


def _casting(pdf: Paper, casting: CastingDrawn) -> None:
    """The casting in the tint, what it is beside it."""
    height, width, _ = casting.levels.shape
    wide = _CASTING_MM * width / max(width, height)
    high = wide * height / width
    pdf.gap(2)
    pdf.room(max(high, 20) + 2)
    top, indent = pdf.get_y(), wide + 5
    pdf.image(Image.fromarray(casting.levels), pdf.l_margin, top, wide, high)
    pdf.stroke(0.15, 95)
    pdf.rect(pdf.l_margin, top, wide, high)
    pdf.say("The casting in this tint, as it will be weighed", SMALL, bold=True, indent=indent)
    pdf.say(casting.says, SMALL, indent=indent)
    pdf.say(
        "Left out: light that it throws on what it lies on, rough faces, bubbles, and all that stands around it.",
        TINY,
        grey=True,
        indent=indent,
    )
    pdf.set_xy(pdf.l_margin, max(pdf.get_y(), top + high) + 1)


_COLUMNS = (
    ("place on the casting", 0, 44), ("will be", 44, 16), ("wanted", 60, 16), ("L* a* b*, wanted below", 80, 36),
    ("off by ΔE00", 114, 20), ("± model", 134, 14), ("± weighing", 148, 16), ("light", 164, 14),
)  # fmt: skip
"""Of the table of places: its head, where each column begins, and how wide it is, in mm of 178."""


def _at(pdf: Paper, column: int) -> tuple[float, float]:
    stretch = pdf.epw / 178.0
    _, start, width = _COLUMNS[column]
    return pdf.l_margin + start * stretch, width * stretch


def _place_heads(pdf: Paper) -> None:
    top = pdf.get_y()
    for column, (head, _, _) in enumerate(_COLUMNS):
        x, width = _at(pdf, column)
        pdf.put(x, top, head, width, "L" if column < 4 else "R", _FINE, grey=True)
    pdf.set_xy(pdf.l_margin, top + 4)


def _place(pdf: Paper, place: PlaceLook) -> None:
    top, middle = pdf.get_y(), pdf.get_y() + 3.2
    x, width = _at(pdf, 0)
    behind = "" if place.behind in (None, "panel") else f", over {place.behind}"
    depth, size = f"{place.depth}{behind}", SMALL if place.behind is not None else _FINE
    name = pdf.folded(place.name, width - 1.5, SMALL, True)
    if len(name) == 1:
        pdf.put(x, top + 0.8, name[0], bold=True, size=SMALL)
        pdf.put(x, top + 5, depth, width - 1, size=size)
    else:
        first, *rest = pdf.folded(place.name, width - 1.5, _FINE, True)
        pdf.put(x, top, first, bold=True, size=_FINE)
        pdf.put(x, top + 3.3, " ".join(rest), width - 1.5, bold=True, size=_FINE)
        pdf.put(x, top + 6.8, depth, width - 1, size=size)
    x, width = _at(pdf, 1)
    pdf.patch(place.srgb, x, top + 0.5, width, _PATCH_MM - 1)
    x, width = _at(pdf, 2)
    if place.target_srgb is not None:
        pdf.patch(place.target_srgb, x, top + 0.5, width, _PATCH_MM - 1)
    else:
        pdf.put(x + 2, middle, "no target", width, size=TINY, grey=True)
    x, width = _at(pdf, 3)
    pdf.put(x, top + 0.8, triple(place.lab, "  "), width, size=SMALL, bold=True)
    if place.target_lab is not None:
        pdf.put(x, top + 5, triple(place.target_lab, "  "), width, size=SMALL, grey=True)
    told = (
        off_target(place),
        f"{place.model_delta_e00_95:.1f}",
        f"{place.weighing_delta_e00_95:.1f}",
        percent(place.luminous_transmittance),
    )
    for column, text in enumerate(told, start=4):
        x, width = _at(pdf, column)
        pdf.put(x, middle, text, width, "R", SMALL)
    pdf.set_xy(pdf.l_margin, top + _PATCH_MM + 0.8)


def _ingredients(pdf: Paper, sheet: Sheet) -> None:
    pdf.heading(f"What goes in: {sheet.headline}")
    rows = [[name + strong, *row] for name, strong, row in map(ingredient, sheet.ingredients)]
    pdf.grid(["in all, stock bottles included", "grams", "wanted, phr", "as weighed, phr"], rows, (88, 30, 30, 30))
    pdf.gap(0.8)
    pdf.say(f"{BASIS} What comes with a stock bottle counts as resin.", TINY, grey=True)


def _cautions(pdf: Paper, sheet: Sheet) -> None:
    """Before the first weight, in full ink; what kills or maims in larger letters."""
    pdf.heading(TITLE)
    for number, caution in enumerate(sheet.cautions, start=1):
        size = BODY if caution.grave else SMALL
        pdf.room(pdf.tall(caution.sentence, size, caution.grave, indent=_NUMBERED, lead=1.3))
        top = pdf.get_y()
        pdf.put(pdf.l_margin, top, f"{number}.", _NUMBERED - 1.5, "R", size, caution.grave)
        pdf.set_xy(pdf.l_margin, top)
        pdf.say(caution.sentence, size, caution.grave, indent=_NUMBERED, lead=1.3)
        pdf.set_y(pdf.get_y() + 0.9)


def _sources(pdf: Paper, sheet: Sheet) -> None:
    pdf.heading(SOURCES)
    for numbers, source in sources_of(sheet.cautions):
        told = f"{numbers}: {source}"
        pdf.room(pdf.tall(told, TINY))
        pdf.say(told, TINY, grey=True)


def _stage(pdf: Paper, stage: Stage, sheet: Sheet) -> None:
    if stage.clock:
        # Whoever works against the clock turns no page, if one page can hold it.
        whole = 30.0 + sum(_step_height(pdf, step) for step in stage.steps)
        pdf.room(whole if whole < _PAGE_MM else 60.0)
        pdf.band(stage.title)
        top = pdf.get_y() + 0.5
        pdf.put(pdf.l_margin, top, "clock started at", 30, size=BODY)
        pdf.rule(pdf.l_margin + 30, top + 4.5, 34)
        pdf.put(pdf.l_margin + 70, top, "poured before", 26, size=BODY)
        pdf.rule(pdf.l_margin + 96, top + 4.5, 34)
        pdf.set_xy(pdf.l_margin, top + 7)
    else:
        # No heading without its first step.
        pdf.room(13.0 + pdf.tall(stage.says, BODY) + _whole(pdf, stage.steps[0]))
        pdf.heading(stage.title)
    if stage.says:
        pdf.say(stage.says, BODY, grey=not stage.clock)
        pdf.gap(1)
    for step in stage.steps:
        _step(pdf, step, sheet)


def _step_height(pdf: Paper, step: Step) -> float:
    height = pdf.tall(step.title, 10.5, bold=True, indent=_INDENT) + 2.2
    height += sum(pdf.tall(said, BODY, indent=_INDENT) for said in map(told, step.says))
    height += sum(_weight_height(pdf, line) for line in step.lines) + 7.0 * len(step.blanks)
    return height + (15.0 if step.shows_cups else 0.0)


def _whole(pdf: Paper, step: Step) -> float:
    """What a step asks for so that it stays in one piece, where a page can hold it."""
    return min(_step_height(pdf, step), 120.0)


def _step(pdf: Paper, step: Step, sheet: Sheet) -> None:
    pdf.room(_whole(pdf, step))
    top = pdf.get_y()
    pdf.box(pdf.l_margin, top + 0.6, 4.2)
    pdf.set_xy(pdf.l_margin, top)
    pdf.say(step.title, 10.5, bold=True, indent=_INDENT)
    for number, said in enumerate(map(told, step.says)):
        pdf.say(said, BODY, indent=_INDENT)
        if step.shows_cups and number == 0:
            _cups(pdf, sheet.looks.cups)
    for line in step.lines:
        _weight(pdf, line)
    for blank in step.blanks:
        _blank(pdf, blank)
    pdf.gap(2.2)


_NAME_MM, _NAME_LINE_MM, _NOTE_MM = _NUMBER_AT - _INDENT - 9, 5.0, 3.4


def _weight_height(pdf: Paper, line: Line) -> float:
    names = len(pdf.folded(line.what, _NAME_MM, 10.5))
    return _LINE_MM + (names - 1) * _NAME_LINE_MM + (_NOTE_MM if line.note else 0.0)


def _weight(pdf: Paper, line: Line) -> None:
    height = _weight_height(pdf, line)
    pdf.room(height)
    top, left = pdf.get_y() + 0.8, pdf.l_margin + _INDENT
    pdf.box(left, top + 1.1, 4.2)
    for number, name in enumerate(pdf.folded(line.what, _NAME_MM, 10.5)):
        pdf.put(left + 6.5, top + 0.6 + number * _NAME_LINE_MM, name, size=10.5)
    pdf.put(pdf.l_margin + _NUMBER_AT, top + 0.3, line.shown, _NUMBER_MM, "R", 11.5, bold=True)
    start = pdf.l_margin + _NUMBER_AT + _NUMBER_MM + 4
    pdf.put(start, top + 1, "actual", 12, size=TINY, grey=True)
    pdf.rule(start + 12, top + 5.4, pdf.right - start - 17)
    pdf.put(pdf.right - 4, top + 1, "g", 4, "R", size=SMALL)
    if line.note:
        pdf.put(left + 6.5, top + height - _LINE_MM + 2.4, line.note, pdf.right - left - 7, size=TINY, grey=True)
    pdf.set_xy(pdf.l_margin, top + height - 0.8)


def _blank(pdf: Paper, blank: Blank) -> None:
    pdf.room(7)
    top = pdf.get_y() + 1.2
    pdf.put(pdf.l_margin + _INDENT, top, blank.what, _NUMBER_AT + _NUMBER_MM - _INDENT, "R", BODY)
    start = pdf.l_margin + _NUMBER_AT + _NUMBER_MM + 4
    pdf.rule(start, top + 4.6, pdf.right - start - 5)
    if blank.unit:
        pdf.put(pdf.right - 4, top, blank.unit, 4, "R", size=SMALL)
    pdf.set_xy(pdf.l_margin, top + 5.8)


def _cups(pdf: Paper, cups: Sequence[CupLook]) -> None:
    pdf.room(15)
    top, x = pdf.get_y() + 1, pdf.l_margin + _INDENT
    for cup in cups:
        pdf.patch(cup.srgb, x, top, 22, 12)
        pdf.put(x + 24, top + 0.2, f"{numeral(cup.depth_mm)} mm deep", 52, size=SMALL, bold=True)
        pdf.put(x + 24, top + 4.2, f"L* a* b*  {triple(cup.lab, '  ')}", 52, size=SMALL)
        pdf.put(x + 24, top + 8.2, through(cup), 52, size=SMALL)
        x += 82
    pdf.set_xy(pdf.l_margin, top + 14)


def _exactness(pdf: Paper, sheet: Sheet) -> None:
    told, rows = exactness(sheet)
    pdf.room(26.0 + 5.2 * len(rows))
    pdf.heading("How exact the weighing is")
    pdf.say(told, BODY)
    pdf.gap(1)
    if rows:
        pdf.grid(["what may be off", "its spread (1 sd)", "ΔE00 (95 %), alone"], rows, (110, 32, 36))
        pdf.gap(1)
    for advice in sheet.weighed.advice if sheet.weighed.meets_aim else ():
        pdf.say(one_line(advice), BODY)


def _signature(pdf: Paper) -> None:
    pdf.room(36)
    pdf.gap(1)
    pdf.say("Notes, and anything that went otherwise:", SMALL, grey=True)
    for _ in range(3):
        pdf.set_y(pdf.get_y() + 7)
        pdf.rule(pdf.l_margin, pdf.get_y(), pdf.epw)
    pdf.set_y(pdf.get_y() + 8)
    top = pdf.get_y()
    pdf.put(pdf.l_margin, top, "date", 12, size=SMALL, grey=True)
    pdf.rule(pdf.l_margin + 12, top + 4, 46)
    pdf.put(pdf.l_margin + 68, top, "signature", 18, size=SMALL, grey=True)
    pdf.rule(pdf.l_margin + 86, top + 4, pdf.epw - 86)
    pdf.set_xy(pdf.l_margin, top + 6)
