"""The book's control chart. Only here does the book meet `pictures`, and so matplotlib."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from tintmix import pictures
from tintmix.book.chart import TITLES, Chart
from tintmix.files.plain import table_of
from tintmix.numerals import numeral
from tintmix.pictures.chart import ChartRow


def history(
    name: str, place: str, charts: Mapping[str, Chart], table: Mapping[str, Any], told: Sequence[str], where: Path
) -> None:
    """The four charts of a place."""
    rows = [
        ChartRow(
            title=TITLES[what],
            **table_of(chart, ("what", "signals")),
            marked=tuple(sorted({at for signal in chart.signals for at in signal.at})),
        )
        for what, chart in charts.items()
    ]
    labels = [f"{row['number']}" for row in table["pours"]]
    against = table["against"]
    wanted = "what was wanted" if against["what"] == "target" else "what was predicted"
    under = f"{place}, {numeral(against['thickness_mm'])} mm. ΔE00 from {wanted}; each dot is a pour."
    mine = [line for line in told if line.startswith(f"{place}, ")]
    figure = pictures.chart_picture(f"Pours of {name}", under, rows, labels, mine or ["No drift."])
    pictures.save_picture(figure, where)
