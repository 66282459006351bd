"""The type of pictures and of paper: where it is, found without importing what it came with."""

from __future__ import annotations

import importlib.util
from pathlib import Path

from tintmix.errors import LibraryMissing, Remedy

FILES = {"": "DejaVuSans.ttf", "B": "DejaVuSans-Bold.ttf"}


def fonts() -> dict[str, Path]:
    """The DejaVu fonts that come with matplotlib, found without importing it. Raises LibraryMissing.

    >>> fonts()["B"].name
    'DejaVuSans-Bold.ttf'
    """
    found = importlib.util.find_spec("matplotlib")
    homes = list(found.submodule_search_locations or ()) if found is not None else []
    for home in homes:
        folder = Path(home) / "mpl-data" / "fonts" / "ttf"
        paths = {style: folder / name for style, name in FILES.items()}
        if all(path.is_file() for path in paths.values()):
            return paths
    raise LibraryMissing(
        what=f"the fonts {' and '.join(FILES.values())} are not found; they come with matplotlib",
        remedy=Remedy.INSTALL_FONTS,
    )
