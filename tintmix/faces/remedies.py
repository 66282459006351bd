"""What to do about an error or a note, in words: those that every face shares, and how they are joined to the facts.

The shell's own stand in `cli/remedies.py`, the page's in `web/remedies.py`; a face's own words go before these. A test walks all
remedies, and fails where a face has no words for one that it may have to tell.
"""

from __future__ import annotations

from collections.abc import Mapping

from tintmix.errors import Note, Remedy, TintmixError

Said = TintmixError | Note | str
"""What a face may have to tell: an error, a note, or a whole sentence that needs no advice."""

SHARED: Mapping[Remedy, str] = {
    # everywhere
    Remedy.CORRECT_AND_READ_AGAIN: "Correct the file and read it again.",
    Remedy.NAME_ANOTHER_FILE: "Name another file.",
    Remedy.BRING_UP_TO_DATE: "Bring tintmix up to date.",
    Remedy.INSTALL_AGAIN: "Install tintmix again.",
    # files, optics, resin, pictures
    Remedy.SAY_THE_FORMAT: "Write `format = {known}` as its first line.",
    Remedy.CHECK_THE_NAME: "Check the name and the folder.",
    Remedy.CHECK_THE_RIGHTS: "Check that the file is yours to read.",
    Remedy.CHECK_OR_SPLIT: "Check that it is the right file, or split it.",
    Remedy.SPLIT_THE_FILE: "Split the file.",
    Remedy.SAVE_AS_TEXT: "Save the file again as plain text in UTF-8 (not as a workbook, not UTF-16).",
    Remedy.SAVE_AS_CSV: "Save it as CSV: comma, semicolon or tab, a header row first.",
    Remedy.CORRECT_THAT_LINE: "Correct that line.",
    Remedy.CORRECT_OR_UNSET: "Correct or unset it.",
    Remedy.NAME_ANOTHER_OUTPUT: "Give the output another name.",
    Remedy.A_FILE_EACH: "Give each its own file.",
    Remedy.MEASURE_WAVELENGTHS: "A spectrum is never extrapolated here: measure the missing wavelengths.",
    Remedy.SORT_WAVELENGTHS: "Wavelengths have to rise from one to the next, each once; sort them and leave doubles out.",
    Remedy.MEASURE_INSERT_AGAIN: "Measure the insert again, or give its spectrum.",
    Remedy.DRAW_TWO_PICTURES: "Draw them in two pictures.",
    # chips and instruments
    Remedy.ADD_A_ROW_A_CHIP: "Add a row for each chip below the header.",
    Remedy.NAME_A_SET: "A chip set is a folder that holds set.toml and chips.csv; name such a folder.",
    Remedy.SAY_PERCENT_IN_SET: 'Write unit = "percent" under [reading].',
    Remedy.GIVE_AN_INSTRUMENT_FILE: "Give CSV, CGATS.17 or ISO 28178 text, CxF3 or JCAMP-DX.",
    Remedy.EXPORT_FROM_INSTRUMENT: "Export it again from the instrument.",
    Remedy.EXPORT_FEWER: "Export fewer at once.",
    Remedy.EXPORT_ALIKE: "Export all spectra on the same wavelengths.",
    Remedy.EXPORT_ONE: "Export one of them alone.",
    Remedy.INSTALL_OR_EXPORT_CSV: "Install it (pip install {package}), or export CSV.",
    Remedy.MAKE_A_SPECTRUM_SET: 'Spectra tell more: make a set with kind = "spectrum" for them.',
    Remedy.EXPORT_SPECTRA_TOO: "Export the spectra as well, or make a set of kind colour for them.",
    Remedy.READ_AGAINST_A_LIGHT: (
        "What a chip reflects comes from its faces and what lay behind it, not the tint. Read the chips against a "
        'light; or lay them on a measured white tile and say relative_to = "white tile" in set.toml.'
    ),
    Remedy.MAKE_A_SET_FOR_THESE: "Make a set of its own for them; a fit takes both.",
    Remedy.READ_IN_ONE_WAY: "Read in one go what was read in one way.",
    Remedy.LEAVE_GLOSS_OUT: "The faces' own reflection is then in it; set gloss excluded (SCE).",
    Remedy.CORRECT_SET_OR_READ_SO: (
        "A colour cannot be brought to another {key} without a spectrum: correct set.toml, or read for {now}."
    ),
    Remedy.CORRECT_SET_OR_MAKE_ANOTHER: "Correct set.toml, or make a set of its own for these readings.",
    Remedy.TYPE_CHIP_AND_COLOUR: "Write the chip and its colour, such as “b1 78.2 -12.5 -20.1”.",
    # photos
    Remedy.GIVE_A_PHOTO: "Give a JPEG, PNG, TIFF or WebP, or the camera's raw file.",
    Remedy.SMALLER_PICTURE: "Set the camera to a smaller picture.",
    Remedy.PHOTO_AS_TAKEN: "Give the photo as the camera took it.",
    Remedy.PHOTO_IN_COLOUR: "Give the colour photo as the camera took it, in RGB.",
    Remedy.PHOTO_NOT_HEIC: 'Set the phone to raw, or to JPEG ("most compatible"), and take the photo again.',
    Remedy.GIVE_THE_JPEG: "Give the JPEG of it.",
    Remedy.SAVE_AS_PNG: "Save it as 16-bit PNG.",
    Remedy.WRITE_16_BITS: "Have the raw converter write 16-bit TIFF.",
    Remedy.COLOUR_FILTERS: "Use a camera with red, green and blue filters.",
    Remedy.INSTALL_RAWPY: "Install it with: pip install 'tintmix[raw]'.",
    Remedy.LEAVE_OUT_THE_CURVE: "Leave out the tone curve.",
    Remedy.LEAVE_OUT_ONE_OF_TWO: "Leave out one of the two.",
    Remedy.TONE_CURVE_FILE: "A tone curve is a CSV file with the columns code, R, G, B and a row for each code 0 to 255; the "
    "stack check writes it.",
    Remedy.TAKE_BOTH_ALIKE: "Take both the same way.",
    Remedy.TAKE_BOTH_FROM_ONE_PLACE: "Take both with the same camera from the same place.",
    Remedy.OPEN_ONES_BARE: "Take both from the same place with the same settings, with nothing but the bare panel in the open "
    "ones.",
    Remedy.SHEET_IN_PLACE: "Take it with the sheet in place and only the chips taken off.",
    Remedy.CUT_OPEN_WINDOWS: "Take off what lies on it, and cut each open window out.",
    Remedy.LEAVE_WINDOWS_UNCUT: "Leave the blocked windows uncut, on opaque black card, and darken the room.",
    Remedy.ONE_SHEET_A_PHOTO: "Keep one in the picture, and give each a photo of its own.",
    Remedy.HOLD_IT_STRAIGHT: "Hold it straight above the middle of the sheet.",
    Remedy.PRINTED_SIDE_UP: "Lay it with its printed side up, and switch off the mirroring of a front camera.",
    Remedy.LAY_IT_FLAT: "Lay it flat, keep other sheets out of the picture, and hold the camera straight above it.",
    Remedy.ALL_FOUR_CORNERS: "Take all four corners into the picture, sharp, with the card cut away behind them so that they "
    "light up.",
    Remedy.READ_ONE_KIND_AT_ONCE: "Read in one go what was taken in one way.",
    Remedy.SET_FOR_THE_PHOTO: 'Make a set of its own for the photo, with kind = "camera"; a fit takes both, and chips of one '
    "name count as the same.",
    Remedy.CAMERA_OF_THE_SET: 'Write camera = "{camera}"{or_file}, or make a set of its own for these photos: raw and JPEG do '
    "not mix.",
    Remedy.RELATIVE_TO_AIR: 'Write relative_to = "air", or leave it out.',
    # pigments
    Remedy.FIT_SETS_APART: "Fit them apart, or correct the set that is wrong.",
    Remedy.DESCRIBE_GLASS_OTHERWISE: "Give its lab or its spectrum, or fit a set of camera readings taken beside it.",
    # recipes and trials
    Remedy.MEASURE_WHERE_READ: "Measure it where it was read.",
    Remedy.READ_CHIP_AGAIN: "Read the chip again, or check the numbers that were typed.",
    Remedy.GIVE_ONE_READING_EACH: "Give one reading for each chip with its thickness in mm, and at least one chip.",
    Remedy.NAME_DOSES_OF_CHIP: "Name its doses in phr.",
    Remedy.TINT_BY_A_RECIPE: "Find a recipe with pigment for the colour that you want, and tint the pot by that.",
    Remedy.READ_TRIAL_OTHERWISE: (
        "Give its L*a*b* or its spectrum, or name the chip set that says how the camera is known."
    ),
    Remedy.READ_TRIAL_AS_CHIPS: (
        "Read the trial as the chips were, or leave the chip set out and say light and observer."
    ),
    Remedy.WEIGH_AGAIN: "Weigh it again.",
    Remedy.WEIGH_POT_AGAIN: "Weigh the pot again, less the empty pot.",
    Remedy.SAY_WHAT_POT_HOLDS: "Give what it holds when full.",
    Remedy.CHECK_WEIGHTS_AND_BATCH: "Check the weights and the batch.",
    Remedy.WRITE_BOTTLE_AS_RATIO: (
        "A stock bottle is written as '{pigment} 1+50', one part pigment in 50 parts of carrier."
    ),
    Remedy.NAME_BOTTLE_OF_CUP: "Name the bottle it was weighed from.",
    Remedy.LEARN_EACH_PIGMENT: "Plan and fit chips of each pigment first.",
    Remedy.GIVE_A_PLACE: "Give at least one [[section]] with its thickness_mm and its colour.",
    Remedy.GIVE_A_COLOUR: "Give one place a colour, or describe a glass piece.",
    Remedy.NAME_EACH_PLACE: "Give each place on the casting its own name.",
    Remedy.LOOSEN_LIMITS: "Loosen them and solve again.",
    # weighing, sheet
    Remedy.MAKE_MORE: "Make at least {enough} g, or use a finer scale.",
    Remedy.USE_A_FINER_SCALE: "Use a finer scale.",
    Remedy.MAKE_LESS: "Make a smaller batch or use a larger scale.",
    Remedy.CORRECT_THE_BOTTLE: "Correct what is kept of that bottle.",
    Remedy.PLAN_WITH_SUCH_A_RESIN: "Plan with a resin that says so.",
    Remedy.NAME_A_PLAN_WITH_BOTTLES: "Name the folder that a plan with stock bottles was written to.",
    Remedy.READ_THE_CHECK_CHIP_AGAIN: "Correct it, or read the lot's check chip again.",
    Remedy.WRITE_THE_DENSITY: "Write it into the resin file, or give the batch in grams.",
    Remedy.WRITE_WHAT_TAKES_PIGMENT: "Write it into the resin file; its parts are {parts}.",
    Remedy.GIVE_THAT_TOO: "Give that too.",
    Remedy.TAKE_THE_CUP_AS_UNIT: "Take {times} times what you put into that cup for as much resin, or make chips of the "
    "single pigments.",
    # book
    Remedy.CLOSE_AND_TRY_AGAIN: "Close what uses it and try again.",
    Remedy.MAKE_ROOM: "Make room and do it again.",
    Remedy.SEE_TO_THE_DISK: "See whether the disk has room and is sound, then do it again.",
    Remedy.TAKE_THE_BACKUP: "Put it aside, take the last backup in its place, and import what you exported since.",
    Remedy.GIVE_A_READING_PHOTO_OR_NOTE: "Give a reading, a photo or a note.",
    Remedy.GIVE_THE_BOTTLE_ANOTHER_NAME: "Give the new one another name, or say that the old one is empty.",
    # desk and page
    Remedy.GIVE_FEWER: "Give fewer, or split them.",
    Remedy.TRY_AGAIN: "Try it again.",
    Remedy.NAME_A_NEW_FOLDER: "Name a new folder.",
    Remedy.COLOUR_OF_AN_INSERT: 'Write "#b08d3c", lab=62,8,45, or a CSV file of nm, reflectance.',
}
"""Whole sentences, with the facts of the error or note in braces."""


def told(said: Said, own: Mapping[Remedy, str]) -> str:
    """An error or a note as a face tells it: its facts, and what to do in the face's words.

    >>> told(Note(says="It was written by a newer version.", remedy=Remedy.BRING_UP_TO_DATE), {})
    'It was written by a newer version. Bring tintmix up to date.'
    """
    if isinstance(said, str) or said.remedy is None:
        return str(said)
    words = own.get(said.remedy) or SHARED.get(said.remedy, "")
    return f"{said} {words.format_map(said.facts)}".rstrip()
