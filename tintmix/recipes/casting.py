"""A place of a traced casting as a place of a target: out of its shape's file, or out of a recipe that has kept it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from tintmix.errors import FileProblem, Note, Remedy, TintmixError, ValueProblem
from tintmix.files.curves import read_column
from tintmix.files.plain import finite, table_of
from tintmix.files.schema import NEEDED, Table, anything, checked, list_of, number, or_none, text
from tintmix.optics.detector import Light
from tintmix.optics.paths import LightPaths, PathLength, Seen
from tintmix.optics.section import Section, seen_section
from tintmix.optics.spectrum import Array
from tintmix.recipes.errors import insert_unpainted, unreadable_recipe
from tintmix.recipes.insert_colour import reflectance_of
from tintmix.recipes.target import RANGES, Curve, Insert

if TYPE_CHECKING:
    from tintmix.shape.values import CastingShape

_SIZE = number(least=0)
_TEXT = text(empty=True)
_PATH = Table(dict.fromkeys(("p5", "median", "mean", "p95"), (_SIZE, NEEDED)))
_COLOUR = Table({
    **{key: (or_none(RANGES[key]), None) for key in ("insert_lab", "insert_srgb")}, "insert_spectrum": (or_none(anything), None),
})  # fmt: skip
_CURVE = Table({key: (list_of(number()), NEEDED) for key in ("nm", "values")})
_KEPT = Table(
    {
        **dict.fromkeys(("shape", "place"), (text(), NEEDED)),
        **dict.fromkeys(("digest", "mesh", "mesh_digest"), (_TEXT, "")),
        **dict.fromkeys(("straight_mm", "of_clear", "refractive_index"), (_SIZE, NEEDED)),
        "dark": (anything, False),
        "path_mm": (_PATH, NEEDED),
        "lengths_mm": (list_of(_SIZE), NEEDED),
        "weights": (list_of(list_of(_SIZE), 3), NEEDED),
        "insert": (or_none(anything), None),
    },
    others=True,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class CastPlace:
    """A place of a shape, and the insert that the shape has, None where it has none or where its colour was not said."""

    seen: Seen
    insert: Insert | None = None


def place_on(shape: CastingShape, name: str, file: str) -> CastPlace:
    """The place of that name. file: the shape's, as it was named. Raises NotThere, and what is wrong with its insert's colour."""
    place = shape.place(name)
    nowhere = PathLength(p5=0.0, median=0.0, mean=0.0, p95=0.0)
    seen = Seen(
        shape=file,
        place=place.name,
        paths=_paths(place.lengths_mm, place.weights),
        straight_mm=place.straight_mm,
        path_mm=nowhere if place.path_mm is None else PathLength(**table_of(place.path_mm)),
        of_clear=place.of_clear,
        dark=place.dark,
        refractive_index=shape.refractive_index,
        digest=shape.digest,
        mesh=shape.mesh.file,
        mesh_digest=shape.mesh.sha256,
    )
    return CastPlace(seen=seen, insert=_insert_of(shape) if seen.paths.has_insert else None)


def read_places(
    path: str | Path, insert: Insert | None = None, light: str | Light = "D65", observer: int = 10
) -> dict[str, Section]:
    """Every place of a `.shape.json`, by its name, to look at: `model.look(doses, list(read_places(path).values()))`.

    insert: in place of the one that the shape has; light, observer: by which its colour is meant. Raises what is wrong with the
    file, and ValueProblem where an insert is seen whose colour nobody said.
    """
    from tintmix.shape.shape_file import read_shape  # here: 12 ms, for which thicknesses need not wait

    shape, places = read_shape(path), {}
    for one in shape.places:
        cast = place_on(shape, one.name, Path(path).name)
        painted = insert or cast.insert
        if cast.seen.paths.has_insert and painted is None:
            raise insert_unpainted(f"place {one.name!r}", Path(path).name)
        reflectance = None if painted is None else reflectance_of(painted, light, observer)
        places[one.name] = seen_section(one.name, cast.seen, reflectance)
    return places


def insert_on(shape: CastingShape, light: str | Light = "D65", observer: int = 10) -> float | Array:
    """Reflectance of what is cast in a shape, a number or (K,); 0 where nothing is, or its colour was not said."""
    painted = _insert_of(shape)
    return 0.0 if painted is None else reflectance_of(painted, light, observer)


def changed(shape: CastingShape) -> list[Note]:
    """What has changed since the shape was traced: the mesh beside it."""
    from tintmix.shape.shape_file import changed_since  # here, as above

    note = changed_since(shape)
    return [] if note is None else [note]


def changed_since_kept(kept: Sequence[CastPlace], folder: Path) -> list[Note]:
    """Of places that a recipe has kept: whether the shape beside it, or that shape's mesh, is another by now."""
    if not kept:
        return []
    from tintmix.shape.shape_file import read_shape  # here, as above

    notes: list[Note] = []
    for file in dict.fromkeys(one.seen.shape for one in kept):
        seen = next(one.seen for one in kept if one.seen.shape == file)
        path = folder / file
        try:
            if not path.is_file():
                continue
            shape = read_shape(path)
        except (TintmixError, OSError, ValueError):
            notes.append(_other(file, "cannot be read any more"))
            continue
        if shape.digest != seen.digest:
            notes.append(_other(file, "has changed"))
        notes += changed(shape)
    return notes


