"""The Book screen, as Starlette's client sees it."""

from __future__ import annotations

import io
import json
import re
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from PIL import Image

from tests.faces.web.conftest import Client, ok
from tintmix.book.book import open_book
from tintmix.book.chart import individuals
from tintmix.book.values import Photo
from tintmix.faces.web.render import make_environment

NAME = "sea-green prism"
HERE = {"name": NAME}
POURS = 4


@pytest.fixture(scope="session")
def poured(demo_folder: Path, once: Callable[[str, Callable[[Path], object]], Path]) -> Path:
    """The demo with its recipe kept, its bottles on the shelf, and four pours read: the folder of the page, and its book; to be
    copied."""

    def fill(folder: Path) -> None:
        shutil.copytree(demo_folder, folder / "page")
        with pytest.MonkeyPatch.context() as patch, Client(folder / "page") as demo:
            patch.setenv("TINTMIX_BOOK", str(folder / "book.db"))
            ok(demo.fill("/sheet/keep", {"what": "recipe", "note": "first"}))
            ok(demo.fill("/sheet/keep", {"what": "shelf"}))
            for i in range(POURS):
                pour = {"poured_on": f"2025-0{i + 1}-02", "batch": "450", "weights": "azure 1+30 1,39\nA: 236.7 g\n\n"}
                ok(demo.fill("/book/pour", HERE | pour))
                read = {"place": ["flange", "point"], "L_1": f"{57 + i}", "a_1": "-56,1", "b_1": "5.5"}
                assert "Added to pour" in demo.fill("/book/add", HERE | read | {"number": str(i + 1)}).text

    return once("poured", fill)


@pytest.fixture
def filled(poured: Path, book: Path, tmp_path: Path) -> Iterator[Client]:
    """A page of its own with all that."""
    shutil.copytree(poured / "page", tmp_path / "page")
    shutil.copy(poured / "book.db", book)
    with Client(tmp_path / "page") as client:
        yield client


def test_an_empty_book_says_what_to_do(client: Client, book: Path) -> None:
    text = client.get("/book").text
    assert "Nothing is kept in the book yet" in text
    assert "Import an exported book" in text
    assert not book.exists()
    for path in ("/book/export.json", "/book/backup.db", "/book/recipe?name=x", "/book/recipe.json?name=x"):
        answer = client.get(path)
        assert answer.status_code == 404, path
        assert str(book) not in answer.text, path
    assert client.fill("/book/check").status_code == 404
    assert not book.exists()


def test_the_list_and_the_search(filled: Client, book: Path) -> None:
    ok(filled.fill("/recipes/keep", {"tint": "1", "name": "Plain blue"}))
    ok(
        filled.fill(
            "/sheet/make",
            {"resin": "recipe", "how": "batch", "grams": "450", "resin_step": "0.1", "pigment_step": "0.01"},
        )
    )
    ok(filled.fill("/sheet/keep", {"what": "recipe"}))
    text = filled.get("/book").text
    assert NAME in text
    assert "Plain blue" in text
    with open_book(book) as opened:
        assert all(one.name in text for one in opened.bottles())
    found = filled.get("/book", params={"q": "PRISM sea"}).text
    assert NAME in found
    assert "Plain blue" not in found
    assert "No recipe's name holds all of" in filled.get("/book", params={"q": "nothing <b>"}).text.replace(
        "&#39;", "'"
    )


def test_a_recipe_with_its_history(filled: Client) -> None:
    text = filled.get("/book/recipe", params=HERE).text
    assert "Does it still come out the same?" in text
    assert text.count('class="history"') == 4
    assert "Pour 4, 2025-04-02" in text
    assert "A 236.7 g; azure 1+30 1.39 g" in text
    assert "style=" not in text
    assert filled.get("/book/recipe", params=HERE | {"revision": "7"}).status_code == 404
    assert filled.get("/book/recipe", params={"name": "nobody"}).status_code == 404
    assert filled.get("/book/recipe").status_code == 404


