"""IUPAC JCAMP-DX (4.24 and 5): one spectrum or many blocks, plain or squeezed numbers, X in nm, µm, Å or 1/cm.

McDonald and Wilks, Appl. Spectrosc. 42, 151 (1988). Own parsing: the library of that name loops for ever on some
damaged squeezed lines, prints to standard output, and reads DUP counts of more than one digit wrongly. It stands
beside this in tests.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace

import numpy as np

from tintmix.chips.instruments.errors import NoReading, broken, no_samples, not_light, too_many_samples
from tintmix.chips.instruments.meaning import KEYWORD, settled
from tintmix.chips.instruments.ordinates import NO_SHARE, no_reading_in, turned_in
from tintmix.chips.instruments.sample import MOST_POINTS, MOST_SAMPLES, Sample, SampleFile, spectrum
from tintmix.chips.instruments.words import quantity_in, to_nm, unit_in, wave_scale
from tintmix.errors import Remedy
from tintmix.files.table import number_of
from tintmix.files.words import plain
from tintmix.numerals import numeral

_FORM = "a JCAMP-DX file"
_SQZ = {c: i for i, c in enumerate("@ABCDEFGHI")} | {c: -i for i, c in enumerate("abcdefghi", 1)}
"""First digits, with their sign, of squeezed numbers (McDonald and Wilks, as those below)."""
_DIF = {c: i for i, c in enumerate("%JKLMNOPQR")} | {c: -i for i, c in enumerate("jklmnopqr", 1)}
"""First digits of differences."""
_DUP = {c: i for i, c in enumerate("STUVWXYZ", 1)} | {"s": 9}
"""First digits of repeats."""
_TOKEN = re.compile(
    r"([@A-Ia-i%J-Rj-rS-Zs])([0-9]*\.?[0-9]*)|([+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-][0-9]{1,3}(?![0-9]))?)"
    r"|(\?)|([ \t,;]+)|(.)"
)
_PLAIN = re.compile(
    r"\s*[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[\s,;]+[+-]?(?:[0-9]+\.[0-9]*|\.[0-9]+)[eE][0-9]{1,3})+\s*"
)
# An E without a sign is a squeezed 5, not an exponent, unless the whole line is plain numbers.
_DECIMAL_COMMAS = re.compile(
    r"\s*[+-]?[0-9]+,[0-9]+(?:[;\s]\s*|,\s+)[+-]?[0-9]+,[0-9]+(?:[;,\s]+[+-]?[0-9]+,[0-9]+)*\s*"
)
_PEAKS = re.compile(r"(?im)^##\s*(?:PEAK\s*TABLE|PEAK\s*ASSIGNMENTS|NTUPLES|ASSIGNMENTS)")
"""What stands in place of a spectrum."""
_LONGEST_LINE = 5_000
"""JCAMP-DX asks for 80 characters at most; files that do not keep to that are let through far beyond it."""


@dataclass(slots=True)
class _Block:
    records: dict[str, str] = field(default_factory=dict)
    data: list[tuple[int, str]] = field(default_factory=list)
    shape: str = ""
    line: int = 0


def parse_jcamp(text: str, where: str, stem: str) -> SampleFile:
    """The spectra of a JCAMP-DX text, one a block. Raises FileProblem."""
    blocks = [block for block in _blocks(text, where) if block.shape]
    # Variances, darks and references stand beside a spectrum in blocks of their own.
    light = [block for block in blocks if _is_light(block)]
    if blocks and not light:
        first = blocks[0]
        said = first.records.get("YUNITS", "")
        why = no_reading_in(said) or NoReading("", NO_SHARE, Remedy.EXPORT_TRANSMITTANCE)
        raise not_light(where, first.line, replace(why, said=f"##YUNITS={said}"))
    if not blocks and (kind := _PEAKS.search(text)):
        line = text.count("\n", 0, kind.start()) + 1
        raise no_samples(
            where, f"line {line} says {kind.group()}, and only whole spectra are read", Remedy.EXPORT_A_SCAN
        )
    samples = [_sample(block, where, stem, len(light) == 1) for block in light]
    left = len(blocks) - len(light)
    notes = (f"{left} of its {len(blocks)} blocks hold no share of light, and were passed over",) if left else ()
    return SampleFile(where, "JCAMP-DX", settled(samples, where), notes)


def _is_light(block: _Block) -> bool:
    said = block.records.get("YUNITS", "").strip()
    bare = re.sub(r"\W", "", said).upper()
    can_be = quantity_in(said) is not None or turned_in(said) is not None or bare in ("", "ARBITRARYUNITS")
    return no_reading_in(said) is None and can_be


def _blocks(text: str, where: str) -> list[_Block]:
    """The labelled records of each block; a block of blocks has none of its own that are of use."""
    open_blocks: list[_Block] = []
    done: list[_Block] = []
    label = ""
    for number, raw in enumerate(text.splitlines(), 1):
        line = raw.split("$$", 1)[0].rstrip()
        if not line.strip():
            continue
        if len(line) > _LONGEST_LINE:
            raise broken(where, _FORM, f"line {number} is longer than {_LONGEST_LINE} characters")
        if line.lstrip().startswith("##"):
            head, equals, rest = line.lstrip()[2:].partition("=")
            if not equals and head.strip().upper() != "END":
                raise broken(where, _FORM, f"line {number} begins with ## but has no =")
            label = re.sub(r"[\s\-/_]", "", head).upper()
            if label == "TITLE":
                if len(open_blocks) > 20:
                    raise broken(where, _FORM, "its blocks are nested too deeply")
                if len(done) + len(open_blocks) > MOST_SAMPLES:
                    raise too_many_samples(where, "blocks", MOST_SAMPLES)
                open_blocks.append(_Block(line=number))
            if not open_blocks:
                raise broken(where, _FORM, "it does not begin with ##TITLE=")
            if label == "END":
                done.append(open_blocks.pop())
                if not open_blocks:
                    label = ""
                continue
            if label in ("XYDATA", "XYPOINTS"):
                open_blocks[-1].shape = re.sub(r"\s", "", rest).upper()
                open_blocks[-1].data = []
                label = "DATA"
            else:
                open_blocks[-1].records[label] = rest.strip()
        elif label == "DATA" and open_blocks:
            open_blocks[-1].data.append((number, line))
        elif label and open_blocks:
            old = open_blocks[-1].records.get(label, "")
            if len(old) < 10_000:
                open_blocks[-1].records[label] = f"{old} {line.strip()}"
    if open_blocks:
        raise broken(where, _FORM, "it has no ##END=, so it may be cut short")
    # Inner blocks end first; as the file has them is how a maker counts them.
    return done


def _sample(block: _Block, where: str, stem: str, is_only: bool) -> Sample:
    said = block.records
    title = plain(said.get("TITLE", ""), 80)
    place = f"{where}, block {title or stem}"
    x_unit, y_unit = said.get("XUNITS", "").strip(), said.get("YUNITS", "").strip()
    scale = wave_scale(x_unit)
    if scale is None:
        raise broken(place, _FORM, f"its ##XUNITS={plain(x_unit)!r} is neither NANOMETERS nor 1/CM")
    if block.shape == "(X++(Y..Y))":
        x, y = _rows(block, place)
    elif block.shape in ("(XY..XY)", "(X,Y..X,Y)"):
        x, y = _pairs(block, place)
    else:
        raise broken(place, _FORM, f"its data are {plain(block.shape)!r}, not (X++(Y..Y)) or (XY..XY)")
    if np.any(x <= 0):
        raise broken(place, _FORM, "a wavelength or wavenumber is not above zero")
    x = np.array([to_nm(one, scale) for one in x.tolist()])
    turned = turned_in(y_unit)
    quantity = "absorbance" if turned else quantity_in(y_unit)
    values = turned.absorbance(y.tolist()) if turned else y.tolist()
    # The bare word is a fraction by the standard, and as often percent: its values tell. Only what says so is held to it.
    unit = unit_in(y_unit) if quantity != "absorbance" else None
    told = ({"quantity": KEYWORD} if quantity else {}) | ({"unit": KEYWORD} if unit else {})
    other = stem if is_only and stem != title else ""
    return spectrum(_FORM, place, title or stem, x.tolist(), values, quantity=quantity, unit=unit, read_from=told,
                    line=block.line, other_name=other if title else "")  # fmt: skip


def _number(block: _Block, label: str, place: str, default: float | None = None) -> float:
    text = block.records.get(label, "").strip()
    if not text and default is not None:
        return default
    value = number_of(text, decimal_comma=True)
    if value is None:
        raise broken(place, _FORM, f"##{label}={plain(text)!r} is no number" if text else f"it has no ##{label}=")
    return value


def _rows(block: _Block, place: str) -> tuple[np.ndarray, np.ndarray]:
    """(X++(Y..Y)): X by FIRSTX, LASTX and NPOINTS, as the standard has it; the X of each line only checks."""
    by_step = "DELTAX" in block.records
    count = _number(block, "NPOINTS", place, float(_counted(block, place)) if by_step else None)
    if count != int(count) or not 2 <= count <= MOST_POINTS:
        raise broken(place, _FORM, f"##NPOINTS={numeral(count)}; it must be from 2 to {MOST_POINTS}")
    first = _number(block, "FIRSTX", place)
    last = _number(block, "LASTX", place, first + _number(block, "DELTAX", place) * (count - 1) if by_step else None)
    x_factor, y_factor = _number(block, "XFACTOR", place, 1.0), _number(block, "YFACTOR", place, 1.0)
    x = np.linspace(first, last, int(count))
    if first == last or not np.isfinite(x).all():
        raise broken(place, _FORM, "##FIRSTX and ##LASTX are the same")
    step = abs(x[1] - x[0])
    values: list[float] = []
    differences = False
    # Where FIRSTX has a decimal comma, so have the rows, parted by blanks.
    comma = "," in block.records.get("FIRSTX", "")
    for number, line in block.data:
        at, read, ends_in_difference = _squeezed(
            re.sub(r"(?<=[0-9]),(?=[0-9])", ".", line) if comma else line, number, place
        )
        if differences:
            # After a line that ends in a difference, the next one begins with the last value again, as a check.
            if not read or abs(read[0] - values[-1]) > 0.5 + 1e-6 * abs(values[-1]):
                raise broken(place, _FORM, f"line {number} does not go on where the line before ended")
            read = read[1:]
        elif len(values) < len(x):
            here, due = at * x_factor, x[len(values)]
            if abs(here - due) > 1.5 * step + 1e-6 * abs(due):
                raise broken(place, _FORM, f"line {number} begins at x = {numeral(here)}, not at {numeral(due)}")
        values += read
        differences = ends_in_difference
        if len(values) > MOST_POINTS:
            raise too_many_samples(place, "points", MOST_POINTS)
    if len(values) != len(x):
        raise broken(place, _FORM, f"##NPOINTS={len(x)}, but {len(values)} points stand there; it may be cut short")
    return x, np.asarray(values) * y_factor


def _counted(block: _Block, place: str) -> int:
    """How many points stand in rows, where the file does not say it."""
    count, differences = 0, False
    for number, line in block.data if not block.records.get("NPOINTS", "").strip() else ():
        _, read, ends_in_difference = _squeezed(line, number, place)
        count += len(read) - differences
        differences = ends_in_difference
    return count


def _squeezed(line: str, number: int, place: str) -> tuple[float, list[float], bool]:
    """A line's X, its Y values, and whether the last of them came as a difference. AFFN, PAC, SQZ, DIF and DUP."""
    if _PLAIN.fullmatch(line):
        line = re.sub(r"[eE]", "E+", line)
    at: float | None = None
    values: list[float] = []
    difference: float | None = None
    for match in _TOKEN.finditer(line):
        letter, digits, bare, unknown, gap, stray = match.groups()
        if gap is not None:
            continue
        if stray is not None or unknown is not None:
            what = "a value is missing (?)" if unknown is not None else f"{plain(stray)!r} stands where a number should"
            raise broken(place, _FORM, f"line {number}: {what}")
        if bare is not None or letter in _SQZ:
            value = float(bare) if bare is not None else _coded(_SQZ[letter], digits)
            if at is None:
                at = value
            else:
                values.append(value)
                difference = None
        elif letter in _DUP:
            times = int(f"{_DUP[letter]}{digits}") if digits.isdigit() or not digits else 0
            if not values or not 1 <= times <= MOST_POINTS:
                raise broken(place, _FORM, f"line {number}: a repeat ({letter}{digits[:6]}) of nothing")
            for _ in range(times - 1):
                values.append(values[-1] + (difference or 0.0))
        else:
            if not values:
                raise broken(place, _FORM, f"line {number}: a difference from nothing")
            difference = _coded(_DIF[letter], digits)
            values.append(values[-1] + difference)
        if len(values) > MOST_POINTS:
            raise too_many_samples(place, "points", MOST_POINTS)
    if at is None or not np.isfinite([at, *values]).all():
        raise broken(place, _FORM, f"line {number} holds no finite numbers")
    return at, values, difference is not None


