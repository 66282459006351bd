"""Meshes from files: STL, OBJ, PLY and 3MF, read by trimesh once it is sure that the file is one and does no harm."""

from __future__ import annotations

import hashlib
import io
import logging
import re
import zipfile
import zlib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tintmix.errors import Note, Remedy, TintmixError
from tintmix.files import caps
from tintmix.files.errors import too_large
from tintmix.files.text import load_bytes
from tintmix.files.words import plain
from tintmix.numerals import numeral
from tintmix.shape.errors import bad_mesh_file, no_mesh_library, unit_missing, unit_wrong
from tintmix.shape.solid import MOST_TRIANGLES, Solid
from tintmix.shape.values import MeshOf

KINDS = ("STL", "OBJ", "PLY", "3MF")
UNITS_MM: Mapping[str, float] = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "inch": 25.4, "foot": 304.8, "micron": 0.001}
"""The last two by 3MF files only."""
_OFTEN = ("mm", "cm", "m", "inch")
LONGEST_MM, SHORTEST_MM = 2000.0, 0.5
"""A casting's longest side lies between: beyond, the unit is not the one that was said."""
_LONG_MM, _SHORT_MM = 600.0, 4.0
"""Beyond these the unit is doubted."""
_UNITS_3MF = {"millimeter": "mm", "centimeter": "cm", "meter": "m", "inch": "inch", "micron": "micron", "foot": "foot"}
_PACKED = 200
"""A mesh as text packs to a tenth; what unpacks to more than two hundred times is made to fill the memory."""
_MOST_COPIES = 1000
"""Of bodies that a 3MF file builds from others."""
_DEEPEST = 20
"""Objects of a 3MF file that lie within each other: drawings have a handful, and each costs time."""
_OTHERS = {
    b"ISO-10303": "a STEP file", b"\x89PNG": "a picture", b"\xff\xd8\xff": "a picture", b"%PDF": "a PDF", b"glTF": "a glTF file",
    b"<?xml": "an XML file", b"{": "a JSON file", b"Kaydara": "an FBX file", b"BLENDER": "a Blender file",
}  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Mesh:
    """A mesh as it was read: the solid, in mm, what is kept of its file, and what is worth knowing."""

    solid: Solid
    of: MeshOf
    notes: tuple[Note, ...] = ()


def read_mesh(path: str | Path, unit: str | None = None, several: bool = False) -> Mesh:
    """The casting that a file holds. unit: "mm", "cm", "m" or "inch"; needed but for 3MF, which says it. several: see `Solid`.

    Raises NotThere, CannotReach, FileProblem, ValueProblem, LibraryMissing.
    """
    return mesh_from(load_bytes(path, caps.MESH, "a mesh"), str(path), unit, several)


def mesh_from(data: bytes, name: str, unit: str | None = None, several: bool = False) -> Mesh:
    """The same from a file's bytes; name: as its owner knows it.

    >>> from tintmix.shape.bodies import block
    >>> text = "\\n".join(["v 0 0 0", "v 10 0 0", "v 0 10 0", "v 0 0 10", "f 1 3 2", "f 1 2 4", "f 2 3 4", "f 3 1 4"])
    >>> round(mesh_from(text.encode(), "corner.obj", "mm").of.volume_cm3, 6)
    0.166667
    """
    if len(data) > caps.MESH:
        raise too_large(name, caps.MESH)
    kind = _kind(data, name)
    notes: list[Note] = []
    own = None
    if kind == "3MF":
        own = _safe_3mf(data, name)
    if kind == "OBJ":
        notes += _safe_obj(data, name)
    scale, told = _scale(kind, own, unit, name)
    vertices, faces = _loaded(data, kind, name)
    vertices = vertices * scale
    solid = Solid(
        vertices_mm=_sane(vertices, faces, told, name, notes), faces=faces, name=plain(name, 300), several=several
    )
    return Mesh(solid=solid, of=_told(solid, name, told, hashlib.sha256(data)), notes=tuple(notes))


