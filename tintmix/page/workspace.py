"""What the page keeps: one small list of what is where, which changes, and things that never change once they are kept.

`state.json` holds the areas (settings, part, chips, pigments, tint, recipes, ...), each with its own revision. Chip sets,
models, answers and photos are kept under names that are made here and never overwritten, so undo is only the list as it was.
"""

from __future__ import annotations

import json
import os
import re
import shutil
import threading
import time
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import IO, Any, TypeVar

from filelock import FileLock
from platformdirs import user_data_path

from tintmix.chips.chip import ChipSet
from tintmix.chips.folder import read_chips, write_chips
from tintmix.errors import TintmixError
from tintmix.files.canonical import json_text
from tintmix.files.errors import FormatMissing
from tintmix.files.upgrades import Format
from tintmix.files.write import Outputs, write_file
from tintmix.page.areas import WORDS, checked_area
from tintmix.page.errors import (
    ChangedElsewhere,
    ListDamaged,
    NoSuchThing,
    keeping,
    nothing_to_undo,
    workspace_unreadable,
)
from tintmix.page.values import to_table, with_notes
from tintmix.pigments.model import TintModel
from tintmix.pigments.model_file import load_model
from tintmix.shape.shape_file import read_shape
from tintmix.shape.values import CastingShape

STATE_FORMAT = Format(what="page")
"""The list's format. A step is given the list, and each list of undo too: of those, `areas` and `revisions` alone."""
IS = "tintmix page"
STATE = "state.json"
MOST_UNDOS = 40
MERGE_SECONDS = 2.0
"""Changes of one kind that follow each other as fast as this are one for undo: a slider that is dragged."""
_IDENTITY = re.compile(r"[0-9a-f]{16}")
_OLD_SECONDS = 24 * 3600.0
_WAIT_SECONDS = 30.0
_FAR_ABOVE = 1_000_000
"""Put upon the revisions of a list that is put right: no form that was made before fits it."""
_KEEP_LOADED = 8

Area = Mapping[str, Any]
Thing = TypeVar("Thing")
Changes = tuple[tuple[int, str], ...]
"""The revision before each, and its words."""


@dataclass(frozen=True, slots=True)
class Snapshot:
    """All areas at one moment. undo, redo: the words of the changes that can be taken back, or made again, newest last."""

    revision: int
    areas: Mapping[str, Area]
    revisions: Mapping[str, int]
    undo: Changes = ()
    redo: Changes = ()
    changed_at: float = 0.0

    def area(self, name: str) -> dict[str, Any]:
        """A copy of an area, to be changed; empty where nothing is kept in it yet."""
        copy: dict[str, Any] = json.loads(json.dumps(self.areas.get(name, {})))
        return copy

    def revision_of(self, name: str) -> int:
        """How often the area has changed."""
        return self.revisions.get(name, 0)


