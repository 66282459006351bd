"""The words of swatches/: set files, targets and READMEs, with gaps where make_swatches.py puts its numbers."""

_RESIN = """\
[resin]
name = "clear casting resin, invented"
refractive_index = 1.50
density_g_per_cm3 = 1.06
max_total_phr = 1.5
takes_pigment = "B"
pot_life_min = 8
demould_h = 24
cure = "24 h at 23 °C, 4 h at 65 °C"

[[resin.part]]
name = "A"
parts_by_weight = 100
hazard = "isocyanate"

[[resin.part]]
name = "B"
parts_by_weight = 90
hazard = "none"
"""

_PIGMENTS = """\
[pigments.azure]
lot = "A-17"
carrier = "solvent-free"
kind = "transparent"

[pigments.emerald]
lot = "E-04"
carrier = "solvent-free"
kind = "transparent"

[pigments.rose]
lot = "R-11"
carrier = "solvent-free"
kind = "transparent"

[pigments.violet]
lot = "V-02"
carrier = "solvent-free"
kind = "transparent"

[pigments.lemon]
lot = "L-09"
carrier = "solvent-free"
kind = "transparent"
"""

DECK_SET = f"""\
format = 1
title = "Deck-prism tints, spectra (invented chips)"

{_RESIN}
[reading]
kind = "spectrum"
relative_to = "air"        # both faces of the chip are in the reading
geometry = "total"
unit = "fraction"

{_PIGMENTS}"""

COLOURS_SET = f"""\
format = 1
title = "Deck-prism tints, L*a*b* (invented chips)"

{_RESIN}
[reading]
kind = "colour"
relative_to = "air"
geometry = "total"
light = "D65"
observer = 10

{_PIGMENTS}"""

ONE_CUP_SET = f"""\
format = 1
title = "One cup of a green mixed by eye (invented chips)"

{_RESIN}
[reading]
kind = "colour"
relative_to = "air"
geometry = "total"
light = "D65"
observer = 10

[pigments.mix]
"""

DECK_README = """\
# deck-prism: a chip set read as spectra

**Invented.** No resin, pigment or chip here exists; the numbers were made, so that every answer can be checked.

Five pigments (azure, emerald, rose, violet, lemon), three cups each between 0.01 and 0.3 phr, four cups of two
pigments, and one untinted cup. Every cup was poured as three chips, 3, 12 and 25 mm thick: 60 chips. Each has a
transmittance in air (both faces included), 380 to 730 nm in steps of 10 nm.

## How it was made

`python -m tests.make_swatches` in the repository writes this folder. The pigments' and the resin's absorption are
curves invented on a 1 nm grid (`tests/reference/deck.py`). Every chip was computed from them by the slow reference
(`tests/reference/slow.py`), which shares no code with tintmix, and then spoilt as chips are at a bench:

- every pigment of a cup was weighed 2 % off (one standard deviation);
- every chip is 0.05 mm off its thickness (one standard deviation);
- every reading has a noise of 0.003 at each wavelength.

The files do not say which way any of these went. One chip is plainly wrong: `v2-12` says 12 mm and is 30 % thicker, as
when a mould was overfilled and nobody measured again. A fit should doubt it and not follow it.
"""

COLOURS_README = """\
# deck-prism-colours: the same chips read with a colorimeter

**Invented**, as `../deck-prism`. The same 60 chips, with the same errors of dose and thickness and the same wrong chip
(`v2-12`), read as L*a*b* for D65 and the 10 degree observer, against the bare light, faces included. Each of L*, a*
and b* has a noise of 0.3 (one standard deviation).

Written by `python -m tests.make_swatches`; see `../deck-prism/README.md`.
"""

ONE_CUP_README = """\
# one-cup: the quick way

**Invented.** One cup of a green mixed by eye, poured as two chips of 3 and 12 mm, and read as L*a*b* (D65, 10 degree
observer). The whole mix counts as one pigment, `mix`, of dose 1. There is no untinted chip.

The question it is here for: how dark will this be at 60 mm, and at half the strength?

## How it was made

`python -m tests.make_swatches` in the repository, from the invented pigments of `../deck-prism`: the mix is
{recipe} phr. Each chip is about 0.05 mm off its thickness, and each of L*, a* and b*
has a noise of 0.3. The truth: at 60 mm this cup is L*a*b* {point}, and {percent} % of the light comes through.
"""

SEA_GREEN = """\
# A piece of sea-green glass, 6 mm thick, speaks for every place: what would this glass look like there?
format = 1
light = "D65"
observer = 10
also_under = ["A", "LED-B3"]

[[section]]
name = "flange"
thickness_mm = 8.0
tolerance = 2.0

[[section]]
name = "point"
thickness_mm = 60.0
tolerance = 2.0

[glass]
thickness_mm = 6.0
spectrum = "sea-green-glass.csv"
relative_to = "air"
refractive_index = 1.52

[limits]
pigments = 3
total_phr = 1.0
luminous_transmittance = 0.08
"""

