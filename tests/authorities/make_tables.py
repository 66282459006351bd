"""Makes tintmix/optics/tables from colour-science: `python -m tests.authorities.make_tables`.

Weights by ASTM E308-15 and E2022-11 exactly as physics §6 writes them, on 360-780 nm folded to 380-780 nm; the lights
at 1 nm; the colour-matching functions. tests/optics/test_tables.py makes them again and compares.
"""

from __future__ import annotations

import warnings
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    import colour
    from colour.colorimetry import (
        adjust_tristimulus_weighting_factors_ASTME308,
        tristimulus_weighting_factors_ASTME2022,
    )

Array = NDArray[np.float64]

TABLES = Path(__file__).resolve().parents[2] / "tintmix" / "optics" / "tables"
OBSERVERS = {2: "CIE 1931 2 Degree Standard Observer", 10: "CIE 1964 10 Degree Standard Observer"}
LIGHTS = (
    "A", "B", "C", "D50", "D55", "D60", "D65", "D75", "E",
    *(f"FL{i}" for i in range(1, 13)), *(f"FL3.{i}" for i in range(1, 16)), *(f"HP{i}" for i in range(1, 6)),
    "ID50", "ID65", "LED-B1", "LED-B2", "LED-B3", "LED-B4", "LED-B5", "LED-BH1", "LED-RGB1", "LED-V1", "LED-V2",
)  # fmt: skip
WIDE = colour.SpectralShape(360, 780, 10)
FINE = colour.SpectralShape(360, 780, 1)
SOURCE = f"made from colour-science {colour.__version__} by tests/authorities/make_tables.py"


def power(name: str) -> Array:
    """A CIE illuminant (421,) at 1 nm, aligned as physics §6 says: to the whole range of the observer, then cut."""
    matching = colour.MSDS_CMFS[OBSERVERS[2]]
    light = colour.SDS_ILLUMINANTS[name].copy().align(matching.shape)
    return np.asarray(light.copy().align(FINE).values)


def weights(name: str, observer: int, shape: tuple[int, int] = (380, 780)) -> Array:
    """E2022 weights under a light, folded by E308 to `shape` at 10 nm."""
    matching = colour.MSDS_CMFS[OBSERVERS[observer]]
    light = colour.SDS_ILLUMINANTS[name].copy().align(matching.shape)
    matching = matching.copy().trim(FINE)
    light = light.copy().align(matching.shape)
    full = tristimulus_weighting_factors_ASTME2022(matching, light, WIDE)
    return np.asarray(adjust_tristimulus_weighting_factors_ASTME308(full, WIDE, colour.SpectralShape(*shape, 10)))


def colour_matching() -> Array:
    """(421, 7): nm, 2° x̄ ȳ z̄, 10° x̄ ȳ z̄."""
    parts = [np.asarray(colour.MSDS_CMFS[name].copy().trim(FINE).values) for name in OBSERVERS.values()]
    return np.hstack([np.arange(360.0, 781.0)[:, None], *parts])


def text(header: str, columns: str, rows: Array) -> str:
    """A table as it is shipped: what it is, its columns, shortest round-trip numbers."""
    lines = [f"# {header}; {SOURCE}", columns]
    lines += [",".join([f"{row[0]:g}", *(repr(float(value)) for value in row[1:])]) for row in rows]
    return "\n".join(lines) + "\n"


def tables() -> dict[str, str]:
    """Every file of tintmix/optics/tables, by name."""
    nm = np.arange(380.0, 781.0, 10.0)
    made = {
        "lights.txt": "# CIE illuminants with tables; " + SOURCE + "\n" + "\n".join(LIGHTS) + "\n",
        "colour_matching.csv": text(
            "CIE 1931 2 degree and CIE 1964 10 degree colour-matching functions, 1 nm",
            "nm,x2,y2,z2,x10,y10,z10",
            colour_matching(),
        ),
    }
    for name in LIGHTS:
        both = np.hstack([nm[:, None], weights(name, 2), weights(name, 10)])
        made[f"weights/{name}.csv"] = text(
            f"ASTM E2022 weights, CIE illuminant {name}, 2 and 10 degree observers, 10 nm, folded to 380-780 nm",
            "nm,X2,Y2,Z2,X10,Y10,Z10", both,
        )  # fmt: skip
        fine = np.stack([np.arange(360.0, 781.0), power(name)], axis=1)
        made[f"power/{name}.csv"] = text(f"CIE illuminant {name}, relative power, 1 nm", "nm,power", fine)
    return made


def main() -> None:
    """Write them."""
    for name, content in tables().items():
        path = TABLES / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(content, encoding="ascii")
        print(path)


if __name__ == "__main__":
    main()
