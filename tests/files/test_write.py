"""canonical.py, stamp.py and write.py: one text for one value; files whole and together, or not at all."""

from __future__ import annotations

import hashlib
import json
import os
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tintmix.errors import CannotWrite, ValueProblem
from tintmix.files.canonical import canonical_json, digest
from tintmix.files.stamp import made_at, made_by
from tintmix.files.write import write_file, write_files

_json = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False, allow_infinity=False) | st.text(),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(), inner, max_size=4),
    max_leaves=12,
)


@given(_json)
def test_canonical_json_is_json(value: object) -> None:
    text = canonical_json(value)
    assert json.loads(text) == value
    assert canonical_json(json.loads(text)) == text


def test_order_of_keys_and_kind_of_list_do_not_matter() -> None:
    assert (
        canonical_json({"b": (1.5, 2), "a": None})
        == canonical_json({"a": None, "b": [1.5, 2]})
        == '{"a":null,"b":[1.5,2]}'
    )
    assert canonical_json(np.array([[0.1, 2.0]])) == "[[0.1,2.0]]"
    assert canonical_json({"x": np.float64(0.1)}) == '{"x":0.1}'


@pytest.mark.parametrize("value", [float("nan"), [float("inf")], {1: 2}, {"a": object()}, np.array([np.nan])])
def test_what_json_cannot_hold(value: object) -> None:
    with pytest.raises(ValueProblem):
        canonical_json(value)


def test_digest_is_sha256_of_the_text() -> None:
    assert digest({"a": "ü"}) == hashlib.sha256('{"a":"ü"}'.encode()).hexdigest()


def test_stamp(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1700000000")
    # date -u -d @1700000000
    assert made_at() == "2023-11-14T22:13:20Z"
    assert made_by().startswith("tintmix ")
    for bad in ("soon", "1e400", "9" * 40):
        monkeypatch.setenv("SOURCE_DATE_EPOCH", bad)
        with pytest.raises(ValueProblem):
            made_at()
    monkeypatch.delenv("SOURCE_DATE_EPOCH")
    assert made_at().endswith("Z")


def test_files_are_written(tmp_path: Path) -> None:
    folder = tmp_path / "new"
    write_files(folder, {"a.txt": "ä", "b.bin": b"\0"})
    assert (folder / "a.txt").read_text(encoding="utf-8") == "ä"
    assert (folder / "b.bin").read_bytes() == b"\0"
    assert sorted(p.name for p in folder.iterdir()) == ["a.txt", "b.bin"]
    umask = os.umask(0)
    os.umask(umask)
    assert (folder / "a.txt").stat().st_mode & 0o777 == 0o666 & ~umask


def test_nothing_half_written(tmp_path: Path) -> None:
    (tmp_path / "b.txt").mkdir()
    (tmp_path / "a.txt").write_text("old")
    with pytest.raises(CannotWrite, match=r"b\.txt"):
        write_files(tmp_path, {"a.txt": "new", "b.txt": "new"})
    assert (tmp_path / "a.txt").read_text() == "old"
    assert sorted(p.name for p in tmp_path.iterdir()) == ["a.txt", "b.txt"]
    with pytest.raises(CannotWrite):
        write_files(tmp_path / "made", {"a.txt": "\ud800"})
    assert not (tmp_path / "made").exists()


def test_a_failing_disk_leaves_the_old_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "a.txt").write_text("old")

    def full(handle: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(CannotWrite, match="no space left"):
        write_file(tmp_path / "a.txt", "new", replace=True)
    assert (tmp_path / "a.txt").read_text() == "old"
    assert [p.name for p in tmp_path.iterdir()] == ["a.txt"]


def test_folder_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(CannotWrite):
        write_files(tmp_path / "no" / "such", {"a": ""})
    with pytest.raises(CannotWrite, match="does not exist"):
        write_file(tmp_path / "no" / "a.txt", "")
    (tmp_path / "file").write_text("")
    with pytest.raises(CannotWrite):
        write_files(tmp_path / "file", {"a": ""})


def test_where_one_of_several_cannot_be_moved_all_are_as_they_were(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "a.txt").write_text("old")
    move = os.replace

    def failing(source: Path, target: Path) -> None:
        if Path(target).name == "c.txt":
            raise OSError(28, "No space left on device")
        move(source, target)

    monkeypatch.setattr(os, "replace", failing)
    with pytest.raises(CannotWrite, match=r"c\.txt"):
        write_files(tmp_path, {"a.txt": "new", "b.txt": "new", "c.txt": "new"})
    assert [p.name for p in tmp_path.iterdir()] == ["a.txt"]
    assert (tmp_path / "a.txt").read_text() == "old"


def test_a_link_stays_a_link_and_a_mode_stays(tmp_path: Path) -> None:
    (tmp_path / "real.txt").write_text("old")
    os.chmod(tmp_path / "real.txt", 0o640)
    (tmp_path / "link.txt").symlink_to("real.txt")
    write_file(tmp_path / "link.txt", "new", replace=True)
    assert (tmp_path / "link.txt").is_symlink()
    assert (tmp_path / "real.txt").read_text() == "new"
    assert (tmp_path / "real.txt").stat().st_mode & 0o777 == 0o640