def test_the_chart_stands_where_the_limits_are() -> None:
    """The worked example of NIST/SEMATECH e-Handbook, 6.3.2.2: mean 50.81, limits 45.8159 and 55.8041."""
    values = [49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1]
    chart = individuals(values)
    table = {"values": values, "middle": chart.middle, "low": chart.low, "high": chart.high, "signals": []}
    svg = str(make_environment().globals["svg"].history(table, list(range(1, 11)), "a <label>"))
    assert ">50.8<" in svg
    assert ">45.8<" in svg
    assert ">55.8<" in svg
    heights = {css: float(at) for at, css in re.findall(r'y2="([\d.]+)%" class="limit (\w+)"', svg)}
    assert heights["middle"] == pytest.approx((heights["low"] + heights["high"]) / 2, abs=0.02)
    dots = [float(at) for at in re.findall(r'cy="([\d.]+)%"', svg)]
    assert dots.index(min(dots)) == values.index(max(values))
    assert all(heights["high"] < dot < heights["low"] for dot in dots)
    assert "a &lt;label&gt;" in svg


def test_one_value_is_drawn_too() -> None:
    assert "circle" in str(
        make_environment()
        .globals["svg"]
        .history({"values": [1.0], "middle": None, "low": None, "high": None, "signals": []}, [1], "x")
    )


def test_two_revisions_side_by_side(filled: Client) -> None:
    assert filled.get("/book/compare", params=HERE).status_code == 422
    # The demo's tint is its recipe: without a pigment of it, it is another.
    ok(filled.fill("/tint/doses", {"dose.azure": "0.01", "dose.emerald": "0.012", "dose.rose": "0"}))
    ok(filled.fill("/recipes/keep", {"tint": "1", "name": NAME}))
    ok(
        filled.fill(
            "/sheet/make",
            {"resin": "recipe", "how": "batch", "grams": "450", "resin_step": "0.1", "pigment_step": "0.01"},
        )
    )
    assert "as revision 2" in filled.fill("/sheet/keep", {"what": "recipe"}).text
    text = filled.get("/book/compare", params=HERE | {"first": "1", "second": "2"}).text
    assert "left out" in text
    assert "ΔE00" in text
    assert filled.get("/book/compare", params=HERE | {"first": "1", "second": "9"}).status_code == 404
    assert "Revision 1 of 2" in filled.get("/book/recipe", params=HERE | {"revision": "1"}).text


def test_a_pour_and_what_came_of_it(filled: Client, book: Path) -> None:
    with open_book(book) as opened:
        pours = opened.pours(NAME)
        assert [one.pour.poured_on for one in pours] == [f"2025-0{i + 1}-02" for i in range(POURS)]
        assert pours[0].pour.weights_g == {"azure 1+30": 1.39, "A": 236.7}
        assert pours[0].readings[0].lab == (57.0, -56.1, 5.5)
    again = HERE | {"poured_on": "2025-01-02", "batch": "450", "weights": "azure 1+30 1,39\nA: 236.7 g"}
    assert (
        "I poured the same once more"
        in filled.fill("/book/pour", again).text.partition('id="problem"')[2].partition("</div>")[0]
    )
    answer = filled.fill("/book/add", HERE | {"number": "1", "set_aside": "a bubble", "note": "seen late"})
    assert "Set aside: a bubble" in answer.text
    assert "Left out: pour 1" in answer.text


def test_a_photo_of_the_part(filled: Client) -> None:
    held = io.BytesIO()
    Image.new("RGB", (8, 8), (0, 160, 130)).save(held, "PNG")
    png = held.getvalue()
    answer = filled.fill("/book/add", HERE | {"number": "2"}, files={"photos": ("..\\point.png", png)})
    address = re.search(r'src="(/book/photo/[0-9a-f]{64})"', answer.text)
    assert address
    file = filled.get(address[1])
    assert file.content == png
    assert file.headers["content-type"] == "image/png"
    with open_book(create=False) as kept:  # the shell takes files of any kind
        kept.add_to_pour(NAME, 2, photos=[Photo.of("page.html", b"<script>alert(1)</script>")])
    shown = filled.get("/book/recipe", params=HERE).text
    assert "page.html, fingerprint" in shown
    assert "<script>alert" not in shown
    for name in ("0" * 64, "x"):
        assert filled.get(f"/book/photo/{name}").status_code == 404


