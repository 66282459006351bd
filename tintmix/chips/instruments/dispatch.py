"""Instrument files as samples. Which format a file is in, its first lines tell."""

from __future__ import annotations

import re
from pathlib import Path

from tintmix.chips.instruments.cgats import parse_cgats
from tintmix.chips.instruments.cxf import parse_cxf
from tintmix.chips.instruments.errors import no_samples, no_table, no_text
from tintmix.chips.instruments.jcamp import parse_jcamp
from tintmix.chips.instruments.sample import SampleFile
from tintmix.chips.instruments.tabular.delimited import parse_csv
from tintmix.errors import Remedy
from tintmix.files import caps
from tintmix.files.errors import too_large
from tintmix.files.text import decode_any, load_bytes
from tintmix.files.words import plain

_OTHERS = {
    b"PK\x03\x04": "a workbook, or packed otherwise",
    b"\xd0\xcf\x11\xe0": "a workbook of old, or another packed file",
    b"%PDF": "a PDF",
    b"{\\rtf": "a text with layout (RTF)",
    b"\x89PNG": "a picture",
    b"\xff\xd8\xff": "a picture",
    b"II*\0": "a picture",
    b"MM\0*": "a picture",
    b"GIF8": "a picture",
    b"SQLite": "a database",
}
"""First bytes of files that people bring and that are no text."""
_JSON = re.compile(rb'\{\s*"[^"]*"\s*:|\[\s*(?:\{\s*"|\[\s*["\d\-]|"[^"]*"\s*,)')
"""How an object, or a list of objects, lists or words begins (RFC 8259); "[Header]" heads a block of settings."""
_BINARY = 0.05
"""Of the first bytes, control characters that no text has so many of; zero bytes fill fields up."""
_PARSERS = {"CGATS": parse_cgats, "JCAMP-DX": parse_jcamp, "delimited": parse_csv}


def read_samples(path: str | Path) -> SampleFile:
    """All samples of an instrument's file. Raises what `load_bytes` and `parse_samples` raise."""
    data = load_bytes(path, caps.INSTRUMENT, "an instrument's file")
    return parse_samples(data, plain(str(path), 300), Path(path).stem)


def parse_samples(data: bytes, where: str, stem: str) -> SampleFile:
    """The same from bytes; stem names a sample that has no name.

    Raises FileProblem, BadCells among them, and LibraryMissing.
    """
    if len(data) > caps.INSTRUMENT:
        raise too_large(where, caps.INSTRUMENT)
    kind = next((kind for first, kind in _OTHERS.items() if data.startswith(first)), "")
    head = data[:4096]
    if not kind and sum(byte < 9 or 14 <= byte < 32 for byte in head if byte) > _BINARY * len(head):
        kind = "a file of its instrument's own kind"
    if kind:
        raise no_text(where, kind)
    form = form_of(data)
    if form == "JSON":
        raise no_table(where, "JSON")
    parse = _PARSERS.get(form)
    found = parse(decode_any(data, where), where, stem) if parse else parse_cxf(data, where)
    if not found.samples:
        raise no_samples(where, f"it is {form}, but holds no spectrum and no colour", Remedy.EXPORT_COLOURS)
    return found


def form_of(data: bytes) -> str:
    """Which format the first lines are in.

    >>> form_of(b"##TITLE=b1"), form_of(b"CGATS.17"), form_of(b"<?xml"), form_of(b"nm;b1")
    ('JCAMP-DX', 'CGATS', 'CxF3', 'delimited')
    >>> form_of(b'{"nm": [400, 410]}'), form_of(b"[Header]")
    ('JSON', 'delimited')
    """
    # Of UTF-16, what is left of Latin letters.
    data = data.replace(b"\0", b"") if b"\0" in data[:200] else data
    head = data[:4096].lstrip(b"\xef\xbb\xbf\xff\xfe \t\r\n")
    if head.startswith(b"<"):
        return "CxF3"
    if head.startswith((b"##", b"$$")) or b"\n##TITLE" in head:
        return "JCAMP-DX"
    if head[:5].upper() == b"CGATS" or head[:8].upper() == b"ISO28178" or b"BEGIN_DATA_FORMAT" in data.upper():
        return "CGATS"
    if _JSON.match(head) and data.rstrip().endswith((b"}", b"]")):
        return "JSON"
    return "delimited"
