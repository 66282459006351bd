"""What can go wrong on Sheet, Trial chip and Recipe book; and sentences written for the shell in the words of the page."""

from __future__ import annotations

from collections.abc import Iterable

from tintmix.errors import TintmixError
from tintmix.files.words import plain

SAID_BY_THE_SHELL = (
    (" Name its file with --resin.", " Choose a resin below."),
    ("Write a [[part]] table for each into the resin file and name that file.", "Choose another resin below."),
    (
        "Weigh what is in it and say so with --left, or make a new one.",
        "Weigh what is in it and say so in the Recipe book.",
    ),
    (", or name another with --book FILE", ""),
    (" Name a file in a folder that exists and that you may write to, with --book FILE.", ""),
    (" Name another file with --book.", ""),
    ("Export it again with `tintmix book export`.", "Export it again from its book."),
    ("`tintmix adjust` tells", "Trial chip tells"),
    ("tintmix adjust tells", "Trial chip tells"),
)
"""What the shell says, and the page instead."""


def page_words(sentence: str) -> str:
    """A sentence of ours without the shell's options.

    >>> page_words("bottle: holds 2 g. Weigh what is in it and say so with --left, or make a new one.")
    'bottle: holds 2 g. Weigh what is in it and say so in the Recipe book.'
    """
    for said, instead in SAID_BY_THE_SHELL:
        sentence = sentence.replace(said, instead)
    return sentence


class OnThePage(TintmixError):
    """An error of another room in the page's words: no option of the shell, no place of a file that the page keeps."""

    def __init__(self, problem: TintmixError, names: Iterable[tuple[object, str]] = ()) -> None:
        from tintmix.book.file import book_place

        sentence = str(problem)
        for place, name in (*names, (book_place(), "the recipe book")):
            sentence = sentence.replace(str(place), name)
        super().__init__(page_words(sentence), remedy=problem.remedy)
        self.facts = problem.facts


class LearntAnew(TintmixError):
    """A recipe whose model the page does not hold any more."""

    def __init__(self, recipe: str) -> None:
        super().__init__(
            f"{plain(recipe)}: it was found with other chips than those that the pigments are known from now, so its colours "
            "cannot be told. Find it again on Recipes, or go back with Undo."
        )


class NothingTyped(TintmixError):
    """Something recorded of which nothing is said."""

    def __init__(self, what: str, wanted: str) -> None:
        super().__init__(f"{what}: nothing is typed. {wanted}")
