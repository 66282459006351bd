"""The `.shape.json` file: written once a casting is traced, read wherever a place of it stands for a thickness.

Reading needs numpy only: neither the mesh nor what traced it.
"""

from __future__ import annotations

import base64
import json
import zlib
from collections.abc import Mapping
from dataclasses import fields
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
from numpy.typing import DTypeLike, NDArray

from tintmix.errors import FileProblem, Note, Remedy
from tintmix.files import caps
from tintmix.files.canonical import canonical_json, digest
from tintmix.files.errors import too_large
from tintmix.files.plain import table_of
from tintmix.files.schema import (
    NEEDED,
    Rows,
    Table,
    Wrong,
    anything,
    checked,
    list_of,
    number,
    one_of,
    or_none,
    text,
    whole,
)
from tintmix.files.stamp import made_at, made_by
from tintmix.files.text import check_values, load_text
from tintmix.files.upgrades import Format
from tintmix.shape.values import CastingShape, InsertOf, MeshOf, PathPicture, PathSpread, Place

SHAPE_FORMAT = Format(what="shape")
_MOST_PIXELS = 4_000_000
_MOST_BINS = 400
_STAMP = ("format", "made_by", "made_at", "digest")
"""What stands in a file beside the values that its digest is of."""


def _truth(found: Any) -> bool:
    if not isinstance(found, bool):
        raise Wrong(", which is neither true nor false")
    return found


_SIZE = number(least=0, most=1e9)
_SHARE = number(least=0, most=1)
_THREE = list_of(number(least=-1e9, most=1e9), 3)
_WEIGHTS = list_of(number(least=0, most=1.001))
_MESH = Table({
    "file": (text(), NEEDED), "sha256": (text(), NEEDED), "unit": (text(), NEEDED), "triangles": (whole(1), NEEDED),
    "watertight": (_truth, NEEDED), "volume_cm3": (_SIZE, NEEDED), "bounds_mm": (list_of(_THREE, 2), NEEDED),
})  # fmt: skip
_INSERT = Table({"mesh": (_MESH, NEEDED), "colour": (anything, None)})
_PATH = Table(dict.fromkeys(("p5", "median", "mean", "p95"), (_SIZE, NEEDED)))
_PLACE = Table({
    "name": (text(), NEEDED), "path_mm": (anything, None), "straight_mm": (_SIZE, NEEDED),
    "standard_error": (_SIZE, NEEDED), "of_clear": (_SIZE, NEEDED), "dark": (_truth, NEEDED), "point_mm": (or_none(_THREE), None),
    "paths": (Table({"lengths_mm": (list_of(_SIZE), NEEDED), "weights": (list_of(_WEIGHTS, 3), NEEDED)}), NEEDED),
})  # fmt: skip
_PICTURE = Table({
    "width": (whole(1), NEEDED), "height": (whole(1), NEEDED), "pixel_mm": (number(above=0), NEEDED),
    "lengths_mm": (list_of(_SIZE), NEEDED), "bare": (_SHARE, NEEDED), "samples": (whole(1), NEEDED), "rows": (whole(0), NEEDED),
    "right": (_THREE, NEEDED), "down": (_THREE, NEEDED), "corner_mm": (list_of(number(), 2), NEEDED),
    **dict.fromkeys(("pixels", "bins", "weights", "sees", "straight_mm", "standard_error"), (text(True, caps.SHAPE), NEEDED)),
})  # fmt: skip
_SHAPE = Table({
    "format": (anything, NEEDED), "made_by": (anything, None), "made_at": (anything, None), "digest": (or_none(text()), None),
    "mesh": (_MESH, NEEDED), "view": (_THREE, NEEDED), "lit": (one_of("panel", "sky"), NEEDED),
    "refractive_index": (number(least=1, most=3), NEEDED), "insert": (or_none(anything), None),
    "samples": (whole(1), NEEDED), "seed": (whole(0), NEEDED), "cut_off": (_SHARE, NEEDED), "dark_by_shape": (_SHARE, NEEDED),
    "resin_cm3": (_SIZE, NEEDED), "resin_g": (or_none(_SIZE), None), "waste_percent": (number(least=0), NEEDED),
    "places": (Rows(_PLACE, in_toml=False), NEEDED), "picture": (_PICTURE, NEEDED),
})  # fmt: skip


