"""What the chips of a plan will look like, as far as a model knows their pigments."""

from __future__ import annotations

from tintmix.chips.chip import ChipSet
from tintmix.optics.colour import screen, xyz_of_lab
from tintmix.optics.detector import eye
from tintmix.pigments.model import TintModel


def colours_foreseen(model: TintModel | None, chips: ChipSet) -> dict[str, str]:
    """The colours that chips will have over a light panel, by name, of those whose pigments the model knows."""
    names = [pigment.name for pigment in chips.pigments]
    if model is None or model.is_one_cup:
        return {}
    own = {chip.name: dict(zip(names, chip.doses_phr, strict=True)) for chip in chips.chips}
    known = [chip for chip in chips.chips if all(p in model.pigments for p, dose in own[chip.name].items() if dose)]
    if not known:
        return {}
    doses = [[own[chip.name].get(pigment, 0.0) for pigment in model.pigments] for chip in known]
    labs, bare = model.predict_lab(doses, [chip.thickness_mm for chip in known]), eye("D65", 10).bare
    colours = screen(xyz_of_lab(labs, bare), bare).hex
    return {chip.name: colour for chip, colour in zip(known, colours, strict=True)}
