"""What can go wrong in a face that is no fault of what was asked."""

from __future__ import annotations

from tintmix.errors import TintmixError


class FontsMissing(TintmixError):
    """The fonts of the batch sheet are not where matplotlib keeps them."""

    def __init__(self, names: tuple[str, ...]) -> None:
        super().__init__(
            f"the fonts {' and '.join(names)} are not found; they come with matplotlib. Install matplotlib again, or write the "
            "sheet as text (--out FILE.txt)."
        )
