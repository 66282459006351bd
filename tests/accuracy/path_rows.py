"""The tracer against a general-purpose path tracer: `python -m tests.accuracy.path_rows [rays a pixel [PAGE]]` prints the table.

`… path_rows 18432 anew bowl` sends other rays, and only through the bowl. The strengths of a region share their rays: chance
takes all three of them beyond three errors at once, and is told by not doing it again.

Three castings, the same mesh, index and absorption in both, seen aslant over a wide light panel; three strengths; twenty
regions of 4 × 4 pixels of each, evenly along their mean paths. The other tracer is `mitsuba` from PyPI (200 MB; install it
where this runs, or put its folder on PYTHONPATH): its `volpathmis` integrator, dielectric faces, a medium that absorbs only.
Ours is asked as for a picture: by chance after the first face, single precision, bins.
"""

from __future__ import annotations

import importlib.util
import sys
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import trimesh
from numpy.typing import NDArray

from tests.accuracy.pages import put_into
from tintmix.shape.bodies import bowl, deck_prism, ring
from tintmix.shape.picture import Tracing
from tintmix.shape.scene import scene_of
from tintmix.shape.smooth import corner_normals
from tintmix.shape.solid import Solid
from tintmix.shape.values import PathPicture
from tintmix.shape.view import Frame, View

PROGRAM = "python -m tests.accuracy.path_rows 9216 PAGE"
Floats = NDArray[np.float64]
PIXELS, BLOCK, REGIONS = 48, 4, 20
STRENGTHS_PER_MM = (0.004, 0.012, 0.03)
"""Decadic: 58, 19 and 1.6 % at 60 mm."""
INDEX, INSERT = 1.5, 0.5
DIFFERENCE, ERRORS = 0.02, 3.0
RENDERS = 24
"""Of which the scatter tells the other's standard error."""
FIRST, ANEW = (100, 0), (500, 1000)
"""Seeds of the first part, ours and the other's."""


@dataclass(frozen=True, slots=True)
class Row:
    """One casting in one strength. differences: of each region, relative; errors: the same by their joint standard errors."""

    casting: str
    strength_per_mm: float
    differences: tuple[float, ...]
    errors: tuple[float, ...]

    @property
    def mean_difference(self) -> float:
        """Of all regions together: their mean, with sign."""
        return float(np.mean(self.differences))

    @property
    def within(self) -> int:
        """Regions within 2 % and within 3 standard errors."""
        pairs = zip(self.differences, self.errors, strict=True)
        return sum(abs(off) <= DIFFERENCE and abs(by) <= ERRORS for off, by in pairs)


def castings() -> Iterator[tuple[str, Solid, Solid | None, View]]:
    """Flat faces; smooth ones, and light that comes in again; a matt thing cast in."""
    yield "deck prism", deck_prism(), None, View(direction=(0.15, 0.1, -1))
    yield "bowl", bowl(), None, View(direction=(0.1, 0.9, -1))
    yield "prism round a ring", deck_prism(), ring(across_mm=34, middle_mm=(3, 0, -14)), View(direction=(-0.2, 0.3, -1))


def square_frame(solid: Solid, view: View) -> Frame:
    """A square picture, as the other has it."""
    own = solid.vertices_mm @ view.axes().T
    low, high = own.min(axis=0), own.max(axis=0)
    side = 1.02 * float(np.max(high - low))
    middle = (low + high) / 2
    return Frame(
        view=view, width=PIXELS, height=PIXELS, pixel_mm=side / PIXELS, left_mm=float(middle[0] - side / 2),
        top_mm=float(middle[1] - side / 2), start_mm=float(low[2] - 0.05 * side),
    )  # fmt: skip


