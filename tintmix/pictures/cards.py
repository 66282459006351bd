"""A row of cards, one for each section: its colour, and a table of what is known of it underneath."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from tintmix.numerals import percent
from tintmix.optics.spectrum import Array
from tintmix.pictures import words
from tintmix.pictures.style import MARGIN, SOFT, Role, Sheet, line_height, wrapped
from tintmix.pigments.model import Look

ROW_HIGH = line_height("small") + 0.03
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


def behind_row(look: Look) -> Rows:
    """A row of what is behind each section, where it is not the same behind all."""
    grounds = [section.ground for section in look.sections]
    return [("behind it", [words.behind(ground) for ground in grounds])] if len(set(grounds)) > 1 else []


def card_rows(look: Look) -> Rows:
    """The table under the cards: a label, and a cell for each section."""
    rows = behind_row(look)
    rows.append(("light through", [percent(float(through)) for through in look.luminous_transmittance]))
    rows.append(("L*, a*, b*", [words.triple(lab) for lab in look.lab]))
    rows.append(("± ΔE₀₀ (95 %)", [words.number(float(off)) for off in look.delta_e00_95]))
    if look.haze is not None:
        rows.append(("haze", [percent(float(haze)) for haze in look.haze]))
    return rows


def draw_rows(sheet: Sheet, rows: Rows, lefts: Sequence[float], top: float) -> None:
    """A table: the labels at the margin, and the cells of each row at these left edges."""
    for r, (label, cells) in enumerate(rows):
        for x, told in zip((MARGIN, *lefts), (label, *cells), strict=True):
            sheet.write(x, top + r * ROW_HIGH, told, "small")


class CardLayout:
    """Cards of a width with their table, and how high they are, in inches."""

    def __init__(self, cards: Sequence[Card], rows: Rows, wide: float) -> None:
        self._cards, self._rows, self._wide = cards, rows, wide
        self._names = [wrapped(card.name, "strong", wide, _NAME_LINES) if card.name else [] for card in cards]
        self._is_lifted = any(card.lift for card in cards)
        self._names_at = _SWATCH + 0.08
        if self._is_lifted:
            self._names_at += 0.05 + _LIFTED + 0.03 + line_height("small")
        self._thickness_at = self._names_at + max(map(len, self._names)) * line_height("strong")
        self._rows_at = self._thickness_at + line_height("body") + 0.04
        self.height = self._rows_at + len(rows) * ROW_HIGH

    def draw(self, sheet: Sheet, centres: Sequence[float], top: float) -> None:
        """The cards about these centres."""
        lefts = [centre - self._wide / 2 for centre in centres]
        lift_top = top + _SWATCH + 0.05
        role: Role = "body" if any(self._names) else "strong"
        for card, lines, left in zip(self._cards, self._names, lefts, strict=True):
            sheet.box(left, top, self._wide, _SWATCH, facecolor=tuple(card.rgb)).set_gid("card")
            if card.lift is not None:
                rgb, stops = card.lift
                sheet.box(left, lift_top, self._wide, _LIFTED, facecolor=tuple(rgb)).set_gid("lifted card")
                sheet.write(left, lift_top + _LIFTED + 0.03, words.stops(stops), "small", colour=SOFT)
            sheet.write(left, top + self._names_at, "\n".join(lines), "strong")
            sheet.write(left, top + self._thickness_at, card.thickness, role)
        if self._is_lifted:
            sheet.write(MARGIN, lift_top + _LIFTED / 2, "longer exposure", "small", va="center")
        draw_rows(sheet, self._rows, lefts, top + self._rows_at)