def _other(file: str, so: str) -> Note:
    says = f"{file} {so} since this recipe was made for it; its places are those of then."
    return Note(says=says, remedy=Remedy.FIND_THE_RECIPE_AGAIN)


def kept_table(place: CastPlace) -> dict[str, Any]:
    """A place as a recipe keeps it, so that it can be used without the shape's file."""
    seen, insert = place.seen, place.insert
    colour = None
    if insert is not None:
        curve = insert.reflectance
        spectrum = None if curve is None else {"nm": curve.nm, "values": curve.values}
        colour = {"insert_lab": insert.lab, "insert_srgb": insert.srgb, "insert_spectrum": spectrum}
    own = {"lengths_mm": seen.paths.lengths_mm, "weights": seen.paths.weights}
    return dict(finite(table_of(seen, ("paths",), insert=colour, **own)))


def kept_place(table: Any, where: object) -> CastPlace:
    """The place of such a table. Raises FileProblem."""
    if not isinstance(table, Mapping):
        raise unreadable_recipe(where, "a place of its casting is no table")
    try:
        told = checked(_KEPT, table, where, "a place of its casting")
        own = {key: value for key, value in vars(told).items() if key not in ("lengths_mm", "weights", "insert")}
        seen = Seen(
            **own | {"path_mm": PathLength(**vars(told.path_mm)), "paths": _paths(told.lengths_mm, told.weights)}
        )
        insert = None if told.insert is None else _insert(told.insert, Path(), where)
    except FileProblem as error:
        raise unreadable_recipe(where, error.what) from None
    except ValueProblem as error:
        raise unreadable_recipe(where, str(error).rstrip(".")) from None
    return CastPlace(seen=seen, insert=insert)


def _paths(lengths_mm: Sequence[float], weights: Sequence[Sequence[float]]) -> LightPaths:
    """Only lengths by which any light comes: bins are mostly empty."""
    paths = LightPaths(lengths_mm=tuple(lengths_mm), weights=tuple(map(tuple, weights)))
    kept = [at for at in range(len(lengths_mm)) if any(row[at] > 0 for row in weights)]
    return LightPaths(
        lengths_mm=tuple(paths.lengths_mm[at] for at in kept),
        weights=tuple(tuple(row[at] for at in kept) for row in paths.weights),
    )


def _insert_of(shape: CastingShape) -> Insert | None:
    colour = None if shape.insert is None else shape.insert.colour
    return None if colour is None else _insert(colour, Path(shape.where).parent, shape.where)


def _insert(colour: Any, folder: Path, where: object) -> Insert:
    told = checked(_COLOUR, colour if isinstance(colour, Mapping) else {}, where, "the insert")
    curve = told.insert_spectrum
    if isinstance(curve, Mapping):
        made = checked(_CURVE, curve, where, "the insert's spectrum")
        curve = Curve(tuple(made.nm), tuple(made.values), "the insert's spectrum")
    elif curve is not None:
        nm, values = read_column(folder / str(curve), "reflectance")
        curve = Curve(tuple(map(float, nm)), tuple(map(float, values)), str(curve))
    return Insert(told.insert_lab, told.insert_srgb, curve)