class Workspace:
    """A folder of the maker's. Safe with many threads, and with a second page on the same folder.

    >>> import tempfile
    >>> workspace = Workspace(Path(tempfile.mkdtemp()))
    >>> workspace.change("a dose", {"tint": {"doses": {"azure": 0.02}}}, {"tint": 0}).revision_of("tint")
    1
    >>> workspace.change("a dose", {"tint": {}}, {"tint": 0})
    Traceback (most recent call last):
    tintmix.page.errors.ChangedElsewhere: the doses: changed in another tab or window since this one showed it, ...
    >>> workspace.undo().area("tint")
    {}
    """

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._mutex = threading.RLock()
        self._lock = FileLock(folder / "lock", _WAIT_SECONDS, thread_local=False)
        self._loaded: dict[str, Any] = {}
        try:
            for part in ("", "history", "things"):
                (folder / part).mkdir(parents=True, exist_ok=True)
        except (OSError, ValueError) as problem:
            raise workspace_unreadable(folder, getattr(problem, "strerror", None) or str(problem)) from None

    # The list

    def now(self) -> Snapshot:
        """The areas as they stand. Raises FileProblem; ListDamaged where an older list can take the place of this one."""
        place = self.folder / STATE
        try:
            table = json.loads(place.read_text(encoding="utf-8"))
        except FileNotFoundError:
            # The first change puts an empty list into the history before there is another.
            if not any(revision for revision, _ in self._history()):
                return Snapshot(0, {}, {})
            if place.exists():  # another page made it since
                return self.now()
            raise ListDamaged(place, "gone") from None
        except (ValueError, RecursionError):
            raise ListDamaged(place, "damaged") from None
        except OSError as problem:
            raise workspace_unreadable(place, problem.strerror or "refused") from None
        if not isinstance(table, dict) or table.get("is") != IS:
            raise ListDamaged(place, "of something else")
        try:
            table = STATE_FORMAT.up_to_date(table, place)
            return Snapshot(
                int(table["revision"]),
                _areas(table),
                _revisions(table),
                tuple((int(n), str(label)) for n, label in table["undo"]),
                tuple((int(n), str(label)) for n, label in table["redo"]),
                float(table.get("changed_at", 0.0)),
            )
        except (KeyError, TypeError, ValueError, OverflowError, FormatMissing):
            raise ListDamaged(place, "damaged") from None

    def newest_sound(self) -> tuple[int, float] | None:
        """The newest list of the history that is whole: its revision, and when it was kept (seconds since 1970)."""
        for revision, path in self._history():
            try:
                self._remembered(revision)
                return revision, path.stat().st_mtime
            except (OSError, TintmixError):
                continue
        return None

    def go_on_from(self, revision: int | None) -> Snapshot:
        """A damaged list replaced by that of the history; None: by an empty one. The damaged one stays beside it under
        another name, and what was before can be undone to. Raises NotThere; a list that is sound is left alone."""
        with self._alone():
            try:
                return self.now()
            except ListDamaged:
                areas, revisions = ({}, {}) if revision is None else self._remembered(revision)
            place = self.folder / STATE
            if place.exists():
                aside = (place.with_name(f"{place.stem}.damaged-{n}.json") for n in range(1, 10_000))
                with keeping():
                    write_file(next(path for path in aside if not path.exists()), place.read_bytes())
            earlier = sorted(n for n, _ in self._history() if revision is None or n < revision)
            undo = tuple((n, "what was done before") for n in earlier if self._is_sound(n))
            highest = max((n for n, _ in self._history()), default=0)
            past = {name: revisions.get(name, 0) + _FAR_ABOVE for name in {*WORDS, *revisions}}
            now = Snapshot(highest + _FAR_ABOVE, {name: {} for name in past}, past)
            return self._write(now, areas, undo[-MOST_UNDOS:], ())

    def change(
        self, label: str, areas: Mapping[str, Area], expected: Mapping[str, int], merge: bool = False
    ) -> Snapshot:
        """Put new areas in the old ones' place, if those still have the revisions they were made from.

        label: what was done, in the words of undo. merge: join it to a change of the same label just before. Raises
        ChangedElsewhere; then nothing is changed.
        """
        with self._alone():
            now = self.now()
            for area, revision in expected.items():
                if now.revision_of(area) != revision:
                    raise ChangedElsewhere(WORDS.get(area, f"the {area}"))
            areas = {name: json.loads(json.dumps(value)) for name, value in areas.items()}
            different = {name for name, value in areas.items() if now.areas.get(name, {}) != value}
            if not different:
                return now
            last, age = now.undo[-1][1] if now.undo else None, time.time() - now.changed_at
            joined = merge and last == label and not now.redo and age < MERGE_SECONDS
            undo = now.undo
            if not joined:
                self._remember(now)
                undo = (*now.undo, (now.revision, label))[-MOST_UNDOS:]
            return self._write(now, {**now.areas, **areas}, undo, ())

    def undo(self) -> Snapshot:
        """The last change taken back. Raises NotThere."""
        return self._go_back("undo")

    def redo(self) -> Snapshot:
        """The last undo taken back. Raises NotThere."""
        return self._go_back("redo")

    def _go_back(self, word: str) -> Snapshot:
        with self._alone():
            now = self.now()
            back, forth = (now.undo, now.redo) if word == "undo" else (now.redo, now.undo)
            if not back:
                raise nothing_to_undo(word)
            revision, label = back[-1]
            self._remember(now)
            back, forth = back[:-1], (*forth, (now.revision, label))
            return self._write(
                now, self._remembered(revision)[0], *((back, forth) if word == "undo" else (forth, back))
            )

    # Things

    def keep_set(self, chips: ChipSet) -> str:
        """A chip set, kept as it is now; its name."""
        name = self._new()
        with keeping():
            write_chips(chips, self.folder / "things" / name)
        return name

    def copy_set(self, name: str) -> tuple[str, Path]:
        """A copy of a chip set for a desk function to change, before anything refers to it."""
        copy = self._new()
        source = self.set_folder(name)
        with keeping():
            shutil.copytree(source, self.folder / "things" / copy)
        return copy, self.folder / "things" / copy

    def chip_set(self, name: str) -> ChipSet:
        """A chip set that was kept. Raises NoSuchThing."""
        return self._once(name, lambda: read_chips(self.set_folder(name)))

    def set_folder(self, name: str) -> Path:
        """The folder of a chip set, to be read only. Raises NoSuchThing."""
        return self._kept(name, "", "chip set")

    def place(self) -> tuple[str, Path]:
        """A name and the free place of a file for a desk function to write."""
        name = self._new()
        return name, self.folder / "things" / f"{name}.json"

    def file(self, name: str) -> Path:
        """The place of a kept file, to be read only. Raises NoSuchThing."""
        return self._kept(name, ".json", "thing")

    def model(self, name: str) -> TintModel:
        """A model that was kept. Raises NoSuchThing."""
        return self._once(name, lambda: load_model(self.file(name)))

    def shape(self, name: str) -> CastingShape:
        """A traced casting that was kept. Raises NoSuchThing."""
        return self._once(name, lambda: read_shape(self.file(name)))

    def keep_json(self, value: Any) -> str:
        """A table, kept as it is now; its name."""
        return self.keep_content(json_text(to_table(value), on_one_line=True))

    def json(self, name: str) -> Any:
        """A table that was kept. Raises NoSuchThing."""
        return self._once(name, lambda: json.loads(self.file(name).read_text(encoding="utf-8"), object_hook=with_notes))

    def keep_content(self, content: str | bytes | IO[bytes]) -> str:
        """A file's content, kept as it came; an upload a piece at a time, for it may be larger than the memory. Its name."""
        name, path = self.place()
        with keeping(), Outputs() as outputs:
            if isinstance(content, str | bytes):
                outputs.fill(path, content)
            else:
                with open(outputs.at(path), "wb") as kept:
                    shutil.copyfileobj(content, kept, 1 << 20)
        return name

    def tidy(self) -> int:
        """Remove what no list, old or new, refers to any more, if it is a day old; how many things."""
        with self._alone():
            now, history = self.now(), self.folder / "history"
            wanted = {f"{revision}.json" for revision, _ in (*now.undo, *now.redo)}
            # A writing that was cut off with the machine leaves its half beside the list.
            halves = self.folder.glob(f".{Path(STATE).stem}.*")
            for old in (*halves, *(path for path in history.iterdir() if path.name not in wanted)):
                if _is_old(old):
                    old.unlink(missing_ok=True)
            # Copies of older formats and of damaged lists too.
            lists = (*history.iterdir(), *self.folder.glob(f"{Path(STATE).stem}.*json"))
            named = {name for path in lists for name in _IDENTITY.findall(path.read_text("utf-8", errors="replace"))}
            things = (self.folder / "things").iterdir()
            gone = [thing for thing in things if thing.name[:16] not in named and _is_old(thing)]
            for thing in gone:
                if thing.is_dir():
                    shutil.rmtree(thing, ignore_errors=True)
                else:
                    thing.unlink(missing_ok=True)
            return len(gone)

    # Beneath

    def _once(self, name: str, load: Callable[[], Thing]) -> Thing:
        with self._mutex:
            found: Thing = self._loaded[name] if name in self._loaded else load()
            self._loaded[name] = found
            if len(self._loaded) > _KEEP_LOADED:
                del self._loaded[next(iter(self._loaded))]
            return found

    def _new(self) -> str:
        return os.urandom(8).hex()

    def _kept(self, name: str, ending: str, what: str) -> Path:
        path = self.folder / "things" / f"{name}{ending}"
        if not _IDENTITY.fullmatch(name) or not path.exists():
            raise NoSuchThing(what)
        return path

    def _remember(self, now: Snapshot) -> None:
        kept = {"format": STATE_FORMAT.newest, "areas": now.areas, "revisions": now.revisions}
        with keeping():
            write_file(
                self.folder / "history" / f"{now.revision}.json", json_text(kept, on_one_line=True), replace=True
            )

    def _history(self) -> list[tuple[int, Path]]:
        """The lists of undo by their revision, the newest first."""
        named = ((path.stem, path) for path in (self.folder / "history").glob("*.json"))
        return sorted(((int(stem), path) for stem, path in named if stem.isdecimal()), reverse=True)

    def _is_sound(self, revision: int) -> bool:
        try:
            return bool(self._remembered(revision))
        except TintmixError:
            return False

    def _remembered(self, revision: int) -> tuple[Mapping[str, Area], Mapping[str, int]]:
        """Areas and revisions of a list of undo. Raises NotThere."""
        try:
            path = self.folder / "history" / f"{revision}.json"
            # The first versions wrote no format into a list of undo; it was the first.
            table = STATE_FORMAT.up_to_date({"format": 1} | json.loads(path.read_text(encoding="utf-8")), path)
            return _areas(table), _revisions(table)
        except (OSError, ValueError, KeyError, TypeError, OverflowError, RecursionError, FormatMissing):
            raise nothing_to_undo() from None

    def _write(self, now: Snapshot, areas: Mapping[str, Area], undo: Changes, redo: Changes) -> Snapshot:
        revisions = {
            name: now.revision_of(name) + (areas.get(name, {}) != now.areas.get(name, {}))
            for name in {*areas, *now.areas}
        }
        new = Snapshot(now.revision + 1, areas, revisions, undo, redo, time.time())
        table = {"format": STATE_FORMAT.newest, "is": IS, **to_table(new)}
        with keeping():
            write_file(self.folder / STATE, json_text(table), STATE_FORMAT, replace=True)
        return new

    @contextmanager
    def _alone(self) -> Iterator[None]:
        """Nobody else changes the list meanwhile, neither in this process nor in another."""
        with self._mutex:
            with keeping():
                self._lock.acquire(poll_interval=0.01)
            try:
                yield
            finally:
                self._lock.release()


def _areas(table: Mapping[str, Any]) -> dict[str, Area]:
    """Raises KeyError, TypeError, ValueError for what no list holds."""
    return {str(name): checked_area(name, area) for name, area in dict(table["areas"]).items()}


def _revisions(table: Mapping[str, Any]) -> dict[str, int]:
    return {str(name): int(count) for name, count in dict(table["revisions"]).items()}


def _is_old(path: Path) -> bool:
    try:
        return time.time() - path.stat().st_mtime > _OLD_SECONDS
    except OSError:
        return False


def default_folder() -> Path:
    """The folder of the page in the user's own data."""
    return user_data_path("tintmix", appauthor=False) / "page"
