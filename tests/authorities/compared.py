"""What is compared with numbers by others: one call asserts, and tells docs/proof.md what was asserted.

    compared("float glass, light through", ours, 0.881, within=0.015, source="…")

`python -m tests.proof outside` runs the tests that call it with TINTMIX_COMPARED naming a file, to which each call adds a line;
without that name it only asserts.
"""

from __future__ import annotations

import json
import os

import numpy as np
from numpy.typing import ArrayLike

NAMED = "TINTMIX_COMPARED"


def compared(what: str, ours: ArrayLike, theirs: ArrayLike, *, within: float, source: str, unit: str = "") -> None:
    """Fail where one of ours is farther than `within` from theirs. Calls of one `what` become one row of the page.

    >>> compared("a clear plate", 0.9230769, 0.92308, within=5e-6, source="2n/(n² + 1) at n = 1.5")
    """
    mine, other = np.broadcast_arrays(np.asarray(ours, dtype=np.float64), np.asarray(theirs, dtype=np.float64))
    off = np.abs(mine - other)
    at = np.unravel_index(int(np.argmax(off)), off.shape)
    if place := os.environ.get(NAMED):
        row = {
            "what": what,
            "source": source,
            "test": os.environ.get("PYTEST_CURRENT_TEST", "").partition("::")[0],
            "unit": unit,
            "values": int(off.size),
            "ours": float(mine[at]),
            "theirs": float(other[at]),
            "difference": float(off[at]),
            "within": within,
        }
        with open(place, "a", encoding="utf-8") as stream:
            stream.write(json.dumps(row, ensure_ascii=False) + "\n")
    assert np.all(off <= within), f"{what}: {mine[at]!r}, and by others {other[at]!r}; within {within:g} was asked"