def _coded(lead: int, digits: str) -> float:
    """A first digit with its sign, and the digits after it."""
    size = float(f"{abs(lead)}{digits}")
    return -size if lead < 0 else size


def _pairs(block: _Block, place: str) -> tuple[np.ndarray, np.ndarray]:
    x_factor, y_factor = _number(block, "XFACTOR", place, 1.0), _number(block, "YFACTOR", place, 1.0)
    x: list[float] = []
    y: list[float] = []
    for number, line in block.data:
        decimal_comma = "." not in line and _DECIMAL_COMMAS.fullmatch(line) is not None
        cells = [cell for cell in re.split(r"[;\s]+|,\s+" if decimal_comma else r"[,;\s]+", line.strip()) if cell]
        try:
            read = [float(cell.replace(",", ".")) for cell in cells if len(cell) <= 40]
        except ValueError:
            read = []
        if not read or len(read) % 2 or len(read) != len(cells) or not np.isfinite(read).all():
            raise broken(place, _FORM, f"line {number} is no row of pairs of numbers")
        x += read[::2]
        y += read[1::2]
        if len(x) > MOST_POINTS:
            raise too_many_samples(place, "points", MOST_POINTS)
    said = block.records.get("NPOINTS", "").strip()
    if said.isdigit() and len(said) < 9 and int(said) != len(x):
        raise broken(place, _FORM, f"##NPOINTS={said}, but {len(x)} points stand there; it may be cut short")
    return np.asarray(x) * x_factor, np.asarray(y) * y_factor
