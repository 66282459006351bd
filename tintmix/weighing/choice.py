"""Which pigments are weighed neat, and which stock bottles are worth making, so that the colour stays within the aim."""

from __future__ import annotations

import math
from collections.abc import Sequence

from tintmix.weighing.budget import COVERS_95
from tintmix.weighing.letdown import Need, Option, from_shelf, neat, new_letdown
from tintmix.weighing.scales import Bench

_WORTH = 0.3
"""A pigment is moved to a bottle only where it takes this part of its share of the aim."""
_HAIR = 0.999
"""Of the room for carrier: so that shares which fill it are not turned down for their last digit."""


def choose(
    needs: Sequence[Need], moved_by: Sequence[Sequence[float]], scales: Bench, aim: float, carrier_room_g: float
) -> list[Option] | str:
    """A way to bring each pigment, or the name of the one for which there is none.

    moved_by (sections, pigments): ΔE00 by ln dose. aim: ΔE00 that 95 % should stay within at each section; the quadratic sum of
    1.96 × spread × moved_by bounds it from above. carrier_room_g: how much of the tinted part may come in letdowns.
    """
    chosen = _choose(needs, moved_by, scales, aim, [carrier_room_g] * len(needs))
    if isinstance(chosen, str) or _carried(chosen) <= carrier_room_g:
        return chosen
    again = _choose(needs, moved_by, scales, aim, _shares(chosen, carrier_room_g))
    if not isinstance(again, str):
        return again
    # Some have too small a share: start from the strongest bottles that can be weighed.
    least = _choose(needs, moved_by, scales, math.inf, [carrier_room_g] * len(needs))
    if isinstance(least, str):
        return least
    if _carried(least) > carrier_room_g:
        return max(zip(needs, least, strict=True), key=lambda pair: pair[1].carrier_g)[0].pigment
    again = _choose(needs, moved_by, scales, aim, _shares(least, carrier_room_g))
    return least if isinstance(again, str) else again


def _carried(options: Sequence[Option]) -> float:
    return math.fsum(option.carrier_g for option in options)


def _shares(options: Sequence[Option], carrier_room_g: float) -> list[float]:
    """The room for carrier, shared out as these options would take it."""
    total = _carried(options) or 1.0
    return [_HAIR * option.carrier_g * carrier_room_g / total for option in options]


def _choose(
    needs: Sequence[Need], moved_by: Sequence[Sequence[float]], scales: Bench, aim: float, most: Sequence[float]
) -> list[Option] | str:
    """Neat first; where that breaks the aim, the pigment that breaks it most is taken from a bottle on the shelf, then from a
    new one. New bottles share alike what the others leave of the aim."""
    count = len(needs)
    largest = largest_moves(moved_by, count)
    ready = [_ready(need, scales, room) for need, room in zip(needs, most, strict=True)]
    level = [0] * count
    pinned: set[int] = set()
    while True:
        found = [ready[p][level[p]] if level[p] < len(ready[p]) else None for p in range(count)]
        new = [p for p in range(count) if found[p] is None]
        rest = aim * aim - _moved2(found, moved_by)
        worst = _worst(found, pinned, largest, _WORTH * aim / math.sqrt(count or 1))
        if rest < 0 and worst is not None:
            level[worst] += 1
            continue
        each = math.sqrt(max(rest, 0.0) / len(new)) if new else 0.0
        for p in new:
            found[p] = option = new_letdown(needs[p], scales, _allowed(each, largest[p]), most[p])
            if option is None or (ready[p] and option.spread >= ready[p][-1].spread):
                if not ready[p]:
                    return needs[p].pigment
                # No bottle betters what there is.
                found[p], level[p] = ready[p][-1], len(ready[p]) - 1
                pinned.add(p)
        for p in new:
            _use_slack(p, found, needs, moved_by, scales, aim, largest, most)
        if worst is None or _moved2(found, moved_by) <= aim * aim:
            return [option for option in found if option is not None]
        level[worst] += 1


def largest_moves(moved_by: Sequence[Sequence[float]], count: int) -> list[float]:
    """ΔE00 by ln dose of each of so many pigments, at the section where it is largest."""
    return [max((row[p] for row in moved_by), default=0.0) for p in range(count)]


def _worst(found: Sequence[Option | None], pinned: set[int], largest: Sequence[float], least: float) -> int | None:
    """The pigment that moves the colour most without a new bottle, if that is worth one."""
    takes = [
        (COVERS_95 * option.spread * most, p)
        for p, (option, most) in enumerate(zip(found, largest, strict=True))
        if option is not None and p not in pinned
    ]
    most, p = max(takes, default=(0.0, -1))
    return p if most > least else None


def _ready(need: Need, scales: Bench, most_carrier_g: float) -> list[Option]:
    """The ways that need no new bottle, the easiest first, each truer than the one before."""
    plain, shelf = neat(need, scales), from_shelf(need, scales, most_carrier_g)
    if plain is None or shelf is None:
        return [option for option in (plain, shelf) if option is not None]
    return [plain, shelf] if shelf.spread < plain.spread else [plain]


def _use_slack(
    p: int, found: list[Option | None], needs: Sequence[Need], moved_by: Sequence[Sequence[float]], scales: Bench,
    aim: float, largest: Sequence[float], most: Sequence[float],
) -> None:  # fmt: skip
    """Where a bottle is not as true as its share asks, but the others leave more: a cheaper one that is true enough."""
    option = found[p]
    if option is None or len(option.source.made) < 2:
        return
    others = [other if q != p else None for q, other in enumerate(found)]
    each = math.sqrt(max(aim * aim - _moved2(others, moved_by), 0.0))
    cheaper = new_letdown(needs[p], scales, _allowed(each, largest[p]), most[p])
    if cheaper is not None and cheaper.cost < option.cost:
        found[p] = cheaper


def _allowed(delta_e00: float, largest: float) -> float:
    return delta_e00 / (COVERS_95 * largest) if largest > 0 else math.inf


def _moved2(found: Sequence[Option | None], moved_by: Sequence[Sequence[float]]) -> float:
    """ΔE00² at the section where it is largest, of those that are chosen."""
    spreads = [0.0 if option is None else (COVERS_95 * option.spread) ** 2 for option in found]
    return max((math.fsum(s * m * m for s, m in zip(spreads, row, strict=True)) for row in moved_by), default=0.0)
