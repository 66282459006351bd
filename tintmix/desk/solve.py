"""A target to recipes, or to why there is none."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tintmix.errors import Remedy, ValueProblem
from tintmix.files.plain import finite
from tintmix.files.write import Outputs, Where
from tintmix.optics.colour import screen, xyz_of_lab
from tintmix.optics.detector import eye
from tintmix.pigments.model import TintModel
from tintmix.pigments.model_file import load_model
from tintmix.recipes.proposals import Proposal
from tintmix.recipes.recipe_file import RECIPE_FORMAT, make_recipe, write_recipe
from tintmix.recipes.solve import Answer, solve
from tintmix.recipes.target import Target
from tintmix.recipes.target_file import read_target

Swatch = tuple[str, str | None]
"""How a section will look on a screen, and how it should look, as "#rrggbb"."""


@dataclass(frozen=True, slots=True)
class Solved:
    """What a solve gave. body: the same as JSON has it. swatches: a pair for each section of the best recipe.
    thickest: the number of the thickest section. written: the files, in the order they were made.
    """

    model: TintModel
    target: Target
    answer: Answer
    body: dict[str, Any]
    swatches: tuple[Swatch, ...]
    thickest: int
    written: tuple[str, ...]


def solve_for(
    model_path: Where,
    target_path: Where,
    most: int = 10,
    picture: Where | None = None,
    keep: Where | None = None,
    progress: Callable[[float], None] | None = None,
    replace_old: bool = False,
) -> Solved:
    """Read model and target, find the recipes; draw the best, or a casting in the best ones, and keep the best as a recipe
    file where asked for.

    Raises what is wrong with the model, the target, or a place to write to; then nothing is written.
    """
    with Outputs((model_path, target_path), replace_old) as outputs:
        drawn = None if picture is None else outputs.picture(picture)
        kept = None if keep is None else outputs.at(keep, RECIPE_FORMAT)
        model, target = load_model(model_path), read_target(target_path)
        answer = solve(model, target, most, progress)
        if kept is not None and keep is not None:
            keep_recipe(model, target, answer, kept, Path(keep).stem, str(model_path), keep)
        if drawn is not None:
            # Here, since the room that draws takes 0.05 s.
            from tintmix.desk import draw

            shapes = {section.seen.shape for section in target.sections if section.seen is not None}
            if len(shapes) == 1:
                draw.answer_casting(model, target, answer, Path(target_path).parent / shapes.pop(), drawn)
            else:
                draw.answer(model, target, answer, drawn)
    return solved(model, target, answer, tuple(str(path) for path in (keep, picture) if path is not None))


def solved(model: TintModel, target: Target, answer: Answer, written: tuple[str, ...] = ()) -> Solved:
    """The same with the answer at hand."""
    best = answer.proposals[0] if answer.proposals else None
    thickest = max(range(len(target.sections)), key=lambda s: target.sections[s].length_mm)
    return Solved(
        model,
        target,
        answer,
        finite(answer),
        () if best is None else swatches_of(best, target),
        thickest,
        written,
    )


def keep_recipe(
    model: TintModel,
    target: Target,
    answer: Answer,
    where: Path,
    name: str,
    model_file: str,
    shown: Where | None = None,
) -> None:
    """Write the best proposal as a recipe file. Raises ValueProblem where there is none."""
    if not answer.proposals:
        raise ValueProblem(
            where=shown if shown is not None else where,
            what="there is no recipe to keep, since no dose meets the limits",
            remedy=Remedy.LOOSEN_LIMITS,
        )
    write_recipe(make_recipe(model, target, answer.proposals[0], name, model_file), where)


def swatches_of(proposal: Proposal, target: Target) -> tuple[Swatch, ...]:
    """Each section's colour and the wanted one, for a screen."""
    white = eye(target.light, target.observer).bare

    def shown(lab: tuple[float, float, float]) -> str:
        return screen(xyz_of_lab(lab, white), white).hex[0]  # type: ignore[arg-type]

    return tuple(
        (shown(one.lab), None if one.target_lab is None else shown(one.target_lab)) for one in proposal.sections
    )
