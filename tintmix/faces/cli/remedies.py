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
    Remedy.SAY_LINEAR: "Say --linear then.",
    Remedy.SAME_VIEW_OR_BARE_PLACES: "Take both from the same place with the same settings, the same way up, or name places "
    "where the bare panel shows in both with --open x,y,w,h.",
    Remedy.BARE_PLACE_OR_LOCK: "Name a place where the bare panel shows with --open x,y,w,h, or lock the exposure and take "
    "both again.",
    Remedy.LEAVE_A_WINDOW_OPEN: "Leave a window open beside the chips and name it with --open x,y,w,h.",
    Remedy.SHOW_THE_BARE_PANEL: "Take a second photo with the chips off and give it with --panel, or name a place where the "
    "bare panel shows with --open x,y,w,h.",
    Remedy.GIVE_THE_PANEL: "Take a photo with the chips off and give it with --panel.",
    Remedy.BLACK_CARD_BESIDE: "Use the holder sheet, or name a place of black card beside it with --dark x,y,w,h.",
    Remedy.LAY_THE_CHIPS_OUT: "Write --map A2=CHIP for each, have the sheet printed for this set with --print-holder FILE.pdf, "
    "or name places in the photo with --at CHIP=x,y,w,h.",
    Remedy.WHICH_PHOTO: "Say which one this is with --number: {numbers}.",
    Remedy.NUMBER_THE_PHOTOS: "Say --number 1, 2 … when you read them.",
    Remedy.NAME_THE_CHIP: "Say which chip it is with --map {window}=CHIP, or pass over it with --others-ignored.",
    Remedy.NAME_THE_PHOTOS: "Give the photo of the chips with --photo, and the one of the bare panel with --panel.",
    Remedy.GIVE_BOTH_PHOTOS: "Give that one with --panel, and the photo with the chips with --photo.",
    Remedy.NAME_CHIPS_PLACES: "Name the chips' places with --at, or leave out --open and --dark.",
    Remedy.PLACES_OR_WINDOWS: "Leave out --at, or --map and --number.",
    Remedy.USE_THE_CURVE: "Say --curve {curve} to use it.",
    Remedy.NOT_WITH_A_STACK: "Leave out --curve, --linear, --map and --number.",
    Remedy.NAME_THE_STACK_PLACES: "Name it with --at PLACE=x,y,w,h.",
    Remedy.REPLACE_OR_ANOTHER_FILE: "Say --replace to write over it, or name another file.",
    Remedy.REPLACE_THE_OLD: "Say --replace to put the new one in its place.",
    # pigments
    # recipes and trials
    # weighing, sheet
    # book
    # desk and page
    Remedy.ANOTHER_FOLDER_FOR_THE_TOUR: "Name another folder with --into.",
    Remedy.WEIGH_IT_ANEW: "Next year, `tintmix sheet {name} --book {book} --batch 200` weighs it out anew.",
    Remedy.SAY_THE_DOSES: "Say what you mean to use (--pigment NAME=DOSE), or pour one cup of the mix first, fit it and give it "
    "with --model.",
    Remedy.NAME_THE_PIGMENTS: "Name each with --pigment NAME=DOSE.",
    Remedy.NAME_THE_PIGMENTS_OF_THE_CUP: "Name each with its dose in the trial cup, such as --pigment blue=0.02.",
    Remedy.DOSE_IN_THE_CUP: "Write --pigment {pigment}=DOSE.",
    Remedy.CAST_THINNER_ONES: "Cast thinner ones (--cast 2 --cast 4), or read through the chips instead.",
    # faces
    Remedy.CHOOSE_ANOTHER_PORT: "The page may be open already; or choose another with --port {other}.",
    Remedy.INSTALL_FONTS: "Install matplotlib again, or write the sheet as text (--out FILE.txt).",
}
"""Whole sentences, with facts in braces."""


def told(said: Said) -> str:
    """An error or a note as the shell tells it."""
    return told_with(said, SHELL)
