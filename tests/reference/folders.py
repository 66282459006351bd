"""Writes chip-set folders by hand, from formats.md alone, so that tintmix's reader meets a file it did not write."""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from tests.reference.slow import Array

if TYPE_CHECKING:
    from tests.simulation import SimSet
    from tintmix.chips.chip import ChipSet


def write_folder(sim: SimSet, path: Path) -> Path:
    """set.toml and chips.csv (and camera.csv) of a simulated set."""
    path.mkdir(parents=True, exist_ok=True)
    (path / "set.toml").write_text(_set_toml(sim), encoding="utf-8")
    if sim.camera_nm is not None and sim.camera_rgb is not None:
        lines = ["nm,R,G,B"]
        lines += [
            ",".join([f"{nm:g}", *(f"{v:.6f}" for v in row)])
            for nm, row in zip(sim.camera_nm, sim.camera_rgb, strict=True)
        ]
        (path / "camera.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")
    (path / "chips.csv").write_text(_chips_csv(sim), encoding="utf-8")
    return path


def to_chipset(sim: SimSet) -> ChipSet:
    """The set as tintmix reads it, by way of a folder."""
    from tintmix.chips.folder import read_chips

    with tempfile.TemporaryDirectory() as folder:
        return read_chips(write_folder(sim, Path(folder)))


def _set_toml(sim: SimSet) -> str:
    lines = [
        "format = 1",
        f'title = "simulated, seed {sim.seed}"',
        "",
        "[resin]",
        'name = "simulated clear resin"',
        f"refractive_index = {sim.refractive_index}",
        "",
        "[reading]",
        f'kind = "{sim.kind}"',
        'relative_to = "air"',
        f"reading_spread = {max(sim.declared_noise, 1e-6):.9g}",
        f"dose_spread = {max(sim.dose_error, 1e-6):.9g}",
        f"thickness_spread_mm = {max(sim.thickness_error, 1e-6):.9g}",
    ]
    if sim.kind != "camera" and sim.scatter is None:
        lines.append('geometry = "total"')
    elif sim.seed % 2:
        # Left out says the same.
        lines.append('geometry = "regular"')
    if sim.kind == "colour":
        lines += [f'light = "{sim.light}"', f"observer = {sim.observer}"]
    if sim.kind == "camera":
        camera = "camera.csv" if sim.camera_nm is not None else sim.camera
        lines += [f'light = "{sim.panel}"', f'camera = "{camera}"', "zero_spread = 0.001"]
    for pigment in sim.pigments:
        lines += ["", f"[pigments.{pigment}]"]
    return "\n".join(lines) + "\n"


def _chips_csv(sim: SimSet) -> str:
    if sim.kind == "spectrum":
        assert sim.wavelengths_nm is not None
        columns = [f"{nm:g}" for nm in sim.wavelengths_nm]
    else:
        columns = ["L", "a", "b"] if sim.kind == "colour" else ["R", "G", "B"]
    heads, haze = _haze(sim)
    rows = [["chip", "cup", "thickness_mm", *(f"{p}_phr" for p in sim.pigments), *heads, *columns]]
    for at, (name, cup) in enumerate(zip(sim.names, sim.cups, strict=True)):
        rows.append(
            [
                name,
                cup,
                f"{sim.thickness_mm[at]:g}",
                *_cells(sim.doses_phr[at]),
                *haze[at],
                *_cells(sim.readings[at], True),
            ]
        )
    return "\n".join(",".join(row) for row in rows) + "\n"


def _haze(sim: SimSet) -> tuple[list[str], list[list[str]]]:
    """The column that tells haze, and its cells; a camera's set without scatter says 0 %."""
    if sim.scatter is None and sim.kind == "camera":
        return ["haze_percent"], [["0"] for _ in sim.names]
    haze = 100 * sim.haze(sim.true_doses, sim.true_thickness)
    if sim.told == "percent":
        off = np.random.default_rng([sim.seed, 10]).normal(0, 0.3, len(haze))
        return ["haze_percent"], [[f"{max(h, 0.0):.1f}"] for h in haze + off]
    if sim.told == "word":
        # A word is nearer its own haze than the other's, by ratio: clear 1 %, slight 5 %.
        return ["haze"], [["clear" if h < 5**0.5 else "slight"] for h in haze]
    return [], [[] for _ in sim.names]


def _cells(values: Array, keep_zero: bool = False) -> list[str]:
    return ["" if value == 0 and not keep_zero else f"{value:.9g}" for value in values]
