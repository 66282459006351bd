"""What to do about an error or a note, in the shell's words: the options and commands that do it."""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial

from tintmix.errors import Remedy
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
    Remedy.READ_A_CHIP: "Read a chip, or take `use = no` off one.",
    Remedy.POUR_A_CUP_OF_IT: "Pour one cup with it, or take its column and its table out of the set.",
    Remedy.FIT_AGAIN: "Make it again with `tintmix fit`.",
    # recipes and trials
    Remedy.TINT_ANEW: "Tint a new pot, or name a finer scale (--scale).",
    Remedy.GIVE_RESIN_WITH_ITS_PARTS: "Give the resin's file with its parts and takes_pigment (--resin FILE).",
    Remedy.SAY_INTO_HOW_MUCH: "Say how much of it was poured in (--part), or the batch that was weighed out (--batch).",
    Remedy.KEEP_PART_OR_BATCH: "Keep that weight (--part), or the batch that the sheet was made for (--batch).",
    Remedy.LEAVE_OUT_LIGHT_OR_SET: "Leave out --light and --observer, or the set.",
    Remedy.NAME_SAMPLE: "Name the one that is meant with --sample, once for each chip.",
    Remedy.NAME_LOT: "Name it, as in --lot {pigment}=A-18.",
    Remedy.MAKE_RECIPE_AGAIN: "Make it again with `tintmix solve --keep`.",
    # weighing, sheet
    Remedy.WRITE_THE_SCALE: "Write its smallest step in grams, as 0.01, or readability:repeatability:capacity, as "
    "0.01:0.02:200.",
    Remedy.WRITE_ONE_SCALE_OR_TWO: "Write one scale for all, as 0.01, or one each, as resin=0.1:0.1:2000 and "
    "pigment=0.001.",
    Remedy.WRITE_THE_PARTS: "Write a [[part]] table for each into the resin file, and name that file with --resin.",
    Remedy.TOP_UP_WHAT_IS_LEFT: "`tintmix adjust` tells what to add to {tinted} that is left.",
    Remedy.SAY_THE_BATCH: "Give the batch in grams (--batch 450), the mould's volume in cm³ (--volume 400), or the water "
    "that fills it in grams (--water 400).",
    Remedy.LEAVE_OUT_THE_WASTE: "--waste goes with --volume or --water; leave it out beside --batch.",
    Remedy.GIVE_ONE_OF_THEM: "Give one of --batch, --volume and --water.",
    Remedy.GIVE_THE_RESIN: "Name its file with --resin.",
    Remedy.LEAVE_OUT_THE_REVISION: "--revision picks one out of the book; leave it out, or name the recipe as the book "
    "has it.",
    Remedy.NAME_A_KEPT_RECIPE: "Name a file that `tintmix solve --keep` wrote, or a recipe that `tintmix book list` shows.",
    # book
    Remedy.START_A_BOOK: "`tintmix book keep RECIPE` starts one; name another with --book FILE.",
    Remedy.NAME_A_PLACE_FOR_THE_BOOK: "Name a file in a folder that exists and that you may write to, with --book FILE.",
    Remedy.NAME_ANOTHER_BOOK: "Name another file with --book.",
    Remedy.TAKE_AWAY_WRITE_PROTECTION: "Take away its write protection, or name another with --book FILE.",
    Remedy.PUT_THE_MODEL_BACK: "Put the file back beside the recipe, or fit the same chips again.",
    Remedy.NAME_ITS_MODEL: "Name that model, or solve again with this one.",
    Remedy.MAKE_THE_PHOTO_SMALLER: "Make it smaller, or keep only its fingerprint with --photo-fingerprint.",
    Remedy.SAY_WHAT_CHANGES: "Say what changes, --resin FILE or --lot pigment=LOT. Another batch needs no new recipe: "
    "`tintmix sheet --batch` takes any.",
    Remedy.WEIGH_THE_BOTTLE: "Weigh what is in it and say so with --left, or make a new one.",
    Remedy.EXPORT_AGAIN: "Export it again with `tintmix book export`.",
    Remedy.WORK_OUT_THE_LOT: "`tintmix lot` works out from a check chip how strong its lot is, and keeps that.",
    # desk and page
    Remedy.START_ON_ANOTHER_FOLDER: "Start it on another folder with `tintmix serve --folder FOLDER`.",
    Remedy.ANOTHER_FOLDER_FOR_THE_TOUR: "Name another folder with --into.",
    Remedy.WEIGH_IT_ANEW: "Next year, `tintmix sheet {name} --book {book} --batch 200` weighs it out anew.",
    Remedy.SAY_THE_DOSES: "Say what you mean to use (--pigment NAME=DOSE), or pour one cup of the mix first, fit it and give it "
    "with --model.",
    Remedy.NAME_THE_PIGMENTS: "Name each with --pigment NAME=DOSE.",
    Remedy.NAME_THE_PIGMENTS_OF_THE_CUP: "Name each with its dose in the trial cup, such as --pigment azure=0.02.",
    Remedy.DOSE_IN_THE_CUP: "Write --pigment {pigment}=DOSE.",
    Remedy.CAST_THINNER_ONES: "Cast thinner ones (--cast 2 --cast 4), or read through the chips instead.",
    # faces
    Remedy.CHOOSE_ANOTHER_PORT: "The page may be open already; or choose another with --port {other}.",
    Remedy.INSTALL_FONTS: "Install matplotlib again, or write the sheet as text (--out FILE.txt).",
}
"""Whole sentences, with facts in braces."""


told = partial(told_with, own=SHELL)
"""An error or a note as the shell tells it."""
