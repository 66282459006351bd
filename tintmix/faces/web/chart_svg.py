"""A chart of the pours as SVG: attributes and classes only, as the page's policy asks."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from markupsafe import Markup, escape

from tintmix.faces.web.units import shown

_LEFT, _RIGHT = 13.0, 97.0
"""Where the first and the last dot stand, per cent of the width."""
_TOP, _LOW = 8.0, 84.0
_MOST_NUMBERS = 24


def history(chart: Mapping[str, Any], numbers: Sequence[int], label: str) -> Markup:
    """The values of an individuals chart from pour to pour, its middle and its limits; what breaks a rule is filled.

    chart: a chart of `book history --json`. numbers: of the pours.
    """
    values = [float(value) for value in chart["values"]]
    lines = [(key, float(chart[key])) for key in ("middle", "low", "high") if chart[key] is not None]
    every = [*values, *(value for _, value in lines)]
    low, high = min(every), max(every)
    room = 0.12 * (high - low) or max(abs(high), 1.0) * 0.1
    low, high = low - room, high + room
    marked = {at for signal in chart["signals"] for at in signal["at"]}

    def x(at: int) -> float:
        return (_LEFT + _RIGHT) / 2 if len(values) == 1 else _LEFT + (_RIGHT - _LEFT) * at / (len(values) - 1)

    def y(value: float) -> float:
        return _LOW - (_LOW - _TOP) * (value - low) / (high - low)

    parts = []
    for key, value in lines:
        at = y(value)
        parts.append(f'<line x1="{_LEFT - 2}%" x2="100%" y1="{at:.2f}%" y2="{at:.2f}%" class="limit {key}"/>')
        parts.append(
            f'<text x="{_LEFT - 3}%" y="{at:.2f}%" dy="4" text-anchor="end" class="tick-word">{escape(_short(value))}</text>'
        )
    points = " ".join(f"{x(i):.2f},{y(value):.2f}" for i, value in enumerate(values))
    parts.append(
        '<svg width="100%" height="100%" viewBox="0 0 100 100" preserveAspectRatio="none">'
        f'<polyline points="{points}" class="line" vector-effect="non-scaling-stroke"/></svg>'
    )
    every_nth = 1 + (len(values) - 1) // _MOST_NUMBERS
    for i, value in enumerate(values):
        css = "dot marked" if i in marked else "dot"
        parts.append(f'<circle cx="{x(i):.2f}%" cy="{y(value):.2f}%" r="5" class="{css}"/>')
        if i % every_nth == 0:
            parts.append(
                f'<text x="{x(i):.2f}%" y="98%" text-anchor="middle" class="tick-word">{int(numbers[i])}</text>'
            )
    text = f'<svg class="history" role="img" aria-label="{escape(label)}">{"".join(parts)}</svg>'
    return Markup(text)  # every value in it is a number or escaped


def _short(value: float) -> str:
    return shown(value, 3 if abs(value) >= 1 else 2) if abs(value) >= 0.005 else "0"