def shape_to_text(shape: CastingShape) -> str:
    """The text of a shape's file. Its digest is that of the values in it, not of when and by which program it was made."""
    table = _table(shape)
    stamp = {"format": SHAPE_FORMAT.newest, "made_by": made_by(), "made_at": made_at(), "digest": digest(table)}
    return canonical_json(table | stamp)


def shape_digest(shape: CastingShape) -> str:
    """SHA-256 of what a shape holds."""
    return digest(_table(shape))


def read_shape(path: str | Path) -> CastingShape:
    """A shape from its file. Raises NotThere, CannotReach, FileProblem, BadTable."""
    return shape_from_text(load_text(path, caps.SHAPE, "a traced casting (.shape.json)"), path)


def shape_from_text(said: str, where: object = "the shape") -> CastingShape:
    """The same from text. Raises FileProblem, BadTable."""
    check_values(said, caps.SHAPE_VALUES, where)
    try:
        table = json.loads(said)
    except (ValueError, RecursionError):
        table = None
    if not isinstance(table, dict) or "places" not in table:
        raise FileProblem(where=where, what="it is no traced casting (.shape.json)", remedy=Remedy.NAME_ANOTHER_FILE)
    table = SHAPE_FORMAT.up_to_date(table, where)
    made = checked(_SHAPE, table, where, "the shape")
    insert = None
    if made.insert is not None:
        told = checked(_INSERT, made.insert if isinstance(made.insert, Mapping) else {}, where, "the insert")
        insert = InsertOf(mesh=_mesh(told.mesh), colour=told.colour)
    places = [_place(one, where) for one in made.places]
    names = [one.name for one in places]
    if len(set(names)) < len(names):
        raise FileProblem(where=where, what="two of its places have one name", remedy=Remedy.NAME_ANOTHER_FILE)
    found = digest({key: value for key, value in table.items() if key not in _STAMP})
    picture = _picture(made.picture, where)
    if made.digest not in (None, found):
        what = "it was changed after it was traced: what it holds is not what its digest is of"
        raise FileProblem(where=where, what=what, remedy=Remedy.TRACE_IT_AGAIN)
    same = (
        "lit",
        "refractive_index",
        "samples",
        "seed",
        "cut_off",
        "dark_by_shape",
        "resin_cm3",
        "resin_g",
        "waste_percent",
    )
    return CastingShape(
        mesh=_mesh(made.mesh),
        view=tuple(made.view),
        insert=insert,
        places=tuple(places),
        picture=picture,
        digest=found,
        where=str(where),
        **{key: getattr(made, key) for key in same},
    )


def changed_since(shape: CastingShape) -> Note | None:
    """A note where the mesh beside the shape is not the one that it was traced from; None where it is, or is not there.

    Raises CannotReach.
    """
    import hashlib  # here: OpenSSL, 2 ms of every start-up (measured)

    folder = Path(shape.where).parent
    for one in [shape.mesh] + ([] if shape.insert is None else [shape.insert.mesh]):
        file = folder / one.file
        try:
            if not (one.sha256 and file.is_file()):
                continue
            with open(file, "rb") as stream:
                found = hashlib.file_digest(stream, "sha256").hexdigest()
        except (OSError, ValueError):
            continue
        if found != one.sha256:
            says = f"{file.name} has changed since {Path(shape.where).name} was traced from it."
            return Note(says=says, remedy=Remedy.TRACE_IT_AGAIN)
    return None


def _table(shape: CastingShape) -> dict[str, Any]:
    places = [
        table_of(one, ("lengths_mm", "weights"), path_mm=None if one.path_mm is None else table_of(one.path_mm))
        | {"paths": {"lengths_mm": one.lengths_mm, "weights": one.weights}}
        for one in shape.places
    ]
    picture = shape.picture
    packed = {
        "pixels": _packed(np.diff(picture.pixels, prepend=np.int32(0)), "<i4"),
        "bins": _packed(picture.bins, "<i2"),
        "weights": _packed(picture.weights, "<f4"),
        "sees": _packed(np.packbits(picture.sees, bitorder="little"), "u1"),
        "straight_mm": _packed(picture.straight_mm, "<f4"),
        "standard_error": _packed(picture.standard_error, "<f4"),
    }
    insert = shape.insert
    return table_of(
        shape,
        ("digest", "where"),
        mesh=table_of(shape.mesh),
        insert=None if insert is None else {"mesh": table_of(insert.mesh), "colour": insert.colour},
        places=places,
        picture=table_of(picture, packed, lengths_mm=picture.lengths_mm, rows=len(picture.pixels)) | packed,
    )


