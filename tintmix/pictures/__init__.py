"""What the numbers look like: matplotlib figures made of plain values from the rooms below, and written as PNG, SVG or
PDF.

Importing this package costs nothing: matplotlib comes in with the first picture that is asked for.

>>> import tintmix.pictures as pictures
>>> "wedge_picture" in dir(pictures)
True
"""

from importlib import import_module as _import_module

_HOMES = {
    "Tinted": "tintmix.pictures.casting",
    "casting_picture": "tintmix.pictures.casting",
    "chart_picture": "tintmix.pictures.chart",
    "paths_picture": "tintmix.pictures.casting",
    "save_picture": "tintmix.pictures.save",
    "strengths_picture": "tintmix.pictures.strengths",
    "residuals_picture": "tintmix.pictures.residuals",
    "swatches_picture": "tintmix.pictures.swatches",
    "thickness_picture": "tintmix.pictures.against_thickness",
    "too_dark": "tintmix.pictures.strip",
    "wedge_picture": "tintmix.pictures.wedge",
}
"""Where each public name lives."""

__all__ = [*_HOMES]


def __getattr__(name: str) -> object:
    if name not in _HOMES:
        raise AttributeError(f"module 'tintmix.pictures' has no attribute {name!r}")
    value = getattr(_import_module(_HOMES[name]), name)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    return sorted({*globals(), *_HOMES})