def mesh_of(solid: Solid, name: str) -> Mesh:
    """The same of a body that no file holds; name: what stands for the file's.

    >>> from tintmix.shape.bodies import block
    >>> mesh_of(block(), "block").of.volume_cm3
    48.0
    """
    hashed = hashlib.sha256(solid.vertices_mm.tobytes())
    hashed.update(solid.faces.tobytes())
    return Mesh(solid=solid, of=_told(solid, name, "mm", hashed))


def _told(solid: Solid, name: str, unit: str, hashed: Any) -> MeshOf:
    low, high = solid.bounds_mm
    return MeshOf(
        file=name,
        sha256=hashed.hexdigest(),
        unit=unit,
        triangles=len(solid.faces),
        watertight=True,
        volume_cm3=solid.volume_mm3 / 1000,
        bounds_mm=(_three(low), _three(high)),
    )


def _loaded(data: bytes, kind: str, name: str) -> tuple[NDArray[np.float64], NDArray[np.int32]]:
    try:
        import trimesh  # here: 0.2 s, which a body made by the program need not wait for
    except ImportError:
        raise no_mesh_library("trimesh") from None
    # What it would write on standard error stands in our own sentence.
    logging.getLogger("trimesh").addHandler(logging.NullHandler())
    is_text = kind == "OBJ" or (kind == "STL" and b"\0" not in data[:4096])
    if len(data) > caps.MESH_TEXT and (is_text or (kind == "PLY" and b"format ascii" in data[:4096])):
        raise too_large(name, caps.MESH_TEXT)
    if is_text:
        # Of names and remarks in another encoding nothing is needed.
        data = data.decode("utf-8", "replace").encode()
    more: dict[str, Any] = {"OBJ": {"skip_materials": True, "group_material": False}}.get(kind, {})
    try:
        mesh = trimesh.load_mesh(io.BytesIO(data), file_type=kind.lower(), process=False, **more)
        vertices, faces = np.asarray(mesh.vertices, dtype=np.float64), np.asarray(mesh.faces)
    except ImportError as missing:
        raise no_mesh_library(str(missing.name or "lxml")) from None
    except TintmixError:
        raise
    except (IndexError, KeyError):
        what = f"it cannot be read as {kind}: it names a corner or a part that it does not hold"
        raise bad_mesh_file(name, what) from None
    except Exception as problem:
        # Of other people's files anything may come, such as a number that is none.
        said = plain(str(problem) or type(problem).__name__, 100)
        said = "it has a kind of number that nobody knows" if "dtype" in said or "data type" in said else said
        raise bad_mesh_file(name, f"it cannot be read as {kind} ({said})") from None
    if len(faces) > MOST_TRIANGLES:
        raise bad_mesh_file(name, f"it holds {len(faces)} triangles; up to {numeral(MOST_TRIANGLES)} are read")
    if len(faces) == 0:
        raise bad_mesh_file(name, "it holds no triangles that can be read")
    if not np.all(np.isfinite(vertices)):
        raise bad_mesh_file(name, "it has corners that are no finite numbers")
    return vertices, faces.astype(np.int32)


def _sane(
    vertices: NDArray[np.float64], faces: NDArray[np.int32], unit: str, name: str, notes: list[Note]
) -> NDArray[np.float64]:
    """The corners, if the casting is of a size that castings have; a note where that is in doubt."""
    used = vertices
    if faces.min() >= 0 and faces.max() < len(vertices):
        named = np.zeros(len(vertices), np.bool_)
        named[faces.ravel()] = True
        used = vertices[named]
    longest = float(np.ptp(used, axis=0).max())
    if longest == 0 or (SHORTEST_MM <= longest <= LONGEST_MM and _SHORT_MM <= longest <= _LONG_MM):
        return vertices
    said = f"with its unit {unit} the casting is {numeral(longest, 5)} mm long"
    other = [
        f"{numeral(longest * UNITS_MM[one] / UNITS_MM[unit], 3)} mm if the unit is {one}" for one in _OFTEN
        if one != unit and 20 <= longest * UNITS_MM[one] / UNITS_MM[unit] <= 300
    ]  # fmt: skip
    guess = f"; it is {' or '.join(other)}" if other else ""
    if not SHORTEST_MM <= longest <= LONGEST_MM:
        bounds = f"{numeral(SHORTEST_MM)} to {numeral(LONGEST_MM)} mm"
        raise unit_wrong(name, f"{said}, and castings are {bounds}{guess}")
    notes.append(Note(says=f"{said[0].upper()}{said[1:]}{guess}.", remedy=Remedy.CHECK_THE_MESH_UNIT))
    return vertices


