"""Whether tintmix is well on this machine: the program's own files, libraries, tables, fonts, browser, book and folder.

Nothing that may be broken is imported before it is looked at: a library that is missing or damaged is a finding. Findings are
made to be copied into a report: they name no folder of the user's but as "~".
"""

from __future__ import annotations

import base64
import hashlib
import os
import platform
import re
import shutil
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from importlib import metadata
from pathlib import Path
from typing import Literal

from tintmix import __version__
from tintmix.numerals import counted, listed

State = Literal["well", "without", "not well"]
LEAST_FREE_MB = 200
"""Of the disk: a page's folder with a dozen photos of 12 MB (measured: 150 MB)."""
WAIT_SECONDS = 2.0
"""For a book that another program writes at this moment; usual writes take milliseconds."""
MOST_NAMED = 3
"""Of files or troubles in one finding: a report is one screen."""
PACKAGE = Path(__file__).resolve().parents[1]
_REQUIREMENT = re.compile(r"([\w.-]+)(?:\[.*?\])?\s*(?:>=\s*([\d.]+))?[^;]*(;.*)?")


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """what: that was looked at. state: "without" is well too: it is not there, and what needs it says so. says: one sentence."""

    what: str
    state: State
    says: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Library:
    """found: its version, None where it is not installed. needed: the lowest that will do, "" where any will."""

    name: str
    found: str | None
    needed: str
    everywhere: bool

    @property
    def well(self) -> bool:
        """Installed, and not too old; or left out where it may be."""
        if self.found is None:
            return not self.everywhere
        return _numbers(self.found) >= _numbers(self.needed)


@dataclass(frozen=True, slots=True, kw_only=True)
class Checkup:
    """What was found, with what a report of a fault needs beside it."""

    well: bool
    tintmix: str
    python: str
    system: str
    cores: int
    findings: tuple[Finding, ...]
    libraries: tuple[Library, ...]


def checkup(page_folder: Callable[[], Path]) -> Checkup:
    """Look at everything. page_folder: tells where the page keeps its things; it may fail."""
    libraries = tuple(_libraries())
    looks: tuple[tuple[str, Callable[[], tuple[State, str]]], ...] = (
        ("program", _program),
        ("libraries", lambda: _of_libraries(libraries)),
        ("tables", _tables),
        ("demo", _demo),
        ("fonts", _fonts),
        ("browser", _browser),
        ("recipe book", _book),
        ("page's folder", lambda: _folder(page_folder())),
        ("this folder", lambda: _folder(Path.cwd(), "the folder that you are in")),
    )
    findings = tuple(_found(what, look) for what, look in looks)
    return Checkup(
        well=all(one.state != "not well" for one in findings),
        tintmix=__version__,
        python=platform.python_version(),
        system=f"{platform.system()} {platform.release()} {platform.machine()}",
        cores=os.cpu_count() or 1,
        findings=findings,
        libraries=libraries,
    )


def _found(what: str, look: Callable[[], tuple[State, str]]) -> Finding:
    try:
        state, says = look()
    except Exception as problem:  # whatever is broken is what this is for
        state, says = "not well", _private(f"{type(problem).__name__}: {problem}".rstrip("."))
    return Finding(what=what, state=state, says=says)


def _program() -> tuple[State, str]:
    """The files of an installed wheel against the digests that it came with."""
    try:
        installed = metadata.distribution("tintmix")
    except metadata.PackageNotFoundError:
        return "well", "runs from its source, not installed"
    kept = [one for one in installed.files or () if one.hash is not None and one.parts[0] == PACKAGE.name]
    if not kept or Path(str(installed.locate_file(PACKAGE.name))).resolve() != PACKAGE:
        return "well", "runs from its source, so that there is nothing to compare its files with"
    other = [one for one in kept if not _as_it_came(one)]
    if other:
        return "not well", f"{counted(len(other), 'file')} missing or changed since it was installed: {_first(other)}"
    return "well", f"all {len(kept)} files are as they came"


def _as_it_came(one: metadata.PackagePath) -> bool:
    path, kept = Path(str(one.locate())), one.hash
    if kept is None or not path.is_file():
        return False
    digest = hashlib.new(kept.mode, path.read_bytes()).digest()
    return base64.urlsafe_b64encode(digest).rstrip(b"=").decode() == kept.value


