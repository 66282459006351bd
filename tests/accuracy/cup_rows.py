"""One cup of a ready mix, read as one colour or two: how well is it told where the casting is 60 mm thick?

One colour hardly tells unlike families of colorants apart, so that one band must serve them all: too wide for most, too narrow
for the steepest. Hence a line each, and their mean.
"""

from __future__ import annotations

import sys

import numpy as np

from tests.accuracy.scoring import Score
from tests.simulation import REPORTING_SEEDS, one_cup, to_chipset
from tintmix.optics.difference import delta_e00
from tintmix.pigments.fit import fit

FAMILIES = ("new film", "mixed", "glass", "dye", "narrow")
"""As `absorbers.draw` has them."""
READ_MM = ((12.0,), (3.0, 12.0))
SEEN_MM = 60.0


def told(seed: int, thicknesses: tuple[float, ...], family: str = "mixed") -> Score:
    """The mix of one cup, as its own fit tells it at 60 mm."""
    sim, mix, thick_mm = one_cup(seed, thicknesses, family=family), np.ones((1, 1)), np.array([SEEN_MM])
    draws = fit(to_chipset(sim)).lab_draws(mix, thick_mm)
    mean = draws.mean(axis=0)
    errors, bands = delta_e00(sim.truth_lab(mix, thick_mm), mean), np.quantile(delta_e00(draws, mean), 0.95, axis=0)
    return Score(errors, errors <= bands, errors <= bands, bands)


def main(arguments: list[str]) -> int:
    """Print a line for each family and number of chips, and the coverage of all together."""
    sets = int(arguments[0]) if arguments else 40
    seeds = range(REPORTING_SEEDS[0], REPORTING_SEEDS[0] + sets)
    print(f"{sets} cups a line, seeds from {seeds[0]}; median / 95th ΔE00 at {SEEN_MM:g} mm")
    for read_mm in READ_MM:
        covers = []
        for family in FAMILIES:
            every = [told(seed, read_mm, family) for seed in seeds]
            errors, bands = (np.concatenate([getattr(one, name) for one in every]) for name in ("errors", "bands"))
            covers.append(np.mean(errors <= bands))
            print(
                f"{' and '.join(f'{mm:g}' for mm in read_mm):>8s} mm  {family:9s} {np.median(errors):5.2f} / "
                f"{np.quantile(errors, 0.95):5.2f}  band covers {covers[-1]:.2f}, "
                f"{np.median(bands) / np.median(errors):.1f} times the error",
                flush=True,
            )
        print(f"          of all families the band covers {np.mean(covers):.3f}")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