def _scale(kind: str, own: str | None, unit: str | None, name: str) -> tuple[float, str]:
    if unit is not None and unit not in UNITS_MM:
        raise unit_wrong(name, f"{plain(unit)!r} is no unit that is known")
    if own is None:
        if unit is None:
            raise unit_missing(name, kind)
        return UNITS_MM[unit], unit
    if unit not in (None, own):
        raise unit_wrong(name, f"the file says that its unit is {own}, and {unit} was given")
    return UNITS_MM[own], own


def _kind(data: bytes, name: str) -> str:
    """Which kind the file is, by what is in it; its name must not say otherwise."""
    if not data.strip():
        raise bad_mesh_file(name, "the file is empty")
    said = Path(name).suffix.lstrip(".").upper()
    found = _by_content(data)
    if found in KINDS:
        if said != found and said in KINDS:
            raise bad_mesh_file(name, f"its name says {said}, but it is {_a(found)} file")
        return str(found)
    if found is not None:
        raise bad_mesh_file(name, f"it is {found}, and a mesh is STL, OBJ, PLY or 3MF")
    if said in KINDS:
        raise bad_mesh_file(name, f"it is not {_a(said)} file, though its name says so, or only a part of one")
    raise bad_mesh_file(name, "it is no mesh that is known: STL, OBJ, PLY or 3MF")


def _a(kind: str) -> str:
    return f"a{'n' if kind in ('STL', 'OBJ') else ''} {kind}"


def _by_content(data: bytes) -> str | None:
    head = data[:4096]
    if head.startswith(b"PK\x03\x04"):
        try:
            with zipfile.ZipFile(io.BytesIO(data)) as archive:
                names = [one.lower() for one in archive.namelist()[:10_000]]
        except (zipfile.BadZipFile, ValueError, OSError, NotImplementedError):
            return "a broken archive"
        return "3MF" if any("3d/3dmodel.model" in one for one in names) else "an archive without a mesh in it"
    if re.match(rb"ply\s", head):
        return "PLY"
    if len(data) >= 84 and len(data) == 84 + 50 * int.from_bytes(data[80:84], "little"):
        return "STL"
    if b"\0" not in head:
        if re.match(rb"\s*solid\b", head, re.IGNORECASE) and re.search(
            rb"\b(facet|endsolid)\b", data[:65536], re.IGNORECASE
        ):
            return "STL"
        if re.search(rb"^[ \t]*v[ \t]+[-+.\d]", data[:262_144], re.MULTILINE):
            return "OBJ"
    return next((told for start, told in _OTHERS.items() if head.startswith(start)), None)


def _safe_obj(data: bytes, name: str) -> list[Note]:
    """A note where it names other files, which are never opened. Raises FileProblem where it calls for them."""
    called = re.search(rb"^[ \t]*(call|csh|trace_obj|shadow_obj)[ \t]+(\S[^\r\n]*)", data, re.MULTILINE)
    if called:
        word, rest = (plain(part.decode("utf-8", "replace")) for part in called.groups())
        raise bad_mesh_file(name, f"it calls for something outside of it ({word} {rest}), which is not done")
    named = re.search(rb"^[ \t]*mtllib[ \t]+(\S[^\r\n]*)", data, re.MULTILINE)
    if named is None:
        return []
    other = plain(named.group(1).decode("utf-8", "replace"))
    return [Note(says=f"Its colours, in {other}, are not read: only its shape counts.")]


