"""`tintmix checkup`: what is well, what is not, and that a report holds nothing private."""

from __future__ import annotations

import json
from importlib import metadata
from pathlib import Path
from types import SimpleNamespace

import pytest

from tests.faces.conftest import Call
from tintmix.desk import checkup as desk
from tintmix.desk.checkup import PACKAGE, _private, _program

NAMES = ["program", "libraries", "tables", "demo", "fonts", "browser", "recipe book", "page's folder", "this folder"]


@pytest.fixture(autouse=True)
def at_home(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Path:
    """A home of somebody's, with nothing in it."""
    home = tmp_path / "somebody"
    home.mkdir()
    for name in ("HOME", "USERPROFILE", "XDG_DATA_HOME"):
        monkeypatch.setenv(name, str(home))
    monkeypatch.setenv("TINTMIX_BOOK", str(home / "book of theirs.db"))
    return home


def test_a_sound_installation_is_one_screen_and_status_0(call: Call) -> None:
    said = call("checkup")
    assert (said.status, said.err) == (0, "")
    assert said.out.rstrip().endswith("All is well.")
    assert len(said.out.splitlines()) <= 24
    body = json.loads(call("checkup", "--json").out)
    assert [one["what"] for one in body["findings"]] == NAMES
    assert body["well"] is True
    assert {"numpy", "scipy"} <= {one["name"] for one in body["libraries"]}


def test_what_is_not_well_is_told_with_status_1_and_nothing_private(
    call: Call, at_home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (at_home / "book of theirs.db").write_text("no book at all")
    true = metadata.version
    monkeypatch.setattr(metadata, "version", lambda name: "0.1" if name == "scipy" else true(name))
    said = call("checkup")
    assert said.status == 1
    assert "scipy 0.1 is older than" in said.out
    assert "2 things are not well" in said.out
    assert "somebody" not in said.out
    body = json.loads(call("checkup", "--json").out)
    assert [one["what"] for one in body["findings"] if one["state"] == "not well"] == ["libraries", "recipe book"]


def test_a_library_that_breaks_on_import_is_a_finding(call: Call, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken() -> tuple[desk.State, str]:
        raise ValueError("numpy.dtype size changed")

    monkeypatch.setattr(desk, "_tables", broken)
    said = call("checkup")
    assert said.status == 1
    assert "ValueError: numpy.dtype size changed." in said.out


def test_files_of_a_wheel_are_compared(monkeypatch: pytest.MonkeyPatch) -> None:
    def of(digest: str) -> SimpleNamespace:
        file = metadata.PackagePath("tintmix", "__main__.py")
        file.hash, file.dist = (
            metadata.FileHash(f"sha256={digest}"),
            SimpleNamespace(locate_file=PACKAGE.parent.joinpath),
        )  # type: ignore[assignment]
        return SimpleNamespace(files=[file], locate_file=PACKAGE.parent.joinpath)

    monkeypatch.setattr(metadata, "distribution", lambda name: of("another"))
    assert _program()[0] == "not well"


@pytest.mark.parametrize(
    ("words", "left"),
    [
        (f"{Path.home()}/x/book.db is no book", "~/x/book.db is no book"),
        ("/mnt/of them/book.db is no book", "…/book.db is no book"),
        ("12 / 3 and 1/2", "12 / 3 and 1/2"),
    ],
)
def test_paths_are_not_told(words: str, left: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.undo()
    assert _private(words) == left
