"""Files with bytes lost, changed and put in, for each reader: what they mean or one of our errors comes out, and nothing else."""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from tests.chips import test_fuzz as chips
from tests.chips.fuzzing import said_well
from tests.chips.instruments import test_fuzz as instruments
from tests.chips.photo import test_fuzz as photos
from tintmix.errors import TintmixError
from tintmix.files.curves import read_curve
from tintmix.pigments.model_file import load_model
from tintmix.recipes.recipe_file import read_recipe
from tintmix.recipes.target_file import read_target
from tintmix.resin import read_resin
from tintmix.shape.mesh_file import read_mesh
from tintmix.shape.shape_file import read_shape

DEAR = ("model.json", *(f"a photo: {kind}" for kind in photos.KINDS if kind not in ("curve", "place")))
"""What takes five milliseconds and more a file."""
DEARNESS = 10
"""Of so many tries of the others these have one."""


@dataclass(frozen=True, slots=True)
class Reader:
    """What a file is called, and a try of one that is damaged."""

    name: str
    tried: Callable[[random.Random], None]


def readers(ground: Path, folder: Path) -> Iterator[Reader]:
    """Every reader. ground: sound files, as `inputs.ground` makes them; folder: where to put the damaged ones."""
    for kind in instruments.KINDS:
        yield Reader(f"an instrument: {kind}", partial(_of_kind, instruments, kind))
    for kind in photos.KINDS:
        yield Reader(f"a photo: {kind}", partial(_of_kind, photos, kind))
    yield Reader("set.toml", lambda chance: _set(chance, folder, toml=True))
    yield Reader("chips.csv", lambda chance: _set(chance, folder, toml=False))
    files: dict[str, Callable[[Path], object]] = {
        "resin.toml": read_resin, "target.toml": read_target, "recipe.json": read_recipe, "model.json": load_model,
        "mesh.obj": partial(read_mesh, unit="mm"), "mesh.shape.json": read_shape, "lamp.csv": read_curve,
    }  # fmt: skip
    for name, read in files.items():
        sound = chips.CURVE_CSV if name == "lamp.csv" else (ground / name).read_text(encoding="utf-8")
        yield Reader(name, partial(_file, folder / name, sound, read))


def _of_kind(of: object, kind: str, chance: random.Random) -> None:
    of.check(kind, of.mutated(chance.choice(of.KINDS[kind]), chance))  # type: ignore[attr-defined]


def _set(chance: random.Random, folder: Path, toml: bool) -> None:
    setting, rows = chance.choice(chips.TOMLS), chance.choice(chips.CSVS)
    if toml:
        chips.check(chips.mutated(setting, chance), rows.encode(), folder)
    else:
        chips.check(setting.encode(), chips.mutated(rows, chance), folder)


def _file(place: Path, sound: str, read: Callable[[Path], object], chance: random.Random) -> None:
    place.write_bytes(chips.mutated(sound, chance))
    try:
        read(place)
    except TintmixError as problem:
        said_well(problem)
