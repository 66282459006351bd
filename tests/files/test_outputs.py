from __future__ import annotations

import os
import stat
from pathlib import Path

import pytest

from tintmix.errors import CannotWrite, InUse, ValueProblem
from tintmix.files.errors import cannot_write
from tintmix.files.write import Outputs, write_file


def test_files_appear_together_at_the_end(tmp_path: Path) -> None:
    with Outputs() as outputs:
        first, second = outputs.at(tmp_path / "a.json"), outputs.picture(tmp_path / "b.PNG")
        first.write_text("1")
        second.write_text("2")
        assert first.suffix == ".json"
        assert second.suffix == ".PNG"
        assert not (tmp_path / "a.json").exists()
    assert sorted(path.name for path in tmp_path.iterdir()) == ["a.json", "b.PNG"]
    assert (tmp_path / "a.json").read_text() == "1"


@pytest.mark.parametrize("problem", [ValueError, KeyboardInterrupt, MemoryError])
def test_what_was_there_stays_when_the_body_fails(tmp_path: Path, problem: type[BaseException]) -> None:
    (tmp_path / "a.json").write_text("before")

    def failing() -> None:
        with Outputs(replace=True) as outputs:
            outputs.at(tmp_path / "a.json").write_text("half")
            outputs.at(tmp_path / "b.json")
            raise problem

    with pytest.raises(problem):
        failing()
    assert [path.name for path in tmp_path.iterdir()] == ["a.json"]
    assert (tmp_path / "a.json").read_text() == "before"


def test_a_new_file_has_the_mode_of_any_new_file_and_an_old_one_keeps_its_own(tmp_path: Path) -> None:
    plain = tmp_path / "plain"
    plain.touch()
    (tmp_path / "old.json").touch()
    os.chmod(tmp_path / "old.json", 0o640)
    with Outputs() as outputs:
        # As a writer does that makes its own temporary file, readable by its owner alone.
        os.chmod(outputs.at(tmp_path / "new.json"), 0o600)
        os.chmod(outputs.at(tmp_path / "old.json"), 0o600)
    assert (tmp_path / "new.json").stat().st_mode == plain.stat().st_mode
    assert stat.S_IMODE((tmp_path / "old.json").stat().st_mode) == 0o640


def test_a_link_is_followed_and_stays_a_link(tmp_path: Path) -> None:
    (tmp_path / "real.json").write_text("before")
    (tmp_path / "link.json").symlink_to("real.json")
    with Outputs(replace=True) as outputs:
        outputs.at(tmp_path / "link.json").write_text("after")
    assert (tmp_path / "link.json").is_symlink()
    assert (tmp_path / "real.json").read_text() == "after"


def test_a_name_as_long_as_the_system_takes(tmp_path: Path) -> None:
    with Outputs() as outputs:
        outputs.at(tmp_path / ("n" * 250 + ".json")).write_text("x")
    assert len(list(tmp_path.iterdir())) == 1


def test_places_that_cannot_be(tmp_path: Path) -> None:
    (tmp_path / "folder").mkdir()
    (tmp_path / "file").touch()
    with Outputs([tmp_path / "file"]) as outputs:
        for where, word in (
            (tmp_path / "gone" / "a.json", "does not exist"),
            (tmp_path / "file" / "a.json", "not a folder"),
            (tmp_path / "folder", "it is a folder"),
            ("/dev/null", "not an ordinary file"),
            (tmp_path / ("n" * 300), "too long"),
            ("a\0b", "null"),
        ):
            with pytest.raises(CannotWrite, match=word):
                outputs.at(where)
        with pytest.raises(InUse):
            outputs.at(tmp_path / "folder" / ".." / "file")
        with pytest.raises(ValueProblem, match=r"\.svg"):
            outputs.picture(tmp_path / "a.gif")
        outputs.at(tmp_path / "a.json")
        with pytest.raises(ValueProblem):
            outputs.at(tmp_path / "folder" / ".." / "a.json")
    assert sorted(path.name for path in tmp_path.iterdir()) == ["a.json", "file", "folder"]


@pytest.mark.skipif(os.geteuid() == 0, reason="the superuser may write anywhere")
def test_places_that_may_not_be_written(tmp_path: Path) -> None:
    (tmp_path / "locked").mkdir(mode=0o500)
    (tmp_path / "read-only.json").touch(mode=0o400)
    with Outputs() as outputs:
        with pytest.raises(CannotWrite, match="may not write"):
            outputs.at(tmp_path / "locked" / "a.json")
        with pytest.raises(CannotWrite, match="write-protected"):
            outputs.at(tmp_path / "read-only.json")


def test_what_a_killed_writer_left_is_taken_away(tmp_path: Path) -> None:
    old, fresh, other = (tmp_path / f".km.{name}" for name in ("0123456789ab.json", "ba9876543210.json", "notes.json"))
    for path in (old, fresh, other):
        path.write_text("half", encoding="utf-8")
    for path in (old, other):
        os.utime(path, (0, 0))
    write_file(tmp_path / "km.json", "whole")
    assert sorted(path.name for path in tmp_path.iterdir()) == sorted([fresh.name, other.name, "km.json"])


def test_a_nested_writer_names_the_file_that_was_asked_for(tmp_path: Path) -> None:
    def write() -> None:
        with Outputs() as outputs:
            raise cannot_write(outputs.at(tmp_path / "r.json"), "no space left on device")

    with pytest.raises(CannotWrite) as told:
        write()
    assert told.value.where == str(tmp_path / "r.json")
