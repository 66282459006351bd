"""A row of cards, one for each section: its colour, and a table of what is known of it underneath."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from tintmix.numerals import percent
from tintmix.optics.spectrum import Array
from tintmix.pictures import words
from tintmix.pictures.style import SOFT, Role, Sheet, line_height, wrapped
from tintmix.pigments.model import Look

_SWATCH = 0.72
_LIFTED = 0.3
_NAME_LINES = 2


@dataclass(frozen=True, slots=True)
class Card:
    """A section: its name (or nothing), its thickness, its colour on a screen (3,), and that colour lifted, with its
    stops.
    """

    name: str
    thickness: str
    rgb: Array
    lift: tuple[Array, int] | None = None


Rows = list[tuple[str, list[str]]]


def card_rows(look: Look) -> Rows:
    """The table under the cards: a label, and a cell for each section."""
    sections = range(len(look.sections))
    rows: Rows = []
    if len({section.ground.name for section in look.sections}) > 1:
        rows.append(("behind it", [words.behind(section.ground) for section in look.sections]))
    rows.append(("light through", [percent(float(look.luminous_transmittance[s])) for s in sections]))
    rows.append(("L*, a*, b*", ["  ".join(words.number(float(value)) for value in look.lab[s]) for s in sections]))
    rows.append(("± ΔE₀₀ (95 %)", [words.number(float(look.delta_e00_95[s])) for s in sections]))
    if look.haze is not None:
        rows.append(("haze", [percent(float(look.haze[s])) for s in sections]))
    return rows


def draw_cards(
    sheet: Sheet | None,
    cards: Sequence[Card],
    rows: Rows,
    centres: Sequence[float],
    top: float,
    wide: float,
    margin: float,
) -> float:
    """Cards about these centres, `wide` inches each; the height they take. Without a sheet nothing is drawn."""
    names = [wrapped(card.name, "strong", wide, _NAME_LINES) if card.name else [] for card in cards]
    named = max(len(lines) for lines in names)
    lifted = any(card.lift for card in cards)
    y = top + _SWATCH
    for card, centre in zip(cards, centres, strict=True):
        if sheet is not None:
            sheet.box(centre - wide / 2, top, wide, _SWATCH, facecolor=tuple(card.rgb)).set_gid("card")
        if sheet is not None and card.lift is not None:
            rgb, stops = card.lift
            sheet.box(centre - wide / 2, y + 0.05, wide, _LIFTED, facecolor=tuple(rgb)).set_gid("lifted card")
            told = f"+{stops} stop{'s' if stops > 1 else ''}"
            sheet.write(centre - wide / 2, y + 0.05 + _LIFTED + 0.03, told, "small", colour=SOFT)
    if lifted:
        if sheet is not None:
            sheet.write(margin, y + 0.05 + _LIFTED / 2, "longer exposure", "small", va="center")
        y += 0.05 + _LIFTED + 0.03 + line_height("small")
    y += 0.08
    for card, lines, centre in zip(cards, names, centres, strict=True):
        if sheet is not None:
            left = centre - wide / 2
            sheet.write(left, y, "\n".join(lines), "strong")
            role: Role = "body" if named else "strong"
            sheet.write(left, y + named * line_height("strong"), card.thickness, role)
    y += named * line_height("strong") + line_height("body") + 0.04
    for label, cells in rows:
        if sheet is not None:
            sheet.write(margin, y, label, "small")
            for cell, centre in zip(cells, centres, strict=True):
                sheet.write(centre - wide / 2, y, cell, "small")
        y += line_height("small") + 0.03
    return y - top
