"""The whole job on the shipped demo, a step at a time."""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tintmix.chips.chip import ChipSet
from tintmix.chips.folder import read_chips
from tintmix.desk import draw
from tintmix.desk.cautions import CAUTIONS
from tintmix.desk.demo import demo
from tintmix.desk.errors import CannotWrite, FileNotOurs
from tintmix.desk.fit import learn, save
from tintmix.desk.look import Looked, looked
from tintmix.desk.output import Outputs, Where, reason
from tintmix.desk.plain import finite
from tintmix.desk.solve import Solved, keep_recipe, solved
from tintmix.optics.section import PANEL
from tintmix.pigments.model import TintModel
from tintmix.recipes.solve import solve
from tintmix.recipes.target import Target
from tintmix.recipes.target_file import read_target

DEFAULT_FOLDER = "tintmix-tour"
DOSES = {"blue": 0.02, "green": 0.01}
THICKNESSES_MM = (8.0, 60.0)
FILES = (
    "model.json",
    "strengths.png",
    "chips.png",
    "wedge.png",
    "sea-green.png",
    "sea-green-wedge.png",
    "sea-green-thickness.png",
    "recipe.json",
)
LIST = "tour.json"
"""What the tour leaves in its folder beside the rest: the list of its files, by which it knows them again."""


@dataclass(frozen=True, slots=True)
class Step:
    """One step of the tour: what it is, what there is to say of it, what came out, and the files it leaves."""

    title: str
    says: tuple[str, ...]
    files: tuple[str, ...] = ()
    chips: ChipSet | None = None
    fit: Mapping[str, Any] | None = None
    look: Looked | None = None
    solve: Solved | None = None

    def as_table(self) -> dict[str, Any]:
        """As `tour --json` prints it."""
        table: dict[str, Any] = {"title": self.title, "says": list(self.says), "files": list(self.files)}
        if self.chips is not None:
            table["chips"] = len(self.chips.chips)
        if self.fit is not None:
            table["fit"] = dict(self.fit)
        if self.look is not None:
            table["look"] = self.look.body
        if self.solve is not None:
            table["solve"] = self.solve.body
        return finite(table)  # type: ignore[no-any-return]


def tour(into: Where = DEFAULT_FOLDER) -> Iterator[Step]:
    """Chips, fit, look, recipe, and a target that cannot be met; then the files appear in `into`, all of them or none.

    Raises FileNotOurs where a file of one of its names is not its own, CannotWrite, DemoMissing.
    """
    folder = Path(into)
    made = _prepare(folder)
    try:
        with Outputs() as outputs:
            told = _Guide(folder, outputs)
            yield from told.steps()
            told.list_files()
    except BaseException:
        if made:
            _remove_if_empty(folder)
        raise
    yield Step("Before you mix", CAUTIONS)


