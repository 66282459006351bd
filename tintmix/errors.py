"""Every error that tintmix raises on purpose: a few kinds, by what a caller can do about it, and the remedies as keys.

An error carries facts: where, what, what was found, which limit, and which remedy. Its own sentence is made of the facts
alone. What to do about it is worded for each face by the key, in `faces/remedies.toml`, because a shell names an option where a
page has a button.
"""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

Remedy = StrEnum(
    "Remedy",
    """
    CORRECT_AND_READ_AGAIN CORRECT_THE_READING NAME_ANOTHER_FILE BRING_UP_TO_DATE INSTALL_AGAIN

    SAY_THE_FORMAT CHECK_THE_NAME CHECK_THE_RIGHTS CHECK_OR_SPLIT SPLIT_THE_FILE SAVE_AS_TEXT SAVE_AS_CSV
    CORRECT_THAT_LINE CORRECT_OR_UNSET WRITE_ELSEWHERE NAME_ANOTHER_OUTPUT A_FILE_EACH MEASURE_WAVELENGTHS
    SORT_WAVELENGTHS MEASURE_INSERT_AGAIN DRAW_TWO_PICTURES

    ADD_A_ROW_A_CHIP NAME_A_SET SAY_PERCENT_IN_SET GIVE_AN_INSTRUMENT_FILE EXPORT_FROM_INSTRUMENT EXPORT_FEWER
    EXPORT_ALIKE EXPORT_ONE INSTALL_OR_EXPORT_CSV SAY_WHICH_CHIP MAP_THE_SAMPLES SAY_OR_LEAVE_OUT CORRECT_THE_MAP
    MAP_BY_FILE READ_FROM_A_PHOTO
    MAKE_A_SPECTRUM_SET EXPORT_SPECTRA_TOO READ_AGAINST_A_LIGHT MAKE_A_SET_FOR_THESE READ_IN_ONE_WAY LEAVE_GLOSS_OUT
    CORRECT_SET_OR_READ_SO CORRECT_SET_OR_MAKE_ANOTHER SAY_FRACTION_OR_PERCENT_IF_DARK SAY_PERCENT_OR_FRACTION
    SAY_PERCENT SAY_QUANTITY SAY_WHICH_QUANTITY SAY_QUANTITY_OR_CHECK
    SAY_ABSORBANCE_OR_PERCENT EXPORT_TRANSMITTANCE EXPORT_AGAINST_AIR EXPORT_A_SCAN EXPORT_ALL_SEEN EXPORT_COLOURS
    HEAD_THE_COLUMNS WRITE_THE_WAVELENGTHS LEAVE_OUT_THE_SAMPLE
    TYPE_CHIP_AND_COLOUR

    GIVE_A_PHOTO SMALLER_PICTURE PHOTO_AS_TAKEN PHOTO_IN_COLOUR HDR_OFF BRING_IT_UNTOUCHED GIVE_THE_JPEG SAVE_AS_PNG
    WRITE_16_BITS COLOUR_FILTERS INSTALL_RAWPY INSTALL_HEIF SAY_LINEAR SAY_NOT_LINEAR LEAVE_OUT_THE_CURVE
    LEAVE_OUT_ONE_OF_TWO TONE_CURVE_FILE TAKE_BOTH_ALIKE TAKE_BOTH_FROM_ONE_PLACE SAME_VIEW_OR_BARE_PLACES
    OPEN_ONES_BARE BARE_PLACE_OR_LOCK LEAVE_A_WINDOW_OPEN SHOW_THE_BARE_PANEL GIVE_THE_PANEL BLACK_CARD_BESIDE
    SHEET_IN_PLACE CUT_OPEN_WINDOWS LEAVE_WINDOWS_UNCUT ONE_SHEET_A_PHOTO HOLD_IT_STRAIGHT PRINTED_SIDE_UP LAY_IT_FLAT
    ALL_FOUR_CORNERS READ_ONE_KIND_AT_ONCE SET_FOR_THE_PHOTO RELATIVE_TO_AIR LAY_THE_CHIPS_OUT WHICH_PHOTO
    NUMBER_THE_PHOTOS FEWER_PHOTOS CHECK_CHIPS_FIRST SAY_ITS_THICKNESS PHOTO_AS_THE_CHIPS SAY_THE_WINDOW
    READ_THE_CHIPS_BY_PHOTO NAME_THE_CHIP SAY_HOW_THEY_LIE NAME_THE_PHOTOS GIVE_BOTH_PHOTOS NAME_CHIPS_PLACES
    PLACES_OR_WINDOWS USE_THE_CURVE NOT_WITH_A_STACK NAME_THE_STACK_PLACES REPLACE_OR_ANOTHER_FILE REPLACE_THE_OLD

    READ_A_CHIP POUR_A_CUP_OF_IT FIT_SETS_APART NAME_EACH_SET_ONCE NAME_THE_CUPS_APART DESCRIBE_GLASS_OTHERWISE FIT_AGAIN

    MEASURE_WHERE_READ READ_CHIP_AGAIN GIVE_ONE_READING_EACH NAME_DOSES_OF_CHIP TINT_BY_A_RECIPE
    READ_TRIAL_OTHERWISE READ_TRIAL_AS_CHIPS WEIGH_AGAIN WEIGH_POT_AGAIN SAY_WHAT_POT_HOLDS CHECK_WEIGHTS_AND_BATCH
    WRITE_BOTTLE_AS_RATIO NAME_BOTTLE_OF_CUP LEARN_EACH_PIGMENT TINT_ANEW GIVE_RESIN_WITH_ITS_PARTS
    SAY_INTO_HOW_MUCH SAY_WHAT_WENT_IN KEEP_PART_OR_BATCH LEAVE_OUT_LIGHT_OR_SET NAME_SAMPLE NAME_LOT GIVE_A_PLACE GIVE_A_COLOUR
    NAME_EACH_PLACE LOOSEN_LIMITS MAKE_RECIPE_AGAIN

    WRITE_THE_SCALE WRITE_ONE_SCALE_OR_TWO MAKE_MORE USE_A_FINER_SCALE MAKE_LESS CORRECT_THE_BOTTLE
    PLAN_WITH_SUCH_A_RESIN NAME_A_PLAN_WITH_BOTTLES READ_THE_CHECK_CHIP_AGAIN WRITE_THE_DENSITY WRITE_THE_PARTS
    WRITE_WHAT_TAKES_PIGMENT GIVE_THAT_TOO TOP_UP_WHAT_IS_LEFT SAY_THE_BATCH LEAVE_OUT_THE_WASTE GIVE_THE_RESIN
    TAKE_THE_CUP_AS_UNIT LEAVE_OUT_THE_REVISION NAME_A_KEPT_RECIPE GIVE_ONE_OF_THEM

    START_A_BOOK NAME_A_PLACE_FOR_THE_BOOK BRING_THE_BOOK_BACK NAME_ANOTHER_BOOK CLOSE_AND_TRY_AGAIN TAKE_AWAY_WRITE_PROTECTION
    MAKE_ROOM SEE_TO_THE_DISK TAKE_THE_BACKUP PUT_THE_MODEL_BACK NAME_ITS_MODEL GIVE_A_READING_PHOTO_OR_NOTE
    MAKE_THE_PHOTO_SMALLER SAY_WHAT_CHANGES GIVE_THE_BOTTLE_ANOTHER_NAME WEIGH_THE_BOTTLE EXPORT_AGAIN
    WORK_OUT_THE_LOT SAY_IT_WAS_POURED_AGAIN RESCUE_WHAT_IS_SOUND SAY_AS_WEIGHED WRITE_AS_THE_RECIPE SAY_AS_THICK

    LOAD_AGAIN GO_ON_FROM_A_STEP START_ON_ANOTHER_FOLDER GO_ON_FROM_AN_OLDER_LIST GIVE_FEWER TRY_AGAIN FIND_THE_RECIPE_AGAIN
    ANOTHER_FOLDER_FOR_THE_TOUR NAME_A_NEW_FOLDER COLOUR_OF_AN_INSERT SAY_THE_INSERTS_COLOUR WEIGH_IT_ANEW
    SAY_THE_DOSES NAME_THE_PIGMENTS NAME_THE_PIGMENTS_OF_THE_CUP DOSE_IN_THE_CUP CAST_THINNER_ONES

    CHOOSE_ANOTHER_PORT INSTALL_FONTS

    MEND_THE_MESH FIT_THE_INSERT EXPORT_THE_MESH SAY_THE_MESH_UNIT CHECK_THE_MESH_UNIT TRACE_IT_AGAIN INSTALL_EMBREEX
    """,
)
"""What can be done: keys. Their words for each face, in the same order, are in `faces/remedies.toml`, and may hold facts of the
error or note in braces."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Note:
    """Something worth knowing beside an answer. says: what is so, a whole sentence. remedy: what can be done about it, if
    anything; facts: what its words in a face need.

    >>> str(Note(says="No chip is untinted."))
    'No chip is untinted.'
    """

    says: str
    remedy: Remedy | None = None
    facts: Mapping[str, object] = field(default_factory=dict, hash=False)

    def __str__(self) -> str:
        return self.says


LONGEST = 300
"""Letters of an error's sentence, whatever the input held: what is longer is not read."""
_LONGEST_WHERE = 140


