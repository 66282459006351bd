"""Chips to a model, and what was learnt on the way."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tintmix.chips.chip import ChipSet
from tintmix.chips.folder import read_chips
from tintmix.files.plain import finite
from tintmix.files.write import Outputs, Where
from tintmix.pigments.fit import fit
from tintmix.pigments.model import TintModel
from tintmix.pigments.model_file import MODEL_FORMAT, save_model


@dataclass(frozen=True, slots=True)
class Fitted:
    """What a fit gave. body: the same as JSON has it. written: the files, in the order they were asked for."""

    sets: tuple[ChipSet, ...]
    model: TintModel
    body: dict[str, Any]
    written: tuple[str, ...]


def fit_sets(
    paths: Sequence[Where],
    model_path: Where,
    picture: Where | None = None,
    residuals: Where | None = None,
    replace_old: bool = False,
    progress: Callable[[float], None] | None = None,
) -> Fitted:
    """Read chip-set folders, fit them as one, write the model, and the strength curves and misfits where asked for.
    progress: told now and then what part is done.

    Raises what is wrong with a set, with the fit, or with a place to write to; then nothing is written.
    """
    folders = [_folder(path) for path in paths]
    with Outputs(folders, replace_old) as outputs:
        waiting = outputs.at(model_path, MODEL_FORMAT)
        curves = None if picture is None else outputs.picture(picture)
        misfits = None if residuals is None else outputs.picture(residuals)
        sets = tuple(read_chips(folder) for folder in folders)
        model = fit(sets, progress)
        save_model(model, waiting)
        if curves is not None or misfits is not None:
            # Pictures know recipes too: a tenth of the start of a fit that draws none.
            from tintmix.desk import draw

            if curves is not None:
                draw.strengths(model, curves)
            if misfits is not None:
                draw.misfits(model, sets[0], misfits)
    written = tuple(str(path) for path in (model_path, picture, residuals) if path is not None)
    return Fitted(sets, model, finite(model.report), written)


def _folder(path: Where) -> Path:
    """A set may be named by its folder or by one of its two files."""
    named = Path(path)
    return named.parent if named.name in ("set.toml", "chips.csv") else named
