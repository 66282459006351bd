"""Files of instruments on the page: kept while they are looked at, shown as they were understood, then put into the set."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import PurePath
from typing import Any

from tintmix.chips.chip import ChipSet
from tintmix.chips.convert import Wish
from tintmix.chips.fitting import fitted
from tintmix.chips.instruments.dispatch import form_of, parse_samples
from tintmix.chips.instruments.sample import SampleFile
from tintmix.chips.instruments.tabular.layout import SHOWN_COLUMNS, Layout, first_rows, parse_laid_out
from tintmix.chips.readings.kept_maps import layouts, with_layout
from tintmix.desk.read.instrument import read_into_set
from tintmix.desk.read.understood import understood
from tintmix.errors import TintmixError
from tintmix.files.text import decode_any
from tintmix.files.write import write_files
from tintmix.page.workspace import Workspace

File = tuple[str, bytes]
MOST_SHOWN = 200
"""Samples that are shown to be mapped; a set has seldom as many chips."""


def keep_files(workspace: Workspace, files: Sequence[File]) -> list[dict[str, str]]:
    """Uploaded files, kept as they came: how their owner calls each, and where it is kept."""
    return [{"name": name, "thing": workspace.keep_content(content)} for name, content in files]


def kept_files(workspace: Workspace, kept: Sequence[Mapping[str, str]]) -> list[File]:
    """The files again. Raises NoSuchThing."""
    return [(one["name"], workspace.file(one["thing"]).read_bytes()) for one in kept]


def parsed(file: File, known: Sequence[Layout] = ()) -> SampleFile:
    """A file's samples; one that is not understood by itself, as the first layout has it that fits. Raises TintmixErrors."""
    name, content = file
    stem = PurePath(name).stem
    try:
        return parse_samples(content, name, stem)
    except TintmixError as problem:
        if form_of(content) == "delimited":
            for layout in known:
                try:
                    return parse_laid_out(decode_any(content, name), name, stem, layout)
                except TintmixError:
                    continue
        raise problem from None


def looked_into(workspace: Workspace, thing: str, files: Sequence[File], wish: Wish) -> dict[str, Any]:
    """What was understood: of each file its samples and questions, or why not, with its first lines.

    problem: why it could not be put into the set as it stands, where that is not asked already.
    """
    chips, known = workspace.chip_set(thing), layouts(workspace.set_folder(thing))
    found: list[SampleFile] = []
    unread: list[dict[str, Any]] = []
    for file in files:
        try:
            found.append(parsed(file, known))
        except TintmixError as problem:
            unread.append({"file": file[0], "problem": problem, "rows": _first_rows(file)})
    found = fitted(found, chips)
    files_shown = understood(found, chips, {}, wish)
    why, asks = _problem(workspace, thing, found, wish)
    if asks and not any(file["asks"] for file in files_shown):
        files_shown[0]["asks"] = asks
    return {
        "files": files_shown,
        "notes": [note for file in found for note in file.notes],
        "unread": unread,
        "problem": why,
    }


def _problem(
    workspace: Workspace, thing: str, found: Sequence[SampleFile], wish: Wish
) -> tuple[TintmixError | None, list[Any]]:
    """Why the samples that are chips of the set could not be put in, and what would be asked first."""
    if not found:
        return None, []
    try:
        done = read_into_set(workspace.set_folder(thing), found, wish=wish, others_ignored=True, dry_run=True)
    except TintmixError as problem:
        return problem, []
    return None, [ask for file in done.body["files"] for ask in file["asks"]]


def _first_rows(file: File) -> list[dict[str, Any]]:
    """The first lines of a text that is a table of some kind; none of any other."""
    name, content = file
    if form_of(content) != "delimited":
        return []
    try:
        rows = first_rows(decode_any(content, name), name)
    except TintmixError:
        return []
    return [{"line": row.number, "cells": [cell[:40] for cell in row.cells[:SHOWN_COLUMNS]]} for row in rows]


def put_in(
    workspace: Workspace, thing: str, files: Sequence[File], chosen: Sequence[str], wish: Wish, replace_old: bool
) -> tuple[str, dict[str, Any]]:
    """Kept files into a copy of a set: its name, and the body of the answer.

    chosen: which chip each sample is, in the order in which they were shown; empty for one that is left out. Raises
    TintmixErrors.
    """
    copy, folder = workspace.copy_set(thing)
    found = fitted([parsed(file, layouts(folder)) for file in files], workspace.chip_set(thing))
    every = [sample for file in found for sample in file.samples]
    names = [sample.name for sample in every]
    if len(set(names)) == len(names) and len([*filter(None, chosen)]) == len({*chosen} - {""}):
        mapping = [f"{name}={chip}" for name, chip in zip(names, chosen, strict=False)]
        return copy, read_into_set(folder, found, mapping, wish=wish, replace_old=replace_old, others_ignored=True).body
    # Samples of one name, or several for one chip: each as it was chosen, one by one.
    picked = iter([*chosen, *[""] * len(every)])
    renamed = []
    for file in found:
        mine = [(sample, next(picked)) for sample in file.samples]
        kept = tuple(replace(sample, name=chip, other_name="") for sample, chip in mine if chip)
        renamed.append(replace(file, samples=kept))
    return copy, read_into_set(folder, renamed, wish=wish, replace_old=replace_old).body


def describe(workspace: Workspace, thing: str, layout: Layout) -> str:
    """A copy of a set that knows this layout; its name."""
    copy, folder = workspace.copy_set(thing)
    write_files(folder, with_layout(folder, layout))
    return copy


def chip_names(chips: ChipSet) -> list[str]:
    """The chips that a sample may be, those that are not read first."""
    unread = [chip.name for chip in chips.chips if chip.use and not chip.is_read]
    return [*unread, *(chip.name for chip in chips.chips if chip.name not in unread)]
