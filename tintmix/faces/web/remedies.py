"""What to do about an error or a note, in the page's words: the buttons, boxes and screens that do it."""

from __future__ import annotations

from collections.abc import Mapping

from tintmix.errors import Remedy
from tintmix.faces.remedies import Said
from tintmix.faces.remedies import told as told_with

PAGE: Mapping[Remedy, str] = {
    # files, optics, resin, pictures
    # chips and instruments
    # photos
    # pigments
    # recipes and trials
    # weighing, sheet
    # book
    # desk and page
    # faces
    Remedy.CHOOSE_ANOTHER_PORT: "",
    Remedy.INSTALL_FONTS: "Install matplotlib again, or print the screen.",
}
"""Whole sentences, with facts in braces. Empty where the page never tells of it."""


def told(said: Said) -> str:
    """An error or a note as the page tells it."""
    return told_with(said, PAGE)
