"""What the reader of a page would have made at the bench by the time a command asks for it: photos, an instrument's file.

All of it is simulated from one model of the demo's pigments, which stands for the truth, and lies under the names that the
command uses. Photos come from tests/photo_simulation.py, as raw files and JPEGs of one camera on one panel.
"""

from __future__ import annotations

import shutil
from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import numpy as np

from tests.chips.photo.photo_files import dng, mosaic_of
from tests.photo_simulation import (
    Picture,
    Shot,
    draw_camera,
    holder_scene,
    jpeg,
    panel_scene,
    pose,
    random_pieces,
    stack_through,
    through_lens,
)  # fmt: skip
from tintmix.chips.folder import read_chips
from tintmix.chips.photo.sheet.holder import laid_from_text, window
from tintmix.desk.solve import solve_for
from tintmix.optics.detector import camera as detector_of
from tintmix.optics.detector import light
from tintmix.optics.spectrum import FINE_NM, GRID_NM, Array
from tintmix.pigments.model_file import load_model, save_model

SHOT = Shot(width=900, height=675, turn=3.0, exposure=0.7)
FILES = (".dng", ".jpg", ".csv", ".cxf", ".txt")
"""Endings of what is measured at a bench."""
NOISE = 0.002
"""Of a spectrum: a good instrument's (common practice)."""
READ = ("--photo", "--read-photo", "--panel", "--from", "--colours")


