"""What the chips taught, for the page: strength curves with bands, predicted beside measured, what to pour next."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

from tintmix.chips.chip import ChipSet
from tintmix.optics.detector import eye, is_seen
from tintmix.optics.section import Section
from tintmix.page.colour.tint import checked_doses, difference_words
from tintmix.page.errors import needs_first
from tintmix.page.hexes import hexes
from tintmix.page.steps import is_stale
from tintmix.page.work import Work, fit_aside
from tintmix.page.workspace import Snapshot, Workspace
from tintmix.pigments.health import is_wrong, not_excluded
from tintmix.pigments.model import TintModel

LADDER = (0.125, 0.25, 0.5, 1.0)
"""Of the strongest chip, the doses that a pigment is shown at."""
SHOWN_MM = 10.0
MOST_ROWS = 200
JUST_SEEN = 1.0
"""ΔE00: a difference just seen side by side (common practice)."""


def learn(workspace: Workspace, identities: Sequence[str], work: Work, goes_to: str = "/pigments") -> str:
    """Fit some sets as one, and keep the model. Raises NotThere, Stopped, and what is wrong with the chips."""
    now = workspace.now()
    sets = {one["id"]: one for one in now.area("chips").get("sets", [])}
    chosen = [sets[identity] for identity in identities if identity in sets]
    if not any(one["read"] for one in chosen):
        raise needs_first("Learning the pigments", "a chip set with readings")
    name, place = workspace.place()
    fit_aside(work, _readable(workspace, chosen), place)
    keep_model(workspace, name, {one["id"]: one["thing"] for one in chosen}, "learning the pigments")
    return goes_to


def _readable(workspace: Workspace, chosen: Sequence[Mapping[str, Any]]) -> list[Path]:
    """The folders of the sets; where chips of some pigments are all yet to be read, those of a copy without these pigments."""
    sets = [workspace.chip_set(one["thing"]) for one in chosen]
    read = [(chips, chip) for chips in sets for chip in chips.chips if chip.use and chip.is_read]
    known = {of.name for chips, chip in read for of, dose in zip(chips.pigments, chip.doses_phr, strict=True) if dose}
    folders = []
    for one, chips in zip(chosen, sets, strict=True):
        left = [p for p, pigment in enumerate(chips.pigments) if pigment.name in known]
        whole = len(left) == len(chips.pigments) or not left
        thing = one["thing"] if whole else workspace.keep_set(_of_pigments(chips, left))
        folders.append(workspace.set_folder(thing))
    return folders


def _of_pigments(chips: ChipSet, left: Sequence[int]) -> ChipSet:

    def kept(values: Sequence[Any]) -> tuple[Any, ...]:
        return tuple(values[p] for p in left)

    rest = [
        replace(
            chip,
            doses_phr=kept(chip.doses_phr),
            dose_spreads=kept(chip.dose_spreads),
            weights=None if chip.weights is None else replace(chip.weights, pigments_g=kept(chip.weights.pigments_g)),
        )
        for chip in chips.chips
        if not any(dose for p, dose in enumerate(chip.doses_phr) if p not in left)
    ]
    return replace(chips, pigments=kept(chips.pigments), chips=tuple(rest), folder=None)


def keep_model(workspace: Workspace, name: str, learnt_from: Mapping[str, str], label: str) -> Snapshot:
    """The model becomes the one at hand; doses of pigments that it does not know are dropped."""
    model = workspace.model(name)
    now = workspace.now()
    tint = now.area("tint")
    doses = checked_doses(model, tint.get("doses", {}))
    if not doses:
        # Something to begin from: the cup as it is, or a little of the first pigment or two.
        few = {name: float(f"{model.highest_phr[p] / 8:.1g}") for p, name in enumerate(model.pigments[:2])}
        doses = {"mix": 1.0} if model.is_one_cup else few
    tint["doses"] = doses
    pigments = {"model": name, "from": dict(learnt_from), "names": list(model.pigments)}
    return workspace.change(label, {"pigments": pigments, "tint": tint}, {})


def model_at_hand(workspace: Workspace, now: Snapshot) -> TintModel | None:
    """The model, if there is one yet."""
    name = now.area("pigments").get("model")
    return None if name is None else workspace.model(name)


def _furthest(chips: Sequence[Mapping[str, Any]]) -> dict[str, Any] | None:
    """The chip that the curves tell least well, where an eye would see it, and all of its cup where it has others: a fit shares
    out among them what is wrong with one, and of few chips it may be told of the wrong one.

    >>> told = _furthest([{"chip": "a 1 mm", "cup": "a", "delta_e00": 1.4}, {"chip": "a 4 mm", "cup": "a", "delta_e00": 0.8}])
    >>> told["chip"], told["cup"]
    ('a 1 mm', ['a 1 mm', 'a 4 mm'])
    """
    worst = max(chips, key=lambda chip: chip.get("delta_e00") or 0.0, default=None)
    if worst is None or (worst.get("delta_e00") or 0.0) < JUST_SEEN:
        return None
    cup = [chip.get("chip") for chip in chips if chip.get("cup") == worst.get("cup")]
    return {"chip": worst.get("chip"), "delta_e00": worst["delta_e00"], "cup": cup if len(cup) > 1 else []}


def pigments_body(workspace: Workspace, now: Snapshot, model: TintModel, light: str, observer: int) -> dict[str, Any]:
    """All that the screen shows of a model."""
    report = model.report
    low, high = np.percentile(model.draws_absorptivity, [2.5, 97.5], axis=0)
    seen = is_seen()
    pigments = []
    for p, name in enumerate(model.pigments):
        told = report.get("pigments", {}).get(name, {})
        # Where no eye sees, and beyond the strongest part of the curve, it may be anything, and would flatten all that is known.
        top = 1.25 * float(max(model.absorptivity[p, seen].max(), np.percentile(high[p, seen], 75)))
        pigments.append(
            {
                "name": name,
                "lot": model.lots.get(name, ""),
                "highest_phr": float(model.highest_phr[p]),
                "nm": model.wavelengths_nm.tolist(),
                "middle": model.absorptivity[p].tolist(),
                "low": low[p].tolist(),
                "high": high[p].tolist(),
                "top": top,
                "swatch": told.get("swatch"),
                "ladder": _ladder(model, p, light, observer),
                "next": told.get("readings_that_would_help", ""),
                "law": told.get("law", ""),
            }
        )
    # One scale for all, so that a strong pigment is seen to be stronger.
    top = max(one["top"] for one in pigments)
    area, learnt = now.area("chips"), now.area("pigments")
    sets = [one for one in area.get("sets", []) if one["id"] in learnt.get("from", {})]
    chips = {one["id"]: workspace.chip_set(one["thing"]) for one in sets}
    rows = _rows(_with_sets(chips, report.get("chips", [])))
    names = dict.fromkeys(pigment.name for one in chips.values() for pigment in one.pigments)
    return {
        "one_cup": model.is_one_cup,
        "pigments": pigments,
        "top": top,
        "chips": rows,
        "doubted": [row for row in rows if row["doubted"]],
        "furthest": _furthest(report.get("chips", [])),
        "set_up": any(map(is_wrong, model.health.set_up)),
        "unwell": model.health.warning,
        "left_out": report.get("left_out_delta_e00", {}),
        "left_out_says": difference_words(float((report.get("left_out_delta_e00") or {}).get("median") or 0.0)),
        "next_cup": report.get("next_cup", ""),
        "not_excluded": not_excluded(model.health.made_for.get("readings", ())),
        "warnings": list(report.get("warnings", [])),
        "stale": is_stale(area.get("sets", []), learnt),
        # Of which no chip was read yet.
        "unread": [name for name in names if name not in model.pigments],
        "from": [one["title"] for one in sets],
    }


def _with_sets(sets: Mapping[str, ChipSet], rows: Sequence[Mapping[str, Any]]) -> list[dict[str, Any]]:
    """The report's rows with the set that each chip is in, and whether the chip is in use there now; None where no set that
    was learnt from holds it any more. A chip that was read in several sets has a row for each, in their order."""
    holding: dict[str, list[str]] = {}
    for identity, chips in sets.items():
        for chip in chips.chips:
            holding.setdefault(chip.name, []).append(identity)
    count: dict[str, int] = {}
    out = []
    for row in rows:
        at = count.get(row["chip"], 0)
        count[row["chip"]] = at + 1
        there = holding.get(row["chip"], [])
        held = there[min(at, len(there) - 1)] if there else None
        use = held is not None and next(chip.use for chip in sets[held].chips if chip.name == row["chip"])
        out.append({**row, "set": held, "use": use})
    return out


def _ladder(model: TintModel, p: int, light: str, observer: int) -> list[dict[str, Any]]:
    doses = np.zeros((len(LADDER), len(model.pigments)))
    doses[:, p] = np.array(LADDER) * model.highest_phr[p]
    seen = model.look_many(doses, [Section("", SHOWN_MM)], light, observer)
    white = eye(light, observer).bare
    colours = hexes(seen.lab[:, 0], white)
    return [{"dose": float(dose[p]), "srgb": colour} for dose, colour in zip(doses, colours, strict=True)]


def _rows(chips: Sequence[Mapping[str, Any]]) -> list[dict[str, Any]]:
    told = [row for row in chips if row.get("measured_lab") and row.get("fitted_lab")]
    if not told:
        return []
    white = eye("D65", 10).bare
    pairs = np.array([[row["measured_lab"], row["fitted_lab"]] for row in told])
    colours = hexes(pairs, white)
    rows = [
        {**row, "measured": measured, "fitted": fitted, "says": difference_words(row["delta_e00"])}
        for row, measured, fitted in zip(told, colours[::2], colours[1::2], strict=True)
    ]
    return sorted(rows, key=lambda row: (not row["doubted"], -row["delta_e00"]))[:MOST_ROWS]
