"""A wrong request to each route, the same each time; `python -m tests.attack` goes on from there."""

from __future__ import annotations

from tests.attack import inputs, requests
from tests.faces.web.conftest import Client


def test_whatever_is_asked_is_answered_or_told_in_a_sentence(demo: Client) -> None:
    chance = inputs.Chance(2)
    forms, links = requests.seen(demo)
    bad = {}
    for method, path in requests.routes():
        if (method == "POST" and path in requests.LONG) or (method == "HEAD" and path in requests.DEAR):
            continue
        asked = requests.request_of(demo, chance, method, path, forms, links)
        if fault := requests.reply_at_fault(demo, asked):
            bad[method, path] = (fault, asked)
    assert bad == {}
