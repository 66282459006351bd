"""Puts the figures that pages quote from docs/proof.md into them anew: `.venv/bin/python docs/put_figures.py`.

A quoted figure is a link to proof.md whose title says where it stands there: the row by its first cell, the column by its head,
and which number of the cell, as in `[ΔE00 0.20](proof.md "dry, 1.5 and 4 mm | inside: median / 95 % | 1")`. Where two rows have
one first cell, rows that stand above it may be named before it: the first of such a name below them is taken.
"""

from __future__ import annotations

import re
from pathlib import Path

DOCS = Path(__file__).resolve().parent
PROOF = DOCS / "proof.md"
QUOTED = re.compile(r'\[(ΔE00 )?(-?\d[\d.]*)([^\]]*)\]\(proof\.md "([^"]+)"\)')
_NUMBER = re.compile(r"-?\d+(?:\.\d+)?")


def quoted(page: str, proof: str) -> str:
    """The page with each quoted figure as proof has it. Raises ValueError where proof has no such row, column or number.

    >>> quoted('[ΔE00 9](proof.md "dry | all: a / b | 2")', "| chips | all: a / b |\\n| --- | --- |\\n| dry | 0.20 / 0.36 |\\n")
    '[ΔE00 0.36](proof.md "dry | all: a / b | 2")'
    """

    def put(found: re.Match[str]) -> str:
        return f'[{found[1] or ""}{figure(found[4], proof)}{found[3]}](proof.md "{found[4]}")'

    return QUOTED.sub(put, page)


def figure(where: str, proof: str) -> str:
    """The figure that stands there."""
    *rows, column, number = where.split(" | ")
    heads: list[str] = []
    cells = [""]
    sought = list(rows)
    lines = proof.splitlines()
    for at, line in enumerate(lines):
        if not line.startswith("| "):
            continue
        cells = line.strip("| ").split(" | ")
        if at + 1 < len(lines) and lines[at + 1].startswith("| ---"):
            heads = cells
        elif cells[0] == sought[0]:
            sought.pop(0)
            if not sought:
                break
    if sought or column not in heads:
        raise ValueError(f"proof.md has no figure {where!r}")
    return _NUMBER.findall(cells[heads.index(column)])[int(number) - 1]


def main() -> None:
    """All pages beside proof.md."""
    proof = PROOF.read_text(encoding="utf-8")
    for path in sorted(DOCS.glob("*.md")):
        page = path.read_text(encoding="utf-8")
        path.write_text(quoted(page, proof), encoding="utf-8")


if __name__ == "__main__":
    main()
