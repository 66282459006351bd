"""What a number can be: the same at every way in."""

from __future__ import annotations

import math
import re
from pathlib import Path

import pytest

from tintmix import quantities
from tintmix.errors import ValueProblem
from tintmix.files import caps
from tintmix.quantities import Quantity

ROOT = Path(__file__).resolve().parents[1]
ALL = {name: one for name, one in vars(quantities).items() if isinstance(one, Quantity)}


@pytest.mark.parametrize("name", ALL)
def test_each_quantity_has_bounds_and_nothing_beyond_them(name: str) -> None:
    one = ALL[name]
    assert one.least < one.most
    assert one.check("it", one.least) == one.least
    assert one.check("it", one.most) == one.most
    assert one.holds(0) == (one.or_none or one.least <= 0)
    for value in (
        math.nan,
        math.inf,
        -math.inf,
        10**400,
        -(10**400),
        "1",
        None,
        True,
        1 + one.most * 1.001,
        one.least - 1e-3,
    ):
        with pytest.raises(ValueProblem, match="it must be"):
            one.check("it", value)


def test_a_bound_is_told_so_that_what_lies_beyond_it_is_seen_to() -> None:
    with pytest.raises(ValueProblem, match=re.escape("100.00000001 phr; it must be from 0 to 100 phr")):
        quantities.DOSE_PHR.check("the dose", 100.00000001)


def test_the_caps_stand_in_the_docs() -> None:
    page = (ROOT / "docs" / "formats.md").read_text(encoding="utf-8").partition("## How large a file may be")[2]
    told = {float(found) for found in re.findall(r"([\d.]+) MB", page)}
    counts = ("_PIXELS", "_VALUES")
    bytes_ = {value / 1e6 for name, value in vars(caps).items() if name.isupper() and not name.endswith(counts)}
    assert told == bytes_ | {100.0, 1.0}
    assert f"{caps.PHOTO_PIXELS / 1e6:.0f} megapixels" in page
    assert f"{caps.MODEL_VALUES / 1e6:.0f} million values" in page
    assert f"{caps.EXPORT_VALUES / 1e6:.0f} million" in page
