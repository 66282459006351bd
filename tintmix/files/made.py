"""What stands at a place already: which kind of file it is, where tintmix made it, by the mark that it carries."""

from __future__ import annotations

import json
import re
from pathlib import Path

from tintmix.errors import FileProblem, InUse, Remedy
from tintmix.files import caps
from tintmix.files.text import check_values
from tintmix.files.words import plain

MAKER = "tintmix"
_JSON_BYTES = 100_000_000
_HEAD_BYTES = 20_000
"""More than stands before the drawing in a picture, and of a sheet as text before what it says of who made it."""
_IS = {"tintmix model": "model", "tintmix recipe book": "export", "tintmix page": "page"}
_KEYS = {"recipe": {"doses_phr", "sections", "model_file"}, "shape": {"mesh", "places", "cut_off"}}
"""Kinds whose files do not name themselves, by keys that no other kind has."""
_SHEETS = ("batch sheet", "holder sheet")
"""Kinds of PDF, by their subject."""


def check_free(where: object, target: Path, kind: str) -> None:
    """See that nothing would be lost: a file of the same kind that tintmix made may be replaced, and an empty one.

    kind: of the file that is to stand there; empty: one that carries no mark, as CSV. Raises InUse; what cannot be looked
    into is left to whoever writes.
    """
    try:
        if not target.is_file() or not target.stat().st_size or (kind and kind_at(target) == kind):
            return
    except (OSError, ValueError):
        return
    what = f"is there already and is no {kind} that tintmix made" if kind else "is there already"
    raise InUse(
        where=plain(str(where), 300), what=f"{what}, so it is left as it is", remedy=Remedy.REPLACE_OR_ANOTHER_FILE
    )


def kind_at(path: Path) -> str:
    """The kind of a file by the mark of tintmix in it, as in "model", "recipe", "picture"; empty for every other file.

    Raises OSError.
    """
    with open(path, "rb") as stream:
        head = stream.read(_HEAD_BYTES)
        if head.startswith(b"{"):
            return _of_json(head + stream.read(_JSON_BYTES))
        if head.startswith(b"%PDF-"):
            stream.seek(max(0, path.stat().st_size - _HEAD_BYTES))
            return _of_pdf(head + stream.read(_HEAD_BYTES))
    if head.startswith(b"\x89PNG\r\n\x1a\n"):
        return "picture" if b"tEXtSoftware\0" + MAKER.encode() in head else ""
    if b"<svg" in head[:1000]:
        return "picture" if b"<dc:title>" + MAKER.encode() in head else ""
    text = head.decode("utf-8", errors="replace")
    return "batch sheet" if re.search(rf"^written +\d{{4}}-\d\d-\d\d, {MAKER} \d", text, re.MULTILINE) else ""


def _of_json(content: bytes) -> str:
    try:
        check_values(content, caps.EXPORT_VALUES, "it")
        table = json.loads(content)
    except (FileProblem, ValueError, RecursionError):
        return ""
    return kind_of(table)


def told_as(table: object) -> str:
    """What a JSON file is by its mark, as a clause; empty where tintmix did not make it.

    >>> told_as({"made_by": "tintmix 1", "is": "tintmix model"}), told_as([])
    ('it is a model that tintmix made', '')
    """
    kind = kind_of(table)
    return f"it is {'an' if kind[0] in 'aeiou' else 'a'} {kind} that tintmix made" if kind else ""


def kind_of(table: object) -> str:
    """The kind of what a JSON file holds; empty where tintmix did not make it."""
    if not isinstance(table, dict) or not str(table.get("made_by", "")).startswith(MAKER):
        return ""
    kind = _IS.get(str(table.get("is", "")), "")
    return kind or next((name for name, keys in _KEYS.items() if keys <= table.keys()), "")


def _of_pdf(content: bytes) -> str:
    if b"/Producer (" + MAKER.encode() not in content:
        return ""
    kind = next((kind for kind in _SHEETS if b"/Subject (" + kind.encode() in content), "")
    return kind or ("" if b"/Title (" in content else "picture")
