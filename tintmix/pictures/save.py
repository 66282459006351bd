"""A figure into a file that appears whole or not at all, the same bytes for the same figure."""

from __future__ import annotations

import io
import os
import re
import struct
from collections.abc import Mapping
from datetime import datetime
from functools import cache
from pathlib import Path
from typing import Any

from matplotlib.figure import Figure
from PIL.ImageCms import ImageCmsProfile, createProfile

from tintmix.files.errors import cannot_write
from tintmix.files.stamp import made_at, made_by
from tintmix.files.write import Outputs, reason
from tintmix.pictures.style import DOTS_PER_INCH, drawing


def save_picture(figure: Figure, where: str | os.PathLike[str], replace: bool = False) -> Path:
    """Write a figure as PNG, SVG or PDF, by the ending of the file's name; the path that was written.

    The file is made beside its place under another name and moved there when it is whole. The date inside comes from
    SOURCE_DATE_EPOCH and is left out where that is not set, so that the same figure gives the same bytes. replace: whatever
    stands there, not only a picture of tintmix. Raises ValueProblem, InUse, CannotWrite.
    """
    target = Path(where)
    ending = target.suffix.lower()
    with Outputs(replace=replace) as outputs:
        waiting = outputs.picture(target)
        drawn = io.BytesIO()
        try:
            with drawing():
                figure.savefig(
                    drawn,
                    format=ending[1:],
                    dpi=DOTS_PER_INCH,
                    facecolor=figure.get_facecolor(),
                    metadata=_metadata(ending),
                    **_own(ending),
                )
            content = drawn.getvalue()
            waiting.write_bytes(_numbered(content) if ending == ".svg" else content)
        except (OSError, ValueError) as problem:
            raise cannot_write(where, reason(problem)) from None
    return target


@cache
def _srgb() -> bytes:
    """The profile of sRGB, in which all colours are drawn; its date, which would change the bytes, is that of the standard."""
    made = bytearray(ImageCmsProfile(createProfile("sRGB")).tobytes())
    # ICC.1:2010, 7.2.1: bytes 24 to 35 are year, month, day, hour, minute, second. IEC 61966-2-1 is of October 1999.
    made[24:36] = struct.pack(">6H", 1999, 10, 18, 0, 0, 0)
    return bytes(made)


def _numbered(svg: bytes) -> bytes:
    """The same drawing with its parts named by order of appearance.

    The names that matplotlib gives hang on the last bit of every number, and that bit on where numpy's arrays happen
    to lie in memory; nothing that is drawn does.
    """
    names: dict[bytes, bytes] = {}
    for name in re.findall(rb'id="([a-z][0-9a-f]{10})"', svg):
        names.setdefault(name, b"part%d" % (len(names) + 1))
    return re.sub(rb'(?<=["#])[a-z][0-9a-f]{10}(?=[")])', lambda found: names.get(found[0], found[0]), svg)


def _own(ending: str) -> Mapping[str, Any]:
    """What only one kind of file takes."""
    return {"pil_kwargs": {"icc_profile": _srgb()}} if ending == ".png" else {}


def _metadata(ending: str) -> Mapping[str, Any]:
    made = datetime.fromisoformat(made_at()) if os.environ.get("SOURCE_DATE_EPOCH") else None
    if ending == ".png":
        return {"Software": made_by()} | ({} if made is None else {"Creation Time": made.isoformat()})
    if ending == ".svg":
        return {"Creator": made_by(), "Date": None if made is None else made.isoformat()}
    return {"Creator": made_by(), "Producer": made_by(), "CreationDate": made}
