"""What can be wrong with what is asked of the page, and files told by the names that their owner knows."""

from __future__ import annotations

import tempfile
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TypeVar

from filelock import Timeout

from tintmix.book.place import book_place
from tintmix.errors import CannotWrite, FileProblem, InUse, NotThere, Remedy, TintmixError, ValueProblem

Thing = TypeVar("Thing")


class ChangedElsewhere(InUse):
    """A change made on what another tab has changed since it was shown."""

    def __init__(self, what: str) -> None:
        super().__init__(
            where=what,
            what="changed in another tab or window since this one showed it, so nothing was overwritten",
            remedy=Remedy.LOAD_AGAIN,
        )


class NoSuchThing(NotThere):
    """An address of something that is not kept, or no longer."""

    def __init__(self, what: str = "page") -> None:
        super().__init__(
            what=f"there is no such {what} here; it may have been removed", remedy=Remedy.GO_ON_FROM_A_STEP
        )


@contextmanager
def about_box(name: str) -> Iterator[None]:
    """What is found wrong meanwhile is wrong with what stands in the box of this name: the page marks it."""
    try:
        yield
    except TintmixError as problem:
        problem.facts.setdefault("box", name)
        raise


def first_of(found: Iterable[Thing], what: str) -> Thing:
    """The first of what was found. Raises NoSuchThing where nothing was."""
    for one in found:
        return one
    raise NoSuchThing(what)


def nothing_to_undo(word: str = "undo") -> NotThere:
    """An undo where nothing was changed."""
    return NotThere(what=f"there is nothing to {word}: no change is left to go back over")


def workspace_unreadable(where: object, reason: str) -> FileProblem:
    """The page's folder, or its list of what is kept, cannot be used."""
    return FileProblem(
        where=where, what=f"what the page keeps cannot be used ({reason})", remedy=Remedy.START_ON_ANOTHER_FOLDER
    )


class ListDamaged(FileProblem):
    """The list of what the page keeps cannot be read; what is in it may stand in an older one."""

    def __init__(self, where: object, reason: str) -> None:
        super().__init__(
            where=where, what=f"the list of what the page keeps is {reason}", remedy=Remedy.GO_ON_FROM_AN_OLDER_LIST
        )


def not_kept(reason: str) -> CannotWrite:
    """A change that the disk did not take; the folder's place is not named on a screen."""
    return CannotWrite(
        where="the page's folder", what=f"cannot be written ({reason.lower()})", remedy=Remedy.WRITE_ELSEWHERE
    )


def not_typed(field: str, found: str, wanted: str) -> ValueProblem:
    """A box of a form that was left empty, or holds what cannot be used. wanted: what belongs in it, a sentence."""
    seen = "".join(letter if letter.isprintable() else "\N{REPLACEMENT CHARACTER}" for letter in found[:40])
    said = f'"{seen}" cannot be used' if found.strip() else "nothing is typed in it"
    # By what was typed a face finds the box again.
    return ValueProblem(where=field, what=f"{said}. {wanted.removesuffix('.')}", typed=found.strip())


def not_chosen(box: str, field: str, wanted: str) -> ValueProblem:
    """A box of a form for files in which there is none. box: its name. wanted: what belongs in it, a sentence."""
    return ValueProblem(where=field, what=f"no file is chosen. {wanted.removesuffix('.')}", box=box)


def too_many(what: str, found: int, limit: int) -> ValueProblem:
    """More rows or places than the page takes at once."""
    return ValueProblem(where=f"{found} {what}", what=f"the page takes {limit} at once", remedy=Remedy.GIVE_FEWER)


def needs_first(what: str, first: str) -> NotThere:
    """A step asked for before the one that it stands on."""
    return NotThere(what=f"{what} needs {first} first")


@contextmanager
def set_down(*files: tuple[str, bytes]) -> Iterator[list[Path]]:
    """Uploaded files, by the names that their owner knows, where they can be read; gone afterwards."""
    with tempfile.TemporaryDirectory() as folder:
        places = [Path(folder) / f"upload-{at}" for at in range(len(files))]
        for place, (_, content) in zip(places, files, strict=True):
            place.write_bytes(content)
        with by_known_names(*((place, name) for place, (name, _) in zip(places, files, strict=True))):
            yield places


@contextmanager
def by_known_names(*names: tuple[Path, str]) -> Iterator[None]:
    """What is wrong with a file is told by the name that its owner knows: an upload by its own, the book as the book."""
    try:
        yield
    except TintmixError as problem:
        for place, name in (*names, (book_place(), "the recipe book")):
            problem.call(place, name)
            problem.call(place.name, name)
        raise


@contextmanager
def keeping() -> Iterator[None]:
    """Writing into the page's folder. Raises CannotWrite where the disk is full, or may not be written."""
    try:
        yield
    except Timeout:
        raise not_kept("another program holds it") from None
    except OSError as problem:
        raise not_kept(problem.strerror or "refused") from None
    except CannotWrite as problem:
        raise not_kept(str(problem.facts.get("reason", "refused"))) from None
