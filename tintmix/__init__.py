"""tintmix: measured test chips of tinted clear resin in; doses that reach a target tint at every thickness out.

Nothing heavy is imported until it is asked for: `import tintmix` costs a few milliseconds. What the package offers, and
its types, stand in `__init__.pyi`.

>>> import tintmix as tm
>>> "solve" in dir(tm)
True
"""

from importlib import import_module as _import_module

__version__ = "0.1.0"

_HOMES = {
    "ChipSet": "tintmix.chips.chip",
    "read_chips": "tintmix.chips.folder",
    "write_chips": "tintmix.chips.folder",
    "TintModel": "tintmix.pigments.model",
    "Look": "tintmix.pigments.model",
    "fit": "tintmix.pigments.fit",
    "load_model": "tintmix.pigments.model_file",
    "save_model": "tintmix.pigments.model_file",
    "Target": "tintmix.recipes.target",
    "read_target": "tintmix.recipes.target_file",
    "Answer": "tintmix.recipes.solve",
    "Outcome": "tintmix.recipes.solve",
    "solve": "tintmix.recipes.solve",
    "Section": "tintmix.optics.section",
    "read_places": "tintmix.recipes.casting",
    "paint_for": "tintmix.recipes.insert_paint",
    "known_lights": "tintmix.optics.detector",
    "Resin": "tintmix.resin",
    "read_resin": "tintmix.resin",
    "TintmixError": "tintmix.errors",
}
"""Where each public name lives."""

__all__ = ["__version__", *_HOMES]


def __getattr__(name: str) -> object:
    if name not in _HOMES:
        raise AttributeError(f"module 'tintmix' has no attribute {name!r}")
    value = getattr(_import_module(_HOMES[name]), name)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    return sorted({*globals(), *_HOMES})
