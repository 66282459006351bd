"""Meshes from files: each kind read alike, and each bad one refused in one sentence."""

from __future__ import annotations

import io
import struct
import time
import zipfile
from pathlib import Path

import numpy as np
import pytest
import trimesh

from tests.shape.solids import of_trimesh, sphere
from tintmix.errors import FileProblem, NotThere, TintmixError, ValueProblem
from tintmix.files import caps
from tintmix.shape.bodies import block, deck_prism, ring
from tintmix.shape.checks import check_uncrossed, check_within
from tintmix.shape.mesh_file import Mesh, mesh_from, read_mesh
from tintmix.shape.picture import Tracing
from tintmix.shape.scene import scene_of
from tintmix.shape.solid import Solid
from tintmix.shape.view import View, frame_of


def exported(solid: Solid, kind: str, scale: float = 1.0) -> bytes:
    mesh = trimesh.Trimesh(solid.vertices_mm * scale, solid.faces, process=False)
    made = mesh.export(file_type=kind)
    return made if isinstance(made, bytes) else made.encode()


def read(solid: Solid, kind: str = "stl", unit: str | None = "mm", scale: float = 1.0) -> Mesh:
    return mesh_from(exported(solid, kind, scale), f"mesh.{kind}", unit)


def model_3mf(model: str, **others: bytes) -> bytes:
    """A 3MF file with this model."""
    written = io.BytesIO()
    with zipfile.ZipFile(written, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("[Content_Types].xml", "<Types/>")
        archive.writestr("3D/3dmodel.model", model)
        for name, data in others.items():
            archive.writestr(name, data)
    return written.getvalue()


def corner_3mf(unit: str = "", more: str = "", items: str = '<item objectid="1"/>', head: str = "") -> bytes:
    """A corner cube of 10 units."""
    at = [(0, 0, 0), (10, 0, 0), (0, 10, 0), (0, 0, 10)]
    vertices = "".join(f'<vertex x="{x}" y="{y}" z="{z}"/>' for x, y, z in at)
    triangles = "".join(
        f'<triangle v1="{a}" v2="{b}" v3="{c}"/>' for a, b, c in [(0, 2, 1), (0, 1, 3), (0, 3, 2), (1, 2, 3)]
    )
    return model_3mf(
        f'<?xml version="1.0" encoding="UTF-8"?>{head}<model {unit} '
        'xmlns="http://schemas.microsoft.com/3dmanufacturing/core/2015/02"><resources><object id="1" type="model"><mesh>'
        f"<vertices>{vertices}</vertices><triangles>{triangles}</triangles></mesh></object>{more}</resources>"
        f"<build>{items}</build></model>"
    )


def refused(data: bytes, name: str, unit: str | None = "mm") -> str:
    with pytest.raises(TintmixError) as problem:
        mesh_from(data, name, unit)
    said = str(problem.value)
    assert said.startswith(name)
    assert said.count(". ") == 0
    return said


@pytest.mark.parametrize("kind", ["stl", "stl_ascii", "obj", "ply", "3mf"])
def test_every_kind_is_the_same_solid(kind: str) -> None:
    solid = deck_prism()
    mesh = mesh_from(exported(solid, kind), f"prism.{kind.removesuffix('_ascii')}", None if kind == "3mf" else "mm")
    assert mesh.of.volume_cm3 == pytest.approx(solid.volume_mm3 / 1000, rel=1e-6)
    assert mesh.of.triangles == 36
    assert mesh.of.watertight
    assert np.array(mesh.of.bounds_mm) == pytest.approx(np.array(solid.bounds_mm), abs=1e-4)


@pytest.mark.parametrize(("unit", "mm"), [("mm", 1.0), ("cm", 10.0), ("m", 1000.0), ("inch", 25.4)])
def test_units(unit: str, mm: float) -> None:
    assert read(deck_prism(), unit=unit, scale=1 / mm).of.volume_cm3 == pytest.approx(110.158431, rel=1e-6)


def test_3mf_says_its_unit() -> None:
    assert mesh_from(corner_3mf('unit="centimeter"'), "a.3mf").of.volume_cm3 == pytest.approx(1000 / 6)
    assert mesh_from(corner_3mf(), "a.3mf", "mm").of.volume_cm3 == pytest.approx(1 / 6)
    assert "says that its unit is cm, and mm was given" in refused(corner_3mf('unit="centimeter"'), "a.3mf")
    assert "'furlong'" in refused(corner_3mf('unit="furlong"'), "a.3mf")


@pytest.mark.parametrize("kind", ["stl", "obj", "ply"])
def test_others_do_not(kind: str) -> None:
    assert "does not say its unit" in refused(exported(block(), kind), f"a.{kind}", None)


@pytest.mark.parametrize(
    ("scale", "unit", "said"),
    [
        (1.0, "m", "60000 mm long, and castings are 0.5 to 2000 mm; it is 60 mm if the unit is mm"),
        (40.0, "mm", "2400 mm long, and castings are 0.5 to 2000 mm"),
        (0.003, "mm", "0.18 mm long, and castings are 0.5 to 2000 mm; it is 180 mm if the unit is m"),
    ],
)
def test_nonsense_sizes_are_refused(scale: float, unit: str, said: str) -> None:
    problem = refused(exported(block(), "stl", scale), "a.stl", unit)
    assert said in problem


@pytest.mark.parametrize("scale", [12.0, 0.05])
def test_odd_sizes_are_doubted(scale: float) -> None:
    (note,) = read(block(), scale=scale).notes
    assert "if the unit is" in note.says or "mm long." in note.says


def test_usual_sizes_are_not_doubted() -> None:
    assert read(block()).notes == ()


def with_faces(change: np.ndarray, solid: Solid | None = None) -> bytes:
    solid = solid or deck_prism()
    return exported_raw(solid.vertices_mm, change)


def exported_raw(vertices: np.ndarray, faces: np.ndarray) -> bytes:
    made = trimesh.Trimesh(vertices, faces, process=False).export(file_type="stl")
    assert isinstance(made, bytes)
    return made


def test_open() -> None:
    said = refused(with_faces(deck_prism().faces[1:]), "a.stl")
    assert "it is open: 3 edges belong to one triangle only, the first near" in said


def test_inside_out() -> None:
    assert "inside out" in refused(with_faces(deck_prism().faces[:, ::-1]), "a.stl")


def test_an_edge_pushed_far_through_is_a_crossing() -> None:
    """More of it is turned inside out than not, so that its volume is negative; the rest still looks outwards."""
    solid = block()
    vertices = solid.vertices_mm.copy()
    vertices[(vertices[:, 2] == 20) & (vertices[:, 0] > 0), 2] = -60
    assert "it crosses itself" in refused(exported_raw(vertices, solid.faces), "a.stl")


def test_partly_inside_out() -> None:
    faces = deck_prism().faces.copy()
    faces[5] = faces[5, ::-1]
    assert "some of its triangles look inwards" in refused(with_faces(faces), "a.stl")


def test_empty_and_flat() -> None:
    assert "the file is empty" in refused(b"", "a.stl")
    assert "no triangles" in refused(b"\0" * 80 + struct.pack("<I", 0), "a.stl")
    assert "no triangles" in refused(b"v 0 0 0\nv 1 0 0\nv 0 1 0\n", "a.obj")
    solid = block()
    assert "flat" in refused(exported_raw(solid.vertices_mm * [1, 1, 0], solid.faces), "a.stl")
    at = np.zeros((3, 3))
    assert "in one place" in refused(exported_raw(at, np.array([[0, 1, 2]])), "a.stl")


def test_a_sheet_folded_on_itself_holds_nothing() -> None:
    at = np.array([[0, 0, 0], [50.0, 0, 0], [0, 50, 0.5]])
    assert "no volume" in refused(exported_raw(at, np.array([[0, 1, 2], [0, 2, 1]])), "a.stl")


def test_many_bodies() -> None:
    a, b = block(), block()
    both = np.concatenate([a.vertices_mm, b.vertices_mm + [100, 0, 0]])
    faces = np.concatenate([a.faces, b.faces + len(a.vertices_mm)])
    assert "it holds 2 bodies" in refused(exported_raw(both, faces), "a.stl")
    # As inserts several are welcome.
    assert mesh_from(exported_raw(both, faces), "a.stl", "mm", several=True).solid.volume_mm3 == pytest.approx(
        2 * a.volume_mm3
    )


def test_a_hollow_is_no_body() -> None:
    a, b = block(), block(length_mm=10, width_mm=10, height_mm=10)
    both = np.concatenate([a.vertices_mm, b.vertices_mm + [0, 0, 5]])
    faces = np.concatenate([a.faces, b.faces[:, ::-1] + len(a.vertices_mm)])
    assert mesh_from(exported_raw(both, faces), "a.stl", "mm").of.volume_cm3 == pytest.approx(48 - 1)


def test_corners_that_are_not_numbers() -> None:
    solid = block()
    vertices = solid.vertices_mm.copy()
    vertices[3, 1] = np.nan
    assert "no finite numbers" in refused(exported_raw(vertices, solid.faces), "a.stl")


def test_enormous(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("tintmix.shape.mesh_file.MOST_TRIANGLES", 20)
    assert "it holds 36 triangles; up to 20 are read" in refused(exported(deck_prism(), "stl"), "a.stl")


@pytest.mark.parametrize(
    ("data", "name", "said"),
    [
        (exported(block(), "stl"), "a.ply", "its name says PLY, but it is an STL file"),
        (exported(block(), "obj"), "a.stl", "its name says STL, but it is an OBJ file"),
        (
            exported(block(), "stl")[:-60],
            "a.stl",
            "it is not an STL file, though its name says so, or only a part of one",
        ),
        (b"ISO-10303-21;\nHEADER;", "a.step", "it is a STEP file"),
        (b"\x89PNG\r\n\x1a\n" + b"\0" * 100, "a.stl", "it is a picture"),
        (b"PK\x03\x04garbage", "a.3mf", "a broken archive"),
        (b"hello", "a.txt", "it is no mesh that is known"),
        (b"ply\nformat ascii 1.0\nelement vertex 3\nend_header\n0 0", "a.ply", "it cannot be read as PLY"),
        (b"v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 9\n", "a.obj", "it"),
    ],
)
def test_not_what_its_name_says(data: bytes, name: str, said: str) -> None:
    assert said in refused(data, name)


def test_a_zip_bomb_is_not_unpacked() -> None:
    data = model_3mf("<model/>", **{"3D/more.model": b"\0" * 40_000_000})
    assert "packed more than 200 times smaller" in refused(data, "a.3mf")


def test_xml_bombs_are_not_read() -> None:
    laughs = '<!DOCTYPE lolz [<!ENTITY a "ha"><!ENTITY b "&a;&a;&a;">]>'
    assert "declares entities" in refused(corner_3mf(head=laughs), "a.3mf")
    wide = model_3mf("<model/>").replace(b"x", b"x")
    assert "it cannot be read as 3MF" in refused(wide, "a.3mf")
    assert "not in UTF-8" in refused(model_3mf("\ufeff<model/>\x00"), "a.3mf")


def test_bodies_of_bodies_are_counted_before_they_are_built() -> None:
    more = "".join(
        f'<object id="{i}"><components>{f"<component objectid={chr(34)}{i - 1}{chr(34)}/>" * 10}</components></object>'
        for i in range(2, 9)
    )
    assert "more than 1000 bodies" in refused(corner_3mf(more=more, items='<item objectid="8"/>'), "a.3mf")
    itself = '<component objectid="2"/>' * 2
    round_about = f'<object id="2"><components>{itself}</components></object>'
    assert "without end" in refused(corner_3mf(more=round_about, items='<item objectid="2"/>'), "a.3mf")


def test_an_obj_opens_nothing_else(tmp_path: Path) -> None:
    secret = tmp_path / "secret.mtl"
    secret.write_text("newmtl a\nKd 1 0 0\n")
    data = exported(block(), "obj")
    plain = tmp_path / "a.obj"
    plain.write_bytes(b"mtllib secret.mtl\n" + data)
    secret.chmod(0)
    mesh = read_mesh(plain, "mm")
    assert "secret.mtl, are not read" in mesh.notes[0].says
    assert "calls for something outside" in refused(b"call other.obj 1\n" + data, "a.obj")
    assert "calls for something outside" in refused(b"v 0 0 0\ncsh -rm things\n" + data, "a.obj")


def test_a_broken_archive_and_another_encoding() -> None:
    data = bytearray(exported(deck_prism(), "3mf"))
    middle = data.find(b"3dmodel.model") + 60
    data[middle : middle + 40] = bytes(40)
    assert "it cannot be unpacked" in refused(bytes(data), "a.3mf")
    named = "# Prüfstück\no Prüfstück\n".encode("latin-1") + exported(deck_prism(), "obj")
    assert mesh_from(named, "a.obj", "mm").of.triangles == 36


@pytest.mark.parametrize("line", [b"\n", b" \n", b"\t", b"<model ", b"<object ", b"v "])
def test_long_rows_of_nothing_take_no_time(line: bytes) -> None:
    """Searches that begin again at every line would take minutes."""
    many = line * (2_000_000 // len(line))
    started = time.process_time()
    refused(b"o a\n" + many, "a.obj")
    refused(b"solid a\n" + many, "a.stl")
    refused(b"ply\n" + many, "a.ply")
    refused(model_3mf(many.decode() + "."), "a.3mf")
    assert time.process_time() - started < 5


def test_a_mesh_that_is_at_fault_is_found_by_its_rays() -> None:
    """A crossing that nobody looked for: light comes from outside where inside should be."""
    solid = crossing()
    tracing = Tracing(scene_of(solid), frame_of(solid.vertices_mm, View(direction=(0.3, 0.2, 1)), 64), "panel")
    with pytest.raises(FileProblem, match=r"a\.stl: of \d+ rays of light \d+ found no way out"):
        tracing.go_on()


def test_no_file(tmp_path: Path) -> None:
    with pytest.raises(NotThere, match="no such file"):
        read_mesh(tmp_path / "none.stl", "mm")
    with pytest.raises(NotThere):
        read_mesh(tmp_path, "mm")
    with pytest.raises(ValueProblem, match="'feet' is no unit"):
        mesh_from(exported(block(), "stl"), "a.stl", "feet")


def crossing() -> Solid:
    """A block whose upper corner was pulled down through its base."""
    solid = block(length_mm=40, width_mm=40, height_mm=20)
    vertices = solid.vertices_mm.copy()
    vertices[(vertices == [20, 20, 20]).all(axis=1)] = [-10, -12, -15]
    return Solid(vertices_mm=vertices, faces=solid.faces, name="a.stl")


def test_self_crossing() -> None:
    solid = crossing()
    with pytest.raises(FileProblem, match=r"a\.stl: it crosses itself, first near"):
        check_uncrossed(solid, scene_of(solid))


@pytest.mark.parametrize("solid", [deck_prism(), sphere(), block(), ring()], ids=["prism", "sphere", "block", "ring"])
def test_sound_solids_do_not_cross(solid: Solid) -> None:
    check_uncrossed(solid, scene_of(solid))


@pytest.mark.parametrize(
    ("middle", "said"),
    [
        ((0, 0, -3), "sticks out"),
        ((0, 0, 40), "sticks out"),
        ((200, 0, -20), "sticks out"),
        ((0, 0, -30), "sticks out"),
    ],
)
def test_an_insert_that_sticks_out(middle: tuple[float, float, float], said: str) -> None:
    casting, insert = deck_prism(), ring(across_mm=40, middle_mm=middle, high_mm=8)
    with pytest.raises(FileProblem, match=said):
        check_within(insert, casting, scene_of(insert), scene_of(casting))


def test_an_insert_within() -> None:
    casting, insert = deck_prism(), ring(across_mm=40, middle_mm=(0, 0, -10))
    check_within(insert, casting, scene_of(insert), scene_of(casting))


@pytest.mark.parametrize("size", [0.9, 1.0, 1.1])
@pytest.mark.parametrize("hollow", [sphere(10, 2), block(length_mm=10, width_mm=10, height_mm=5)], ids=["ball", "box"])
def test_an_insert_in_a_hollow_of_its_own_shape_is_told(hollow: Solid, size: float) -> None:
    casting = block(length_mm=60, width_mm=60, height_mm=40)
    both = np.concatenate([casting.vertices_mm, hollow.vertices_mm + [0, 0, 20]])
    faces = np.concatenate([casting.faces, hollow.faces[:, ::-1] + len(casting.vertices_mm)])
    hollowed = Solid(vertices_mm=both, faces=faces)
    insert = Solid(vertices_mm=hollow.vertices_mm * size + [0, 0, 20], faces=hollow.faces)
    with pytest.raises(FileProblem, match=r"in a hollow|sticks out"):
        check_within(insert, hollowed, scene_of(insert), scene_of(hollowed))


@pytest.mark.parametrize("whole", [False, True])
def test_3mf_objects_within_objects_without_end(whole: bool) -> None:
    """A chain of 2000, and one that bites its tail: refused before anything is built."""
    last = 2 if whole else 1
    chain = "".join(
        f'<object id="{i}"><components><component objectid="{i - 1 if i > 2 else last}"/></components></object>'
        for i in range(2, 2002)
    )
    begun = time.perf_counter()
    said = refused(corner_3mf(more=chain, items='<item objectid="2001"/>'), "a.3mf", None)
    assert "more than 20 deep, or without end" in said
    assert time.perf_counter() - begun < 1.0


def test_3mf_objects_within_a_few() -> None:
    chain = "".join(
        f'<object id="{i}"><components><component objectid="{i - 1}"/></components></object>' for i in range(2, 12)
    )
    mesh = mesh_from(corner_3mf(more=chain, items='<item objectid="11"/>'), "a.3mf")
    assert mesh.of.volume_cm3 == pytest.approx(1 / 6)


def test_what_a_file_names_and_does_not_hold_is_told_in_words() -> None:
    absent = "names a corner or a part that it does not hold"
    assert absent in refused(corner_3mf(items=""), "a.3mf", None)
    assert absent in refused(b"v 0 0 0\nv 1 0 0\nv 0 1 0\nv 0 0 1\nf 1 2 9\n", "a.obj")


def test_the_sizes_that_are_told_are_allowed() -> None:
    solid = block(length_mm=100)
    assert read(solid, scale=20).of.bounds_mm[1][0] == 1000
    said = refused(exported(solid, "stl", 20.002), "a.stl")
    assert "2000.2 mm long, and castings are 0.5 to 2000 mm" in said


def test_walls_that_touch() -> None:
    a, b = block(), block()
    both = np.concatenate([a.vertices_mm, b.vertices_mm + [60, 40, 0]])
    with pytest.raises(FileProblem, match="its walls touch"):
        Solid(vertices_mm=both, faces=np.concatenate([a.faces, b.faces + len(a.vertices_mm)]))


def test_a_sphere_by_trimesh_is_a_solid() -> None:
    assert of_trimesh(trimesh.creation.icosphere(subdivisions=2)).is_convex()


def test_a_mesh_as_text_may_have_fewer_bytes(monkeypatch: pytest.MonkeyPatch) -> None:
    text = "\n".join(
        ["v 0 0 0", "v 10 0 0", "v 0 10 0", "v 0 0 10", "f 1 3 2", "f 1 2 4", "f 2 3 4", "f 3 1 4"]
    ).encode()
    monkeypatch.setattr(caps, "MESH_TEXT", len(text))
    assert mesh_from(text, "corner.obj", "mm").of.triangles == 4
    with pytest.raises(FileProblem, match="larger than"):
        mesh_from(text + b"\n", "corner.obj", "mm")
