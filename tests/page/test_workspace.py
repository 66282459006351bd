"""What the page keeps: revisions, undo, and what survives."""

from __future__ import annotations

import json
import multiprocessing
import os
import threading
import time
from contextlib import suppress
from pathlib import Path
from typing import Any

import pytest

from tintmix.chips.folder import read_chips
from tintmix.desk.demo import demo
from tintmix.errors import CannotWrite, FileProblem, Note, NotThere, Remedy
from tintmix.faces.web.words import told_in_units
from tintmix.files.errors import cannot_write
from tintmix.page import fit_process
from tintmix.page import workspace as page_workspace
from tintmix.page.errors import ChangedElsewhere, ListDamaged, NoSuchThing, by_known_names
from tintmix.page.fit_process import facts_of
from tintmix.page.work import Work, _part_of, _refused, fit_aside
from tintmix.page.workspace import STATE_FORMAT, Workspace


@pytest.fixture
def workspace(tmp_path: Path) -> Workspace:
    return Workspace(tmp_path / "page")


def test_a_change_made_on_an_old_revision_overwrites_nothing(workspace: Workspace) -> None:
    workspace.change("one", {"tint": {"doses": {"azure": 1}}}, {"tint": 0})
    with pytest.raises(ChangedElsewhere, match="another tab"):
        workspace.change("two", {"tint": {"doses": {"azure": 2}}}, {"tint": 0})
    assert workspace.now().area("tint") == {"doses": {"azure": 1}}


def test_other_areas_do_not_stand_in_the_way(workspace: Workspace) -> None:
    workspace.change("one", {"tint": {"doses": {}, "x": 1}}, {"tint": 0})
    now = workspace.change("two", {"part": {"floor": 0.1}}, {"part": 0})
    assert (now.revision_of("tint"), now.revision_of("part")) == (1, 1)


def test_undo_and_redo_walk_through_all_changes(workspace: Workspace) -> None:
    for i in range(1, 5):
        workspace.change(f"change {i}", {"tint": {"x": i}}, {})
    for i in (3, 2, 1):
        assert workspace.undo().area("tint") == {"x": i}
    assert workspace.redo().area("tint") == {"x": 2}
    assert workspace.change("another way", {"tint": {"x": 9}}, {}).redo == ()
    assert workspace.undo().area("tint") == {"x": 2}
    assert workspace.undo().area("tint") == {"x": 1}
    assert workspace.undo().area("tint") == {}
    with pytest.raises(NotThere):
        workspace.undo()


def test_an_undo_is_a_new_revision_so_that_other_tabs_notice(workspace: Workspace) -> None:
    first = workspace.change("one", {"tint": {"x": 1}}, {})
    assert workspace.undo().revision_of("tint") == first.revision_of("tint") + 1


def test_what_changes_nothing_is_no_change(workspace: Workspace) -> None:
    workspace.change("one", {"tint": {"x": 1}}, {})
    assert workspace.change("again", {"tint": {"x": 1}}, {}).revision == 1


def test_a_drag_is_one_change_for_undo(workspace: Workspace, monkeypatch: pytest.MonkeyPatch) -> None:
    for i in range(1, 6):
        workspace.change("dose of azure", {"tint": {"x": i}}, {}, merge=True)
    assert len(workspace.now().undo) == 1
    monkeypatch.setattr(page_workspace, "MERGE_SECONDS", -1.0)
    workspace.change("dose of azure", {"tint": {"x": 6}}, {}, merge=True)
    assert workspace.undo().area("tint") == {"x": 5}
    assert workspace.undo().area("tint") == {}


def test_all_of_it_is_there_after_a_restart(workspace: Workspace) -> None:
    name = workspace.keep_set(read_chips(demo("one-cup")))
    workspace.change("a set", {"chips": {"sets": [{"id": name, "thing": name}]}}, {})
    again = Workspace(workspace.folder)
    assert again.now() == workspace.now()
    assert len(again.chip_set(name).chips) == 2


