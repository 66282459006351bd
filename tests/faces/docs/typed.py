"""What a page tells its reader to type, in the order in which it stands: files and commands. Used by tests of docs."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

_BLOCK = re.compile(
    r"^(?P<indent> *)```(?P<kind>\w*)\n(?P<fenced>.*?)^ *```|(?<=\n\n)(?P<plain>(?:    \S.*\n)+)",
    re.MULTILINE | re.DOTALL,
)
_NAMED = re.compile(r"`([\w./-]+\.(?:toml|csv|txt))`:\s*$")


@dataclass(frozen=True, slots=True)
class File:
    """A file that the page prints, and its name: that of its first line's comment, or of the words just before it."""

    name: str
    text: str


@dataclass(frozen=True, slots=True)
class Command:
    """A line that begins with tintmix, those that it goes on in after a backslash with it."""

    line: str


@dataclass(frozen=True, slots=True)
class Python:
    """An example in Python."""

    text: str


Typed = File | Command | Python
SET_UP = "## Two commands\n"


def typed(page: str) -> Iterator[Typed]:
    """Files, commands and examples of a page in their order, but those under the heading of the two set-up commands.

    >>> list(typed("`a.txt`:\\n\\n```\\n1\\n```\\n\\nThen\\n\\n```sh\\ntintmix fit a \\\\\\n    --json   # so\\n```\\n"))
    [File(name='a.txt', text='1\\n'), Command(line='tintmix fit a --json')]
    """
    before, found, after = page.partition(SET_UP)
    page = before + after[after.index("\n## ") :] if found else page
    for block in _BLOCK.finditer(page):
        if block["plain"] is not None:
            yield from _commands(block["plain"])
            continue
        text = re.sub(rf"^{block['indent']}", "", block["fenced"], flags=re.MULTILINE)
        named = re.match(r"# ([\w./-]+\.toml)\n", text) or _NAMED.search(page[: block.start()].rstrip())
        if block["kind"] == "python":
            yield Python(text)
        elif named:
            yield File(named[1], text)
        else:
            yield from _commands(text)


def typed_in_help(text: str) -> list[Command]:
    """The commands that a help text has as examples."""
    return list(_commands(text))


def _commands(text: str) -> Iterator[Command]:
    whole = re.sub(r"\\\n\s*", "", text)
    for line in whole.splitlines():
        if line.strip().startswith("tintmix "):
            # What stands behind two blanks tells what the command does.
            yield Command(re.sub(r" {2,}.*", "", line.strip()))
