"""Small chip-set folders as text, for the tests of this layer."""

from __future__ import annotations

from pathlib import Path

COLOUR_TOML = """\
format = 1
title = "a small set"

[resin]
name = "clear casting resin, invented"
refractive_index = 1.50

[reading]
kind = "colour"

[pigments.azure]
lot = "A-17"
max_phr = 0.8

[pigments.emerald]
"""
COLOUR_CSV = """\
chip,cup,thickness_mm,azure_phr,emerald_phr,L,a,b
clear,clear,6,,,96.1,-0.2,0.6
b1-3,b1,3.02,0.05,,78.2,-12.5,-20.1
b1-12,b1,12.1,0.05,,52.0,-18.3,-38.8
g1,g1,3,0,0.1,80.5,-30.2,11
g2,g2,6,,0.04,79.9,-28,9.5
"""
NM = tuple(range(400, 710, 20))


def spectrum_csv(value: str = "0.5", delimiter: str = ",", names: tuple[str, ...] = ("clear", "b1", "b2")) -> str:
    """Chips with one flat spectrum each; the first is untinted."""
    lines = [delimiter.join(["chip", "thickness_mm", "azure_phr", *(str(nm) for nm in NM)])]
    for i, name in enumerate(names):
        lines.append(delimiter.join([name, "3", "" if i == 0 else "1", *[value] * len(NM)]))
    return "\n".join(lines) + "\n"


def toml(kind: str, *lines: str, pigments: tuple[str, ...] = ("azure",)) -> str:
    """A set.toml of this kind, with more lines under [reading]."""
    tables = "".join(f'[pigments."{name}"]\n' for name in pigments)
    return "format = 1\n[reading]\n" + f'kind = "{kind}"\n' + "".join(line + "\n" for line in lines) + tables


def put(folder: Path, set_toml: str | bytes, chips_csv: str | bytes, **others: str) -> Path:
    """A folder with these files."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, content in {"set.toml": set_toml, "chips.csv": chips_csv, **others}.items():
        data = content.encode("utf-8") if isinstance(content, str) else content
        (folder / name.replace("_csv", ".csv").replace("_toml", ".toml")).write_bytes(data)
    return folder