@pytest.mark.parametrize(
    ("path", "boxes", "status"),
    [
        ("/book/pour", {"poured_on": "yesterday"}, 422),
        ("/book/pour", {"batch": "-1"}, 422),
        ("/book/pour", {"batch": "450", "weights": "azure 1000"}, 422),
        ("/book/pour", {"weights": "azure"}, 422),
        ("/book/pour", {"weights": "azure lots"}, 422),
        ("/book/pour", {"weights": "\n".join(f"w{i} 1" for i in range(60))}, 422),
        ("/book/pour", {"note": "x" * 3000}, 422),
        ("/book/pour", {"name": "nobody"}, 404),
        ("/book/pour", {"name": ""}, 404),
        ("/book/pour", {"revision": "9"}, 404),
        ("/book/add", {"number": "1"}, 422),
        ("/book/add", {"number": "99", "note": "x"}, 404),
        ("/book/add", {"number": "x", "note": "x"}, 404),
        ("/book/add", {"number": "1", "place": ["point"], "L_0": "50", "a_0": "", "b_0": "1"}, 422),
        ("/book/add", {"number": "1", "place": ["point"], "L_0": "500", "a_0": "1", "b_0": "1"}, 422),
        ("/book/add", {"number": "1", "place": ["elsewhere"], "L_0": "50", "a_0": "1", "b_0": "1"}, 422),
        ("/book/add", {"number": "1", "place": ["point"], "L_0": "50", "a_0": "1", "b_0": "1", "read_on": "then"}, 422),
        ("/book/bottle", {"bottle": "pink 1+9", "left": "3"}, 422),
        ("/book/bottle", {"bottle": "rose 1+10", "left": "none"}, 422),
        ("/book/use", {"name": "nobody"}, 404),
    ],
)
def test_what_the_book_cannot_take_is_told_and_nothing_is_kept(
    filled: Client, book: Path, path: str, boxes: dict[str, object], status: int
) -> None:
    def held() -> str:
        with open_book(book) as opened:
            return opened.export()

    before = held()
    answer = filled.fill(path, HERE | boxes)
    assert answer.status_code == status
    if status == 422:
        sentence = answer.text.partition("Not yet.")[2].partition("</p>")[0]
        assert sentence
        assert " --" not in sentence
    assert held() == before


def test_a_bottle_weighed_again(filled: Client, book: Path) -> None:
    with open_book(book) as opened:
        bottle = next(one.name for one in opened.bottles() if one.pigment == "azure")
    assert "12.5 g left" in filled.fill("/book/bottle", {"bottle": bottle, "left": "12,5"}).text
    with open_book(book) as opened:
        assert next(one for one in opened.bottles() if one.name == bottle).left_g == 12.5


def test_taken_out_again_it_weighs_the_same(filled: Client, tmp_path: Path) -> None:
    """Next year, on a page that knows nothing but the book: the same recipe, to the digest, and the same sheet."""
    order = filled.get("/sheet").text
    with Client(tmp_path / "another") as other:
        answer = other.fill("/book/use", HERE | {"revision": "1"})
        assert answer.url.path == "/sheet"
        thing = other.workspace.now().area("recipes")["chosen"]
        first = filled.get("/book/recipe.json", params=HERE)
        assert other.workspace.file(thing).read_bytes() == first.content
        boxes = {"recipe": thing, "resin": "recipe", "how": "batch", "grams": "450", "resin_step": "0.1",
                 "pigment_step": "0.01", "new_bottles": "1"}  # fmt: skip
        sheet = other.fill("/sheet/make", boxes).text
        assert re.findall(r"<strong>[\d.]+ g</strong>", sheet) == re.findall(r"<strong>[\d.]+ g</strong>", order)
        assert other.fill("/trial/ask", {"chip_0_mm": ""}).status_code == 422


