"""Puts what an accuracy program printed into a page, between two comments that name the program."""

from __future__ import annotations

from pathlib import Path

END = "<!-- end of figures -->"


def put_into(page: str | Path, program: str, told: str) -> None:
    """Replace what stands between the comment that names the program and the next END.

    Raises ValueError where the page has no such place.
    """
    path, begin = Path(page), f"<!-- figures: {program} -->"
    before, found, rest = path.read_text(encoding="utf-8").partition(begin)
    _, ended, after = rest.partition(END)
    if not (found and ended):
        raise ValueError(f"{path} has no place for the figures: it must hold {begin} and {END} after it")
    path.write_text(f"{before}{begin}\n{told}\n{END}{after}", encoding="utf-8")
