"""Explanations of words that a maker may not know, from explained.toml: two sentences each, some with a picture of docs/."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path

_FILE = Path(__file__).parent / "explained.toml"


@dataclass(frozen=True, slots=True, kw_only=True)
class Explanation:
    """ask: what is asked; says: the answer; picture: a file of docs/pictures, and shows: what is seen in it; or both empty."""

    ask: str
    says: str
    picture: str = ""
    shows: str = ""


@cache
def explanations() -> dict[str, Explanation]:
    """All of them by their keys.

    >>> explanations()["phr"].ask
    'What is phr?'
    """
    tables = tomllib.loads(_FILE.read_text(encoding="utf-8"))
    return {key: Explanation(**table) for key, table in tables.items()}


@dataclass(slots=True)
class Asked:
    """Which of them a screen asks for, so that it holds the answer of each once."""

    keys: list[str] = field(default_factory=list)

    def ask(self, key: str) -> Explanation:
        """The explanation; its answer is then among those that the screen ends with."""
        found = explanations()[key]
        if key not in self.keys:
            self.keys.append(key)
        return found

    @property
    def answers(self) -> list[tuple[str, Explanation]]:
        """Key and explanation of each that was asked for, in order."""
        return [(key, explanations()[key]) for key in self.keys]
