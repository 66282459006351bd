"""Every window of a holder sheet at once: both steps of it, as tests want them."""

from __future__ import annotations

from collections.abc import Mapping

from tintmix.chips.photo.load import Photo
from tintmix.chips.photo.reading import PhotoReading, gather_holder, read_gathered


def read_holder(photo: Photo, panel: Photo | None = None, wanted: Mapping[str, str] | None = None) -> PhotoReading:
    """All windows of the holder sheet in a photo that hold a chip. panel: the same sheet, the chips taken off.

    wanted: name of a chip → window, where not all are to be read; the places are then called by the chips. Raises
    FileProblem, ValueProblem, BadRegions.
    """
    return read_gathered(gather_holder(photo, panel, wanted), skip_empty=wanted is None)
