"""A casting traced: its volume, the ways light takes through it, and its places as they are seen."""

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Literal

import numpy as np

from tintmix.desk.seen import Colour, insert_ground
from tintmix.errors import Note, Remedy
from tintmix.files.plain import finite, table_of
from tintmix.files.write import Outputs, Where
from tintmix.numerals import percent
from tintmix.quantities import WASTE_PERCENT
from tintmix.resin import DEFAULT_REFRACTIVE_INDEX, Resin, read_resin
from tintmix.shape.checks import check_uncrossed, check_within
from tintmix.shape.mesh_file import Mesh, read_mesh
from tintmix.shape.picture import SAMPLES, WIDTH, Tracing, refine
from tintmix.shape.places import dark_by_shape, named_places, usual_places
from tintmix.shape.scene import Scene, scene_of
from tintmix.shape.shape_file import SHAPE_FORMAT, shape_digest, shape_to_text
from tintmix.shape.solid import Solid
from tintmix.shape.values import CastingShape, InsertOf
from tintmix.shape.view import View
from tintmix.weighing.batch import batch_from_volume
from tintmix.weighing.errors import MeasureMissing

Point = tuple[float, float, float]
_UNKNOWN_INSERT = 0.5
"""Reflectance of an insert whose colour nobody said, where it is met a third time."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Casting:
    """A casting whose mesh is sound, ready to be traced. notes: what is worth knowing of it; insert: what is cast in."""

    mesh: Mesh
    scene: Scene
    insert: InsertOf | None = None
    insert_solid: Solid | None = None
    insert_reflectance: float = _UNKNOWN_INSERT
    notes: tuple[Note, ...] = ()

    @property
    def resin_cm3(self) -> float:
        """What the resin fills."""
        inner = 0.0 if self.insert_solid is None else self.insert_solid.volume_mm3 / 1000
        return self.mesh.solid.volume_mm3 / 1000 - inner


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Shaped:
    """A casting that was traced. body: the same as JSON has it; notes are in its warnings."""

    shape: CastingShape
    body: dict[str, Any]
    written: tuple[str, ...] = ()


def casting_of(
    mesh: Mesh,
    insert_mesh: Mesh | None = None,
    insert: str | Colour | None = None,
    refractive_index: float = DEFAULT_REFRACTIVE_INDEX,
) -> Casting:
    """A casting from a mesh at hand, and one of what is cast in. Raises what is wrong with them, LibraryMissing."""
    inner = None if insert_mesh is None else insert_mesh.solid
    alone = scene_of(mesh.solid, None, refractive_index)
    check_uncrossed(mesh.solid, alone)
    notes = mesh.notes
    if insert_mesh is None or inner is None:
        return Casting(mesh=mesh, scene=alone, notes=notes)
    inner_alone = scene_of(inner)
    check_uncrossed(inner, inner_alone)
    check_within(inner, mesh.solid, inner_alone, alone)
    return Casting(
        mesh=mesh,
        scene=scene_of(mesh.solid, inner, refractive_index),
        insert=InsertOf(mesh=insert_mesh.of, colour=_colour(insert)),
        insert_solid=inner,
        insert_reflectance=_mean_reflectance(insert),
        notes=(*notes, *insert_mesh.notes),
    )


def read_casting(
    mesh_path: Where,
    unit: str | None = None,
    insert_mesh: Where | None = None,
    insert: str | Colour | None = None,
    refractive_index: float = DEFAULT_REFRACTIVE_INDEX,
) -> Casting:
    """The same from files."""
    mesh = read_mesh(mesh_path, unit)
    inner = None
    if insert_mesh is not None:
        in_its_own = Path(insert_mesh).suffix.lower() == ".3mf"
        inner = read_mesh(insert_mesh, None if in_its_own else unit or mesh.of.unit, several=True)
    return casting_of(mesh, inner, insert, refractive_index)


def traced(
    casting: Casting,
    view: View | None = None,
    lit: Literal["panel", "sky"] = "panel",
    width: int = WIDTH,
    samples: int = SAMPLES,
    seed: int = 0,
) -> Iterator[Tracing]:
    """Its picture, coarse at once and then finer; whoever asks for no more stops it. Raises FileProblem, ValueProblem."""
    vertices = casting.mesh.solid.vertices_mm
    again = casting.insert_reflectance
    return refine(casting.scene, vertices, view or View(), lit, width, samples, seed, again)


def shape_of(
    casting: Casting,
    tracing: Tracing,
    points_mm: Mapping[str, Point] | None = None,
    resin: Resin | None = None,
    waste_percent: float = 0.0,
) -> CastingShape:
    """What is kept of a tracing: its places and picture. Raises ValueProblem for a point beside the casting."""
    dark, _ = dark_by_shape(tracing)
    grams = None
    if resin is not None:
        with suppress(MeasureMissing):  # without a density there are no grams
            grams = batch_from_volume(casting.resin_cm3, resin, waste_percent)
    shape = CastingShape(
        mesh=casting.mesh.of,
        view=tracing.frame.view.direction,
        lit=tracing.lit,
        refractive_index=casting.scene.refractive_index,
        insert=casting.insert,
        samples=tracing.samples * tracing.frame.width * tracing.frame.height,
        seed=tracing.seed,
        cut_off=tracing.cut_off,
        dark_by_shape=dark,
        resin_cm3=casting.resin_cm3,
        resin_g=grams,
        waste_percent=waste_percent,
        places=(*usual_places(tracing), *named_places(tracing, points_mm or {})),
        picture=tracing.picture(),
    )
    return replace(shape, digest=shape_digest(shape))


def shape_casting(
    mesh_path: Where,
    unit: str | None = None,
    out: Where | None = None,
    view: Point = (0.0, 0.0, -1.0),
    lit: Literal["panel", "sky"] = "panel",
    insert_mesh: Where | None = None,
    insert: str | Colour | None = None,
    resin_path: Where | None = None,
    waste_percent: float = 0.0,
    points_mm: Mapping[str, Point] | None = None,
    width: int = WIDTH,
    samples: int = SAMPLES,
    seed: int = 0,
    picture: Where | None = None,
    replace_old: bool = False,
) -> Shaped:
    """Read a mesh, trace it, and write the shape to `out`; `picture` is of how far the light has gone.

    Raises what is wrong with the mesh, the insert, the view, a point or the resin; CannotWrite.
    """
    seen_from = View(direction=view)
    WASTE_PERCENT.check("the waste allowance", waste_percent)
    reading = [one for one in (mesh_path, insert_mesh, resin_path) if one is not None]
    with Outputs(reading, replace_old) as outputs:
        waiting = None if out is None else outputs.at(out, SHAPE_FORMAT)
        drawn = None if picture is None else outputs.picture(picture)
        resin = None if resin_path is None else read_resin(resin_path)
        index = DEFAULT_REFRACTIVE_INDEX if resin is None else resin.refractive_index
        casting = read_casting(mesh_path, unit, insert_mesh, insert, index)
        *_, tracing = traced(casting, seen_from, lit, width, samples, seed)
        shape = shape_of(casting, tracing, points_mm, resin, waste_percent)
        if out is not None and waiting is not None:
            shape = _beside(shape, Path(out).parent)
            waiting.write_text(shape_to_text(shape), encoding="utf-8")
        if drawn is not None:
            # Here: half a second of imports, which a shape without a picture need not wait for.
            from tintmix.desk import draw

            draw.paths(shape, drawn)
    notes = [*casting.notes, *notes_of(shape)]
    if resin is not None and shape.resin_g is None:
        notes.append(
            Note(says=f"{resin.name} has no density, so that no grams can be told.", remedy=Remedy.WRITE_THE_DENSITY)
        )
    return Shaped(
        shape=shape, body=shape_body(shape, notes), written=tuple(str(one) for one in (out, picture) if one is not None)
    )


def shape_body(shape: CastingShape, notes: list[Note]) -> dict[str, Any]:
    """A shape as JSON has it: without the picture."""
    mesh = shape.mesh
    body: dict[str, Any] = finite(
        {
            "volume_cm3": mesh.volume_cm3,
            "watertight": mesh.watertight,
            "triangles": mesh.triangles,
            "bounds_mm": mesh.bounds_mm,
            "resin_cm3": shape.resin_cm3,
            "resin_g": shape.resin_g,
            "waste_percent": shape.waste_percent,
            "refractive_index": shape.refractive_index,
            "view": shape.view,
            "lit": shape.lit,
            "samples": shape.samples,
            "cut_off": shape.cut_off,
            "dark_by_shape": shape.dark_by_shape,
            "straight_mm": _straight(shape),
            "places": [table_of(one, ("lengths_mm", "weights")) for one in shape.places],
        }
    )
    return body | {"warnings": notes}


def notes_of(shape: CastingShape) -> list[Note]:
    """What is worth knowing of a traced casting."""
    notes = []
    if not shape.places or all(place.point_mm is not None for place in shape.places):
        says = "Seen from there the whole casting is dark by its shape, in any tint and in none: no place is palest or deepest."
        notes.append(Note(says=says))
    for place in shape.places:
        if place.dark:
            comes = f"in clear resin {percent(place.of_clear)} of the light comes"
            notes.append(Note(says=f"{place.name} is dark by its shape: {comes}, and no tint changes that."))
    if shape.cut_off > _MUCH:
        notes.append(
            Note(says=f"{percent(shape.cut_off)} of the light was still under way after 32 faces, and is not counted.")
        )
    return notes


_MUCH = 0.01
"""Light cut off that is worth a word: as much as a careful eye tells in brightness side by side (common practice)."""


def _straight(shape: CastingShape) -> dict[str, float] | None:
    depth = shape.picture.straight_mm[shape.picture.sees]
    if not depth.size:
        return None
    least, middle, most = np.quantile(depth, (0.05, 0.5, 1.0))
    return {"p5": float(least), "median": float(middle), "most": float(most)}


def _beside(shape: CastingShape, folder: Path) -> CastingShape:
    """The same with its files named from that folder."""

    def named(file: str) -> str:
        try:
            return Path(os.path.relpath(file, folder)).as_posix()
        except ValueError:  # another drive
            return os.path.realpath(file)

    insert = shape.insert
    if insert is not None:
        colour = dict(insert.colour) if insert.colour is not None else None
        if colour is not None and "insert_spectrum" in colour:
            colour["insert_spectrum"] = named(str(colour["insert_spectrum"]))
        insert = InsertOf(mesh=replace(insert.mesh, file=named(insert.mesh.file)), colour=colour)
    made = replace(shape, mesh=replace(shape.mesh, file=named(shape.mesh.file)), insert=insert)
    return replace(made, digest=shape_digest(made))


def _colour(insert: str | Colour | None) -> dict[str, Any] | None:
    """An insert's colour as a target has it."""
    if insert is None:
        return None
    if not isinstance(insert, str):
        return {"insert_lab": list(insert)}
    return {"insert_spectrum" if insert.lower().endswith(".csv") else "insert_srgb": insert}


def _mean_reflectance(insert: str | Colour | None) -> float:
    if insert is None:
        return _UNKNOWN_INSERT
    return float(np.mean(np.asarray(insert_ground(insert, None, "D65", 10).reflectance)))
