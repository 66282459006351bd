"""A camera's raw file to linear camera channels, through the library rawpy."""

from __future__ import annotations

import contextlib
import io
import warnings

import numpy as np
from PIL import Image

from tintmix.chips.photo.errors import decoding, not_a_photo
from tintmix.chips.photo.frame import STACKED, Photo, camera_settings, check_shape
from tintmix.chips.photo.journey import exif_of
from tintmix.errors import FileProblem, LibraryMissing, Remedy

CLIPPED_AT = 64_800
"""Of 65 535, where the sensor's white level is put: above it a well, or one of those that were averaged, was full."""

STACKED_LAYERS = (
    "its sensor has stacked layers in place of colour filters, which what is known of cameras in general does not fit; "
    "give the camera's measured sensitivities, or take the photo with another"
)
"""With a camera taken as unknown the fit would be off by a ΔE00 of 14 (design notes, readings)."""


def develop(source: str | bytes, start: bytes, said: str) -> Photo:
    """Linear channels (H, W, 3) of 16 bits: black level off, no white balance, no matrix, no curve.

    One pixel of each 2 × 2 block of the sensor, each channel from its own wells: no interpolation (other patterns of
    filters are interpolated linearly). source: a path, or the bytes; start: the first of them. Raises LibraryMissing,
    FileProblem.
    """
    try:
        # There are systems without it.
        import rawpy
    except ImportError:
        what = "a camera's raw file needs the library rawpy, which is not installed"
        raise LibraryMissing(where=said, what=what, remedy=Remedy.INSTALL_RAWPY) from None
    opened = io.BytesIO(source) if isinstance(source, bytes) else source
    with decoding(said, "its raw data cannot be decoded"), rawpy.imread(opened) as raw:
        check_shape(said, raw.sizes.raw_width, raw.sizes.raw_height)
        if raw.num_colors != 3:
            count = "one channel" if raw.num_colors == 1 else f"{raw.num_colors} channels"
            raise FileProblem(where=said, what=f"its sensor has {count}", remedy=Remedy.COLOUR_FILTERS)
        bayer = raw.raw_pattern is not None and raw.raw_pattern.shape == (2, 2)
        codes = raw.postprocess(
            half_size=bayer,
            demosaic_algorithm=rawpy.DemosaicAlgorithm.LINEAR,
            # Otherwise the brightest pixel of each photo would become its white level.
            adjust_maximum_thr=0.0,
            output_bps=16,
            output_color=rawpy.ColorSpace.raw,
            gamma=(1, 1),
            no_auto_bright=True,
            use_camera_wb=False,
            use_auto_wb=False,
            user_wb=[1.0, 1.0, 1.0, 1.0],
            highlight_mode=rawpy.HighlightMode.Clip,
        )
        shot = getattr(raw, "other", None)
        settings = camera_settings(
            exposure_s=getattr(shot, "shutter_speed", None) or getattr(shot, "shutter", None),
            f_number=getattr(shot, "aperture", None),
            iso=getattr(shot, "iso_speed", None),
        )
    if codes.ndim != 3 or codes.shape[2] != 3:
        raise not_a_photo(said, "its raw data hold no colour picture")
    check_shape(said, codes.shape[1], codes.shape[0])
    told = (STACKED_LAYERS,) if start[:4] == STACKED else ()
    upright = np.ascontiguousarray(codes)
    return Photo(
        said,
        upright,
        False,
        None,
        CLIPPED_AT,
        settings,
        told,
        taken_with=_taken_with(source),
        together=2 if bayer else 1,
    )


def _taken_with(source: str | bytes) -> str:
    """Camera and software, of raw files that are built as TIFF; nothing of the others."""
    with contextlib.suppress(Exception), warnings.catch_warnings():
        # The library warns of what is unusual in a TIFF, which raw files are full of.
        warnings.simplefilter("ignore")
        with Image.open(io.BytesIO(source) if isinstance(source, bytes) else source, formats=("TIFF",)) as picture:
            return exif_of(picture).taken_with
    return ""
