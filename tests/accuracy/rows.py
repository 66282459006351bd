"""The rows of measures.md that are simulated: which sets, which questions, which figures must be met."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from tests.accuracy import naive
from tests.accuracy.cup_rows import told
from tests.accuracy.scoring import Score, Table, score, table
from tests.simulation import SimSet, make_set, to_chipset
from tintmix.pigments.fit import fit

QUESTIONS = 120


@dataclass(frozen=True, slots=True)
class Limit:
    """What is asked: median, 95th, worst set's 95th, and the part of sets whose 95th passes 3."""

    median: float
    p95: float
    worst: float = np.inf
    past_3: float = 1.0

    def met(self, found: Table, slack: float = 1.0) -> bool:
        """Whether a table meets it, with `slack` as a factor on each figure."""
        return (
            found.median <= slack * self.median
            and found.p95 <= slack * self.p95
            and found.worst <= slack * self.worst
            and found.past_3 <= slack * self.past_3 + 1e-9
        )

    def __str__(self) -> str:
        parts = [f"{self.median:g} / {self.p95:g}"]
        if np.isfinite(self.worst):
            parts.append(f"worst {self.worst:g}")
        if self.past_3 < 1:
            parts.append(f"past 3: {100 * self.past_3:g} %")
        return ", ".join(parts)


@dataclass(frozen=True, slots=True)
class Row:
    """One row: how its sets are made, and its limits by how far beyond the chips the questions go."""

    name: str
    make: Callable[[int], SimSet]
    limits: dict[float, Limit]
    lowest_cover: float = 0.92
    baselines: bool = True


_ERRORS = {"dose_error": 0.02, "thickness_error": 0.05}

ROWS = (
    Row("spectra, clean", lambda s: make_set(s, "spectrum"), {1.0: Limit(0.08, 0.2)}),
    Row("spectra, dose and thickness errors", lambda s: make_set(s, "spectrum", **_ERRORS), {1.0: Limit(0.20, 0.4)}),
    Row(
        "colours, ladder",
        lambda s: make_set(s, "colour", **_ERRORS),
        {1.0: Limit(0.30, 0.8, past_3=0.08), 3.0: Limit(0.45, 1.3, past_3=0.13)},
    ),
    Row(
        "colours, ladder, clean",
        lambda s: make_set(s, "colour"),
        {1.0: Limit(0.30, 0.8, past_3=0.08), 3.0: Limit(0.45, 1.3, past_3=0.13)},
    ),
    Row(
        "colours, ladder and pairs, clean",
        lambda s: make_set(s, "colour", pairs=3),
        {1.0: Limit(0.25, 0.6, worst=2.0), 3.0: Limit(0.4, 1.0, worst=3.0)},
    ),
    Row(
        "colours, ladder and pairs, errors",
        lambda s: make_set(s, "colour", pairs=3, **_ERRORS),
        {1.0: Limit(0.35, 0.8, worst=3.5)},
    ),
    Row(
        "raw camera and panel known, ladder and pairs (colour-filter camera)",
        lambda s: make_set(s, "camera", pairs=3, camera="filter", **_ERRORS),
        {1.0: Limit(0.8, 2.0)},
    ),
    Row(
        "the same, the stacked-layer camera that colour-science also ships",
        lambda s: make_set(s, "camera", pairs=3, camera="stacked", **_ERRORS),
        {1.0: Limit(0.8, 2.0)},
    ),
    Row(
        "raw camera unknown (drawn from the prior), panel known, ladder and pairs",
        lambda s: make_set(s, "camera", pairs=3, camera="drawn", **_ERRORS),
        {1.0: Limit(2.8, 6.0)},
        lowest_cover=0.90,
    ),
)


def sweep(row: Row, seeds: range, questions: int = QUESTIONS) -> dict[float, dict[str, Table]]:
    """The row's tables: ours, and beside it three-channel Beer-Lambert and the one-start fit."""
    scores: dict[float, dict[str, list[Score]]] = {beyond: {} for beyond in row.limits}
    for seed in seeds:
        sim = row.make(seed)
        chips = to_chipset(sim)
        model = fit(chips)
        one = naive.one_start_fit(chips) if row.baselines else None
        for beyond in row.limits:
            kept = scores[beyond]
            kept.setdefault("ours", []).append(score(model, sim, questions, beyond))
            if one is not None:
                kept.setdefault("one start", []).append(score(one, sim, questions, beyond))
                errors = naive.three_channel_errors(sim, questions, beyond)
                none = np.zeros(len(errors), dtype=bool)
                kept.setdefault("three channels", []).append(Score(errors, none, none))
    return {beyond: {name: table(found) for name, found in kept.items()} for beyond, kept in scores.items()}


@dataclass(frozen=True, slots=True)
class Faults:
    """Of sets with one fault: the part in which it was named, sound chips doubted a set, the error against the clean
    set's.
    """

    named: float
    false_alarms: float
    worse: float
    sets: int


def faults(kind: str, fault: str, seeds: range, questions: int = QUESTIONS) -> Faults:
    """One chip wrong: is it named, and what does it cost?"""
    named, alarms, ratio = [], [], []
    for seed in seeds:
        bad = make_set(seed, kind, pairs=3, fault=fault, **_ERRORS)
        good = make_set(seed, kind, pairs=3, **_ERRORS)
        model = fit(to_chipset(bad))
        doubted = {c["chip"] for c in model.report["chips"] if c["doubted"]}
        doubted_cups = {c["cup"] for c in model.report["cups"] if c["doubted"]}
        named.append(bool(doubted & set(bad.culprit_chips)) or bool(doubted_cups & set(bad.culprit_cups)))
        alarms.append(len(doubted - {n for n, c in zip(bad.names, bad.cups, strict=True) if c in bad.culprit_cups}))
        errors = [
            np.median(score(m, sim, questions, 1.0).errors) for m, sim in ((model, bad), (fit(to_chipset(good)), good))
        ]
        ratio.append(errors[0] / errors[1])
    return Faults(float(np.mean(named)), float(np.mean(alarms)), float(np.median(ratio)), len(named))


def one_cup_scores(seeds: range, thicknesses: tuple[float, ...] = (12.0,)) -> Table:
    """One cup of a mix, read at 12 mm: how well is the same mix told at 60 mm?"""
    scores = [told(seed, thicknesses) for seed in seeds]
    errors = np.array([s.errors[0] for s in scores])
    cover = float(np.mean([s.in_band[0] for s in scores]))
    return Table(
        float(np.median(errors)), float(np.quantile(errors, 0.95)), float(errors.max()), cover, cover, 0.0, len(errors)
    )
