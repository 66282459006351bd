"""The tracer beside the bare calls of Embree for the same rays, and what a million triangles take in memory.

    python -m pytest -n 0 tests/benchmarks/test_trace_speed.py --benchmark-enable -s

Processor time of one core; trace and bare calls take turns, the least of each counts. A torus is smooth, and light comes
in again.
"""

from __future__ import annotations

import subprocess
import sys
import time
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import trimesh

from tintmix.shape.picture import Tracing
from tintmix.shape.scene import Scene, scene_of
from tintmix.shape.solid import Solid
from tintmix.shape.view import View, frame_of

ROOT = Path(__file__).resolve().parents[2]
ROUNDS = 5
SAMPLES = 4
"""A quarter of the sixteen: the ratio is the same, and the rays of all of them would take gigabytes to keep."""
MOST_GB = 1.5


def torus(triangles: int) -> Solid:
    sections = round(np.sqrt(triangles / 2))
    mesh = trimesh.creation.torus(30.0, 12.0, major_sections=sections, minor_sections=sections)
    return Solid(vertices_mm=np.array(mesh.vertices), faces=np.array(mesh.faces))


class Listening:
    """Embree, and every ray that it was asked for."""

    def __init__(self, embree: Any) -> None:
        self.embree, self.asked = embree, []

    def run(self, origins: np.ndarray, directions: np.ndarray, **more: Any) -> Any:
        self.asked.append((origins.copy(), directions.copy()))
        return self.embree.run(origins, directions, **more)


def trace(scene: Scene, solid: Solid, bins: np.ndarray) -> Tracing:
    tracing = Tracing(scene, frame_of(solid.vertices_mm, View(direction=(0, 0.3, -1)), 256), "panel", bins_mm=bins)
    for _ in range(SAMPLES):
        tracing.go_on()
    return tracing


@pytest.mark.parametrize(("triangles", "limit"), [(10_000, 2.5), (1_000_000, 1.7)])
def test_trace_against_bare_calls(triangles: int, limit: float) -> None:
    solid = torus(triangles)
    scene = scene_of(solid)
    coarse = Tracing(scene, frame_of(solid.vertices_mm, View(direction=(0, 0.3, -1)), 64), "panel")
    coarse.go_on()
    bins = coarse.picture().lengths_mm
    listening = Listening(scene.embree)
    trace(replace(scene, embree=listening), solid, bins)
    whole, bare = [], []
    for _ in range(ROUNDS):
        started = time.process_time()
        trace(scene, solid, bins)
        whole.append(time.process_time() - started)
        started = time.process_time()
        for origins, directions in listening.asked:
            scene.embree.run(origins, directions, output=1)
        bare.append(time.process_time() - started)
    rays = sum(len(origins) for origins, _ in listening.asked)
    ratio = min(whole) / min(bare)
    print(
        f"\n{len(solid.faces)} triangles, {rays} rays: {rays / min(whole) / 1e6:.2f} million a second, {ratio:.2f}x of bare calls"
    )
    assert ratio <= limit


MEMORY = """
import resource, sys
sys.path.insert(0, {root!r})
from pathlib import Path
from tintmix.desk.shape import shape_casting
shape_casting({mesh!r}, "mm", {out!r}, samples=2)
# Kilobytes, but on macOS.
print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / (1e9 if sys.platform == "darwin" else 1e6))
"""


@pytest.mark.skipif(sys.platform == "win32", reason="Windows tells no greatest memory so")
def test_memory_of_a_million_triangles(tmp_path: Path) -> None:
    mesh, out = tmp_path / "torus.stl", tmp_path / "torus.shape.json"
    solid = torus(1_000_000)
    trimesh.Trimesh(solid.vertices_mm, solid.faces, process=False).export(mesh)
    told = subprocess.run(
        [sys.executable, "-c", MEMORY.format(root=str(ROOT), mesh=str(mesh), out=str(out))],
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    most = float(told.stdout)
    print(f"\n{len(solid.faces)} triangles, from the file to the shape: {most:.2f} GB (limit {MOST_GB})")
    assert most <= MOST_GB
    assert out.exists()