def _mesh(made: SimpleNamespace) -> MeshOf:
    low, high = made.bounds_mm
    return MeshOf(**vars(made) | {"bounds_mm": (tuple(low), tuple(high))})


def _place(made: SimpleNamespace, where: object) -> Place:
    spread = None
    if made.path_mm is not None:
        told = made.path_mm if isinstance(made.path_mm, Mapping) else {}
        spread = PathSpread(**vars(checked(_PATH, told, where, f"path_mm of {made.name}")))
    lengths, weights = made.paths.lengths_mm, made.paths.weights
    if any(len(row) != len(lengths) for row in weights):
        what = f"place {made.name!r} has not one weight for each length"
        raise FileProblem(where=where, what=what, remedy=Remedy.TRACE_IT_AGAIN)
    lit = any(map(any, weights))
    # Lengths lie in bins, and a mean of like ones is off by its last digit.
    if lit != (spread is not None) or (
        spread is not None and not 0.999 * min(lengths) - 1e-6 <= spread.mean <= 1.001 * max(lengths) + 1e-6
    ):
        what = f"place {made.name!r} has a path_mm that is not the one of its paths"
        raise FileProblem(where=where, what=what, remedy=Remedy.TRACE_IT_AGAIN)
    return Place(
        name=made.name,
        path_mm=spread,
        straight_mm=made.straight_mm,
        standard_error=made.standard_error,
        of_clear=made.of_clear,
        dark=made.dark,
        point_mm=None if made.point_mm is None else tuple(made.point_mm),
        lengths_mm=tuple(lengths),
        weights=tuple(map(tuple, weights)),
    )


def _picture(made: SimpleNamespace, where: object) -> PathPicture:
    count = made.width * made.height
    if count > _MOST_PIXELS or made.rows > count * _MOST_BINS or not 2 <= len(made.lengths_mm) <= _MOST_BINS:
        raise too_large(where, caps.SHAPE)
    try:
        pixels = np.cumsum(_unpacked(made.pixels, "<i4", made.rows), dtype=np.int32)
        bins = _unpacked(made.bins, "<i2", made.rows).astype(np.int16)
        weights = _unpacked(made.weights, "<f4", made.rows).astype(np.float32)
        sees = np.unpackbits(_unpacked(made.sees, "u1", -(-count // 8)), count=count, bitorder="little").astype(
            np.bool_
        )
        straight, error = (_unpacked(packed, "<f4", count) for packed in (made.straight_mm, made.standard_error))
    except (ValueError, zlib.error):
        what = "its picture cannot be read: it was changed, or cut short"
        raise FileProblem(where=where, what=what, remedy=Remedy.TRACE_IT_AGAIN) from None
    if made.rows and not (
        pixels.min() >= 0 and pixels.max() < count and bins.min() >= 0 and bins.max() < 3 * len(made.lengths_mm)
        and np.all(np.isfinite(weights)) and weights.min() >= 0
    ):  # fmt: skip
        what = "its picture has weights where no pixel or length is"
        raise FileProblem(where=where, what=what, remedy=Remedy.TRACE_IT_AGAIN)
    shape = (made.height, made.width)
    kept = {one.name: getattr(made, one.name) for one in fields(PathPicture)}
    return PathPicture(
        **kept
        | {
            "lengths_mm": np.array(made.lengths_mm),
            "pixels": pixels,
            "bins": bins,
            "weights": weights,
            "sees": sees.reshape(shape),
            "straight_mm": straight.reshape(shape),
            "standard_error": error.reshape(shape),
            "right": tuple(made.right),
            "down": tuple(made.down),
            "corner_mm": tuple(made.corner_mm),
        }
    )


def _packed(values: NDArray[Any], kind: DTypeLike) -> str:
    """Little-endian bytes, deflated, in base 64."""
    return base64.b64encode(zlib.compress(np.ascontiguousarray(values, dtype=kind).tobytes(), 6)).decode("ascii")


def _unpacked(said: str, kind: DTypeLike, count: int) -> NDArray[Any]:
    """So many values, and not one more is unpacked. Raises ValueError, zlib.error."""
    size = count * np.dtype(kind).itemsize
    found = zlib.decompressobj().decompress(base64.b64decode(said, validate=True), size + 1)
    if len(found) != size:
        raise ValueError("another size than was said")
    return np.frombuffer(found, dtype=kind)
