"""What to do about an error or a note, in the shell's words: the options and commands that do it."""

from __future__ import annotations

from collections.abc import Mapping

from tintmix.errors import Remedy
from tintmix.faces.remedies import Said
from tintmix.faces.remedies import told as told_with

SHELL: Mapping[Remedy, str] = {
    # files, optics, resin, pictures
    Remedy.WRITE_ELSEWHERE: "Name a file in a folder that exists and that you may write to.",
    # chips and instruments
    Remedy.SAY_WHICH_CHIP: "Say which with --map SAMPLE=CHIP.",
    Remedy.SAY_OR_LEAVE_OUT: (
        "Say which is which with --map SAMPLE=CHIP, leave one out with --map SAMPLE=, or pass over all others with "
        "--others-ignored."
    ),
    Remedy.CORRECT_THE_MAP: "Write it as --map SAMPLE=CHIP, such as --map 1=b1.",
    Remedy.READ_FROM_A_PHOTO: "Read it from a photo, with --photo.",
    Remedy.MAKE_A_SET_FOR_THESE: "Make a set of its own for them; `tintmix fit` takes both.",
    Remedy.SAY_FRACTION_OR_PERCENT_IF_DARK: (
        "Say --unit fraction, or --unit percent if the chips are really that dark."
    ),
    Remedy.SAY_PERCENT_OR_FRACTION: "Say --unit percent or --unit fraction.",
    Remedy.SAY_PERCENT: "Say --unit percent.",
    Remedy.SAY_QUANTITY_OR_CHECK: "Say --quantity {quantity}, or check which sample is which chip.",
    Remedy.SAY_ABSORBANCE_OR_PERCENT: "Say --quantity absorbance, or --unit percent.",
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
