"""Instrument files or typed colours into a chip set: matched, checked, averaged, corrected where asked, and written
whole.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tintmix.chips.chip import ChipSet
from tintmix.chips.convert import Wish, convert
from tintmix.chips.errors import readings_refused
from tintmix.chips.folder import read_chips
from tintmix.chips.instruments.sample import SampleFile
from tintmix.chips.matching import match, read_map
from tintmix.chips.put import Put, Taken, put_readings, row_body
from tintmix.chips.readings_log import drift_body, planned
from tintmix.errors import Note, Remedy, ValueProblem
from tintmix.files.plain import finite
from tintmix.files.write import write_files

Where = str | Path


@dataclass(frozen=True, slots=True)
class ReadDone:
    """What came of a reading. body: the same as JSON has it."""

    put: Put
    body: dict[str, Any]


def read_into_set(
    set_path: Where,
    found: Sequence[SampleFile],
    mapping: Sequence[str] = (),
    *,
    wish: Wish = Wish(),
    replace_old: bool = False,
    correct_drift: bool = False,
    others_ignored: bool = False,
    dry_run: bool = False,
) -> ReadDone:
    """What instruments' files or typed colours hold, into a set. mapping: "SAMPLE=CHIP" texts. Raises; then the set is as it
    was."""
    old = read_chips(set_path)
    samples = [sample for file in found for sample in file.samples]
    samples = [sample for sample in samples if sample.kind == old.reading.kind] or samples
    pairs, passed = match(samples, [chip.name for chip in old.chips], read_map(mapping), others_ignored)
    where = ", ".join(file.where for file in found)
    notes: list[Note | str] = [note for file in found for note in file.notes]
    sources = [{"file": file.where, "format": file.form, "samples": len(file.samples)} for file in found]
    if not pairs:
        put = Put(old, ())
        return ReadDone(
            put, body_of(put, old, sources, {}, [*notes, "no sample was left to read"], passed, {}, dry_run)
        )
    converted = convert(old, pairs, where, wish, keeps_old(old, {chip for chip, _ in pairs}, replace_old))
    put = put_or_refuse(converted.chips, converted.taken, where, replace_old, correct_drift)
    files = put_away(put, old, converted.changes, [file.where for file in found], dry_run)
    told = [*notes, *converted.notes]
    return ReadDone(put, body_of(put, old, sources, dict(converted.changes), told, passed, files, dry_run))


def keeps_old(old: ChipSet, named: Collection[str], replace_old: bool) -> bool:
    """Whether a reading of the set stays when the named chips are read: then how it was read cannot change."""
    return any(chip.is_read and (chip.name not in named or not replace_old or chip.check) for chip in old.chips)


def put_or_refuse(chips: ChipSet, taken: Sequence[Taken], where: str, replace_old: bool, correct_drift: bool) -> Put:
    """Readings put into a set. Raises ValueProblem where the set could not be read any more."""
    try:
        return put_readings(chips, taken, replace_old, correct_drift)
    except ValueProblem as error:
        raise readings_refused(where, error) from None


def put_away(
    put: Put, old: ChipSet, changes: Mapping[str, Any], sources: Sequence[str], dry_run: bool
) -> dict[str, str | bytes]:
    """The files that hold what was read, written unless on a dry run: all of them, or none."""
    files = planned(put, old, changes, sources)
    if files and not dry_run:
        assert old.folder is not None
        write_files(old.folder, files)
    return files


def body_of(
    put: Put,
    old: ChipSet,
    sources: Sequence[Mapping[str, Any]],
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
            "sources": sources,
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