CANNOT = """\
# A pale green flange and a deep amber point: no tint that looks like the one at 8 mm looks like the other at 60 mm.
format = 1
light = "D65"
observer = 10

[[section]]
name = "flange"
thickness_mm = 8.0
lab = [88.0, -14.0, -2.0]
tolerance = 2.0

[[section]]
name = "point"
thickness_mm = 60.0
lab = [52.0, 22.0, 48.0]
tolerance = 2.0

[limits]
pigments = 3
total_phr = 1.0
luminous_transmittance = 0.08
"""

BRASS_RING = """\
# A brass ring under 12 mm of resin, seen through it; flange and point over the light panel.
format = 1
light = "D65"
observer = 10
also_under = ["A"]

[[section]]
name = "flange"
thickness_mm = 8.0
lab = {flange}
tolerance = 2.0

[[section]]
name = "ring"
thickness_mm = 12.0
lab = {ring}
behind = "insert"
insert_srgb = "{brass}"
insert_width_mm = 10.0     # narrower than four times the depth: little light comes back to it from the upper face
tolerance = 3.0

[[section]]
name = "point"
thickness_mm = 60.0
lab = {point}
tolerance = 2.0

[limits]
pigments = 3
total_phr = 1.0
luminous_transmittance = 0.08
"""

TARGETS_README = """\
# targets: what a tint should look like

**Invented.** The places are those of a replica deck prism: an 8 mm flange and a 60 mm point. Written by
`python -m tests.make_swatches` in the repository.

- `sea-green-glass.toml`: a piece of glass 6 mm thick, known by its spectrum (`sea-green-glass.csv`, an invented glass),
  speaks for both places. The glass itself would be L*a*b* {flange} at the flange and {point} at
  the point (D65, 10 degree observer). With the true strengths of the pigments in `../deck-prism` a tint of
  {best} phr comes within CIEDE2000 {worst} of it at both.
- `cannot-meet-both.toml`: a pale green flange and a deep amber point. No dose of any pigment turns from the one to the
  other; the answer says what comes nearest.
- `brass-ring.toml`: a brass ring under 12 mm of resin, lit at 45 degrees and seen from above, with flange and point
  over the panel. The wanted colours are those of {ring} phr (true strengths), rounded,
  over an invented brass; its screen colour, not its spectrum, is in the file, so the ring is not met exactly.
"""

GLASSES_README = """\
# glasses: soda-lime glass to aim at

**Measured**, not invented. Absorption per mm (natural logarithm) of clear and body-tinted soda-lime glass, 360 to
790 nm: `clear.csv`, `green.csv`, `bronze.csv`, `grey.csv`. Beside each is a target that asks for a tint that looks like
this glass at two thicknesses. Bronze and grey glass are nearly black at 60 mm, so their targets are a 3 mm and a 20 mm
place.

Source: M. Rubin, Solar Energy Materials 12, 275-288 (1985), doi:10.1016/0165-1633(85)90052-8, as the
refractiveindex.info database gives it (public domain, CC0 1.0). The target files are part of tintmix;
`python -m tests.make_swatches` in the repository writes this folder.
"""

GLASS_HEADER = """\
# Absorption coefficient [1/mm, natural log] of {name} soda-lime glass.
# M. Rubin, Solar Energy Materials 12, 275-288 (1985), doi:10.1016/0165-1633(85)90052-8.
# refractiveindex.info database, CC0 1.0 (glass/soda-lime/Rubin, upstream commit a66ef8805cdb).
"""

GLASS_TARGET = """\
# A tint that looks like {name} soda-lime glass at both places; the glass is known by its absorption.
format = 1
light = "D65"
observer = 10
also_under = ["A"]

[[section]]
name = "thin"
thickness_mm = {thin}
tolerance = 2.0

[[section]]
name = "thick"
thickness_mm = {thick}
tolerance = 2.0

[glass]
absorption = "{name}.csv"
refractive_index = 1.52

[limits]
pigments = 3
total_phr = 1.0
"""

CASTINGS_README = """\
# Castings

Meshes for `tintmix shape`, in mm, invented for tintmix and free to use:

- `deck-prism.obj`: a replica deck prism, such as once lit the hold of a ship: a hexagonal flange, 90 mm from flat to flat and
  8 mm thick, its top at z = 0, and under it a pyramid of 60 mm from flat to flat whose point lies at z = -60 mm.
- `brass-ring.obj`: a ring of 40 mm outer diameter and 3 × 3 mm in profile, its middle at z = -4 mm; some prisms are cast
  around it.

Both are made by a script (`tests/make_swatches.py`).
"""
