"""Pictures of a casting: what they show is what was traced."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from tintmix.errors import ValueProblem
from tintmix.optics.colour import screen
from tintmix.optics.detector import eye
from tintmix.pictures.casting import MOST_RECIPES, Tinted, casting_picture, paths_picture
from tintmix.pigments.model import TintModel
from tintmix.pigments.model_file import load_model
from tintmix.pigments.painted import painted
from tintmix.shape.values import CastingShape

pytest.importorskip("embreex", reason="castings are traced by it")

PALE = Tinted(caption="pale", doses_phr={"emerald": 0.01})


@pytest.fixture(scope="module")
def shape() -> CastingShape:
    """A block of 20 mm, seen from above."""
    from tintmix.desk.shape import casting_of, shape_of, traced
    from tintmix.shape.bodies import block
    from tintmix.shape.mesh_file import Mesh
    from tintmix.shape.values import MeshOf

    of = MeshOf(
        file="", sha256="", unit="mm", triangles=12, watertight=True, volume_cm3=48.0, bounds_mm=((0, 0, 0), (1, 1, 1))
    )
    casting = casting_of(Mesh(solid=block(), of=of))
    *_, tracing = traced(casting, width=48, samples=4)
    return shape_of(casting, tracing)


@pytest.fixture(scope="module")
def model(fitted: Callable[[str], Path]) -> TintModel:
    return load_model(fitted("deck-prism-colours"))


def test_recipes_stand_side_by_side_as_painted(model: TintModel, shape: CastingShape) -> None:
    strong = Tinted(caption="overpowered", doses_phr={"emerald": 0.4})
    figure = casting_picture(model, shape, [PALE, strong], 0.4)
    shown = [axes.images[0].get_array() for axes in figure.axes if axes.get_gid() == "casting"]
    white = eye("D65", 10).bare
    assert len(shown) == 2
    for image, one in zip(shown, (PALE, strong), strict=True):
        wanted = screen(painted(model, one.doses_phr, shape.picture, 0.4), white).rgb
        np.testing.assert_allclose(np.asarray(image) / 255, wanted, atol=1 / 510 + 1e-9)
    assert {"pale", "overpowered", "10 mm"} <= {text.get_text() for text in figure.texts}


def test_path_beside_straight_depth(shape: CastingShape) -> None:
    figure = paths_picture(shape, too_dark_mm=19.0, floor=0.1)
    path, straight, _ = (axes for axes in figure.axes)
    middle = shape.picture.height // 2, shape.picture.width // 2
    assert abs(float(straight.images[0].get_array()[middle]) - 20.0) < 1e-4
    assert abs(float(path.images[0].get_array()[middle]) - 20.0) < 0.5
    assert any("19 mm of this tint let 10 % of the light through" in text.get_text() for text in figure.texts)
    # Where it is dark nowhere, no line is promised.
    assert not any("this tint" in text.get_text() for text in paths_picture(shape, 500.0, 0.1).texts)


def test_too_many_recipes(model: TintModel, shape: CastingShape) -> None:
    with pytest.raises(ValueProblem):
        casting_picture(model, shape, [PALE] * (MOST_RECIPES + 1))