def is_writable(text: str) -> bool:
    """Whether a text can be written as UTF-8: one that holds what was none, as a lone surrogate, cannot.

    >>> is_writable("grün"), is_writable("\\udcff")
    (True, False)
    """
    try:
        text.encode()
    except UnicodeEncodeError:
        return False
    return True


def in_short(text: str, most: int = LONGEST, keep_end: bool = False) -> str:
    """A text of at most so many letters, fit to be shown: what is left out is told by an ellipsis, lone surrogates by a question
    mark. keep_end: of a path its end tells most.

    >>> in_short("no such file", 7), in_short("/home/me/chips.csv", 10, keep_end=True), in_short("a\\udcff")
    ('no suc…', '…chips.csv', 'a?')
    """
    text = text.encode("utf-8", "replace").decode("utf-8")
    if len(text) <= most:
        return text
    return f"…{text[-most + 1 :]}" if keep_end else f"{text[: most - 1].rstrip()}…"


class TintmixError(Exception):
    """A bad input, told in one sentence.

    where: file, row, column, box; what: what is wrong, as a clause; found, limit: where a value is out of its bounds, the
    value and the bounds ("zero or more"). remedy: what to do; facts: what the remedy's words in a face need.

    >>> str(ValueProblem(where="chips.csv, row 7", what="the dose of azure", found="-0.02 phr", limit="zero or more"))
    'chips.csv, row 7: the dose of azure is -0.02 phr; it must be zero or more.'
    >>> str(NotThere(where="deck.json", what="there is no such file"))
    'deck.json: there is no such file.'
    """

    longest = LONGEST
    """Letters of the sentence; a list of all that is wrong with a file has more."""

    def __init__(
        self,
        *,
        what: str = "",
        where: object = "",
        found: object = None,
        limit: str = "",
        remedy: Remedy | None = None,
        **facts: object,
    ) -> None:
        self.where = str(where)
        self.what = what
        self.found = found
        self.limit = limit
        self.remedy = remedy
        self.facts = facts
        super().__init__()

    def __str__(self) -> str:
        said = self.what if self.found is None else f"{self.what} is {self.found}"
        said += f"; it must be {self.limit}" if self.limit else ""
        said += "" if said.endswith("?") else "."
        where = in_short(self.where, _LONGEST_WHERE, keep_end=True)
        return in_short(f"{where}: {said}" if where else said, self.longest)

    def call(self, place: object, name: str) -> None:
        """From here on, tell of a file by the name that its owner knows instead of the place where a program put it.

        >>> problem = FileProblem(where="/tmp/x1/chips.csv, row 7", what="the thickness is missing")
        >>> problem.call("/tmp/x1/chips.csv", "my chips.csv")
        >>> str(problem)
        'my chips.csv, row 7: the thickness is missing.'
        """
        self.where, self.what = (text.replace(str(place), name) for text in (self.where, self.what))
        for key, fact in self.facts.items():
            if isinstance(fact, str | os.PathLike):
                self.facts[key] = str(fact).replace(str(place), name)


class FileProblem(TintmixError):
    """A file is wrong: its owner corrects it."""


class ValueProblem(TintmixError):
    """A value is wrong, or values contradict each other: whoever typed it types another."""


class NotThere(TintmixError):
    """What is asked for is not there: another name, or it is made first."""


class InUse(TintmixError):
    """Somebody else holds it, or something else stands there: later, or elsewhere."""


class CannotWrite(TintmixError):
    """It cannot be written: another place, more room, other rights."""


class LibraryMissing(TintmixError):
    """A library or a font is missing: it is installed."""


class CannotReach(TintmixError):
    """It cannot be reached, or does not answer."""