def _safe_3mf(data: bytes, name: str) -> str:
    """The unit that a 3MF file says. Raises FileProblem where it would unpack, or build, more than a casting is."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            entries = archive.infolist()
            whole = sum(one.file_size for one in entries)
            swollen = any(one.file_size > max(1_000_000, _PACKED * one.compress_size) for one in entries)
            if len(entries) > 10_000:
                raise bad_mesh_file(name, f"it holds {len(entries)} files, which no casting needs")
            if swollen and whole <= caps.MESH_TEXT:
                what = (
                    f"a file in it of more than 1 MB is packed more than {_PACKED} times smaller, which no mesh can be"
                )
                raise bad_mesh_file(name, what)
            if whole > caps.MESH_TEXT:
                raise bad_mesh_file(name, f"it would unpack to {numeral(whole / 1e6, 3)} MB, which no casting needs")
            models = [one for one in entries if one.filename.lower().endswith(".model")]
            texts = [archive.read(one) for one in models]
            root = next(
                text for one, text in zip(models, texts, strict=True) if "3d/3dmodel.model" in one.filename.lower()
            )
    except (
        zipfile.BadZipFile,
        zlib.error,
        ValueError,
        OSError,
        RuntimeError,
        NotImplementedError,
        EOFError,
        StopIteration,
    ) as problem:
        raise bad_mesh_file(name, f"it cannot be unpacked ({plain(str(problem) or 'broken', 80)})") from None
    for text in texts:
        if b"\0" in text[:400] or text[:2] in (b"\xff\xfe", b"\xfe\xff"):
            raise bad_mesh_file(name, "its model is not in UTF-8")
        if re.search(rb"<!(DOCTYPE|ENTITY)", text, re.IGNORECASE):
            raise bad_mesh_file(name, "its model declares entities of its own, which a mesh has no use for")
    if (copies := _copies(texts)) is None:
        raise bad_mesh_file(name, f"its objects are parts of each other more than {_DEEPEST} deep, or without end")
    if copies > _MOST_COPIES:
        raise bad_mesh_file(name, f"it builds more than {_MOST_COPIES} bodies out of one another")
    said = re.search(rb"<(?:\w+:)?model\b[^<>]*?\bunit\s*=\s*[\"']([^\"']*)", root[:65536])
    unit = said.group(1).decode("utf-8", "replace").strip().lower() if said else "millimeter"
    if unit not in _UNITS_3MF:
        raise bad_mesh_file(name, f"it says that its unit is {plain(unit)!r}, which is none of 3MF's")
    return _UNITS_3MF[unit]


def _copies(texts: list[bytes]) -> float | None:
    """How many bodies a 3MF file builds, objects made of objects counted out; None where too many lie within each other."""
    parts: dict[bytes, list[bytes]] = {}
    items: list[bytes] = []
    at = b""
    tag = rb"<(?:\w{1,40}:)?(object|component|item)\b([^<>]*)>"
    for text in texts:
        for found in re.finditer(tag, text):
            what, said = found.groups()
            named = re.search(rb"\b(?:objectid|id)\s*=\s*[\"']([^\"']*)", said)
            one = named.group(1) if named else b""
            if what == b"object":
                at = one
                parts.setdefault(at, [])
            elif what == b"component":
                parts.setdefault(at, []).append(one)
            else:
                items.append(one)
    # Whatever lies no deeper than the rounds so far is counted; where one lies within itself nothing ever settles.
    counts: dict[bytes, float] = {}
    for _ in range(_DEEPEST):
        counts |= {
            one: max(1.0, sum(counts.get(part, 1.0) for part in listed))
            for one, listed in parts.items()
            if one not in counts and all(part in counts or part not in parts for part in listed)
        }
        if max(counts.values(), default=0.0) > _MOST_COPIES:
            return np.inf
        if len(counts) == len(parts):
            break
    else:
        return None
    return sum(counts.get(one, 1.0) for one in items) or max(counts.values(), default=0.0)


def _three(values: NDArray[np.float64]) -> tuple[float, float, float]:
    x, y, z = (float(value) for value in values)
    return x, y, z
