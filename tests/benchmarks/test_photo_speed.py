"""A photo of 12 million pixels, from its file to what lies in the windows of the holder sheet, beside Pillow's decoding of it.

    python -m pytest -n 0 tests/benchmarks/test_photo_speed.py --benchmark-enable -s

Processor time of one core; both take turns, the least of each counts. A simulated JPEG of quality 92.
"""

from __future__ import annotations

import io
import time

import numpy as np
from PIL import Image

from tests.photo_simulation import Shot, draw_camera, jpeg, photographed, random_pieces
from tintmix.chips.photo.load import open_photo
from tintmix.chips.photo.reading import gather_holder, read_gathered
from tintmix.chips.photo.sheet import holder

ROUNDS = 7
MOST = 6.0


def test_a_large_photo_is_read_in_a_few_decodings() -> None:
    rng = np.random.default_rng(3)
    shot = Shot(width=4032, height=3024, turn=93.0, tilt=4.0, blur=2.0, exposure=0.7)
    camera = draw_camera(rng)
    places = sum(window.role in ("chip", "check") for window in holder.WINDOWS)
    taken = photographed(rng, shot, camera, pieces=random_pieces(rng, places, 1.2))
    data = jpeg(taken.chips, camera, shot, rng, quality=92)
    decoding, reading = [], []
    for _ in range(ROUNDS):
        started = time.process_time()
        with Image.open(io.BytesIO(data)) as picture:
            picture.load()
        decoding.append(time.process_time() - started)
        started = time.process_time()
        found = read_gathered(gather_holder(open_photo(data, "chips.jpg")))
        reading.append(time.process_time() - started)
        assert len(found.places) == places
    ratio = min(reading) / min(decoding)
    print(f"a photo of 12 million pixels: {ratio:.1f} times of its decoding, of which at most {MOST:g} are asked")
    assert ratio <= MOST
