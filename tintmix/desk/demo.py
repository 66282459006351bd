"""Where the shipped swatches are: beside the package in the repository, inside it in an installed wheel."""

from __future__ import annotations

from pathlib import Path

from tintmix.errors import NotThere, Remedy


def demo(*parts: str) -> Path:
    """The path of a shipped chip set, target or glass. Raises NotThere.

    >>> demo("deck-prism").name
    'deck-prism'
    """
    package = Path(__file__).resolve().parents[1]
    homes = (package / "swatches", package.parent / "swatches")
    for home in homes:
        found = home.joinpath(*parts)
        if found.exists():
            return found
    raise NotThere(
        what=f"the demo {'/'.join(parts)} is in none of {', '.join(map(str, homes))}", remedy=Remedy.INSTALL_AGAIN
    )
