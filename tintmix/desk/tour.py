"""The whole job on the shipped demo, a step at a time."""

from __future__ import annotations

import contextlib
import hashlib
import json
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from tintmix.book.book import open_book
from tintmix.chips.chip import ChipSet
from tintmix.chips.folder import read_chips
from tintmix.desk import draw
from tintmix.desk.bench.sheet import Amount, Render, SheetDone, sheet_of
from tintmix.desk.demo import demo
from tintmix.desk.look import Looked, looked
from tintmix.desk.shape import read_casting, shape_of, traced
from tintmix.desk.solve import Solved, keep_recipe, solved
from tintmix.errors import InUse, LibraryMissing, Note, Remedy
from tintmix.files.canonical import json_text
from tintmix.files.errors import cannot_write
from tintmix.files.plain import finite
from tintmix.files.write import Outputs, Where, reason
from tintmix.numerals import listed, numeral, percent
from tintmix.optics.section import PANEL
from tintmix.pigments.fit import fit
from tintmix.pigments.model import TintModel
from tintmix.pigments.model_file import save_model
from tintmix.recipes.casting import read_places
from tintmix.recipes.recipe_file import Recipe, read_recipe
from tintmix.recipes.solve import solve
from tintmix.recipes.target import Target
from tintmix.recipes.target_file import read_target
from tintmix.resin import Resin
from tintmix.shape.shape_file import shape_to_text
from tintmix.sheet.cautions import cautions_for, in_short
from tintmix.weighing.scales import scales_from_text
from tintmix.weighing.weighed import part_named

DEFAULT_FOLDER = "tintmix-tour"
DOSES = {"azure": 0.02, "emerald": 0.01}
THICKNESSES_MM = (8.0, 60.0)
BATCH_G = 450.0
_BRASS = "#b08d3c"
_WIDTH, _SAMPLES = 160, 16
"""Of the casting's picture: enough for a tour, in a second."""
SCALES = ("0.01",)
FILES = (
    "model.json",
    "strengths.png",
    "chips.png",
    "strip.png",
    "sea-green.png",
    "sea-green-strip.png",
    "sea-green-thickness.png",
    "recipe.json",
    "deck-prism.shape.json",
    "casting.png",
    "paths.png",
    "batch-sheet.pdf",
    "recipe-book.db",
)
LIST = "tour.json"
"""What the tour leaves in its folder beside the rest: the list of its files, by which it knows them again."""


@dataclass(frozen=True, slots=True)
class Step:
    """One step of the tour: what it is, what there is to say of it, what came out, and the files it leaves. cautions: whether
    what it says are cautions."""

    title: str
    says: tuple[Note | str, ...]
    files: tuple[str, ...] = ()
    chips: ChipSet | None = None
    fit: Mapping[str, Any] | None = None
    look: Looked | None = None
    solve: Solved | None = None
    sheet: SheetDone | None = None
    cautions: bool = False

    def as_table(self) -> dict[str, Any]:
        """As JSON has it."""
        came_out = {
            "chips": self.chips and len(self.chips.chips),
            "fit": self.fit,
            **{
                key: done and done.body
                for key, done in (("look", self.look), ("solve", self.solve), ("sheet", self.sheet))
            },
        }
        table = {"title": self.title, "says": self.says, "files": self.files}
        return finite(table | {key: one for key, one in came_out.items() if one is not None})  # type: ignore[no-any-return]


def tour(into: Where = DEFAULT_FOLDER, render: Render | None = None, replace_old: bool = False) -> Iterator[Step]:
    """Chips, fit, look, recipe, the casting in it, a target that cannot be met, cautions, the batch sheet, and the recipe kept in
    a book of the tour's own; then the files appear in `into`, all of them or none. render: a batch sheet as the bytes of
    a PDF; without it there is no batch-sheet.pdf. replace_old: write over files of its names, whoever made them.

    Raises InUse where a file of one of its names is not its own, CannotWrite, NotThere where the demo is not found.
    """
    folder = Path(into)
    made = _prepare(folder, replace_old)
    try:
        with Outputs(replace=True) as outputs:
            told = _Guide(folder, outputs, render)
            yield from told.steps()
            told.list_files()
    except BaseException:
        if made:
            with contextlib.suppress(OSError):  # it is not empty
                folder.rmdir()
        raise


