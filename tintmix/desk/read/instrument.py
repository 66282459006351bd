"""Instrument files or typed colours into a chip set: matched, checked, averaged, corrected where asked, and written
whole.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tintmix.chips.chip import ChipSet
from tintmix.chips.convert import Wish, convert
from tintmix.chips.errors import readings_refused
from tintmix.chips.folder import read_chips
from tintmix.chips.instruments.dispatch import read_samples
from tintmix.chips.instruments.sample import SampleFile, Space
from tintmix.chips.instruments.typed_colours import parse_colours
from tintmix.chips.matching import match, read_map
from tintmix.chips.put import Put, put_readings, row_body
from tintmix.chips.readings_log import drift_body, planned, write_planned
from tintmix.errors import Note, Remedy, ValueProblem
from tintmix.files.plain import finite

Where = str | Path


@dataclass(frozen=True, slots=True)
class ReadDone:
    """What came of a reading. body: the same as JSON has it."""

    put: Put
    body: dict[str, Any]


def read_files(
    set_path: Where,
    files: Sequence[Where],
    mapping: Sequence[str] = (),
    *,
    wish: Wish | None = None,
    replace_old: bool = False,
    correct_drift: bool = False,
    others_ignored: bool = False,
    dry_run: bool = False,
) -> ReadDone:
    """Read instrument files into a set. mapping: "SAMPLE=CHIP" texts. Raises; then the set is as it was."""
    found = [read_samples(path) for path in files]
    return _into_set(set_path, found, mapping, wish or Wish(), replace_old, correct_drift, others_ignored, dry_run)


def read_colours(
    set_path: Where,
    text: str,
    mapping: Sequence[str] = (),
    *,
    space: Space = "Lab",
    wish: Wish | None = None,
    replace_old: bool = False,
    correct_drift: bool = False,
    others_ignored: bool = False,
    dry_run: bool = False,
) -> ReadDone:
    """Read typed or pasted colours into a set, a line a chip. Raises; then the set is as it was."""
    found = [parse_colours(text, space)]
    return _into_set(set_path, found, mapping, wish or Wish(), replace_old, correct_drift, others_ignored, dry_run)


def _into_set(
    set_path: Where,
    found: Sequence[SampleFile],
    mapping: Sequence[str],
    wish: Wish,
    replace_old: bool,
    correct_drift: bool,
    others_ignored: bool,
    dry_run: bool,
) -> ReadDone:
    old = read_chips(set_path)
    samples = [sample for file in found for sample in file.samples if sample.kind == old.reading.kind]
    samples = samples or [sample for file in found for sample in file.samples]
    pairs, passed = match(samples, [chip.name for chip in old.chips], read_map(mapping), others_ignored)
    where = ", ".join(file.where for file in found)
    notes = [note for file in found for note in file.notes]
    if not pairs:
        put = Put(old, ())
        return ReadDone(put, body_of(put, old, found, {}, [*notes, "no sample was left to read"], passed, {}, dry_run))
    named = {chip for chip, _ in pairs}
    keeps = any(chip.is_read and (chip.name not in named or not replace_old or chip.check) for chip in old.chips)
    converted = convert(old, pairs, where, wish, keeps)
    try:
        put = put_readings(converted.chips, converted.taken, replace_old, correct_drift)
    except ValueProblem as error:
        raise readings_refused(where, error) from None
    files = planned(put, old, converted.changes, [file.where for file in found])
    if not dry_run:
        assert old.folder is not None
        write_planned(old.folder, files)
    notes += converted.notes
    return ReadDone(put, body_of(put, old, found, dict(converted.changes), notes, passed, files, dry_run))


def body_of(
    put: Put,
    old: ChipSet,
    found: Sequence[SampleFile],
    changes: dict[str, Any],
    notes: Sequence[Note | str],
    passed: Sequence[str],
    files: dict[str, Any],
    dry_run: bool,
) -> dict[str, Any]:
    """What came of a reading, as JSON has it."""
    uneven = [row.chip for row in put.rows if row.uneven]
    told = list(notes)
    if uneven:
        told.append(
            f"the repeats of {', '.join(uneven)} differ by far more than reading_spread allows; "
            "look for bubbles, a matt face or a wrong label"
        )
    kept = [row.chip for row in put.rows if row.action == "kept"]
    if kept:
        told.append(Note(says=f"{', '.join(kept)} had a reading already and kept it.", remedy=Remedy.REPLACE_THE_OLD))
    checks = [chip.name for chip in old.chips if chip.check]
    missing = [name for name in checks if name not in {row.chip for row in put.rows}]
    if missing:
        told.append(f"the check chips {', '.join(missing)} were not read this time, so drift is not known")
    body: dict[str, Any] = finite(
        {
            "set": str(old.folder),
            "dry_run": dry_run,
            "sources": [{"file": f.where, "format": f.form, "samples": len(f.samples)} for f in found],
            "chips": [row_body(row) for row in put.rows],
            "passed_over": list(passed),
            "set_changes": changes,
            "drift": drift_body(put),
            "not_read_yet": [chip.name for chip in put.chips.chips if chip.use and not chip.is_read],
            "notes": told,
            "written": [] if dry_run else sorted(files),
            "would_write": sorted(files) if dry_run else [],
        }
    )
    return body
