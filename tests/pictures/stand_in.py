"""An invented model to draw, quick to make, and questions to a figure: where its words are, what colour a pixel has."""

from __future__ import annotations

from itertools import combinations
from typing import Any

import numpy as np
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.text import Text
from matplotlib.transforms import Bbox
from numpy.typing import NDArray

from tintmix.optics.spectrum import GRID_NM
from tintmix.pigments.model import TintModel
from tintmix.resin import Resin

NAMES = ("azure", "emerald", "rose", "violet", "lemon", "red", "grey", "pink")
_PEAKS = (620.0, 660.0, 400.0, 560.0, 440.0, 510.0, 550.0, 530.0)
_WIDTHS = (50.0, 60.0, 120.0, 40.0, 40.0, 45.0, 300.0, 30.0)


def model(pigments: tuple[str, ...] = NAMES[:3], spread: float = 0.05, draws: int = 40, **changed: Any) -> TintModel:
    """Bell-shaped dyes, invented. spread: relative, of the absorptivity from draw to draw."""
    count = len(pigments)
    rng = np.random.default_rng(7)
    shapes = np.array([
        np.exp(-0.5 * ((GRID_NM - _PEAKS[p % 8]) / _WIDTHS[p % 8]) ** 2) + 0.01 for p in range(count)
    ])  # fmt: skip
    scatter = np.exp(spread * rng.standard_normal((draws, count, 1)))
    scatter /= scatter.mean(axis=0)
    spectra = shapes * scatter
    base = np.full((draws, len(GRID_NM)), 4e-4) * np.exp(spread * rng.standard_normal((draws, 1)))
    told: dict[str, Any] = {
        "pigments": pigments,
        "wavelengths_nm": GRID_NM,
        "base_per_mm": base.mean(axis=0),
        "absorptivity": spectra.mean(axis=0),
        "draws_base": base,
        "draws_absorptivity": spectra,
        "draws_departure": np.zeros((draws, count)),
        "departure_per_phr": np.zeros(count),
        "volume_per_phr": np.full(count, 0.01),
        "refractive_index": 1.5,
        "highest_phr": np.full(count, 0.2),
        "thickest_mm": 25.0,
        "max_phr": np.full(count, np.inf),
        "resin": Resin(name="clear casting resin, invented"),
    }
    return TintModel(**(told | changed))


def report(count: int = 30, doubted: int = 1) -> dict[str, Any]:
    """The chips of a fit's report, invented; the doubted ones are off by several L*."""
    rng = np.random.default_rng(3)
    measured = np.column_stack([rng.uniform(30, 96, count), rng.uniform(-70, 30, count), rng.uniform(-40, 60, count)])
    fitted = measured + 0.3 * rng.standard_normal((count, 3))
    fitted[:doubted] += [6.0, -4.0, 3.0]
    return {
        "chips": [
            {
                "chip": f"chip {i + 1} of the set",
                "measured_lab": m.tolist(),
                "fitted_lab": f.tolist(),
                "doubted": i < doubted,
            }
            for i, (m, f) in enumerate(zip(measured, fitted, strict=True))
        ],
        "left_out_delta_e00": {"median": 0.4, "p95": 1.1, "worst": 6.0},
    }


def canvas(figure: Figure) -> FigureCanvasAgg:
    """The figure's own canvas, with everything in its place."""
    laid = figure.canvas
    assert isinstance(laid, FigureCanvasAgg)
    figure.draw_without_rendering()
    return laid


def boxes(figure: Figure) -> list[tuple[str, Bbox]]:
    """Every piece of text that is seen, with the pixels it takes."""
    renderer = canvas(figure).get_renderer()
    hidden: set[int] = set()
    for axes in figure.axes:
        for axis, view in ((axes.xaxis, axes.get_xlim()), (axes.yaxis, axes.get_ylim())):
            low, high = min(view), max(view)
            slack = 1e-9 * (high - low)
            for tick in (*axis.get_major_ticks(), *axis.get_minor_ticks()):
                if not low - slack <= tick.get_loc() <= high + slack:
                    hidden |= {id(tick.label1), id(tick.label2)}
    found = []
    for text in figure.findobj(Text):
        assert isinstance(text, Text)
        if text.get_visible() and text.get_text().strip() and id(text) not in hidden:
            # Of an annotation, the words without the line that ties them to their place.
            found.append((text.get_text(), Text.get_window_extent(text, renderer)))
    return found


def said(figure: Figure) -> str:
    """All words of a figure, a line each."""
    return "\n".join(words for words, _ in boxes(figure))


def assert_readable(figure: Figure) -> None:
    """No words are cut off by the sheet's edge, and none lie on others."""
    found = boxes(figure)
    width, height = figure.bbox.width, figure.bbox.height
    for words, box in found:
        inside = box.x0 >= 4 and box.y0 >= 4 and box.x1 <= width - 4 and box.y1 <= height - 4
        assert inside, f"{words!r} is cut off"
    for (one, a), (other, b) in combinations(found, 2):
        apart = a.x1 <= b.x0 + 0.5 or b.x1 <= a.x0 + 0.5 or a.y1 <= b.y0 + 0.5 or b.y1 <= a.y0 + 0.5
        assert apart, f"{one!r} lies on {other!r}"


def axes_named(figure: Figure, label: str) -> Any:
    """The axes of that label."""
    return next(axes for axes in figure.axes if axes.get_label() == label)


def pixel(image: NDArray[np.uint8], figure: Figure, label: str, x: float, y: float = 0.5) -> list[int]:
    """The colour of a written PNG at a place in the data of some axes."""
    at = axes_named(figure, label).transData.transform((x, y))
    height = image.shape[0]
    return [int(v) for v in image[int(height - 1 - np.floor(at[1])), int(np.floor(at[0])), :3]]