def _libraries() -> Iterator[Library]:
    try:
        wanted = metadata.requires("tintmix") or []
    except metadata.PackageNotFoundError:
        return
    for requirement in wanted:
        name, needed, marker = _REQUIREMENT.match(requirement).groups()  # type: ignore[union-attr]
        if marker and "extra" in marker:
            continue
        try:
            found = metadata.version(name)
        except metadata.PackageNotFoundError:
            found = None
        yield Library(name=name, found=found, needed=needed or "", everywhere=not marker)


def _of_libraries(libraries: tuple[Library, ...]) -> tuple[State, str]:
    ill = [one for one in libraries if not one.well]
    if ill:
        return "not well", "; ".join(
            f"{one.name} is not installed"
            if one.found is None
            else f"{one.name} {one.found} is older than {one.needed}"
            for one in ill
        )
    absent = [one.name for one in libraries if one.found is None]
    if absent:
        return "without", f"without {listed(absent)}, which not every system has"
    return (
        "well",
        f"all {len(libraries)} are there and new enough" if libraries else "not told, since tintmix is not installed",
    )


def _tables() -> tuple[State, str]:
    # numpy is loaded here and not above, since a broken numpy is one of the findings.
    from tintmix.optics.detector import SHIPPED_LIGHTS, eye

    for name in SHIPPED_LIGHTS:
        for observer in (2, 10):
            if abs(float(eye(name, observer).bare[1]) - 100) > 1e-6:
                return "not well", f"the weights of {name} for {observer}° do not add up to 100"
    return "well", f"the weights of {len(SHIPPED_LIGHTS)} lights add up"


def _demo() -> tuple[State, str]:
    from tintmix.desk.demo import demo  # as above: what it imports may be broken

    return "well", f"{counted(sum(1 for _ in demo('deck-prism').parent.rglob('set.toml')), 'chip set')} came with it"


def _fonts() -> tuple[State, str]:
    from tintmix.pictures.fonts import fonts  # as above

    return "well", f"{listed(path.stem for path in fonts().values())} are there for pictures and sheets"


def _browser() -> tuple[State, str]:
    import webbrowser  # 5 ms, and only here

    try:
        webbrowser.get()
    except webbrowser.Error:
        return "without", "none was found: the page's address has to be opened by hand"
    return "well", "there is one that can open the page"


def _book() -> tuple[State, str]:
    from tintmix.book.book import open_book  # as above
    from tintmix.book.place import book_place, stands_at

    if not stands_at(book_place()):
        return "without", "there is none yet"
    with open_book(create=False, wait_seconds=WAIT_SECONDS) as book:
        seen = book.check()
    if seen.problems:
        return "not well", _private("; ".join(seen.problems[:MOST_NAMED]))
    held = f"{counted(seen.counts.get('recipe', 0), 'recipe')}, {counted(seen.counts.get('pour', 0), 'pour')}"
    return "well", f"{held}: all as it was written"


def _folder(path: Path, called: str = "") -> tuple[State, str]:
    """Whether it, or where it would be made, can be written to, on a disk with room."""
    there = next(one for one in (path, *path.parents) if one.exists())
    named = called or ("it" if there == path else "where it will be made")
    if not there.is_dir() or not os.access(there, os.W_OK):
        return "not well", f"{named} cannot be written to"
    free_mb = shutil.disk_usage(there).free / 1e6
    if free_mb < LEAST_FREE_MB:
        return "not well", f"only {free_mb:.0f} MB are free on its disk"
    return "well", f"{named} can be written to; {free_mb / 1000:.0f} GB are free"


def _private(words: str) -> str:
    """Without the user's folders: their own as "~", of any other path its last name.

    >>> _private("/mnt/of somebody/book.db: no book")
    '…/book.db: no book'
    """
    home = str(Path.home())
    words = words.replace(home, "~") if len(home) > 1 else words
    return re.sub(r"(?<![^\s'\"(])(?:[A-Za-z]:)?[\\/](?=\S)(?:[^\\/:;,'\"\n]+[\\/])+", "…/", words)


def _first(files: list[metadata.PackagePath]) -> str:
    named = ", ".join(str(one) for one in files[:MOST_NAMED])
    return named if len(files) <= MOST_NAMED else f"{named} and more"


def _numbers(version: str) -> tuple[int, ...]:
    return tuple(int(part) for part in re.findall(r"\d+", version.partition("+")[0])[:3])