class _Guide:
    """Walks through the steps; knows where the files go."""

    def __init__(self, folder: Path, outputs: Outputs, render: Render | None) -> None:
        self.folder, self.outputs, self.render = folder, outputs, render
        self.places: dict[str, Path] = {}

    def file(self, name: str) -> Path:
        """The waiting place of one of the tour's files."""
        self.places[name] = self.outputs.at(self.folder / name)
        return self.places[name]

    def steps(self) -> Iterator[Step]:
        """One after the other."""
        chips = read_chips(demo("deck-prism"))
        thicknesses = sorted({chip.thickness_mm for chip in chips.chips})
        facts = {
            "cups": len({chip.cup for chip in chips.chips}),
            "thicknesses": listed(list(map(numeral, thicknesses))),
        }
        yield self._step("chips", facts, chips=chips)
        model = fit((chips,))
        yield self._fit_step(model, chips)
        yield self._look_step(model)
        target = read_target(demo("targets", "sea-green-glass.toml"))
        yield self._solve_step(model, target)
        if "recipe.json" in self.places:
            yield self._casting_step(model, read_recipe(self.places["recipe.json"]))
        beyond = read_target(demo("targets", "cannot-meet-both.toml"))
        yield self._step("short", {}, solve=solved(model, beyond, solve(model, beyond, most=3)))
        if "recipe.json" in self.places and model.resin is not None:
            recipe = read_recipe(self.places["recipe.json"])
            yield Step("Before you mix", in_short(cautions_for(model.resin)), cautions=True)
            yield self._sheet_step(recipe, model, model.resin)
            yield self._book_step(recipe, model)

    def list_files(self) -> None:
        """Write down which files are the tour's, with their digests."""
        digests = {name: _digest(path) for name, path in self.places.items()}
        self.file(LIST).write_text(json_text({"is": "tintmix tour", "files": digests}), encoding="utf-8")

    def _fit_step(self, model: TintModel, chips: ChipSet) -> Step:
        save_model(model, self.file("model.json"))
        draw.strengths(model, self.file("strengths.png"))
        draw.misfits(model, chips, self.file("chips.png"))
        return self._step("fit", {}, "model.json", "strengths.png", "chips.png", fit=finite(model.report))

    def _look_step(self, model: TintModel) -> Step:
        done = looked(model, DOSES, THICKNESSES_MM)
        draw.wedge(model, done.look, PANEL, self.file("strip.png"))
        thin, thick = done.body["sections"]
        facts = {
            "thin": numeral(thin["thickness_mm"]),
            "thick": numeral(thick["thickness_mm"]),
            "left": numeral(100 * thick["luminous_transmittance"], 2),
        }
        return self._step("look", facts, "strip.png", look=done)

    def _solve_step(self, model: TintModel, target: Target) -> Step:
        done = solved(model, target, solve(model, target, most=3))
        draw.answer(model, target, done.answer, self.file("sea-green.png"))
        draw.answer_wedge(model, target, done.answer, self.file("sea-green-strip.png"))
        draw.answer_thickness(model, target, done.answer, self.file("sea-green-thickness.png"))
        if done.answer.proposals:
            keep_recipe(model, target, done.answer, self.file("recipe.json"), "sea-green", "model.json")
        drawn = ("sea-green.png", "sea-green-strip.png", "sea-green-thickness.png")
        kept = ("recipe.json",) if done.answer.proposals else ()
        return self._step("solve", {}, *kept, *drawn, solve=done)

    def _casting_step(self, model: TintModel, recipe: Recipe) -> Step:
        try:
            casting = read_casting(
                demo("castings", "deck-prism.obj"), "mm", demo("castings", "brass-ring.obj"), _BRASS,
                model.refractive_index,
            )  # fmt: skip
            *_, tracing = traced(casting, width=_WIDTH, samples=_SAMPLES)
        except LibraryMissing as missing:
            return self._step("untraced", {"missing": str(missing)})
        shape = shape_of(casting, tracing, resin=model.resin)
        where = self.file("deck-prism.shape.json")
        where.write_text(shape_to_text(shape), encoding="utf-8")
        places = read_places(where)
        done = looked(model, recipe.doses_phr, list(places.values()))
        draw.casting(model, done.look, where, None, self.file("casting.png"))
        draw.paths(shape, self.file("paths.png"))
        deepest = shape.place("deepest")
        facts = {
            "grams": numeral(shape.resin_g or 0.0, 3),
            "straight": numeral(deepest.straight_mm, 2),
            "path": numeral(deepest.path_mm.mean if deepest.path_mm else 0.0, 3),
            "dark": percent(shape.dark_by_shape),
        }
        return self._step("casting", facts, "deck-prism.shape.json", "casting.png", "paths.png", look=done)

    def _sheet_step(self, recipe: Recipe, model: TintModel, resin: Resin) -> Step:
        scales = scales_from_text(SCALES)
        done = sheet_of(recipe, model, resin, Amount(BATCH_G), scales, recipe.lots)
        if self.render is not None:
            self.file("batch-sheet.pdf").write_bytes(self.render(done.sheet, ()))
        facts = {
            "batch": f"{BATCH_G:g}",
            "shows": f"{scales.pigment.readability_g:g}",
            "tinted": part_named(done.sheet.weighed.tinted_part.name),
        }
        return self._step("sheet", facts, *(("batch-sheet.pdf",) if self.render else ()), sheet=done)

    def _book_step(self, recipe: Recipe, model: TintModel) -> Step:
        waiting = self.file("recipe-book.db")
        # The book makes its file itself; the empty one only kept the place.
        waiting.unlink()
        with open_book(waiting) as book:
            kept = book.keep(recipe, model, "from the tour")
        told = _words()["book"]
        note = Note(
            says=told["says"].format(revision=kept.revision, name=kept.name, fingerprint=kept.digest[:12]),
            remedy=Remedy.WEIGH_IT_ANEW,
            facts={"name": kept.name, "book": self.folder / "recipe-book.db"},
        )
        return Step(told["title"], (note,), (str(self.folder / "recipe-book.db"),))

    def _step(self, step: str, facts: Mapping[str, object], *files: str, **came_out: Any) -> Step:
        told = _words()[step]
        paths = tuple(str(self.folder / name) for name in files)
        return Step(told["title"], (told["says"].format(**facts),), paths, **came_out)


@cache
def _words() -> Mapping[str, Mapping[str, str]]:
    """Title and sentence of each step, its facts in braces."""
    return tomllib.loads(Path(__file__).with_name("tour.toml").read_text(encoding="utf-8"))


def _prepare(folder: Path, replace_old: bool) -> bool:
    """Make the folder, or see that nothing in it would be lost; whether it was made now."""
    try:
        if folder.is_dir():
            if not replace_old:
                _check_ours(folder)
            return False
        folder.mkdir()
    except (OSError, ValueError) as problem:
        why = reason(problem, folder.parent) if isinstance(problem, OSError) else str(problem)
        raise cannot_write(folder, why) from None
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
        raise _not_ours(folder / LIST)
    for name in FILES:
        if (folder / name).exists() and digests.get(name) != _digest(folder / name):
            raise _not_ours(folder / name)


def _digest(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest()


def _not_ours(where: object) -> InUse:
    return InUse(
        where=where,
        what="is there already, and the tour did not write it as it is now, so it is left alone",
        remedy=Remedy.ANOTHER_FOLDER_FOR_THE_TOUR,
    )
