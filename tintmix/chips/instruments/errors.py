"""What can be wrong with an instrument's file, with what it holds, and with putting it into a chip set."""

from __future__ import annotations

from collections.abc import Sequence

from tintmix.errors import TintmixError


def some(items: Sequence[str], most: int = 8) -> str:
    """The first few of many, for a sentence.

    >>> some(["a", "b", "c"], 2)
    'a, b and 1 more'
    """
    more = f" and {len(items) - most} more" if len(items) > most else ""
    return ", ".join(items[:most]) + more


class NoSamples(TintmixError):
    """A file in which no reading was found."""

    def __init__(self, where: object, reason: str) -> None:
        super().__init__(
            f"{where}: no reading was found in it ({reason}). Give CSV, CGATS.17 or ISO 28178 text, CxF3 or JCAMP-DX."
        )


class BadInstrumentFile(TintmixError):
    """A file of a known format that breaks off or contradicts itself."""

    def __init__(self, where: object, form: str, problem: str) -> None:
        super().__init__(f"{where}: not {form} that can be read ({problem}). Export it again from the instrument.")


class TooManySamples(TintmixError):
    """More readings than any chip set needs."""

    def __init__(self, where: object, what: str, limit: int) -> None:
        super().__init__(f"{where}: more than {limit} {what}, the most that is read. Export fewer at once.")


class LibraryMissing(TintmixError):
    """A format whose library is not installed."""

    def __init__(self, where: object, form: str, package: str) -> None:
        super().__init__(
            f"{where}: {form} is read through the package {package}, which is not installed here. "
            f"Install it (pip install {package}), or export CSV."
        )


class NoMatch(TintmixError):
    """Samples that are no chip's, or could be two's."""

    def __init__(self, strangers: Sequence[str], chips: Sequence[str], unclear: Sequence[str]) -> None:
        said = []
        if unclear:
            said.append(f"{some(unclear)} could be either of two chips; say which with --map SAMPLE=CHIP")
        if strangers:
            said.append(
                f"no chip is called {some(strangers)} (the chips are {some(chips, 12)}); "
                "say --map SAMPLE=CHIP, leave one out with --map SAMPLE=, or pass over all others with --others-ignored"
            )
        super().__init__(f"{'; '.join(said)}.")


class BadMap(TintmixError):
    """A mapping that names what is not there."""

    def __init__(self, problem: str) -> None:
        super().__init__(f"--map {problem}.")


class WrongKind(TintmixError):
    """Readings of another kind than the set's."""

    def __init__(self, where: object, found: str, kind: str, advice: str) -> None:
        super().__init__(f"{where}: holds {found}, and the set is of kind {kind}. {advice}")


class ReflectionRefused(TintmixError):
    """Reflection data that say nothing of the tint."""

    def __init__(self, where: object) -> None:
        super().__init__(
            f"{where}: these are reflection readings. What a chip reflects comes from its faces and what lay "
            "behind it, not the tint. Read the chips against a light; or lay them on a measured white tile and say "
            'relative_to = "white tile" in set.toml.'
        )


class TransmissionRefused(TintmixError):
    """Transmission readings for a set on a white tile."""

    def __init__(self, where: object) -> None:
        super().__init__(
            f'{where}: these are transmission readings, but set.toml says relative_to = "white tile". '
            "Make a set of its own for them; `tintmix fit` takes both."
        )


class SettingDiffers(TintmixError):
    """The file says one thing of how the chips were read, and set.toml another."""

    def __init__(self, where: object, what: str, found: object, said: object, advice: str) -> None:
        super().__init__(f"{where}: says {what} {found}, and set.toml says {said}. {advice}")


class LooksLikeOther(TintmixError):
    """Values that look like another quantity or unit than they are taken for."""

    def __init__(self, where: object, taken: str, looks: str, why: str, advice: str) -> None:
        super().__init__(f"{where}: taken as {taken}, but the values look like {looks} ({why}). {advice}")


class GridsMixed(TintmixError):
    """Spectra on different wavelengths."""

    def __init__(self, where: object, problem: str) -> None:
        super().__init__(f"{where}: {problem}. Export all spectra on the same wavelengths.")


class ReadingRefused(TintmixError):
    """Readings with which the set could not be read any more."""

    def __init__(self, where: object, problem: str) -> None:
        super().__init__(f"{where}: these readings cannot be put into the set, and nothing was changed. {problem}")


class BadTypedColour(TintmixError):
    """A typed colour that cannot be understood."""

    def __init__(self, line: int, problem: str) -> None:
        super().__init__(
            f"line {line} of the colours: {problem}. Write the chip and its colour, such as: b1 78.2 -12.5 -20.1"
        )