@pytest.mark.parametrize(
    "name", ["", "..", "../state", "0123456789ABCDEF", "0123456789abcde", "0123456789abcdef", "a" * 300, "x\0y"]
)
def test_names_that_were_not_made_here_lead_nowhere(workspace: Workspace, name: str) -> None:
    for look in (workspace.chip_set, workspace.model, workspace.json, workspace.file, workspace.set_folder):
        with pytest.raises(NoSuchThing):
            look(name)


def test_many_threads_lose_no_change(workspace: Workspace) -> None:
    def count() -> None:
        for _ in range(20):
            while True:
                now = workspace.now()
                number = now.area("tint").get("x", 0)
                try:
                    workspace.change("count", {"tint": {"x": number + 1}}, {"tint": now.revision_of("tint")})
                    break
                except ChangedElsewhere:
                    continue

    threads = [threading.Thread(target=count) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert workspace.now().area("tint") == {"x": 80}


def test_tidy_removes_only_what_nothing_refers_to(workspace: Workspace) -> None:
    kept, undone, loose = (workspace.keep_json({"n": n}) for n in range(3))
    workspace.change("one", {"recipes": {"answer": undone}}, {})
    workspace.change("two", {"recipes": {"answer": kept}}, {})
    assert workspace.tidy() == 0
    old = time.time() - 2 * 24 * 3600
    for name in (kept, undone, loose):
        os.utime(workspace.file(name), (old, old))
    assert workspace.tidy() == 1
    assert workspace.json(kept) == {"n": 0}
    assert workspace.file(undone).is_file()
    with pytest.raises(NoSuchThing):
        workspace.file(loose)


def test_a_folder_that_cannot_be_is_told(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("x", encoding="utf-8")
    with pytest.raises(FileProblem):
        Workspace(tmp_path / "file")


@pytest.mark.parametrize("text", ["", "[]", "{}", "null", '{"is": "tintmix page", "format": 0}', "[" * 10_000])
def test_a_list_that_is_none_of_ours_is_refused(workspace: Workspace, text: str) -> None:
    (workspace.folder / "state.json").write_text(text, encoding="utf-8")
    with pytest.raises(FileProblem):
        workspace.now()


def test_undos_are_many_but_not_endless(workspace: Workspace) -> None:
    for i in range(page_workspace.MOST_UNDOS + 10):
        workspace.change("x", {"tint": {"x": i}}, {})
    assert len(workspace.now().undo) == page_workspace.MOST_UNDOS
    json.dumps(workspace.now().areas)


@pytest.mark.parametrize("gone", ["revision", "areas", "revisions", "undo", "redo"])
def test_a_list_that_lacks_something_is_told_as_damaged(workspace: Workspace, gone: str) -> None:
    workspace.change("one", {"tint": {"x": 1}}, {})
    place = workspace.folder / "state.json"
    table = json.loads(place.read_text(encoding="utf-8"))
    del table[gone]
    place.write_text(json.dumps(table), encoding="utf-8")
    with pytest.raises(FileProblem, match="damaged"):
        workspace.now()


@pytest.mark.parametrize("left", ["", '{"is": "tintmix pa', '{"is": "another program"}', None])
def test_a_damaged_list_gives_way_to_the_newest_that_is_whole(workspace: Workspace, left: str | None) -> None:
    for i in range(1, 5):
        workspace.change("a dose", {"tint": {"x": i}}, {})
    stale = workspace.now()
    place = workspace.folder / "state.json"
    if left is None:
        place.unlink()
    else:
        place.write_text(left, encoding="utf-8")
    (workspace.folder / "history" / "3.json").write_text('{"areas": {"tint"', encoding="utf-8")
    again = Workspace(workspace.folder)
    with pytest.raises(ListDamaged):
        again.change("blindly", {"tint": {"x": 9}}, {})
    found = again.newest_sound()
    assert found is not None
    assert found[0] == 2
    now = again.go_on_from(found[0])
    assert now == again.now() == again.go_on_from(0), "a list that is sound is left alone"
    assert now.area("tint") == {"x": 2}
    assert [number for number, _ in now.undo] == [0, 1]
    with pytest.raises(ChangedElsewhere):
        again.change("from a tab of before", {"tint": {"x": 5}}, {"tint": stale.revision_of("tint")})
    assert again.undo().area("tint") == {"x": 1}
    aside = [path.read_text(encoding="utf-8") for path in workspace.folder.glob("state.damaged-*.json")]
    assert aside == ([] if left is None else [left])


@pytest.mark.parametrize(
    "areas",
    [
        {"chips": {"sets": 5}},
        {"chips": {"sets": [{"id": 5}]}},
        {"sheet": {"sheet": 1e308}},
        {"tint": []},
        {"tint": {"doses": 1}},
    ],
)
def test_an_area_of_another_shape_is_damage(workspace: Workspace, areas: dict[str, object]) -> None:
    workspace.change("a dose", {"tint": {"doses": {"azure": 0.02}}}, {})
    place = workspace.folder / "state.json"
    place.write_text(json.dumps(json.loads(place.read_text(encoding="utf-8")) | {"areas": areas}), encoding="utf-8")
    with pytest.raises(ListDamaged):
        workspace.now()
    assert workspace.newest_sound() is not None


def test_where_no_older_list_is_whole_an_empty_one_can_be_begun(workspace: Workspace) -> None:
    kept = workspace.keep_json({"n": 1})
    workspace.change("one", {"recipes": {"answer": kept}}, {})
    (workspace.folder / "state.json").write_text("{" + kept, encoding="utf-8")
    (workspace.folder / "history" / "0.json").write_text("", encoding="utf-8")
    assert workspace.newest_sound() is None
    assert workspace.go_on_from(None).areas == {}
    os.utime(workspace.file(kept), (0, 0))
    assert workspace.tidy() == 0, "the damaged list names it"


def test_a_newer_list_is_no_damaged_one(workspace: Workspace) -> None:
    workspace.change("one", {"tint": {"x": 1}}, {})
    place = workspace.folder / "state.json"
    table = json.loads(place.read_text(encoding="utf-8")) | {"format": STATE_FORMAT.newest + 1}
    place.write_text(json.dumps(table), encoding="utf-8")
    with pytest.raises(FileProblem, match="reads up to format"):
        workspace.go_on_from(0)


def test_a_first_change_that_was_cut_off_is_nothing_damaged(workspace: Workspace) -> None:
    workspace.change("one", {"tint": {"x": 1}}, {})
    (workspace.folder / "state.json").unlink()
    assert workspace.now().revision == 0


def count_up(folder: Path) -> None:
    workspace, done = Workspace(folder), 0
    while done < 15:
        now = workspace.now()
        area = {"x": now.area("tint").get("x", 0) + 1}
        with suppress(ChangedElsewhere):
            workspace.change("count", {"tint": area}, {"tint": now.revision_of("tint")})
            done += 1


@pytest.mark.skipif(not hasattr(os, "fork"), reason="processes are forked")
def test_three_processes_lose_no_change(workspace: Workspace) -> None:
    """Locks between processes, not only between threads."""
    fork = multiprocessing.get_context("fork")
    running = [fork.Process(target=count_up, args=(workspace.folder,)) for _ in range(3)]
    for one in running:
        one.start()
    for one in running:
        one.join(60)
    assert [one.exitcode for one in running] == [0, 0, 0]
    assert workspace.now().area("tint") == {"x": 45}


def test_a_folder_that_may_not_be_written_is_told(workspace: Workspace) -> None:
    (workspace.folder / "lock").mkdir()
    with pytest.raises(CannotWrite, match="cannot be written") as caught:
        workspace.change("one", {"tint": {"x": 1}}, {})
    assert "Nothing was changed" in told_in_units(caught.value)
    assert workspace.now().revision == 0


def test_a_full_disk_is_told_without_the_place_of_a_file(workspace: Workspace, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(_: object, path: Path, *__: object) -> None:
        raise cannot_write(path, "No space left on device")

    monkeypatch.setattr(page_workspace.Outputs, "fill", full)
    with pytest.raises(CannotWrite) as caught:
        workspace.keep_json({})
    said = told_in_units(caught.value)
    assert said.startswith("The page's folder: cannot be written (no space left on device). Nothing was changed")
    assert str(workspace.folder) not in said


def test_a_note_that_is_kept_is_a_note_again(workspace: Workspace) -> None:
    """The page words it when it is shown, not when it is kept."""
    note = Note(says="The batch is small.", remedy=Remedy.MAKE_MORE, facts={"enough": "12"})
    back = Workspace(workspace.folder).json(workspace.keep_json({"body": {"notes": [note, "A sentence."]}}))
    assert back == {"body": {"notes": [note, "A sentence."]}}
    assert told_in_units(back["body"]["notes"][0]) == "The batch is small. Make at least 12 g, or use a finer scale."


def test_a_file_is_called_as_its_owner_calls_it(tmp_path: Path) -> None:
    place = tmp_path / "0123456789abcdef.json"
    with pytest.raises(FileProblem) as caught, by_known_names((place, "my chips.csv")):
        raise FileProblem(
            where=f"{place}, row 7", what="the thickness is missing", remedy=Remedy.CORRECT_AND_READ_AGAIN
        )
    assert caught.value.where == "my chips.csv, row 7"
    assert caught.value.remedy is Remedy.CORRECT_AND_READ_AGAIN


def test_what_the_process_of_a_fit_tells_is_the_error_again() -> None:
    problem = FileProblem(
        where="chips.csv", what="the dose", found=-1.0, limit="0 or more", remedy=Remedy.MAKE_MORE, enough="12"
    )
    back = _refused(json.dumps({"error": facts_of(problem)}).encode(), 2)
    assert (str(back), back.remedy, back.facts) == (str(problem), problem.remedy, problem.facts)
    assert "memory runs out" in str(_refused(b"", -9))
    assert "code 3" in str(_refused(b"", 3))


def test_a_fault_in_the_process_of_a_fit_is_told_as_one(monkeypatch: pytest.MonkeyPatch, capsys: Any) -> None:
    def faulty(*_: Any, **__: Any) -> None:
        raise KeyError("azure")

    monkeypatch.setattr(fit_process, "fit_sets", faulty)
    assert fit_process.main(["model.json", "set"]) == 1
    told = str(_refused(capsys.readouterr().out.encode(), 1))
    assert "fault of tintmix (KeyError" in told
    assert "memory" not in told


def test_tidy_takes_away_what_a_cut_off_writing_left(workspace: Workspace) -> None:
    workspace.change("one", {"tint": {"x": 1}}, {})
    old, new = (workspace.folder / f".state.json.{name}.part" for name in ("0ld", "new"))
    for half in (old, new):
        half.write_text("{ half", encoding="utf-8")
    os.utime(old, (time.time() - 2 * 24 * 3600,) * 2)
    (workspace.folder / "history" / ".0.json.cut.part").write_bytes(b"\xc3")
    workspace.tidy()
    assert (old.exists(), new.exists()) == (False, True)
    assert workspace.now().area("tint") == {"x": 1}


def test_a_fit_whose_place_cannot_be_written_says_what_is_wrong(workspace: Workspace) -> None:
    """The half that it may have left cannot be taken away there either: that is not what is told."""
    work = Work("a", "Learning", "/pigments")
    with pytest.raises(FileProblem, match="cannot be written"):
        fit_aside(work, [workspace.folder / "no chips"], workspace.folder / "things")


def test_what_a_fit_has_done_is_told_line_by_line() -> None:
    assert (_part_of(b'{"part": 0.25}\n'), _part_of(b'{"error": {}}\n'), _part_of(b"")) == (0.25, None, None)