def test_export_to_an_empty_book_and_back(filled: Client, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    file = filled.get("/book/export.json")
    assert file.headers["content-disposition"] == 'attachment; filename="recipe-book.json"'
    one = filled.get("/book/export.json", params={"name": NAME})
    assert one.headers["content-disposition"] == 'attachment; filename="sea-green-prism.json"'
    assert filled.get("/book/export.json", params={"name": "nobody"}).status_code == 404
    monkeypatch.setenv("TINTMIX_BOOK", str(tmp_path / "second.db"))
    answer = filled.fill("/book/import", {}, files={"export": ("mine.json", file.content)})
    assert "New in the book: 1 recipe, 1 model, 4 pours" in answer.text
    assert (
        "There already: 1 recipe" in filled.fill("/book/import", {}, files={"export": ("mine.json", file.content)}).text
    )
    assert json.loads(filled.get("/book/export.json").text)["digest"] == json.loads(file.text)["digest"]


@pytest.mark.parametrize("content", [b"", b"{}", b"\xff\xfe", b"[" * 5000])
def test_what_is_no_export_is_refused(filled: Client, content: bytes) -> None:
    answer = filled.fill("/book/import", {}, files={"export": ("mine.json", content)})
    assert answer.status_code == 422
    assert "mine.json" in answer.text
    assert "/tmp" not in answer.text.partition("Not yet.")[2].partition("</p>")[0]


def test_no_file_chosen(filled: Client) -> None:
    assert "no file is chosen" in filled.fill("/book/import", {}).text


def test_a_copy_is_a_book(filled: Client, tmp_path: Path) -> None:
    copy = tmp_path / "copy.db"
    copy.write_bytes(filled.get("/book/backup.db").content)
    with open_book(copy, create=False) as opened:
        assert len(opened.pours(NAME)) == POURS
        assert opened.check().is_sound


def test_checked(filled: Client) -> None:
    assert "No damage found: 1 recipe, 1 model, 4 pours" in filled.fill("/book/check").text


def test_a_damaged_book_is_told_and_the_page_goes_on(filled: Client, book: Path) -> None:
    for path in book.parent.glob("book.db*"):
        path.write_bytes(b"SQLite format 3\0" + b"\xff" * 9000)
    for answer in (filled.get("/book"), filled.fill("/book/check"), filled.fill("/sheet/keep", {"what": "recipe"})):
        assert answer.status_code == 422
        assert "book" in answer.text.partition("Not yet.")[2].partition("</p>")[0]
    assert filled.get("/book/recipe", params=HERE).status_code == 422
    assert filled.get("/tint").status_code == 200


def test_markup_stays_text(filled: Client) -> None:
    ok(filled.fill("/book/add", HERE | {"number": "1", "note": "<script>alert(1)</script>"}))
    text = filled.get("/book/recipe", params=HERE).text
    assert "<script>alert(1)" not in text
    assert "&lt;script&gt;alert(1)" in text


def test_a_book_that_cannot_be_used_is_told_without_its_place(client: Client, book: Path) -> None:
    book.write_bytes(b"no book of ours" * 100)
    answer = client.get("/book")
    assert answer.status_code == 422
    assert "The recipe book: " in answer.text
    assert str(book) not in answer.text
    assert book.read_bytes() == b"no book of ours" * 100


@pytest.mark.parametrize("content", [b"", b"<svg onload=alert(1)>", b"<script>alert(1)</script>", b"%PDF-1.7"])
def test_what_is_no_photo_does_not_come_into_the_book(filled: Client, content: bytes) -> None:
    before = filled.get("/book/export.json").text
    answer = filled.fill("/book/add", HERE | {"number": "1"}, files={"photos": ("a.png", content)})
    assert answer.status_code == 422
    assert "Choose a JPEG" in answer.text
    assert json.loads(filled.get("/book/export.json").text)["recipes"] == json.loads(before)["recipes"]


def test_letters_that_turn_a_sentence_round_are_not_shown(client: Client) -> None:
    answer = client.fill("/tint/cup", {"chip_0_mm": "\u202e12\u200b"})
    assert answer.status_code == 422
    assert "\u202e" not in answer.text.partition('id="problem"')[2].partition("</div>")[0]
