"""Of several readings of one sample in one file, those that fit a set: its gloss, its light, light through or back."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from tintmix.chips.chip import ChipSet
from tintmix.chips.instruments.sample import Sample, SampleFile
from tintmix.chips.readings.matching import plain_name


def fitted(found: Sequence[SampleFile], chips: ChipSet | None) -> list[SampleFile]:
    """The files without the readings that the same sample has under conditions that fit better; without a set, all of them.

    Files of one sample each that are all called alike inside are called by their own names.
    """
    told_apart = _told_apart(found, chips)
    if chips is None:
        return told_apart
    return [replace(file, samples=tuple(_best(file.samples, chips))) for file in told_apart]


def _best(samples: Sequence[Sample], chips: ChipSet) -> list[Sample]:
    best: dict[tuple[str, str], int] = {}
    for sample in samples:
        key = (sample.name, sample.kind)
        best[key] = max(best.get(key, -100), _fit(sample, chips))
    return [sample for sample in samples if _fit(sample, chips) == best[sample.name, sample.kind]]


def _fit(sample: Sample, chips: ChipSet) -> int:
    """How well a reading's conditions are the set's. What is not said does no harm."""
    reading = chips.reading
    wanted = ("reflectance",) if reading.on_tile else ("transmittance", "absorbance")
    fit = 0 if sample.quantity is None else 8 if sample.quantity in wanted else -8
    # The same reading in other words: what was measured goes before what was worked out of it.
    fit -= sample.quantity == "absorbance"
    if reading.on_tile or sample.quantity == "reflectance":
        fit += -4 if sample.geometry == "gloss included" else 2 * (sample.geometry == reading.geometry)
    if sample.kind == "colour":
        fit += 2 * (sample.light == reading.light) + (sample.observer == reading.observer)
    return fit


def _told_apart(found: Sequence[SampleFile], chips: ChipSet | None) -> list[SampleFile]:
    """Files of one sample each, called alike inside ("Sample 1", "Spectrum") and no chip's name: by the files' own names."""
    known = {plain_name(chip.name) for chip in chips.chips} if chips else set()
    single = [file.samples[0] for file in found if len({sample.name for sample in file.samples}) == 1]
    names = [sample.name for sample in single if plain_name(sample.name) not in known]
    alike = {name for name in names if names.count(name) > 1}
    own = [sample.other_name for sample in single if sample.name in alike]
    if not alike or not all(own) or len(set(own)) < len(own):
        return [*found]
    return [
        replace(
            file,
            samples=tuple(
                replace(sample, name=sample.other_name, other_name=sample.name) if sample.name in alike else sample
                for sample in file.samples
            ),
        )
        if len({sample.name for sample in file.samples}) == 1
        else file
        for file in found
    ]