class _Guide:
    """Walks through the steps; knows where the files go."""

    def __init__(self, folder: Path, outputs: Outputs) -> None:
        self.folder, self.outputs = folder, outputs
        self.places: dict[str, Path] = {}

    def file(self, name: str) -> Path:
        """The waiting place of one of the tour's files."""
        self.places[name] = self.outputs.at(self.folder / name)
        return self.places[name]

    def steps(self) -> Iterator[Step]:
        """One after the other."""
        chips = read_chips(demo("deck-prism"))
        yield _chips_step(chips)
        model = learn((chips,))
        yield self._fit_step(model, chips)
        yield self._look_step(model)
        target = read_target(demo("targets", "sea-green-glass.toml"))
        yield self._solve_step(model, target)
        yield _short_step(model, read_target(demo("targets", "cannot-meet-both.toml")))

    def list_files(self) -> None:
        """Write down which files are the tour's, with their digests."""
        digests = {name: _digest(path) for name, path in self.places.items()}
        self.file(LIST).write_text(
            json.dumps({"is": "tintmix tour", "files": digests}, indent=1) + "\n", encoding="utf-8"
        )

    def _fit_step(self, model: TintModel, chips: ChipSet) -> Step:
        save(model, self.file("model.json"))
        draw.strengths(model, self.file("strengths.png"))
        draw.misfits(model, chips, self.file("chips.png"))
        says = (
            "From all chips at once it learns the absorptivity of every pigment at every wavelength, and how sure of "
            "it one can be. A chip that does not go with the others is named and given little weight; nobody told it "
            "that one is wrong.",
        )
        return Step(
            "Fit: what the chips taught",
            says,
            self._named("model.json", "strengths.png", "chips.png"),
            fit=finite(model.report),
        )

    def _look_step(self, model: TintModel) -> Step:
        done = looked(model, DOSES, THICKNESSES_MM)
        draw.wedge(model, done.look, PANEL, self.file("wedge.png"))
        thin, thick = done.body["sections"]
        says = (
            f"The same tint at the {thin['thickness_mm']:g} mm flange and at the {thick['thickness_mm']:g} mm "
            "point of a deck prism. A test cup looks pale; where the part is thick, "
            f"{100 * thick['luminous_transmittance']:.2g} % of the light is left.",
        )
        return Step("Look: how dark will it be?", says, self._named("wedge.png"), look=done)

    def _solve_step(self, model: TintModel, target: Target) -> Step:
        done = solved(model, target, solve(model, target, most=3))
        draw.answer(model, target, done.answer, self.file("sea-green.png"))
        draw.answer_wedge(model, target, done.answer, self.file("sea-green-wedge.png"))
        draw.answer_thickness(model, target, done.answer, self.file("sea-green-thickness.png"))
        if done.answer.proposals:
            keep_recipe(model, target, done.answer, self.file("recipe.json"), "sea-green", "model.json")
        says = (
            "Wanted: the look of a sea-green glass, known from a piece 6 mm thick, at the flange and at the "
            "point, with at least 8 % "
            "of the light through the point.",
        )
        names = [
            name
            for name in ("recipe.json", "sea-green.png", "sea-green-wedge.png", "sea-green-thickness.png")
            if name in self.places
        ]
        return Step("Solve: what do I add?", says, self._named(*names), solve=done)

    def _named(self, *names: str) -> tuple[str, ...]:
        return tuple(str(self.folder / name) for name in names)


def _chips_step(chips: ChipSet) -> Step:
    thicknesses = sorted({chip.thickness_mm for chip in chips.chips})
    says = (
        "The demo is a set of invented test chips for replica deck prisms: small plates of known doses and thickness, "
        f"poured from {len({chip.cup for chip in chips.chips})} cups, {_listed([f'{t:g}' for t in thicknesses])} mm "
        "thick, each read by a spectrophotometer. Their doses and thicknesses are a little off, as they are at a "
        "bench, and one chip is plainly wrong.",
    )
    return Step("Chips: what was poured and read", says, chips=chips)


def _short_step(model: TintModel, target: Target) -> Step:
    says = (
        "Not every wish can be had: here a pale green flange and an amber point. Then it says so, and what "
        "comes nearest.",
    )
    return Step("Solve: one that cannot be", says, solve=solved(model, target, solve(model, target, most=3)))


def _prepare(folder: Path) -> bool:
    """Make the folder, or see that nothing in it would be lost; whether it was made now."""
    try:
        if folder.is_dir():
            _check_ours(folder)
            return False
        folder.mkdir()
    except (OSError, ValueError) as problem:
        why = reason(problem, folder.parent) if isinstance(problem, OSError) else str(problem)
        raise CannotWrite(folder, why) from None
    return True


def _check_ours(folder: Path) -> None:
    """Files of the tour's names are overwritten only where a tour wrote them and nobody has changed them since."""
    try:
        listed = json.loads((folder / LIST).read_text(encoding="utf-8"))
        digests = dict(listed["files"]) if listed["is"] == "tintmix tour" else None
    except FileNotFoundError:
        digests = {}
    except (OSError, ValueError, TypeError, KeyError, RecursionError):
        digests = None
    if digests is None:
        raise FileNotOurs(folder / LIST)
    for name in FILES:
        if (folder / name).exists() and digests.get(name) != _digest(folder / name):
            raise FileNotOurs(folder / name)


def _remove_if_empty(folder: Path) -> None:
    try:
        os.rmdir(folder)
    except OSError:
        return


def _listed(words: list[str]) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"


def _digest(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest()
