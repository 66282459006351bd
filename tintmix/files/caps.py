"""The most bytes of each kind of file that is read, checked before any work on it; docs/formats.md tells them in one table.

Each is some ten times what the largest sensible file of its kind has: what is larger is another file, and would only fill the
memory before it is refused.
"""

from __future__ import annotations

_MB = 1_000_000

SET = 16 * _MB
"""set.toml and chips.csv, each: a set of 1000 chips read at 401 wavelengths has 3 MB."""
TARGET = 16 * _MB
RESIN = 16 * _MB
TABLE = 16 * _MB
"""Other tables, such as bottles.csv."""
CURVE = 5 * _MB
INSTRUMENT = 20 * _MB
XML = 10 * _MB
"""CxF within it: a tree takes some thirty times its text."""
TYPED = _MB
"""Colours that were typed or pasted."""
TONE_CURVE = 200_000
LAYOUT = 100_000
MODEL = 64 * _MB
"""A model of five pigments has 0.44 MB."""
MODEL_VALUES = 2_000_000
"""Of it, values and tables, each of which takes up to 240 bytes of the memory, however short it is written (measured: 64 MB of
empty tables took 1.6 GB): the same model has 1700, and each chip some 30."""
SHAPE = 100 * _MB
SHAPE_VALUES = 2_000_000
"""A deck prism has 500: its pictures are few and long texts."""
RECIPE = 5 * _MB
MESH = 300 * _MB
"""Four million triangles as binary STL have 200 MB."""
MESH_TEXT = 120 * _MB
"""Of a mesh as text, and of what a 3MF file unpacks to: it takes nine times as much of the memory while it is read (measured)."""
PHOTO = 400 * _MB
PHOTO_PIXELS = 64_000_000
"""Above the largest phone picture in common use that is no upscaled one (50 million), below any picture made to fill a memory.
With six bytes each, as 16-bit files have them, a photo of so many has 384 MB."""
BOOK_PHOTO = 30 * _MB
"""A photo that is kept in a book: each stands in it for ever."""
EXPORT = 1000 * _MB
EXPORT_REST = 100 * _MB
"""Of it, what is neither photo nor a model's draws: a recipe has ten kilobytes. The rest stays on the disk while it is read."""
EXPORT_VALUES = 4_000_000
"""A recipe has 210, a model 1700: ten thousand recipes have two millions."""
