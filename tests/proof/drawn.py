"""The plots of docs/proof.md, from the kept results: greys, line styles and words, as all pictures of the house."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import FuncFormatter, NullFormatter

from tintmix.pictures import save_picture
from tintmix.pictures.style import INK, PAPER, SOFT, drawing

WIDE = 8.2
LINES: dict[str, dict[str, Any]] = {
    "dyed films": {"linestyle": "-", "marker": "o"},
    "glasses": {"linestyle": "--", "marker": "s"},
    "simulated dyes": {"linestyle": ":", "marker": "^"},
}
_MARK = {"markersize": 4, "color": INK, "markerfacecolor": "#ffffff", "linewidth": 1.2}


def draw(name: str, found: dict[str, Any], folder: Path) -> list[str]:
    """The pictures of a part, written as PNG; their names."""
    names = []
    for picture, make in PICTURES.get(name, {}).items():
        with drawing():
            figure = make(found)
        save_picture(figure, folder / picture)
        names.append(picture)
    return names


def _figure(columns: int, high: float, **how: Any) -> tuple[Figure, list[Axes]]:
    figure = Figure(figsize=(WIDE, high), facecolor="#ffffff", layout="constrained")
    axes = np.atleast_1d(figure.subplots(1, columns, **how)).tolist()
    for one in axes:
        one.set_facecolor(PAPER)
        one.grid(True)
        for side in ("top", "right"):
            one.spines[side].set_visible(False)
    return figure, axes


def _plain_ticks(axes: Axes, which: str, values: list[float]) -> None:
    axis = axes.xaxis if which == "x" else axes.yaxis
    axis.set_ticks(values)
    axis.set_major_formatter(FuncFormatter(lambda value, _: f"{value:g}"))
    axis.set_minor_formatter(NullFormatter())


def _told_and_found(found: dict[str, Any]) -> Figure:
    figure, axes = _figure(3, 3.0, sharex=True, sharey=True)
    for one, (name, family) in zip(axes, found["families"].items(), strict=True):
        told, error = np.array(family["told_and_found"]).T
        one.loglog(told, np.maximum(error, 0.05), linestyle="none", marker="o", markersize=2, color=INK, alpha=0.5)
        one.plot([0.2, 30], [0.2, 30], color=SOFT, linewidth=0.9)
        one.set_xlim(0.2, 30)
        one.set_ylim(0.05, 30)
        one.set_title(f"{name}: {100 * np.mean(error <= told):.1f} % below the line", fontsize=8)
        one.set_xlabel("ΔE00 within which 95 % should lie")
        for which in "xy":
            _plain_ticks(one, which, [0.1, 0.3, 1, 3, 10] if which == "y" else [0.3, 1, 3, 10])
    axes[0].set_ylabel("ΔE00 from the truth")
    return figure


def _coverage(found: dict[str, Any]) -> Figure:
    figure, (axes,) = _figure(1, 3.6)
    nominal = 100 * np.array(found["nominal"])
    axes.plot([45, 100], [45, 100], color=SOFT, linewidth=0.9)
    for shift, (name, family) in zip((-0.25, 0.0, 0.25), found["families"].items(), strict=True):
        covers, error = 100 * np.array(family["covers"]), 100 * np.array(family["standard_error"])
        axes.errorbar(nominal + shift, covers, yerr=error, label=name, capsize=2, **LINES[name], **_MARK)
    _plain_ticks(axes, "x", nominal.tolist())
    axes.set_xlabel("per cent that a band should hold")
    axes.set_ylabel("per cent that it holds, ± one standard error")
    axes.legend(frameon=False, loc="lower right")
    return figure


def _by_thickness(found: dict[str, Any]) -> Figure:
    figure, axes = _figure(3, 3.0, sharey=True)
    for one, (name, family) in zip(axes, found["families"].items(), strict=True):
        for key, label, style in (("three_channels", "three channels", "--"), ("ours", "tintmix", "-")):
            median, high = np.array(family[key]).T
            one.semilogy(found["thickness_mm"], median, label=label, **{**_MARK, "linestyle": style, "marker": "o"})
            one.fill_between(found["thickness_mm"], median, high, color="#a9a9a9", alpha=0.5, linewidth=0)
        one.set_title(name, fontsize=8)
        one.set_xlabel("thickness, mm")
        _plain_ticks(one, "y", [0.1, 0.3, 1, 3, 10, 30])
    axes[0].set_ylabel("ΔE00: median, grey to the 95th")
    axes[0].legend(frameon=False, loc="center right", fontsize=8)
    return figure


def _kinds(found: dict[str, Any]) -> Figure:
    rows = found["rows"][::-1]
    figure, (axes,) = _figure(1, 0.26 * len(rows) + 0.7)
    for at, row in enumerate(rows):
        axes.plot([row["median"], row["p95"]], [at, at], color=INK, linewidth=1.2)
        axes.plot(row["median"], at, marker="o", **_MARK)
        axes.plot(row["p95"], at, marker="|", markersize=9, color=INK)
    axes.set_yticks(range(len(rows)), [row["kind"] for row in rows])
    axes.set_xscale("log")
    _plain_ticks(axes, "x", [0.1, 0.2, 0.5, 1, 2, 5, 10])
    axes.set_xlabel("ΔE00 from the truth at 36 to 60 mm (one cup: 60 mm): circle the median, bar the 95th")
    return figure


def _growth(found: dict[str, Any]) -> Figure:
    figure, axes = _figure(3, 3.0)
    parts = ((axes[0], "fit_by_chips", "chips"), (axes[1], "fit_by_pigments", "pigments"),
             (axes[2], "solve_by_pigments", "subsets"))  # fmt: skip
    for one, part, by in parts:
        for kind in dict.fromkeys(row.get("kind", "") for row in found[part]):
            rows = [row for row in found[part] if row.get("kind", "") == kind]
            style = {"linestyle": "--", "marker": "s"} if kind == "spectrum" else {"linestyle": "-", "marker": "o"}
            label = {"spectrum": "spectra", "colour": "L*a*b*"}.get(kind, "")
            one.loglog([row[by] for row in rows], [row["seconds"] for row in rows], label=label, **style, **_MARK)
            one.annotate(f"{rows[-1]['peak_mb']:.0f} MB", (rows[-1][by], rows[-1]["seconds"]), fontsize=7,
                         xytext=(-4, 5), textcoords="offset points", ha="right")  # fmt: skip
        first = found[part][0]
        ends = [row[by] for row in found[part]]
        line = np.array([first[by], max(ends)], dtype=float)
        one.plot(line, first["seconds"] * line / line[0], color=SOFT, linewidth=0.9)
        _plain_ticks(one, "x", sorted(set(ends)))
        one.tick_params(axis="x", rotation=45)
        _plain_ticks(one, "y", [0.01, 0.03, 0.1, 0.3, 1, 3, 10, 30, 100])
        one.set_ylim(0.5 * min(row["seconds"] for row in found[part]), 2.5 * max(row["seconds"] for row in found[part]))
        one.set_xlabel({"chips": "chips, 5 pigments", "pigments": "pigments, about 120 chips",
                        "subsets": "subsets of at most 3 pigments"}[by])  # fmt: skip
    axes[0].set_title("learning from chips", fontsize=8)
    axes[1].set_title("learning from chips", fontsize=8)
    axes[2].set_title("finding recipes", fontsize=8)
    axes[0].set_ylabel("seconds of one processor")
    axes[0].legend(frameon=False, loc="upper left", fontsize=8)
    return figure


PICTURES: dict[str, dict[str, Callable[[dict[str, Any]], Figure]]] = {
    "foretold": {
        "proof-told-and-found.png": _told_and_found,
        "proof-coverage.png": _coverage,
        "proof-thickness.png": _by_thickness,
    },
    "kinds": {"proof-kinds.png": _kinds},
    "growth": {"proof-growth.png": _growth},
}
