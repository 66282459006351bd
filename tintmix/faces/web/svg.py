"""Swatches, thickness strips and curves as SVG. Attributes and classes only: the page's policy allows no style of its own.

Places along a picture are per cent of its width, so that its letters keep their size at any width.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from markupsafe import Markup, escape

from tintmix.faces.web.units import Units, shown

STRIP_LOW = 34.0
"""How high the strip is at its thin end, per cent of the thick end: a strip seen from the side, but never a thread."""


NARROW_PIXELS, WIDE_PIXELS, LETTER_PIXELS = 320.0, 720.0, 8.0
"""How wide a strip is at least on a phone and on a wider screen, and a letter of its words at most."""


def swatch(colour: str | None, label: str, *, css: str = "swatch", beside: str | None = None) -> Markup:
    """A plain colour; with `beside`, two halves that touch, this one left."""
    if colour is None:
        return _markup(
            f'<svg class="{css} none" role="img" aria-label="{escape(label)}"><rect width="100%" height="100%" class="blank"/>'
            '<line x1="0" y1="100%" x2="100%" y2="0" class="rule"/></svg>'
        )
    halves = f'<rect width="100%" height="100%" fill="{_hex(colour)}" class="first"/>'
    if beside is not None:
        halves += f'<rect x="50%" width="50%" height="100%" fill="{_hex(beside)}" class="second"/>'
    return _markup(f'<svg class="{css}" role="img" aria-label="{escape(label)}">{halves}</svg>')


def row(colours: Sequence[str], label: str, css: str = "swatch-row") -> Markup:
    """Colours side by side that touch."""
    width = 100 / max(len(colours), 1)
    parts = "".join(
        f'<rect x="{i * width:.3f}%" width="{width + 0.2:.3f}%" height="100%" fill="{_hex(colour)}"/>'
        for i, colour in enumerate(colours)
    )
    return _markup(f'<svg class="{css}" role="img" aria-label="{escape(label)}">{parts}</svg>')


def strip(
    body: Mapping[str, Any], places: Sequence[Mapping[str, Any]], units: Units, name: str = "strip", css: str = "strip"
) -> Markup:
    """The thickness strip: a wedge of the tint from thin to thick, its places marked, and where it is too dark."""
    low, high = body["from_mm"], body["to_mm"]
    stops = "".join(f'<stop offset="{at}" stop-color="{_hex(colour)}"/>' for at, colour in body["stops"])
    start = 100 - max(STRIP_LOW, 100 * low / high)
    marks = _marks([place["thickness_mm"] for place in places], low, high, units, "small" in css)
    dark = body["dark_from_mm"]
    at = 100.0 if dark is None else _along(dark, low, high)
    label = (
        f"Thickness strip from {units.length(low)} to {units.length(high)} {units.length_unit}"
        + ("" if dark is None else f"; too dark from {units.length(dark)} {units.length_unit}")
    )  # fmt: skip
    words = "" if dark is None else f"too dark from {units.length(dark, 3)} {units.length_unit}"
    said = f'<text x="100%" y="14" text-anchor="end" class="dark-word">{escape(words)}</text>'
    # The exact word stands beside the plain one where there is room.
    title = '<text y="14" class="tick-word strip-word">thickness strip</text>'
    return _markup(
        f'<svg class="{css}" id="{escape(name)}" role="img" aria-label="{escape(label)}">'
        f'{"" if "small" in css else title}<defs><linearGradient id="{escape(name)}-paint">{stops}</linearGradient></defs>'
        f'<svg y="22" width="100%" height="64%" class="strip-body" viewBox="0 0 100 100" preserveAspectRatio="none">'
        f'<polygon points="0,{start:.1f} 100,0 100,100 0,100" fill="url(#{escape(name)}-paint)"/></svg>'
        f'<g class="dark-mark"{"" if dark is not None else " visibility=" + chr(34) + "hidden" + chr(34)}>'
        f'<line x1="{at:.2f}%" x2="100%" y1="20" y2="20" class="dark-line"/>{said}</g>'
        f'<svg y="100%" width="100%" height="1" overflow="visible" class="places">{marks}</svg></svg>'
    )


def _marks(thicknesses_mm: Sequence[float], low: float, high: float, units: Units, small: bool) -> str:
    """A tick at each place, and its thickness where there is room for it: on a phone, on a wide screen only, or not at all."""
    ticks, words = [], []
    for mm in sorted(set(thicknesses_mm)):
        at = _along(mm, low, high)
        ticks.append(f'<line x1="{at:.2f}%" x2="{at:.2f}%" y1="-24" y2="-17" class="tick"/>')
        anchor = "start" if at < 12 else "end" if at > 88 else "middle"
        words.append((at, anchor, f"{units.length(mm, 3)} {units.length_unit}"))
    shown_narrow = _with_room(words, NARROW_PIXELS)
    shown_wide = shown_narrow if small else _with_room(words, WIDE_PIXELS)
    for i in sorted(shown_narrow | shown_wide):
        at, anchor, text = words[i]
        css = "tick-word" if i in shown_narrow else "tick-word wide-only"
        ticks.append(f'<text x="{at:.2f}%" y="-3" text-anchor="{anchor}" class="{css}">{escape(text)}</text>')
    return "".join(ticks)


def _with_room(words: Sequence[tuple[float, str, str]], pixels: float) -> set[int]:
    """Which of the words stand clear of each other in so many pixels; both ends first."""
    taken: list[tuple[float, float]] = []
    kept = set()
    ends = [0, len(words) - 1] if words else []
    for i in dict.fromkeys([*ends, *range(len(words))]):
        at, anchor, text = words[i]
        wide = 100 * LETTER_PIXELS * (len(text) + 1) / pixels
        start = at - {"start": 0.0, "middle": 0.5, "end": 1.0}[anchor] * wide
        if all(start >= end or start + wide <= begin for begin, end in taken):
            taken.append((start, start + wide))
            kept.add(i)
    return kept


def curve(
    x: Sequence[float],
    middle: Sequence[float],
    low: Sequence[float],
    high: Sequence[float],
    label: str,
    top: float,
) -> Markup:
    """A curve over the wavelengths with its band; the scale starts at zero and ends at `top`."""
    first, last = x[0], x[-1]

    def points(values: Sequence[float]) -> list[str]:
        return [
            f"{100 * (nm - first) / (last - first):.2f},{100 - 96 * min(max(v, 0.0), top) / top:.2f}"
            for nm, v in zip(x, values, strict=True)
        ]

    band = " ".join([*points(high), *reversed(points(low))])
    ticks = words = ""
    for nm in (400, 500, 600, 700):
        if first < nm < last:
            at = 100 * (nm - first) / (last - first)
            ticks += f'<line x1="{at:.2f}%" x2="{at:.2f}%" y1="0" y2="100%" class="grid"/>'
            words += f'<text x="{at:.2f}%" y="100%" dy="-4" text-anchor="middle" class="tick-word">{nm}</text>'
    return _markup(
        f'<svg class="curve" role="img" aria-label="{escape(label)}">'
        f'<svg width="100%" height="86%">{ticks}'
        '<svg width="100%" height="100%" viewBox="0 0 100 100" preserveAspectRatio="none">'
        f'<polygon points="{band}" class="band"/>'
        f'<polyline points="{" ".join(points(middle))}" class="line" vector-effect="non-scaling-stroke"/></svg>'
        f'<text x="4" y="14" class="tick-word">{escape(shown(top, 2))}</text></svg>{words}</svg>'
    )


def _along(mm: float, low: float, high: float) -> float:
    return min(max(100 * (mm - low) / (high - low), 0.0), 100.0)


def _hex(colour: str) -> str:
    """A colour that is one, so that nothing else gets into the markup."""
    if len(colour) == 7 and colour[0] == "#" and all(c in "0123456789abcdefABCDEF" for c in colour[1:]):
        return colour
    raise ValueError(f"no colour: {colour!r}")


def _markup(text: str) -> Markup:
    return Markup(text)  # every value in it is a number, a checked colour, or escaped
