"""A dose in other words, for makers who think per 100 g of one part, by volume or in drops."""

from __future__ import annotations

from typing import Any

from tintmix.files.write import Where
from tintmix.quantities import BATCH_G
from tintmix.resin import Resin, read_resin
from tintmix.sheet.cautions import cautions_for, cautions_table
from tintmix.weighing.convert import PHR, Measures, all_bases, drops_for, from_phr, to_phr


def convert_dose(
    value: float,
    basis: str = PHR,
    to: str | None = None,
    resin_path: Where | None = None,
    pigment_density_g_per_cm3: float | None = None,
    drop_g: float | None = None,
    batch_g: float | None = None,
) -> dict[str, Any]:
    """A dose of one basis in phr and in the others, as formats.md has its JSON; `to` asks for one of them. With a batch: the
    grams, and the drops.

    Raises what is wrong with the resin's file, the dose, the basis, the batch, or a number that is missing.
    """
    resin = Resin() if resin_path is None else read_resin(resin_path)
    measures = Measures(pigment_density_g_per_cm3, drop_g)
    if batch_g is not None:
        BATCH_G.check("the batch", batch_g)
    dose = to_phr(value, basis, resin, measures)
    bases = all_bases(dose, resin, measures)
    asked = None if to is None else {"basis": to, "value": from_phr(dose, to, resin, measures)}
    return {
        "given": {"basis": basis, "value": value},
        "asked": asked,
        "dose_phr": dose,
        "bases": bases,
        "resin": None if resin_path is None else resin.name,
        "batch_g": batch_g,
        "grams": None if batch_g is None else dose * batch_g / 100.0,
        **cautions_table(() if batch_g is None else cautions_for(resin)),
        "drops": None if batch_g is None or drop_g is None else drops_for(dose, batch_g, drop_g),
    }
