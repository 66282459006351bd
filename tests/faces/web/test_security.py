"""Who may ask, and how much. What browsers send: Fetch and Fetch Metadata (whatwg.org, w3.org)."""

from __future__ import annotations

import errno
import re
import subprocess
import sys
from pathlib import Path

import pytest

from tests.faces.web.conftest import PORT, TOKEN, Client
from tintmix.faces.web import security
from tintmix.faces.web.app import SCREENS, router_of, state_of

SCREEN_PATHS = ("/tint", "/chips", "/pigments", "/recipes")


@pytest.mark.parametrize("host", ["evil.example", f"evil.example:{PORT}", "127.0.0.1", f"127.0.0.1:{PORT + 1}", ""])
def test_a_foreign_host_is_refused(client: Client, host: str) -> None:
    answer = client.get("/tint", headers={"host": host})
    assert answer.status_code == 400
    assert "Chips" not in answer.text


@pytest.mark.parametrize("host", [f"127.0.0.1:{PORT}", f"localhost:{PORT}", f"[::1]:{PORT}"])
def test_the_names_of_this_machine_are_ours(client: Client, host: str) -> None:
    headers = {"host": host, "cookie": f"tintmix-{PORT}={TOKEN}"}
    assert client.get("/tint", headers=headers).status_code == 200


@pytest.mark.parametrize(
    "origin",
    [
        "http://evil.example",
        "null",
        f"http://127.0.0.1:{PORT + 1}",
        f"https://127.0.0.1:{PORT}",
        f"http://localhost:{PORT}",
    ],
)
def test_a_form_from_another_origin_is_refused(client: Client, origin: str) -> None:
    answer = client.fill("/settings", {"length": "inch"}, headers={"origin": origin})
    assert answer.status_code == 403
    assert client.workspace.now().revision == 0


def test_a_form_without_an_origin_needs_the_browsers_word(client: Client) -> None:
    del client.headers["origin"]
    assert client.fill("/settings").status_code == 403
    assert client.fill("/settings", headers={"sec-fetch-site": "same-origin"}).status_code == 200


@pytest.mark.parametrize("site", ["cross-site", "same-site"])
def test_pictures_and_scripts_of_other_pages_get_nothing(client: Client, site: str) -> None:
    assert client.get("/tint", headers={"sec-fetch-site": site, "sec-fetch-mode": "no-cors"}).status_code == 403
    assert client.get("/tint", headers={"sec-fetch-site": site, "sec-fetch-mode": "navigate"}).status_code == 200


def test_a_form_without_its_token_is_refused(client: Client) -> None:
    answer = client.post("/settings", data={"form_token": "x", "length": "inch"})
    assert answer.status_code == 403
    assert "Load the page again" in answer.text


@pytest.mark.parametrize("path", [*SCREEN_PATHS, "/", "/tint/look", "/work/0", "/static/page.css"])
def test_nobody_without_the_token_gets_in(client: Client, path: str) -> None:
    client.cookies.clear()
    assert client.get(path).status_code == 403
    client.cookies.set(f"tintmix-{PORT}", "another")
    assert client.get(path).status_code == 403


@pytest.mark.parametrize("path", ["/static/nope", "/nowhere", "/static/%00", "/tint"])
def test_nothing_is_rendered_for_a_stranger(client: Client, path: str) -> None:
    """Nor is told to him what is told once."""
    page = state_of(client.page_app)
    page.told.append("Kept as pour 2.")
    client.cookies.clear()
    answer = client.get(path)
    assert answer.status_code in (403, 404)
    assert len(answer.text) < 500
    for inside in (page.form_token, "Kept as pour 2.", "<form", "Chips"):
        assert inside not in answer.text
    client.cookies.set(f"tintmix-{PORT}", TOKEN)
    assert page.form_token not in client.get("/static/nope").text
    assert "Kept as pour 2." in client.get("/tint").text


def test_a_fault_tells_a_stranger_nothing(client: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*_: object) -> int:
        raise RuntimeError

    monkeypatch.delenv("TINTMIX_DEBUG", raising=False)
    monkeypatch.setattr(security.Guard, "_has_cookie", broken)
    answer = client.get("/tint")
    assert answer.status_code == 500
    assert state_of(client.page_app).form_token not in answer.text


def test_the_printed_address_lets_in_and_leaves_no_token_behind(client: Client) -> None:
    client.cookies.clear()
    assert client.get("/?token=wrong").status_code == 403
    answer = client.get(f"/?token={TOKEN}")
    assert answer.status_code == 200
    cookie = answer.headers["set-cookie"]
    assert "HttpOnly" in cookie
    assert "samesite=strict" in cookie.lower()
    assert TOKEN not in answer.text
    assert client.get("/tint").status_code == 200


