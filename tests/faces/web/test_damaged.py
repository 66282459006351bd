"""A page whose list of what it keeps is damaged: it says so, and offers what is left."""

from __future__ import annotations

import re

from tests.faces.web.conftest import Client, ok


def test_a_damaged_list_gives_way_to_an_older_one(client: Client) -> None:
    for i in range(1, 4):
        client.workspace.change("a dose", {"tint": {"doses": {"azure": 0.01 * i}}}, {})
    (client.workspace.folder / "state.json").write_bytes(b"\0" * 100)
    shown = client.get("/sheet")
    assert shown.status_code == 422
    assert "state.json" in shown.text
    assert client.get("/tint", headers={"accept": "application/json"}).status_code == 422
    boxes = dict(re.findall(r'name="(\w+)" value="([^"]*)"', shown.text.partition("</form>")[0]))
    assert boxes["revision"] == "2"
    assert client.post("/go-on", data={"revision": "2"}).status_code == 403, "without the form's token"
    assert client.post("/go-on", data=boxes | {"revision": "17"}).status_code == 422, "there is no such list"
    again = ok(client.post("/go-on", data=boxes))
    assert "whole again" in again.text
    assert client.workspace.now().area("tint") == {"doses": {"azure": 0.02}}


def test_with_no_older_list_an_empty_one_can_be_begun(client: Client) -> None:
    (client.workspace.folder / "state.json").write_text('{"is": "another program"}', encoding="utf-8")
    shown = client.get("/")
    assert "No older list is whole" in shown.text
    assert shown.text.count("<form") == 1
    boxes = dict(re.findall(r'name="(\w+)" value="([^"]*)"', shown.text))
    ok(client.post("/go-on", data=boxes))
    assert client.workspace.now().areas == {}
