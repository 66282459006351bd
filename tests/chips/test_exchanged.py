"""Chips that look exchanged: found where two of a set are, and not asked about where none is."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from tests.simulation import make_set, to_chipset
from tintmix.chips.chip import Chip, ChipSet, Pigment, Reading
from tintmix.chips.exchanged import look_exchanged


def exchanged(chips: ChipSet, i: int, j: int) -> ChipSet:
    rows = list(chips.chips)
    rows[i], rows[j] = replace(rows[i], values=rows[j].values), replace(rows[j], values=rows[i].values)
    return replace(chips, chips=tuple(rows))


def test_a_sound_set_is_not_asked_about_and_an_exchange_is() -> None:
    """Long form, on 200 sets of seeds 5000 and above: see the change log."""
    for seed in (5000, 5001, 5002, 5003):
        camera = "drawn" if seed % 2 else "rendered"
        chips = to_chipset(
            make_set(seed, "camera", camera=camera, pigments=2, pairs=1, dose_error=0.02, thickness_error=0.05)
        )
        names = [chip.name for chip in chips.chips]
        assert look_exchanged(chips, names) == ()
        doses = np.array([chip.doses_phr for chip in chips.chips])
        # The middle dose of one pigment for the strong one of the other: plainly other colours.
        one, other = int(np.flatnonzero(doses[:, 0] == 0.06)[0]), int(np.flatnonzero(doses[:, 1] == 0.2)[1])
        assert look_exchanged(exchanged(chips, one, other), names) in (
            ((names[one], names[other]),), ((names[other], names[one]),),
        )  # fmt: skip
        # Only what was just read is asked about.
        assert look_exchanged(exchanged(chips, one, other), names[:1]) == ()


def test_of_few_chips_what_was_foreseen_tells() -> None:
    values = {"a 3 mm": (0.3, 0.7, 0.85), "b 3 mm": (0.85, 0.8, 0.3)}
    chips = ChipSet(
        Reading("camera"),
        (Pigment("a"), Pigment("b")),
        tuple(
            Chip(name, name[0], (0.1, 0.0) if name[0] == "a" else (0.0, 0.1), 3.0, seen)
            for name, seen in values.items()
        ),
    )
    meant = {"a 3 mm": "#80d0f0", "b 3 mm": "#f0e890"}
    assert look_exchanged(chips, list(values), meant) == ()
    turned = {"a 3 mm": "#f0e890", "b 3 mm": "#80d0f0"}
    assert look_exchanged(chips, list(values), turned) == (("a 3 mm", "b 3 mm"),)
    # Of grey ones only the light was foreseen: that is no colour.
    assert look_exchanged(chips, list(values), {"a 3 mm": "34 %", "b 3 mm": "80 %"}) == ()
