"""Sentences that the shell shares, in the page's words."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tintmix.errors import TintmixError
from tintmix.faces.web.units import Units
from tintmix.faces.web.words import SAID, page_words
from tintmix.files.errors import cannot_write

ROOT = Path(__file__).parents[3] / "tintmix"
SENTENCES = ("x: not a book. Name another with --book FILE.",)


@pytest.mark.parametrize("sentence", SENTENCES)
def test_no_option_of_the_shell_is_left(sentence: str) -> None:
    assert "--" not in page_words(sentence)
    assert "  " not in page_words(sentence)


def test_what_is_replaced_is_still_said_by_the_rooms_below() -> None:
    """A sentence that was put otherwise there must be put otherwise here."""
    text = " ".join(path.read_text(encoding="utf-8") for path in ROOT.rglob("*.py") if path.name != "words.py")
    # Sentences are broken over lines in the code; placeholders stand where names do.
    plain = re.sub(r'"\s*\n\s*f?"', "", text)
    for said, _ in SAID:
        fragment = max(re.split(r"0\.0 %|\bA2\b", said), key=len).strip()
        assert fragment in plain, said


def test_thicknesses_are_in_the_unit_that_was_chosen() -> None:
    inch = Units("inch")
    assert page_words("thicker than any chip: 60 mm (thickest chip 25.4 mm)", inch) == (
        "Thicker than any chip: 2.36 inch (thickest chip 1 inch)"
    )
    assert page_words("chips of 3, 12 and 25.4 mm", inch) == "Chips of 0.118, 0.472 and 1 inch"
    assert page_words("0.02 phr in 8 mm", Units()) == "0.02 phr in 8 mm"


def test_names_keep_their_letters() -> None:
    assert page_words("b1: reads nothing") == "b1: reads nothing"
    assert page_words("chips.csv: row 2") == "chips.csv: row 2"


def test_a_full_disk_is_told_without_the_place_of_a_file() -> None:
    said = page_words(cannot_write("/home/maker/page/history", "No space left on device"))
    assert "/home" not in said
    assert "(no space left on device). Nothing was changed" in said


def test_a_typed_weight_keeps_its_digits_and_large_bounds_are_written_out() -> None:
    from tintmix.faces.web.units import number

    grams = Units("mm", "g")
    assert grams.mass(1100.25, 8) == "1100.25"
    assert grams.grams("1100,25", "a weight", 1100.25) == 1100.25
    assert Units("mm", "oz").grams("38.81017", "a weight") == pytest.approx(1100.25, abs=0.001)
    with pytest.raises(TintmixError, match="from 0 to 1000000"):
        number("abc", "a weight", 0.0, 1e6)
