"""What the rooms below tell, in the page's words."""

from __future__ import annotations

import re

import pytest

from tests.faces.web.conftest import Client
from tintmix.errors import TintmixError
from tintmix.faces.web.units import Units
from tintmix.faces.web.words import told_in_units


def test_thicknesses_are_in_the_unit_that_was_chosen() -> None:
    inch = Units("inch")
    assert told_in_units("thicker than any chip: 60 mm (thickest chip 25.4 mm)", inch) == (
        "Thicker than any chip: 2.36 inch (thickest chip 1 inch)"
    )
    assert told_in_units("chips of 3, 12 and 25.4 mm", inch) == "Chips of 0.118, 0.472 and 1 inch"
    assert told_in_units("0.02 phr in 8 mm", Units()) == "0.02 phr in 8 mm"


def test_weights_have_the_unit_that_was_chosen_behind_them() -> None:
    ounces = Units("mm", "oz")
    said = "about 12.5 g will be left over; phr: g per 100 g of mixed resin"
    assert told_in_units(said, ounces) == "About 12.5 g (0.4409 oz) will be left over; phr: g per 100 g of mixed resin"
    assert told_in_units(said, Units()) == f"A{said[1:]}"


def test_names_keep_their_letters() -> None:
    assert told_in_units("b1: reads nothing") == "b1: reads nothing"
    assert told_in_units("chips.csv: row 2") == "chips.csv: row 2"


def test_a_typed_weight_keeps_its_digits_and_large_bounds_are_written_out() -> None:
    from tintmix.faces.web.units import number

    grams = Units("mm", "g")
    assert grams.mass(1100.25, 8) == "1100.25"
    assert grams.grams("1100,25", "a weight", 1100.25) == 1100.25
    assert Units("mm", "oz").grams("38.81017", "a weight") == pytest.approx(1100.25, abs=0.001)
    with pytest.raises(TintmixError, match="from 0 to 1000000"):
        number("abc", "a weight", 0.0, 1e6)


def test_every_question_mark_has_its_answer_on_the_screen_once(demo: Client, client: Client) -> None:
    pages = [demo.get(address).text for address in ("/tint", "/recipes", "/chips", "/sheet", "/trial", "/pigments")]
    for page in [client.get("/tint").text, *pages]:
        asked, answers = re.findall(r'popovertarget="([\w-]+)" aria', page), re.findall(r'popover id="([\w-]+)"', page)
        assert asked
        assert sorted(set(asked)) == sorted(answers)
