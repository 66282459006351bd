"""Sets as a plan for spectra has them, one chip a cup: two labels changed over are named, whichever cups they are of."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.simulation import make_set, to_chipset
from tintmix.pigments.fit import fit


@pytest.mark.parametrize("pair", [("p1-0.04", "p2-0.04"), ("p1+p2", "p2+p3"), ("p3-0.04", "p1+p2")])
def test_two_labels_changed_over_are_named(pair: tuple[str, str]) -> None:
    sim = make_set(24010, "spectrum", pairs=3, family="narrow", doses=(0.04,), thicknesses=(12.0,), dose_error=0.02,
                   thickness_error=0.05)  # fmt: skip
    chips = to_chipset(sim)
    read = {chip.cup: chip.values for chip in chips.chips}
    other = dict(zip(pair, reversed(pair), strict=True))
    report = fit(
        replace(chips, chips=tuple(replace(chip, values=read[other.get(chip.cup, chip.cup)]) for chip in chips.chips))
    ).report
    names = {chip.name for chip in chips.chips if chip.cup in pair}
    doubted = {chip["chip"] for chip in report["chips"] if chip["doubted"]}
    said = report["health"]["set_up"]
    if said:
        # Of pigments that stand for each other in all cups but two, either two may be the wrong ones.
        assert said[0]["what"] == "labels"
        assert all(name in said[0]["says"] for name in names)
    else:
        assert doubted == names
