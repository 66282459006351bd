"""What to do about an error or a note, in the words of each face: data, in remedies.toml, read when the first is told."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache, partial
from pathlib import Path
from typing import Literal

from tintmix.errors import Note, TintmixError, in_short

_LONGEST_FACT = 60
Said = TintmixError | Note | str
"""What a face may have to tell: an error, a note, or a whole sentence that needs no advice."""


@cache
def words() -> Mapping[str, Mapping[str, str]]:
    """By remedy and face; "all" where a face has none of its own."""
    import tomllib  # here: help need not wait

    return tomllib.loads(Path(__file__).with_name("remedies.toml").read_text(encoding="utf-8"))


def told(said: Said, face: Literal["shell", "page", "paper"]) -> str:
    """An error or a note as a face tells it: its facts, and what to do in the face's words.

    >>> from tintmix.errors import Remedy
    >>> told(Note(says="It was written by a newer version.", remedy=Remedy.BRING_UP_TO_DATE), "page")
    'It was written by a newer version. Update tintmix.'
    """
    if isinstance(said, str) or said.remedy is None:
        return str(said)
    of_faces = words().get(said.remedy, {})
    facts = {key: in_short(str(fact), _LONGEST_FACT) for key, fact in said.facts.items()}
    advice = (of_faces.get(face) or of_faces.get("all", "")).format_map(facts)
    told = str(said) if isinstance(said, Note) else in_short(str(said), said.longest - len(advice) - 1)
    return f"{told} {advice}".rstrip()


told_in_shell = partial(told, face="shell")
told_on_page = partial(told, face="page")
told_on_paper = partial(told, face="paper")
