"""What to do about an error or a note, in words: those that every face shares, and how they are joined to the facts.

The shell's own stand in `cli/remedies.py`, the page's in `web/remedies.py`; a face's own words go before these. A test walks all
remedies, and fails where a face has no words for one.
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
    # chips and instruments
    # photos
    # pigments
    # recipes and trials
    # weighing, sheet
    # book
    # desk and page
}
"""Whole sentences, with the facts of the error or note in braces."""


def told(said: Said, own: Mapping[Remedy, str]) -> str:
    """An error or a note as a face tells it: its facts, and what to do in the face's words.

    >>> told(Note(says="It was written by a newer version.", remedy=Remedy.BRING_UP_TO_DATE), {})
    'It was written by a newer version. Bring tintmix up to date.'
    """
    if isinstance(said, str) or said.remedy is None:
        return str(said)
    words = own[said.remedy] if said.remedy in own else SHARED[said.remedy]
    return f"{said} {words.format_map(said.facts)}".rstrip()
