"""A JSON file whose long texts stay on the disk: the same values and the same digest as of the whole."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tintmix.errors import FileProblem
from tintmix.files import long_texts
from tintmix.files.canonical import digest
from tintmix.files.long_texts import LongTexts
from tintmix.files.text import load_bytes

TABLE = {
    "photos": {"b": "QUJD" * 60_000, "a": "x+/=" * 70_000},
    "note": '"' + "A" * 250_000 + '" \\ grün',
    "list": ["A" * 199_999, "B" * 200_000, ""],
}


@pytest.mark.parametrize("block_bytes", [100_000, 8_000_000])
@pytest.mark.parametrize("indent", [None, 2])
def test_what_stays_on_the_disk_is_the_same(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, block_bytes: int, indent: int | None
) -> None:
    monkeypatch.setattr(long_texts, "_BLOCK_BYTES", block_bytes)
    path = tmp_path / "a.json"
    path.write_text(json.dumps(TABLE, indent=indent), encoding="utf-8")
    held = LongTexts.of_file(path, 10**7, 10**6, "a file")
    assert len(held.text) < 10**6 / 2
    table = json.loads(held.text)
    assert held.whole(table) == TABLE
    assert held.digest(table) == digest(TABLE)


def test_what_is_too_large_is_not_read(tmp_path: Path) -> None:
    path = tmp_path / "a.json"
    path.write_text(json.dumps(["a b"] * 1000), encoding="utf-8")
    for most, rest in ((100, 10**6), (10**6, 100)):
        with pytest.raises(FileProblem, match="larger"):
            LongTexts.of_file(path, most, rest, "a file")


@pytest.mark.skipif(not Path("/proc/version").exists(), reason="a system without such files")
def test_files_of_the_system_are_empty_for_they_may_never_end() -> None:
    """As /proc/kmsg, which only the superuser may open; their size is 0 by proc(5)."""
    assert load_bytes("/proc/version", 1000, "a file") == b""
    assert LongTexts.of_file("/proc/version", 1000, 1000, "a file").text == ""