@pytest.mark.parametrize("path", [*SCREEN_PATHS, "/static/page.css", "/nowhere", "/?token=a"])
def test_every_answer_is_stamped(client: Client, path: str) -> None:
    answer = client.get(path)
    policy = answer.headers["content-security-policy"]
    assert "default-src 'self'" in policy
    assert "unsafe" not in policy
    assert "frame-ancestors 'none'" in policy
    assert answer.headers["x-content-type-options"] == "nosniff"
    # no-referrer would make our own forms send "Origin: null".
    assert answer.headers["referrer-policy"] == "same-origin"
    assert answer.headers["cross-origin-resource-policy"] == "same-origin"


@pytest.mark.parametrize("path", SCREEN_PATHS)
def test_screens_are_not_stored_by_the_browser(client: Client, path: str) -> None:
    assert client.get(path).headers["cache-control"] == "no-store"


def test_templates_hold_no_style_or_script_of_their_own() -> None:
    folder = Path(security.__file__).parent / "templates"
    for path in folder.glob("*.html"):
        text = path.read_text(encoding="utf-8")
        assert not re.search(r"\sstyle=|<style|\son[a-z]+=|javascript:|\|safe", text), path.name
        assert not re.search(r"<script(?![^>]*\ssrc=\"/static/)", text), path.name
        assert not re.search(r"(?:src|href|action)=\"(?:https?:)?//", text), path.name


def test_scripts_ask_nobody_else() -> None:
    folder = Path(security.__file__).parent / "static"
    for path in [*folder.glob("*.js"), *folder.glob("*.css")]:
        text = path.read_text(encoding="utf-8").replace('"http://www.w3.org/2000/svg"', "")
        assert not re.search(r"https?://|eval\(|innerHTML|@import|document\.write", text), path.name


def test_an_oversize_body_is_refused_by_what_it_says(client: Client) -> None:
    answer = client.post("/settings", content=b"", headers={"content-length": str(security.SMALL_BODY_BYTES + 1)})
    assert answer.status_code == 413
    assert client.post("/settings", content=b"", headers={"content-length": "9" * 5000}).status_code == 413
    for said, back in (("/tint?a=1&b=2", "/tint?a=1&amp;b=2"), ("//elsewhere", "/"), ("/\\elsewhere", "/"), ("", "/")):
        told = {"content-length": "9" * 12, "referer": f"http://127.0.0.1:{PORT}{said}"}
        assert f'<a href="{back}">Back</a>' in client.post("/settings", content=b"", headers=told).text


