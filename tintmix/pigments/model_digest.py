"""What a model is called by recipes and books: a digest of all that predicts, the same on every processor."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np
from numpy.typing import NDArray

from tintmix.optics.spectrum import Array

_BYTES = 24
"""192 bits: no two models share them by chance (2⁹⁶ models would be needed), and no digest of before is as short."""
_LENGTH_BEFORE = 64
"""Digests of before were longer. They were of exponentials, whose last bit differs from processor to processor."""


def as_kept(positive: Array) -> NDArray[np.float32]:
    """Logarithms as a model's file keeps them: a logarithm's last bit is lost in the rounding, so that all processors agree.

    >>> bool(as_kept(np.exp(np.array([-3.25])))[0] == np.float32(-3.25))
    True
    """
    return np.log(positive).astype("<f4")


def digest_of(names: Sequence[str], parts: Iterable[NDArray[np.floating]]) -> str:
    """BLAKE2b (RFC 7693) of names and numbers, in hexadecimal.

    >>> len(digest_of(["azure"], [np.ones(3)]))
    48
    """
    # Only here: 2 ms, for OpenSSL, of every start-up (measured).
    import hashlib

    found = hashlib.blake2b("\0".join(names).encode(), digest_size=_BYTES)
    for part in parts:
        found.update(np.ascontiguousarray(part, dtype="<f8").tobytes())
    return found.hexdigest()


def proves_nothing(named: str) -> bool:
    """Whether a digest is one of before, which no other processor comes to.

    >>> proves_nothing(64 * "0"), proves_nothing(48 * "0")
    (True, False)
    """
    return len(named) == _LENGTH_BEFORE
