"""Whichever write it is that fails: what was there is there, and nothing else; a sentence tells why."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.book.books import model, recipe
from tests.files.faults import MOST, content, failing
from tintmix.chips.folder import read_chips, write_chips
from tintmix.chips.instruments.dispatch import read_samples
from tintmix.desk.demo import demo
from tintmix.desk.read.instrument import read_into_set
from tintmix.errors import CannotWrite
from tintmix.files.write import Outputs, write_files
from tintmix.page.errors import ListDamaged
from tintmix.page.workspace import Workspace
from tintmix.pigments.model_file import save_model
from tintmix.recipes.recipe_file import write_recipe

Change = Callable[[Path], object]


def each_failing(start: Path, folder: Path, change: Change, least: int, kept: Change = content) -> None:
    """Do it with the n-th write failing, for every n, until all of it goes through; kept: what must be as it was."""
    for number in range(1, MOST):
        shutil.rmtree(folder, ignore_errors=True)
        shutil.copytree(start, folder)
        before = kept(folder)
        with failing(number) as disk:
            try:
                change(folder)
            except CannotWrite:
                left = [name for name in content(folder) if Path(name).name.startswith(".")]
                assert left == [], f"write {number} left {left}"
                assert kept(folder) == before, f"write {number}"
                continue
        assert disk.asked < number, f"write {number} failed, and nobody was told"
        assert number > least, "the disk was hardly asked"
        return
    pytest.fail(f"{MOST} writes were not enough")


def test_files_of_several_kinds_together(tmp_path: Path) -> None:
    start = tmp_path / "start"
    start.mkdir()
    save_model(model(), start / "model.json")
    (start / "curve.csv").write_text("mine", encoding="utf-8")

    def change(folder: Path) -> None:
        with Outputs(replace=True) as outputs:
            save_model(model(0.1), outputs.at(folder / "model.json", "model"))
            write_recipe(recipe(), outputs.at(folder / "recipe.json", "recipe"))
            outputs.fill(folder / "curve.csv", "nm,R\n")
            outputs.picture(folder / "new.png").write_bytes(b"a picture")

    each_failing(start, tmp_path / "work", change, least=15)


def test_a_set_in_place_and_a_new_one(tmp_path: Path) -> None:
    chips = read_chips(demo("one-cup"))
    start = Path(shutil.copytree(demo("deck-prism"), tmp_path / "start"))
    each_failing(start, tmp_path / "work", lambda folder: write_files(folder, {"chips.csv": "", "b/new.csv": "x"}), 6)
    each_failing(start, tmp_path / "work", lambda folder: write_chips(chips, folder / "new"), 6)


def test_readings_into_a_set(tmp_path: Path) -> None:
    start = Path(shutil.copytree(demo("deck-prism-colours"), tmp_path / "start"))
    name = read_chips(start).chips[0].name
    (tmp_path / "typed.csv").write_text(f"sample,L,a,b\n{name},50,-10,-20\n", encoding="utf-8")
    found = read_samples(tmp_path / "typed.csv")

    def change(folder: Path) -> None:
        read_into_set(folder, [found], replace_old=True)

    each_failing(start, tmp_path / "work", change, least=8)
    assert content(tmp_path / "work").keys() > content(start).keys(), "the log, and the table as it was before"


def test_what_the_page_keeps(tmp_path: Path) -> None:
    workspace = Workspace(tmp_path / "start")
    for dose in (1, 2):
        workspace.change("a dose", {"tint": {"x": dose}}, {})
    chips = read_chips(demo("one-cup"))

    def change(folder: Path) -> None:
        page = Workspace(folder)
        kept = page.keep_set(chips)
        page.copy_set(kept)
        page.change("a dose", {"tint": {"x": 3}, "chips": {"kept": kept}}, {"tint": 2})

    each_failing(tmp_path / "start", tmp_path / "work", change, 10, lambda folder: Workspace(folder).now())
    (workspace.folder / "state.json").write_text("{", encoding="utf-8")

    def left(folder: Path) -> object:
        with pytest.raises(ListDamaged):
            Workspace(folder).now()
        return Workspace(folder).newest_sound()[0], (folder / "state.json").read_bytes()  # type: ignore[index]

    each_failing(tmp_path / "start", tmp_path / "work", lambda folder: Workspace(folder).go_on_from(1), 6, left)