class Bench:
    """A bench in a folder: `supply` makes what a command is about to read and nobody has made yet."""

    def __init__(self, folder: Path, model: Path) -> None:
        self.folder, self.truth = folder, load_model(model)
        self.rng = np.random.default_rng(15)
        self.camera = draw_camera(np.random.default_rng(4))

    def supply(self, words: Sequence[str]) -> None:
        """Make the files that follow an option of READ, where they are not there. words: the command's, tintmix left out."""
        asked = {word: self.folder / then for word, then in pairwise(words) if word in READ}
        lacking = {option: path for option, path in asked.items() if path.suffix in FILES and not path.exists()}
        for option, path in lacking.items():
            if option == "--from":
                self._export(path, words)
            elif words[0] == "book" and option == "--photo":
                path.write_bytes(jpeg(panel_scene(SHOT, {}), self.camera, SHOT, self.rng))
            elif option != "--colours":
                contents = {} if option == "--panel" else self._lying(words)
                at = {} if "--window" in words else _values(words, "--at")
                self._photo(path, contents, at if any("," in place for place in at.values()) else {}, words)

    def by_camera(self) -> None:
        """The folder's model as if its chips had been read by the bench's camera, and its recipe from it."""
        weights = detector_of(FINE_NM, self.camera.sensitivities, light(self.camera.panel)).weights
        report = {**self.truth.report, "camera": {"taken_with": ""}}
        save_model(replace(self.truth, camera_weights=weights, report=report), self.folder / "model.json")
        shutil.copy(self.folder / "model.json", self.folder / "my.json")
        (self.folder / "recipe.json").unlink()
        target = self.folder / "swatches" / "targets" / "sea-green-glass.toml"
        # The recipe is called as its first file is.
        solve_for(self.folder / "model.json", target, 1, None, self.folder / "sea-green.json")
        (self.folder / "sea-green.json").rename(self.folder / "recipe.json")

    def through(self, doses_phr: Mapping[str, float], thickness_mm: float) -> Array:
        """External transmittance (421,) of a chip as the truth has it."""
        return np.interp(FINE_NM, GRID_NM, self.truth.look(dict(doses_phr), [thickness_mm]).transmittance[0])

    def _channels(self, doses_phr: Mapping[str, float], thickness_mm: float) -> Array:
        return self.camera.ratio(self.through(doses_phr, thickness_mm)[None])[0]

    def _chips(self, name: str) -> dict[str, tuple[dict[str, float], float]]:
        chips = read_chips(self.folder / name)
        names = [pigment.name for pigment in chips.pigments]
        return {
            chip.name: (dict(zip(names, map(float, chip.doses_phr), strict=True)), chip.thickness_mm)
            for chip in chips.chips
        }

    def _lying(self, words: Sequence[str]) -> dict[str, Array]:
        """Window → channels of what lies there."""
        if "--stack" in words:
            return self._stack(words)
        if "--model" in words:
            places = _values(words, "--at")
            return {window(places["glass"]).name: self.camera.ratio(random_pieces(self.rng, 1, 0.6))[0]}
        if words[0] in ("adjust", "lot", "book"):
            place = words[words.index("--window") + 1].rpartition("=")[2] if "--window" in words else "1.2"
            doses = {name: float(dose) for name, dose in _values(words, "--dose").items()} or self.recipe()
            mm = float(words[words.index("--at") + 1]) if "--at" in words else 8.0
            return {window(place).name: self._channels(doses, mm)}
        laid = laid_from_text((self.folder / words[1] / "holder.csv").read_text(encoding="utf-8"), "holder.csv")[0]
        chips = self._chips(words[1])
        return {place: self._channels(*chips[chip]) for place, chip in laid.items()}

    def recipe(self) -> dict[str, float]:
        """The doses of the page's recipe: half of the chips' first two pigments' usual ones."""
        return {"azure": 0.01, "emerald": 0.01}

    def _stack(self, words: Sequence[str]) -> dict[str, Array]:
        density, lying = float(words[words.index("--stack-density") + 1]), {}
        colour = self._channels({"azure": 0.3}, 3.0)
        for said in (then for word, then in pairwise(words) if word == "--stack"):
            place, _, count = said.partition("=")
            sheets, _, over = count.partition(" over ")
            lying[window(place).name] = stack_through(int(sheets), density) * (colour if over else np.ones(3))
            if over:
                lying[window(over).name] = colour
        return lying

    def _photo(self, path: Path, contents: Mapping[str, Array], at: Mapping[str, str], words: Sequence[str]) -> None:
        chips = self._chips(words[1]) if at else {}
        if at or "--dark" in words:
            dark = tuple(_box(then) for word, then in pairwise(words) if word == "--dark")
            lying = {_box(place): self._channels(*chips[chip]) for chip, place in at.items()} if contents else {}
            scene = panel_scene(SHOT, lying, dark)
        else:
            scene = holder_scene(contents, SHOT, pose(SHOT), np.random.default_rng(9))
        path.write_bytes(self._file(through_lens(scene, SHOT), path.suffix))

    def _file(self, lit: Picture, ending: str) -> bytes:
        if ending == ".jpg":
            return jpeg(lit, self.camera, SHOT, self.rng, quality=95)
        light = np.clip(lit * self.camera.bare * SHOT.exposure, 0, 1)
        light = np.maximum(light + 0.001 * np.sqrt(light) * self.rng.standard_normal(light.shape), 0)
        return dng(mosaic_of(np.clip(light, 0, 1)))

    def _export(self, path: Path, words: Sequence[str]) -> None:
        """A column a chip, per cent, every 10 nm; where no set is named, of the only set without a reading."""
        name = words[1] if not words[1].startswith("-") else self._unread()
        nm = np.arange(380, 781, 10)
        columns = {
            chip: np.interp(nm, FINE_NM, self.through(*made)) * (1 + NOISE * self.rng.standard_normal(nm.size))
            for chip, made in self._chips(name).items()
        }
        # Where a map is given, the instrument counts its samples by itself.
        heads = [chip.replace("b", "Sample ") if "--map" in words else chip for chip in columns]
        lines = [
            "nm;" + ";".join(heads),
            *(f"{w};" + ";".join(f"{100 * v[i]:.2f}" for v in columns.values()) for i, w in enumerate(nm)),
        ]
        path.write_text("\n".join(["Transmittance %", *lines]) + "\n", encoding="utf-8")

    def _unread(self) -> str:
        """The set of spectra in the folder itself."""
        sets = [one.parent for one in self.folder.glob("*/set.toml") if not one.parent.is_symlink()]
        [name] = [one.name for one in sets if 'kind = "spectrum"' in (one / "set.toml").read_text(encoding="utf-8")]
        return name


def _values(words: Sequence[str], option: str) -> dict[str, str]:
    """NAME=VALUE behind each such option."""
    said = [then for word, then in pairwise(words) if word == option and "=" in then]
    return {name: value for name, _, value in (one.partition("=") for one in said)}


def _box(text: str) -> tuple[int, int, int, int]:
    x, y, w, h = map(int, text.split(","))
    return x, y, w, h