def test_an_oversize_body_is_refused_as_it_comes(client: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(security, "SMALL_BODY_BYTES", 1000)

    def pieces() -> object:
        for _ in range(5):
            yield b"a" * 500

    answer = client.post("/settings", content=pieces(), headers={"content-type": "application/x-www-form-urlencoded"})
    assert answer.status_code == 413


def test_a_file_over_the_limit_is_refused(client: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(security, "SMALL_BODY_BYTES", 100_000)
    answer = client.fill("/chips/upload", files={"files": ("chips.csv", b"a" * 200_000)})
    assert answer.status_code == 413


def test_too_many_boxes_are_refused(client: Client) -> None:
    answer = client.fill("/settings", {f"box{i}": "1" for i in range(7000)})
    assert answer.status_code == 413


@pytest.mark.parametrize(
    "path",
    [
        "/nowhere", "/static/../app.py", "/static/%2e%2e%2fapp.py", "/static/..%5capp.py", "/static/page.css%00.js",
        "/static/", "/work/../../etc/passwd", "/recipes/recipe/..%2f..%2fstate.json", "/recipes/recipe/0123456789abcdef.json",
        "/work/0123456789abcdef", "/chips/chip?chip=a1-3", "/chips/chips.csv", "/chips/plan",
    ],
)  # fmt: skip
def test_what_is_not_there_is_404_and_one_sentence(client: Client, path: str) -> None:
    answer = client.get(path)
    assert answer.status_code == 404
    assert "Traceback" not in answer.text
    assert str(client.workspace.folder) not in answer.text


@pytest.mark.parametrize(
    ("method", "path"),
    [("POST", "/tint"), ("GET", "/undo"), ("GET", "/tint/doses"), ("PUT", "/chips"), ("DELETE", "/recipes")],
)
def test_the_wrong_method_is_405(client: Client, method: str, path: str) -> None:
    answer = client.request(method, path)
    assert answer.status_code == 405
    assert answer.headers["allow"]


def test_what_is_no_form_is_400(client: Client) -> None:
    assert client.post("/settings", json={"length": "inch"}).status_code == 400


def test_a_fault_of_ours_shows_nothing_of_the_inside(client: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    from tintmix.faces.web.routes import tint as tint_screen

    monkeypatch.delenv("TINTMIX_DEBUG", raising=False)

    def broken(*_: object) -> object:
        raise RuntimeError("secret /home/maker/file")

    monkeypatch.setattr(tint_screen, "model_at_hand", broken)
    answer = client.get("/tint")
    assert answer.status_code == 500
    assert "secret" not in answer.text
    assert "fault of tintmix" in answer.text


def test_a_damaged_list_is_told_and_not_overwritten(client: Client) -> None:
    state = client.workspace.folder / "state.json"
    state.write_text("{ half", encoding="utf-8")
    answer = client.get("/tint")
    assert answer.status_code == 422
    assert "is damaged" in answer.text
    assert state.read_text(encoding="utf-8") == "{ half"


def test_a_script_is_told_in_json(client: Client) -> None:
    answer = client.get("/nowhere", headers={"accept": "application/json"})
    assert answer.json()["error"]


def test_each_screen_has_its_address() -> None:
    for first in SCREENS:
        assert f"/{first}" in {getattr(route, "path", "") for route in router_of(first).routes}


def test_the_first_screen_waits_for_no_other() -> None:
    """The others take 0.3 s to import."""
    code = (
        "import sys, tempfile; from starlette.testclient import TestClient; from tintmix.faces.web.app import create_app; "
        "page = TestClient(create_app(tempfile.mkdtemp(), 'token'), base_url='http://127.0.0.1:8421'); "
        "assert page.get('/?token=token').status_code == 200; "
        "print(sorted({'tintmix.faces.web.routes.sheet', 'scipy', 'matplotlib', 'fpdf', 'PIL'} & set(sys.modules)), "
        "page.get('/sheet').status_code, page.get('/nowhere').status_code, page.get('/sheet/make').status_code)"
    )
    said = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert said.stdout.strip() == "[] 200 404 405"


@pytest.mark.parametrize(
    "others",
    ['other={"a":[1,2]}', "my cookie=1; a@b(c)=d", 'x="a;b"', "x=\u00e9\u00ff".encode().decode("latin-1"), "=;;;"],
)
def test_cookies_of_other_programs_do_not_lock_out(client: Client, others: str) -> None:
    """Cookies know no ports (RFC 6265, 8.5): all that another program on this machine sets comes along, well formed or not."""
    client.cookies.clear()
    for cookie in (f"{others}; tintmix-{PORT}={TOKEN}", f"tintmix-{PORT}={TOKEN}; {others}"):
        assert client.get("/tint", headers={"cookie": cookie.encode("latin-1")}).status_code == 200
    for cookie in (others, f"{others}; tintmix-{PORT}={TOKEN}x", f"tintmix-{PORT + 1}={TOKEN}"):
        assert client.get("/tint", headers={"cookie": cookie.encode("latin-1")}).status_code == 403


def test_a_fault_of_ours_is_stamped_too(client: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    from tintmix.faces.web.routes import tint as tint_screen

    monkeypatch.delenv("TINTMIX_DEBUG", raising=False)
    monkeypatch.setattr(tint_screen, "model_at_hand", lambda *_: 1 / 0)
    answer = client.get("/tint")
    assert answer.status_code == 500
    assert "default-src 'self'" in answer.headers["content-security-policy"]
    assert answer.headers["x-content-type-options"] == "nosniff"
    assert answer.headers["cache-control"] == "no-store"


def test_a_form_that_is_cut_off_is_told_in_our_words(client: Client) -> None:
    answer = client.post("/settings", content=b"x", headers={"content-type": "multipart/form-data"})
    assert answer.status_code == 400
    assert "boundary" not in answer.text
    assert "Load the page again" in answer.text


def test_an_upload_for_which_the_disk_has_no_room_is_told(client: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    from tintmix.faces.web.routes import tint as tint_screen

    def full(*_: object) -> object:
        raise OSError(errno.ENOSPC, "No space left on device", "/tmp/secret")

    monkeypatch.setattr(tint_screen, "model_at_hand", full)
    answer = client.get("/tint")
    assert answer.status_code == 507
    assert "make room there" in answer.text
    assert "secret" not in answer.text