def ours(solid: Solid, insert: Solid | None, frame: Frame, rays: int, seed: int) -> tuple[PathPicture, list[Floats]]:
    """The picture of all passes, and what each of the parts of them sees in each strength (3, H, W)."""
    scene = scene_of(solid, insert, INDEX)
    coarse = Tracing(scene, frame, "panel", seed=1, again=INSERT)
    for _ in range(4):
        coarse.go_on()
    parts = []
    for part in range(RENDERS):
        tracing = Tracing(scene, frame, "panel", seed=seed + part, bins_mm=coarse.bins_mm, again=INSERT)
        for _ in range(-(-rays // RENDERS)):
            tracing.go_on()
        parts.append(seen(tracing.picture()))
    return coarse.picture(), parts


def seen(picture: PathPicture) -> Floats:
    """Light (3, H, W) in each strength."""
    lengths = np.asarray(picture.lengths_mm)
    tau = 10.0 ** (-np.array(STRENGTHS_PER_MM) * lengths[:, None])
    return np.moveaxis(picture.product(np.concatenate([tau, INSERT * tau, INSERT**2 * tau])), -1, 0)


def theirs(solid: Solid, insert: Solid | None, frame: Frame, rays: int, seed: int, folder: Path) -> list[Floats]:
    """The same by mitsuba: as many renders, their three channels the three strengths."""
    import mitsuba as mi

    mi.set_variant("scalar_rgb")
    to_world = mi.ScalarTransform4f
    view = np.array(frame.view.direction)
    side = frame.pixel_mm * PIXELS
    middle = frame.origins(np.array([PIXELS / 2]), np.array([PIXELS / 2]))[0]
    depth = float(np.max(solid.vertices_mm @ view) - middle @ view) + 1.0
    look = to_world().look_at(origin=_list(middle), target=_list(middle + view), up=_list(np.array(frame.view.up)))
    absorbs = {
        "type": "homogeneous",
        "albedo": 0.0,
        "sigma_t": {"type": "rgb", "value": [float(np.log(10) * strength) for strength in STRENGTHS_PER_MM]},
    }
    behind = middle + view * depth
    scene: dict[str, Any] = {
        "type": "scene",
        "integrator": {"type": "volpathmis", "max_depth": 64, "rr_depth": 1000},
        "sensor": {
            "type": "orthographic", "near_clip": 0.01, "far_clip": 10 * side,
            "to_world": look @ to_world().scale([side / 2, side / 2, 1]),
            "film": {"type": "hdrfilm", "width": PIXELS, "height": PIXELS, "rfilter": {"type": "box"}},
            "sampler": {"type": "multijitter", "sample_count": -(-rays // RENDERS)},
        },
        "panel": {
            "type": "rectangle",
            "to_world": to_world().look_at(origin=_list(behind), target=_list(middle), up=_list(np.array(frame.view.up)))
            @ to_world().scale([1e5, 1e5, 1]),
            "emitter": {"type": "area", "radiance": {"type": "rgb", "value": 1.0}},
            "bsdf": {"type": "diffuse", "reflectance": {"type": "rgb", "value": 0.0}},
        },
        "casting": {
            "type": "ply", "filename": str(_written(solid, folder / "casting.ply")),
            "bsdf": {"type": "dielectric", "int_ior": INDEX, "ext_ior": 1.0}, "interior": absorbs,
        },
    }  # fmt: skip
    if insert is not None:
        scene["insert"] = {
            "type": "ply", "filename": str(_written(insert, folder / "insert.ply", flat=True)),
            "bsdf": {"type": "diffuse", "reflectance": {"type": "rgb", "value": INSERT}},
        }  # fmt: skip
    loaded = mi.load_dict(scene)
    renders = [np.asarray(mi.render(loaded, seed=seed + i), dtype=np.float64) for i in range(RENDERS)]
    return [np.moveaxis(one[..., :3], -1, 0) for one in renders]


def compare(
    name: str, solid: Solid, insert: Solid | None, view: View, rays: int, folder: Path, seeds: tuple[int, int] = FIRST
) -> list[Row]:
    """The rows of one casting."""
    frame = square_frame(solid, view)
    picture, parts = ours(solid, insert, frame, rays, seeds[0])
    others = theirs(solid, insert, frame, rays, seeds[1], folder)
    blocks = PIXELS // BLOCK
    whole = _blocks((picture.sees & (picture.clear() > 0)).astype(np.float64)[None])[0]
    path = _blocks(np.nan_to_num(picture.mean_path_mm())[None])[0]
    light = _blocks(picture.clear()[None])[0]
    usable = np.flatnonzero((whole.ravel() == 1) & (light.ravel() > 0.2))
    order = usable[np.argsort(path.ravel()[usable], kind="stable")]
    regions = order[np.round(np.linspace(0, len(order) - 1, REGIONS)).astype(int)]
    mine = np.stack([_blocks(one).reshape(3, blocks**2)[:, regions] for one in parts])
    other = np.stack([_blocks(one).reshape(3, blocks**2)[:, regions] for one in others])
    rows = []
    for s, strength in enumerate(STRENGTHS_PER_MM):
        a, b = mine[:, s], other[:, s]
        error = np.sqrt((a.var(axis=0, ddof=1) + b.var(axis=0, ddof=1)) / RENDERS)
        off = a.mean(axis=0) - b.mean(axis=0)
        rows.append(Row(name, strength, tuple(off / b.mean(axis=0)), tuple(off / np.maximum(error, 1e-12))))
    return rows


def _blocks(values: Floats) -> Floats:
    count = PIXELS // BLOCK
    return values.reshape(len(values), count, BLOCK, count, BLOCK).mean(axis=(2, 4))


def _written(solid: Solid, path: Path, flat: bool = False) -> Path:
    """A PLY whose triangles share no corner, so that each has the normals that our tracer gives it."""
    corners = solid.vertices_mm[solid.faces]
    normals = None if flat else corner_normals(solid)
    normals = np.repeat(solid.normals()[0][:, None], 3, axis=1) if normals is None else normals
    faces = np.arange(3 * len(solid.faces)).reshape(-1, 3)
    mesh = trimesh.Trimesh(corners.reshape(-1, 3), faces, vertex_normals=normals.reshape(-1, 3), process=False)
    path.write_bytes(trimesh.exchange.ply.export_ply(mesh, vertex_normal=True))
    return path


def _list(values: Floats) -> list[float]:
    return [float(value) for value in values]


def table(rows: list[Row]) -> str:
    """In Markdown."""
    lines = [
        "| casting | strength, 1/mm | regions | within 2 % and 3 errors | all regions | farthest region | by standard errors |",
        "| --- | --- | --- | --- | --- | --- | --- |",
    ]
    for row in rows:
        worst, by = (max(values, key=abs) for values in (row.differences, row.errors))
        lines.append(
            f"| {row.casting} | {row.strength_per_mm} | {len(row.differences)} | {row.within} | "
            f"{100 * row.mean_difference:+.2f} % | {100 * worst:+.2f} % | {by:+.1f} |"
        )
    return "\n".join(lines)


def main() -> int:
    """Print the table; 1 where more than one region in twenty lies outside."""
    if importlib.util.find_spec("mitsuba") is None:
        print("This compares with mitsuba, which is not installed here: pip install mitsuba (200 MB).")
        return 2
    rays = int(sys.argv[1]) if len(sys.argv) > 1 else 9216
    more = sys.argv[2:]
    anew, named = more[:1] == ["anew"], more[1:]
    rows = []
    with tempfile.TemporaryDirectory() as folder:
        for casting in castings():
            if named and casting[0] not in named:
                continue
            rows += compare(*casting, rays, Path(folder), ANEW if anew else FIRST)
            print(table(rows[-len(STRENGTHS_PER_MM) :]), flush=True)
    told = table(rows)
    print(told)
    if more and not anew:
        put_into(Path(more[0]), PROGRAM, told)
    return 0 if all(row.within >= 0.95 * REGIONS and abs(row.mean_difference) <= DIFFERENCE for row in rows) else 1


if __name__ == "__main__":
    sys.exit(main())
