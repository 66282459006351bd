"""What to do about an error or a note, in the shell's words: the options and commands that do it."""

from __future__ import annotations

from collections.abc import Mapping

from tintmix.errors import Remedy
from tintmix.faces.remedies import Said
from tintmix.faces.remedies import told as told_with

SHELL: Mapping[Remedy, str] = {
    # files, optics, resin, pictures
    # chips and instruments
    # photos
    # pigments
    # recipes and trials
    # weighing, sheet
    # book
    # desk and page
    # faces
    Remedy.CHOOSE_ANOTHER_PORT: "The page may be open already; or choose another with --port {other}.",
    Remedy.INSTALL_FONTS: "Install matplotlib again, or write the sheet as text (--out FILE.txt).",
}
"""Whole sentences, with facts in braces."""


def told(said: Said) -> str:
    """An error or a note as the shell tells it."""
    return told_with(said, SHELL)
