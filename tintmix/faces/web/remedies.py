"""What to do about an error or a note, in the page's words: the buttons, boxes and screens that do it."""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial

from tintmix.errors import Remedy
from tintmix.faces.remedies import told as told_with

PAGE: Mapping[Remedy, str] = {
    # files, optics, resin, pictures
    Remedy.WRITE_ELSEWHERE: "Nothing was changed: make room there, or see that you may write to it, then do it again.",
    # chips and instruments
    Remedy.SAY_WHICH_CHIP: "Call the samples as the chips are called.",
    Remedy.SAY_OR_LEAVE_OUT: (
        "Call the samples as the chips are called, or tick “pass over samples that are no chip of this set”."
    ),
    Remedy.READ_FROM_A_PHOTO: "Read it from a photo.",
    Remedy.SAY_FRACTION_OR_PERCENT_IF_DARK: "Choose as unit fraction, or percent if the chips are really that dark.",
    Remedy.SAY_PERCENT_OR_FRACTION: "Choose as unit percent or fraction.",
    Remedy.SAY_PERCENT: "Choose as unit percent.",
    Remedy.SAY_QUANTITY_OR_CHECK: "Choose as quantity {quantity}, or check which sample is which chip.",
    Remedy.SAY_ABSORBANCE_OR_PERCENT: "Choose as quantity absorbance, or as unit percent.",
    # photos
    Remedy.SAME_VIEW_OR_BARE_PLACES: "Take both from the same place with the same settings, the same way up, or mark places "
    "where the bare panel shows in both.",
    Remedy.BARE_PLACE_OR_LOCK: "Mark a place where the bare panel shows, or lock the exposure and take both again.",
    Remedy.LEAVE_A_WINDOW_OPEN: "Leave a window open beside the chips and mark it as bare panel.",
    Remedy.SHOW_THE_BARE_PANEL: "Upload the same view with the chips taken off, too, or mark a place where the bare panel "
    "shows.",
    Remedy.GIVE_THE_PANEL: "Upload the same view with the chips taken off, too.",
    Remedy.BLACK_CARD_BESIDE: "Use the holder sheet, or mark a piece of black card beside it.",
    Remedy.LAY_THE_CHIPS_OUT: "Print the holder sheet of this set, or mark the places in the photo.",
    Remedy.WHICH_PHOTO: "Type which one this is as photo number: {numbers}.",
    Remedy.NUMBER_THE_PHOTOS: "Type the photo's number when you read each.",
    Remedy.NAME_THE_CHIP: "Mark the places in the photo instead.",
    Remedy.NAME_THE_PHOTOS: "Upload the photo of the chips, and the same view with the chips taken off.",
    Remedy.GIVE_BOTH_PHOTOS: "Upload that one as the same view with the chips taken off, and the photo with the chips beside it.",
    Remedy.NAME_CHIPS_PLACES: "Mark a chip in the photo, too.",
    Remedy.REPLACE_THE_OLD: "Tick “Replace readings that are there already” to put the new one in its place.",
    # pigments
    Remedy.READ_A_CHIP: "Read a chip, or let one count again that is left out.",
    Remedy.POUR_A_CUP_OF_IT: "Pour one cup with it, or leave the chips that hold it out.",
    Remedy.FIT_AGAIN: "Learn the pigments again.",
    # recipes and trials
    Remedy.TINT_ANEW: "Tint a new pot, or name a finer scale on Sheet.",
    Remedy.GIVE_RESIN_WITH_ITS_PARTS: "Choose another resin on Sheet.",
    Remedy.NAME_LOT: "Type what stands on its bottle, such as A-18.",
    Remedy.MAKE_RECIPE_AGAIN: "Find it again on Recipes.",
    # weighing, sheet
    Remedy.WRITE_THE_SCALE: "Correct its smallest step in grams, or the most that it holds.",
    Remedy.WRITE_ONE_SCALE_OR_TWO: "Correct the two scales.",
    Remedy.WRITE_THE_PARTS: "Choose another resin below.",
    Remedy.TOP_UP_WHAT_IS_LEFT: "Trial chip tells what to add to {tinted} that is left.",
    Remedy.SAY_THE_BATCH: "Type how much, in the box of Sheet.",
    Remedy.GIVE_ONE_OF_THEM: "Give one of them.",
    Remedy.GIVE_THE_RESIN: "Choose a resin below.",
    Remedy.NAME_A_KEPT_RECIPE: "Choose a kept recipe on Recipes.",
    # book
    Remedy.START_A_BOOK: "Make a batch sheet and keep its recipe from there; that starts one.",
    Remedy.NAME_A_PLACE_FOR_THE_BOOK: "TINTMIX_BOOK may name a file in a folder that exists and that you may write to.",
    Remedy.NAME_ANOTHER_BOOK: "TINTMIX_BOOK may name another file.",
    Remedy.TAKE_AWAY_WRITE_PROTECTION: "Take away its write protection.",
    Remedy.PUT_THE_MODEL_BACK: "Bring in an export that holds it, on Recipe book.",
    Remedy.NAME_ITS_MODEL: "Find the recipe again on Recipes.",
    Remedy.MAKE_THE_PHOTO_SMALLER: "Make it smaller, then choose it again.",
    Remedy.WEIGH_THE_BOTTLE: "Weigh what is in it and say so in the Recipe book.",
    Remedy.EXPORT_AGAIN: "Export it again from its book.",
    # desk and page
    Remedy.LOAD_AGAIN: "Load the page again to see what it is now, then make your change.",
    Remedy.GO_ON_FROM_A_STEP: "Go on from one of the steps above.",
    Remedy.START_ON_ANOTHER_FOLDER: "Start the page on another folder.",
    Remedy.FIND_THE_RECIPE_AGAIN: "Find it again on Recipes, or go back with Undo.",
    Remedy.SAY_THE_DOSES: "Write the dose that you mean to use behind its name, or ask the one-cup question on Tint first.",
    Remedy.NAME_THE_PIGMENTS: "Write each in a line.",
    Remedy.NAME_THE_PIGMENTS_OF_THE_CUP: "Write each in a line, with its dose in the trial cup.",
    Remedy.DOSE_IN_THE_CUP: "Write {pigment} and its dose in a line.",
    Remedy.CAST_THINNER_ONES: "Cast thinner ones, or read through the chips instead.",
    # faces
    Remedy.INSTALL_FONTS: "Install matplotlib again, or print the screen.",
}
"""Whole sentences, with facts in braces."""


told = partial(told_with, own=PAGE)
"""An error or a note as the page tells it."""
