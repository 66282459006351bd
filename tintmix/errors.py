"""Every error that tintmix raises on purpose: a few kinds, by what a caller can do about it, and the remedies as keys.

An error carries facts: where, what, what was found, which limit, and which remedy. Its own sentence is made of the facts
alone. What to do about it is worded for each face by the key, in `faces/remedies.toml`, because a shell names an option where a
page has a button.
"""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum, auto


class Remedy(StrEnum):
    """What can be done. A face's words for it may hold facts of the error or note, in braces."""

    # everywhere
    CORRECT_AND_READ_AGAIN = auto()
    NAME_ANOTHER_FILE = auto()
    BRING_UP_TO_DATE = auto()
    INSTALL_AGAIN = auto()

    # files, optics, resin, pictures
    SAY_THE_FORMAT = auto()
    CHECK_THE_NAME = auto()
    CHECK_THE_RIGHTS = auto()
    CHECK_OR_SPLIT = auto()
    SPLIT_THE_FILE = auto()
    SAVE_AS_TEXT = auto()
    SAVE_AS_CSV = auto()
    CORRECT_THAT_LINE = auto()
    CORRECT_OR_UNSET = auto()
    WRITE_ELSEWHERE = auto()
    NAME_ANOTHER_OUTPUT = auto()
    A_FILE_EACH = auto()
    MEASURE_WAVELENGTHS = auto()
    SORT_WAVELENGTHS = auto()
    MEASURE_INSERT_AGAIN = auto()
    DRAW_TWO_PICTURES = auto()

    # chips and instruments
    ADD_A_ROW_A_CHIP = auto()
    NAME_A_SET = auto()
    SAY_PERCENT_IN_SET = auto()
    GIVE_AN_INSTRUMENT_FILE = auto()
    EXPORT_FROM_INSTRUMENT = auto()
    EXPORT_FEWER = auto()
    EXPORT_ALIKE = auto()
    EXPORT_ONE = auto()
    INSTALL_OR_EXPORT_CSV = auto()
    SAY_WHICH_CHIP = auto()
    SAY_OR_LEAVE_OUT = auto()
    CORRECT_THE_MAP = auto()
    READ_FROM_A_PHOTO = auto()
    MAKE_A_SPECTRUM_SET = auto()
    EXPORT_SPECTRA_TOO = auto()
    READ_AGAINST_A_LIGHT = auto()
    MAKE_A_SET_FOR_THESE = auto()
    READ_IN_ONE_WAY = auto()
    LEAVE_GLOSS_OUT = auto()
    CORRECT_SET_OR_READ_SO = auto()
    CORRECT_SET_OR_MAKE_ANOTHER = auto()
    SAY_FRACTION_OR_PERCENT_IF_DARK = auto()
    SAY_PERCENT_OR_FRACTION = auto()
    SAY_PERCENT = auto()
    SAY_QUANTITY_OR_CHECK = auto()
    SAY_ABSORBANCE_OR_PERCENT = auto()
    TYPE_CHIP_AND_COLOUR = auto()

    # photos
    GIVE_A_PHOTO = auto()
    SMALLER_PICTURE = auto()
    PHOTO_AS_TAKEN = auto()
    PHOTO_IN_COLOUR = auto()
    PHOTO_NOT_HEIC = auto()
    GIVE_THE_JPEG = auto()
    SAVE_AS_PNG = auto()
    WRITE_16_BITS = auto()
    COLOUR_FILTERS = auto()
    INSTALL_RAWPY = auto()
    SAY_LINEAR = auto()
    LEAVE_OUT_THE_CURVE = auto()
    LEAVE_OUT_ONE_OF_TWO = auto()
    TONE_CURVE_FILE = auto()
    TAKE_BOTH_ALIKE = auto()
    TAKE_BOTH_FROM_ONE_PLACE = auto()
    SAME_VIEW_OR_BARE_PLACES = auto()
    OPEN_ONES_BARE = auto()
    BARE_PLACE_OR_LOCK = auto()
    LEAVE_A_WINDOW_OPEN = auto()
    SHOW_THE_BARE_PANEL = auto()
    GIVE_THE_PANEL = auto()
    BLACK_CARD_BESIDE = auto()
    SHEET_IN_PLACE = auto()
    CUT_OPEN_WINDOWS = auto()
    LEAVE_WINDOWS_UNCUT = auto()
    ONE_SHEET_A_PHOTO = auto()
    HOLD_IT_STRAIGHT = auto()
    PRINTED_SIDE_UP = auto()
    LAY_IT_FLAT = auto()
    ALL_FOUR_CORNERS = auto()
    READ_ONE_KIND_AT_ONCE = auto()
    SET_FOR_THE_PHOTO = auto()
    CAMERA_OF_THE_SET = auto()
    RELATIVE_TO_AIR = auto()
    LAY_THE_CHIPS_OUT = auto()
    WHICH_PHOTO = auto()
    NUMBER_THE_PHOTOS = auto()
    NAME_THE_CHIP = auto()
    NAME_THE_PHOTOS = auto()
    GIVE_BOTH_PHOTOS = auto()
    NAME_CHIPS_PLACES = auto()
    PLACES_OR_WINDOWS = auto()
    USE_THE_CURVE = auto()
    NOT_WITH_A_STACK = auto()
    NAME_THE_STACK_PLACES = auto()
    REPLACE_OR_ANOTHER_FILE = auto()
    REPLACE_THE_OLD = auto()

    # pigments
    READ_A_CHIP = auto()
    POUR_A_CUP_OF_IT = auto()
    FIT_SETS_APART = auto()
    DESCRIBE_GLASS_OTHERWISE = auto()
    FIT_AGAIN = auto()

    # recipes and trials
    MEASURE_WHERE_READ = auto()
    READ_CHIP_AGAIN = auto()
    GIVE_ONE_READING_EACH = auto()
    NAME_DOSES_OF_CHIP = auto()
    TINT_BY_A_RECIPE = auto()
    READ_TRIAL_OTHERWISE = auto()
    READ_TRIAL_AS_CHIPS = auto()
    WEIGH_AGAIN = auto()
    WEIGH_POT_AGAIN = auto()
    SAY_WHAT_POT_HOLDS = auto()
    CHECK_WEIGHTS_AND_BATCH = auto()
    WRITE_BOTTLE_AS_RATIO = auto()
    NAME_BOTTLE_OF_CUP = auto()
    LEARN_EACH_PIGMENT = auto()
    TINT_ANEW = auto()
    GIVE_RESIN_WITH_ITS_PARTS = auto()
    SAY_INTO_HOW_MUCH = auto()
    KEEP_PART_OR_BATCH = auto()
    LEAVE_OUT_LIGHT_OR_SET = auto()
    NAME_SAMPLE = auto()
    NAME_LOT = auto()
    GIVE_A_PLACE = auto()
    GIVE_A_COLOUR = auto()
    NAME_EACH_PLACE = auto()
    LOOSEN_LIMITS = auto()
    MAKE_RECIPE_AGAIN = auto()

    # weighing, sheet
    WRITE_THE_SCALE = auto()
    WRITE_ONE_SCALE_OR_TWO = auto()
    MAKE_MORE = auto()
    USE_A_FINER_SCALE = auto()
    MAKE_LESS = auto()
    CORRECT_THE_BOTTLE = auto()
    PLAN_WITH_SUCH_A_RESIN = auto()
    NAME_A_PLAN_WITH_BOTTLES = auto()
    READ_THE_CHECK_CHIP_AGAIN = auto()
    WRITE_THE_DENSITY = auto()
    WRITE_THE_PARTS = auto()
    WRITE_WHAT_TAKES_PIGMENT = auto()
    GIVE_THAT_TOO = auto()
    TOP_UP_WHAT_IS_LEFT = auto()
    SAY_THE_BATCH = auto()
    LEAVE_OUT_THE_WASTE = auto()
    GIVE_THE_RESIN = auto()
    TAKE_THE_CUP_AS_UNIT = auto()
    LEAVE_OUT_THE_REVISION = auto()
    NAME_A_KEPT_RECIPE = auto()
    GIVE_ONE_OF_THEM = auto()

    # book
    START_A_BOOK = auto()
    NAME_A_PLACE_FOR_THE_BOOK = auto()
    NAME_ANOTHER_BOOK = auto()
    CLOSE_AND_TRY_AGAIN = auto()
    TAKE_AWAY_WRITE_PROTECTION = auto()
    MAKE_ROOM = auto()
    SEE_TO_THE_DISK = auto()
    TAKE_THE_BACKUP = auto()
    PUT_THE_MODEL_BACK = auto()
    NAME_ITS_MODEL = auto()
    GIVE_A_READING_PHOTO_OR_NOTE = auto()
    MAKE_THE_PHOTO_SMALLER = auto()
    SAY_WHAT_CHANGES = auto()
    GIVE_THE_BOTTLE_ANOTHER_NAME = auto()
    WEIGH_THE_BOTTLE = auto()
    EXPORT_AGAIN = auto()
    WORK_OUT_THE_LOT = auto()

    # desk and page
    LOAD_AGAIN = auto()
    GO_ON_FROM_A_STEP = auto()
    START_ON_ANOTHER_FOLDER = auto()
    GIVE_FEWER = auto()
    TRY_AGAIN = auto()
    FIND_THE_RECIPE_AGAIN = auto()
    ANOTHER_FOLDER_FOR_THE_TOUR = auto()
    NAME_A_NEW_FOLDER = auto()
    COLOUR_OF_AN_INSERT = auto()
    WEIGH_IT_ANEW = auto()
    SAY_THE_DOSES = auto()
    NAME_THE_PIGMENTS = auto()
    NAME_THE_PIGMENTS_OF_THE_CUP = auto()
    DOSE_IN_THE_CUP = auto()
    CAST_THINNER_ONES = auto()

    # faces
    CHOOSE_ANOTHER_PORT = auto()
    INSTALL_FONTS = auto()


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


class TintmixError(Exception):
    """A bad input, told in one sentence.

    where: file, row, column, box; what: what is wrong, as a clause; found, limit: where a value is out of its bounds, the
    value and the bounds ("zero or more"). remedy: what to do; facts: what the remedy's words in a face need.

    >>> str(ValueProblem(where="chips.csv, row 7", what="the dose of azure", found="-0.02 phr", limit="zero or more"))
    'chips.csv, row 7: the dose of azure is -0.02 phr; it must be zero or more.'
    >>> str(NotThere(where="deck.json", what="there is no such file"))
    'deck.json: there is no such file.'
    """

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
        return f"{self.where}: {said}" if self.where else said

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
