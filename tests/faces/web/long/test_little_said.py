"""Every screen with each of the resins that say only what they must."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.faces.web.conftest import Client
from tests.faces.web.test_little_said import RESINS, only_what_it_must, through_every_screen


@pytest.mark.parametrize("resin", [resin for resin in RESINS if resin != "no cure"])
def test_every_screen_opens(demo: Client, book: Path, resin: str) -> None:
    through_every_screen(demo, only_what_it_must(demo, RESINS[resin]))
