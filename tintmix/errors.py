"""Every error that tintmix raises on purpose: a few kinds, by what a caller can do about it, and the remedies as keys.

An error carries facts: where, what, what was found, which limit, and which remedy. Its own sentence is made of the facts
alone. What to do about it is worded once in each face, by the key, because a shell names an option where a page has a
button: `faces/remedies.py` for what all faces share, `faces/cli/remedies.py` and `faces/web/remedies.py` for the rest.
"""

from __future__ import annotations

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

    # chips and instruments

    # photos

    # pigments

    # recipes and trials

    # weighing, sheet

    # book

    # desk and page

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
    facts: Mapping[str, object] = field(default_factory=dict)

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
        sentence: str = "",
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
        said = what if found is None else f"{what} is {found}"
        said += f"; it must be {limit}" if limit else ""
        super().__init__(sentence or (f"{where}: {said}." if self.where else f"{said}."))


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
