"""docs/proof.md holds what the kept results say, each part with its program, date and cores; every plot is there."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from tests.proof import page
from tests.proof.kept import RESULTS, kept, make

TEXT = page.PAGE.read_text(encoding="utf-8")


def test_the_page_is_put_together_from_what_is_kept(tmp_path: Path) -> None:
    again = tmp_path / "proof.md"
    again.write_text(TEXT, encoding="utf-8")
    page.put(again, RESULTS)
    assert again.read_text(encoding="utf-8") == TEXT


def test_each_figure_names_what_made_it() -> None:
    for name in page.WORDS:
        found = kept(name)
        if found is None:  # its place in the page is empty until it is made
            continue
        assert re.fullmatch(r"\d{4}-\d\d-\d\d", found["made"]["date"])
        assert f"*`{found['made']['program']}" in TEXT
    assert all((page.PAGE.parent / place).is_file() for place in re.findall(r"\]\((pictures/[^)]+)\)", TEXT))


def test_what_was_tried_held() -> None:
    """A page that says otherwise is not to be shipped unread."""
    hard, outside = kept("hard") or {"attacks": [], "kills": []}, kept("outside")
    assert outside is not None
    assert [row for row in hard["attacks"] if row["did_not_hold"]] == []
    assert [row for row in hard["kills"] if row["missing"] != 0] == []
    assert [row for row in outside["rows"] if row["difference"] > row["within"]] == []


@pytest.mark.parametrize("values", [[1.0, -2.5], [[1, 2], [3, 4]], [], ["a", "b"], [{"a": [0.5]}], [None, 1]])
def test_results_are_kept_whole(values: object, tmp_path: Path) -> None:
    made = make("some", lambda: {"values": values, "more": 1}, tmp_path)
    assert kept("some", tmp_path) == json.loads(json.dumps(made))
    assert kept("none", tmp_path) is None
