"""Instrument files or typed colours into a chip set: matched, checked, averaged, corrected where asked, written whole."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tintmix.chips.chip import ChipSet
from tintmix.chips.convert import Converted, Wish, convert
from tintmix.chips.errors import or_refused
from tintmix.chips.fitting import fitted
from tintmix.chips.folder import alone_with, read_chips
from tintmix.chips.instruments.errors import Asked, NoMatch
from tintmix.chips.instruments.sample import SampleFile
from tintmix.chips.readings.kept_maps import remembered, with_map
from tintmix.chips.readings.log import planned
from tintmix.chips.readings.matching import match, read_map
from tintmix.chips.readings.put import Put, put_readings
from tintmix.desk.read.understood import understood
from tintmix.errors import Note, Remedy
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
    """What instruments' files or typed colours hold, into a set. mapping: "SAMPLE=CHIP" texts.

    Raises; then the set is as it was. On a dry run a sample that is no chip's, and a question that is open, are told and not
    raised.
    """
    with alone_with(set_path, dry_run):
        return _read_into_set(set_path, found, mapping, wish, replace_old, correct_drift, others_ignored, dry_run)


def _read_into_set(
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
    found = fitted(found, old)
    samples = [(file.where, sample) for file in found for sample in file.samples]
    samples = [one for one in samples if one[1].kind == old.reading.kind] or samples
    told_map = read_map(mapping)
    names = [sample.name for _, sample in samples]
    chips = [chip.name for chip in old.chips]
    kept = {} if told_map or old.folder is None else remembered(old.folder, names, chips)
    files = [file for file, _ in samples]
    pairs, passed = match([s for _, s in samples], chips, told_map or kept, others_ignored or dry_run, files)
    where = ", ".join(file.where for file in found)
    none = None if pairs or told_map or kept else NoMatch(list(dict.fromkeys(passed)), chips, (), none=True)
    if none is not None and not dry_run:
        # All were to be passed over: nothing would come of it, which is no reading.
        raise none
    notes: list[Note | str] = [note for file in found for note in file.notes]
    if kept:
        notes.append(
            f"samples were mapped as in the last file like this: {', '.join(f'{k} = {v}' for k, v in kept.items() if v)}"
        )
    asks: list[Note] = []
    done = Converted(old, (), {}, ("no sample was left to read",) if not pairs and none is None else ())
    if none is not None:
        notes.append(Note(says=f"Nothing would be read: {none.what}.", remedy=none.remedy))
    try:
        if pairs:
            done = convert(old, pairs, where, wish, keeps_old(old, {chip for chip, _ in pairs}, replace_old))
    except Asked as problem:
        if not dry_run:
            raise
        asks.append(Note(says=f"{problem.what}.", remedy=problem.remedy, facts=problem.facts))
    with or_refused(where):
        put = put_readings(done.chips, done.taken, replace_old, correct_drift)
    sources = [(file.where, file.form, len(file.samples)) for file in found]
    extra = with_map(old.folder, names, told_map) if told_map and old.folder is not None and put.changed else {}
    more = {"files": understood(found, old, told_map or kept, wish)} if dry_run else {}
    if asks and not any(file["asks"] for file in more["files"]):
        more["files"][0]["asks"] = asks
    opened = [file.where for file in found]
    return put_away(put, old, done.changes, sources, opened, [*notes, *done.notes], passed, dry_run, extra, more)


def look_into(found: Sequence[SampleFile], wish: Wish = Wish()) -> dict[str, Any]:
    """What instruments' files hold, without a set: as JSON has it."""
    found = fitted(found, None)
    notes = [note for file in found for note in file.notes]
    body: dict[str, Any] = finite({"files": understood(found, None, {}, wish), "notes": notes})
    return body


def keeps_old(old: ChipSet, named: Collection[str], replace_old: bool) -> bool:
    """Whether a reading of the set stays when the named chips are read: then how it was read cannot change."""
    return any(chip.is_read and (chip.name not in named or not replace_old or chip.check) for chip in old.chips)


def put_away(
    put: Put,
    old: ChipSet,
    changes: Mapping[str, Any],
    sources: Sequence[tuple[str, str, int]],
    opened: Sequence[str],
    notes: Sequence[Note | str],
    passed: Sequence[str],
    dry_run: bool,
    extra: Mapping[str, str] | None = None,
    more: Mapping[str, Any] | None = None,
) -> ReadDone:
    """Write the files that hold what was read, unless on a dry run: all of them, or none; and say what came of it.

    sources: files, their formats, and how many samples they held. opened: all files that were looked into. extra: files that are
    written besides. more: what else the answer holds.
    """
    files = {**(extra or {}), **planned(put, old, changes, opened)}
    if files and not dry_run:
        assert old.folder is not None
        write_files(old.folder, files)
    told = list(notes)
    uneven = [row.chip for row in put.rows if row.uneven]
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
            "sources": [{"file": file, "format": form, "samples": count} for file, form, count in sources],
            "chips": [row.body() for row in put.rows],
            "passed_over": passed,
            "set_changes": changes,
            "drift": put.drift_body(),
            "not_read_yet": [chip.name for chip in put.chips.chips if chip.use and not chip.is_read],
            "notes": told,
            "written": [] if dry_run else sorted(files),
            "would_write": sorted(files) if dry_run else [],
            **(more or {}),
        }
    )
    return ReadDone(put, body)
