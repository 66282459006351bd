"""Whether what was typed as weighed can have been: or whether it is a slip of the point, of a digit, of the unit or of the line.

What is far from what was asked for is asked about, and not refused: whoever weighed it so says so. A whole batch that is larger
or smaller by one factor is another batch, and no slip.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

from tintmix.errors import Remedy, ValueProblem
from tintmix.numerals import numeral

FAR = 2.0
"""A weight of more than this many times what is asked for, or of less than this part of it, is asked about. It is the largest
that lets no such slip through: a number that lost its first digit is less than half of what it was (36.8 of 236.8), and one that
has a digit too many or too few, its point one place off, or ounces or kilograms for grams, is further off than that. Scales and
hands scatter by some per cent, drops by a quarter (common practice)."""
ALIKE = 1.25
"""Weights whose ratios to what is asked for lie together within this have one factor: a drop more or less, of 0.025 g, in 0.1 g
of pigment (common practice)."""


class Put(NamedTuple):
    """What was put on the scale. asked_g: how much there should have been of it; 0: nobody says. step_g: of the scale."""

    what: str
    weighed_g: float
    asked_g: float
    step_g: float = 0.0


def check_near(put: Put) -> None:
    """Raises ValueProblem where it is FAR off, and by more than a step of its scale.

    >>> check_near(Put("part A", 240.0, 236.8))
    >>> check_near(Put("azure", 0.38, 0.038))
    Traceback (most recent call last):
    tintmix.errors.ValueProblem: of azure 0.38 g were weighed, and 0.038 g are asked for in this batch.
    """
    if _off(put.weighed_g, put.asked_g) > FAR and abs(put.weighed_g - put.asked_g) > put.step_g:
        weighed, asked = numeral(put.weighed_g, 4), numeral(put.asked_g, 4)
        raise ValueProblem(
            what=f"of {put.what} {weighed} g were weighed, and {asked} g are asked for in this batch",
            remedy=Remedy.SAY_AS_WEIGHED,
        )


def check_thick(chip: str, measured_mm: float, planned_mm: float) -> None:
    """Raises ValueProblem where a chip is FAR from as thick as it was meant: the same slips are made with a rule.

    >>> check_thick("azure-1 25 mm", 246.0, 25.0)
    Traceback (most recent call last):
    tintmix.errors.ValueProblem: azure-1 25 mm: its thickness was typed as 246 mm, and 25 mm were meant.
    """
    if _off(measured_mm, planned_mm) > FAR:
        typed, meant = numeral(measured_mm, 4), numeral(planned_mm, 4)
        what = f"its thickness was typed as {typed} mm, and {meant} mm were meant"
        raise ValueProblem(where=chip, what=what, remedy=Remedy.SAY_AS_THICK)


def factor_of(puts: Sequence[Put]) -> float:
    """How many times larger the batch is that these make together than the one they were asked for; 1 where they have no one
    factor. Of one weight alone nobody knows whether it is a slip.

    >>> factor_of([Put("A", 300.0, 100.0), Put("B", 270.0, 90.0)]), factor_of([Put("A", 300.0, 100.0), Put("B", 90.0, 90.0)])
    (3.0, 1.0)
    """
    ratios = [put.weighed_g / put.asked_g for put in puts if put.asked_g > 0]
    if len(ratios) < 2 or min(ratios) <= 0 or max(ratios) > ALIKE * min(ratios):
        return 1.0
    factor = _middle(ratios)
    return 1.0 if _off(factor, 1.0) <= ALIKE else factor


def check_of_one_batch(puts: Sequence[Put]) -> None:
    """The same where nobody says how large the batch was: asked_g is of a batch of any size, and each is held against what the
    others make together. The worst is told. Raises ValueProblem.

    >>> check_of_one_batch([Put("part A", 2368.0, 0.526), Put("part B", 213.2, 0.474), Put("azure", 0.0945, 0.00021)])
    Traceback (most recent call last):
    tintmix.errors.ValueProblem: of part A 2368 g were weighed, and 236.6 g are asked for in this batch.
    """
    known = [put for put in puts if put.asked_g > 0]
    held = []
    for at, put in enumerate(known):
        others = [one.weighed_g / one.asked_g for one in known[:at] + known[at + 1 :] if one.weighed_g > 0]
        if others:
            held.append(put._replace(asked_g=put.asked_g * _middle(others)))
    if held:
        check_near(max(held, key=lambda put: _off(put.weighed_g, put.asked_g)))


def _off(weighed: float, asked: float) -> float:
    """How many times too much or too little; 1 where nothing is asked."""
    if asked <= 0:
        return 1.0
    return math.inf if weighed <= 0 else float(f"{max(weighed / asked, asked / weighed):.9g}")


def _middle(ratios: Sequence[float]) -> float:
    # Ratios are as often doubled as halved: their geometric mean.
    return float(f"{math.exp(math.fsum(map(math.log, ratios)) / len(ratios)):.9g}")
