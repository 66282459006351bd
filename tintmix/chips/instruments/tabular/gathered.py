"""What is gathered on the way through a delimited text."""

from __future__ import annotations

from dataclasses import dataclass, field

from tintmix.chips.instruments.errors import NoReading, too_many_samples
from tintmix.chips.instruments.sample import MOST_SAMPLES, Sample
from tintmix.files.errors import Cell

FORM = "a table of spectra"


@dataclass(slots=True)
class Found:
    """What is gathered on the way through a file."""

    where: str
    stem: str
    samples: list[Sample] = field(default_factory=list)
    bad: list[Cell] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    holes: list[str] = field(default_factory=list)
    none: list[tuple[int, NoReading]] = field(default_factory=list)

    def add(self, sample: Sample) -> None:
        """One more. Raises FileProblem."""
        self.samples.append(sample)
        if len(self.samples) > 2 * MOST_SAMPLES:
            raise too_many_samples(self.where, "samples", MOST_SAMPLES)
