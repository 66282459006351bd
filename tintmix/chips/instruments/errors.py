"""What can be wrong with an instrument's file, with what it holds, and with putting it into a chip set."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from tintmix.chips.errors import some
from tintmix.errors import FileProblem, Remedy, ValueProblem
from tintmix.files.words import plain
from tintmix.numerals import numeral


@dataclass(frozen=True, slots=True)
class NoReading:
    """What stands in place of a reading. said: its words; what: the reason, as a clause behind "which is"."""

    said: str
    what: str
    remedy: Remedy
    line: int = 0


class NoMatch(ValueProblem):
    """Samples that are no chip's, or could be two's. none: no sample is a chip's."""

    def __init__(
        self, strangers: Sequence[str], chips: Sequence[str], unclear: Sequence[str], *, none: bool = False
    ) -> None:
        said = []
        if unclear:
            said.append(f"{some(unclear)} could be either of two chips")
        if strangers:
            said.append(f"no chip is called {some(strangers)} (the chips are {some(chips, 12)})")
        some_are = Remedy.SAY_OR_LEAVE_OUT if strangers else Remedy.SAY_WHICH_CHIP
        remedy = Remedy.MAP_THE_SAMPLES if none and not unclear else some_are
        super().__init__(what="; ".join(said), remedy=remedy)


class Asked(ValueProblem):
    """What a file leaves open, or says against its own values or against the chips: a question that one option settles."""


def no_samples(where: object, reason: str, remedy: Remedy = Remedy.GIVE_AN_INSTRUMENT_FILE) -> FileProblem:
    """A file in which no reading was found."""
    what = f"no reading was found in it ({reason})"
    return FileProblem(where=where, what=what, remedy=remedy)


def no_text(where: object, kind: str) -> FileProblem:
    """A file that is no text of readings. kind: what it is, such as "a workbook, or packed otherwise"."""
    return FileProblem(where=where, what=f"{kind}, and no text of readings", remedy=Remedy.SAVE_AS_CSV)


def no_table(where: object, form: str) -> FileProblem:
    """A text of another form than those that are read, such as JSON."""
    return FileProblem(where=where, what=f"it is {form}, which is not read", remedy=Remedy.SAVE_AS_CSV)


def not_light(where: object, line: int, none: NoReading) -> FileProblem:
    """A file whose only values are no share of light. none: what is said of them."""
    what = f"line {none.line or line} says “{plain(none.said, 40)}”, which is {none.what}"
    return FileProblem(where=where, what=what, remedy=none.remedy)


def other_axis(where: object, line: int, head: str, over: str) -> FileProblem:
    """Readings over something else than wavelengths."""
    what = f"line {line} heads its first column “{plain(head, 40)}”, and readings {over} are no spectrum"
    return FileProblem(where=where, what=what, remedy=Remedy.EXPORT_A_SCAN)


def not_seen(where: object, low_nm: float, high_nm: float) -> FileProblem:
    """A spectrum of what no eye sees."""
    what = f"it covers {numeral(low_nm)} to {numeral(high_nm)} nm, which is not light that is seen"
    return FileProblem(where=where, what=what, remedy=Remedy.EXPORT_ALL_SEEN)


def two_values(where: object, nm: float, one: float, other: float) -> FileProblem:
    """A wavelength that stands there twice, and not with one value."""
    what = f"the wavelength {numeral(nm)} nm stands there twice, with {numeral(one, 4)} and with {numeral(other, 4)}"
    return FileProblem(where=where, what=what, remedy=Remedy.EXPORT_ONE)


def broken(where: object, form: str, problem: str) -> FileProblem:
    """A file of a known format that breaks off or contradicts itself."""
    what = f"not {form} that can be read ({problem})"
    return FileProblem(where=where, what=what, remedy=Remedy.EXPORT_FROM_INSTRUMENT)


def too_many_samples(where: object, what: str, limit: int) -> FileProblem:
    """More readings than any chip set needs."""
    return FileProblem(where=where, what=f"more than {limit} {what}, the most that is read", remedy=Remedy.EXPORT_FEWER)


def wrong_map(what: str) -> ValueProblem:
    """A mapping of samples to chips that names what is not there."""
    return ValueProblem(where="the map of samples to chips", what=what, remedy=Remedy.CORRECT_THE_MAP)


def two_of_one_name(what: str) -> ValueProblem:
    """A map that would average two samples."""
    return ValueProblem(where="the map of samples to chips", what=what, remedy=Remedy.MAP_BY_FILE)


def wrong_kind(where: object, found: str, kind: str, remedy: Remedy) -> ValueProblem:
    """Readings of another kind than the set's."""
    return ValueProblem(where=where, what=f"holds {found}, and the set is of kind {kind}", remedy=remedy)


def setting_differs(
    where: object, what: str, found: object, said: object, remedy: Remedy, key: str = "", now: object = ""
) -> ValueProblem:
    """The file says one thing of how the chips were read, and set.toml another."""
    what = f"says {what} {found}, and set.toml says {said}"
    return ValueProblem(where=where, what=what, remedy=remedy, key=key, now=now)


def looks_like_other(where: object, taken: str, looks: str, why: str, remedy: Remedy, quantity: str = "") -> Asked:
    """Values that look like another quantity or unit than they are taken for."""
    what = f"taken as {taken}, but the values look like {looks} ({why})"
    return Asked(where=where, what=what, remedy=remedy, quantity=quantity)


def grids_mixed(where: object, what: str) -> FileProblem:
    """Spectra on different wavelengths, too coarse to be brought to each other's."""
    return FileProblem(where=where, what=what, remedy=Remedy.EXPORT_ALIKE)


def not_all_seen(where: object, what: str, sample: str = "") -> FileProblem:
    """A spectrum without a part of what is seen. sample: its name, where there are others that may be read without it."""
    if sample:
        return FileProblem(where=where, what=what, remedy=Remedy.LEAVE_OUT_THE_SAMPLE, sample=plain(sample, 40))
    return FileProblem(where=where, what=what, remedy=Remedy.EXPORT_ALL_SEEN)


def not_typed(line: int, what: str) -> ValueProblem:
    """A typed colour that cannot be understood."""
    return ValueProblem(where=f"line {line} of the colours", what=what, remedy=Remedy.TYPE_CHIP_AND_COLOUR)
