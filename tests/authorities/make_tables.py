"""Makes tintmix/optics/tables from colour-science: `python -m tests.authorities.make_tables`.

The lights of SHIPPED_LIGHTS, and the names of all that the library knows. Weights by ASTM E308-15 and E2022-11 exactly
as physics §6 writes them, on 360-780 nm folded to 380-780 nm; the lights at 1 nm; the colour-matching functions.
tests/optics/test_tables.py makes them again and compares.
"""

from __future__ import annotations

import warnings
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from tintmix.optics.detector import SHIPPED_LIGHTS

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
# What the library calls "ISO 7589 …" ends at 690 nm, which is no light to see by here.
LIGHTS = tuple(name for name in colour.SDS_ILLUMINANTS if not name.startswith("ISO"))
CAMERAS = tuple(colour.MSDS_CAMERA_SENSITIVITIES)
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
        "lights.txt": "\n".join((f"# names of CIE illuminants; {SOURCE}", *LIGHTS)) + "\n",
        "cameras.txt": "\n".join((f"# names of measured cameras; {SOURCE}", *CAMERAS)) + "\n",
        "colour_matching.csv": text(
            "CIE 1931 2 degree and CIE 1964 10 degree colour-matching functions, 1 nm",
            "nm,x2,y2,z2,x10,y10,z10",
            colour_matching(),
        ),
    }
    for name in SHIPPED_LIGHTS:
        both = np.hstack([nm[:, None], weights(name, 2), weights(name, 10)])
        made[f"weights/{name}.csv"] = text(
            f"ASTM E2022 weights, CIE illuminant {name}, 2 and 10 degree observers, 10 nm, folded to 380-780 nm",
            "nm,X2,Y2,Z2,X10,Y10,Z10", both,
        )  # fmt: skip
        fine = np.stack([np.arange(360.0, 781.0), power(name)], axis=1)
        made[f"power/{name}.csv"] = text(f"CIE illuminant {name}, relative power, 1 nm", "nm,power", fine)
    return made


def main() -> None:
    """Write them, and take away what is no longer among them."""
    for path in (path for path in TABLES.rglob("*") if path.is_file()):
        path.unlink()
    for name, content in tables().items():
        path = TABLES / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(content, encoding="ascii")
        print(path)


if __name__ == "__main__":
    main()
