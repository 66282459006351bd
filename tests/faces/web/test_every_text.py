"""What no text of the page may hold, and that no test drops what the page answers.

A crawl over all screens of the demo's whole job, printed pages and refusals among them.
"""

from __future__ import annotations

import ast
import re
import shutil
import subprocess
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest

from tests.faces.web.conftest import Client, ok
from tests.faces.web.test_little_said import SCREENS, SHEET, TRIAL
from tintmix.faces.paper import sheet_text
from tintmix.page.bench import sheet as page_sheet

OPTION = re.compile(r"(?<![\w-])--[a-z][a-z-]*")
"""An option of the shell. The dash of a sentence stands free or between figures, and a class of CSS is no text."""
EXPONENT = re.compile(r"(?<![\w#.-])[+−-]?\d+(?:\.\d+)?e[+−-]?\d+(?!\w)", re.IGNORECASE)
SHOWN_ATTRIBUTES = ("title", "placeholder", "aria-label", "alt", "content")
PLAN = {"plan_pigments": "azure 0.02\nemerald", "plan_title": "planned", "plan_kind": "colour"}
REFUSED: tuple[tuple[str, dict[str, Any]], ...] = (
    ("/chips/cup", {"cup_name": "", "cup_thicknesses": "x"}),
    ("/chips/readings", {"colours": "nothing 1 2"}),
    ("/chips/readings", {"colours": "B1 3 mm 96 0"}),
    ("/chips/plan", {"plan_kind": "colour"}),
    ("/tint/doses", {"dose.azure": "much"}),
    ("/tint/places", {"place_0_mm": "0"}),
    ("/recipes/target", {"how": "lab", "lab_0": "1 2"}),
    ("/recipes/find", {"most": "many"}),
    ("/sheet/make", SHEET | {"grams": "-1"}),
    ("/sheet/make", SHEET | {"grams": "0.000001"}),
    ("/sheet/make", SHEET | {"pigment_step": "0"}),
    ("/sheet/marks", {"weight.none": "1"}),
    ("/trial/ask", TRIAL | {"chip_0_colour": "1 2"}),
    ("/trial/ask", TRIAL | {"left": "0"}),
    ("/book/pour", {"name": "nobody's", "poured_on": "2025-03-01"}),
    ("/book/pour", {"name": "nobody's", "poured_on": "soon"}),
    ("/book/use", {"name": "nobody's", "revision": "1"}),
)


class Text(HTMLParser):
    """What a page shows: its text and what its attributes say; scripts and styles aside."""

    def __init__(self) -> None:
        super().__init__()
        self.said: list[str] = []
        self.skipped = 0

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.skipped += tag in ("script", "style")
        self.said += [value for name, value in attrs if name in SHOWN_ATTRIBUTES and value]

    def handle_endtag(self, tag: str) -> None:
        self.skipped -= tag in ("script", "style")

    def handle_data(self, data: str) -> None:
        if not self.skipped:
            self.said.append(data)


def text_of(answer: Any) -> str:
    reader = Text()
    reader.feed(answer.text)
    return " ".join(reader.said)


@pytest.fixture(scope="module")
def texts(demo_folder: Path, tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    """Every text of the demo's job, by where it was said."""
    folder = tmp_path_factory.mktemp("texts")
    shutil.copytree(demo_folder, folder / "page")
    said: dict[str, str] = {}
    with pytest.MonkeyPatch.context() as patch, Client(folder / "page") as page:
        patch.setenv("TINTMIX_BOOK", str(folder / "book.db"))

        def screens(when: str) -> None:
            said.update({f"{screen}, {when}": text_of(ok(page.get(screen))) for screen in SCREENS})

        screens("as it comes")
        said["recipes found"] = text_of(ok(page.finish(page.fill("/recipes/find", {}))))
        said["sheet made"] = text_of(ok(page.fill("/sheet/make", SHEET)))
        said["recipe kept"] = text_of(ok(page.fill("/sheet/keep", {"what": "recipe", "note": "first"})))
        said["bottles kept"] = text_of(ok(page.fill("/sheet/keep", {"what": "shelf"})))
        said["trial"] = text_of(ok(page.finish(page.fill("/trial/ask", TRIAL))))
        name = page.workspace.now().area("recipes")["kept"][0]["name"]
        pour = {"name": name, "poured_on": "2025-03-01"}
        said["poured"] = text_of(ok(page.fill("/book/pour", pour)))
        said["book"] = text_of(ok(page.get("/book/recipe", params={"name": name})))
        screens("at the end")
        for number, (path, boxes) in enumerate(REFUSED):
            answer = page.finish(page.fill(path, boxes))
            assert answer.status_code < 500, (path, boxes)
            said[f"{path} refused, {number}"] = text_of(answer)
        said["plan"] = text_of(ok(page.finish(page.fill("/chips/plan", PLAN))))
    assert len(said) == 8 + 2 * len(SCREENS) + len(REFUSED)
    return said


def test_no_text_holds_an_option_of_the_shell(texts: dict[str, str]) -> None:
    assert {where: found for where, text in texts.items() if (found := OPTION.findall(text))} == {}


def test_no_text_holds_an_exponent(texts: dict[str, str]) -> None:
    # A model's digest, twelve hexadecimal digits, may look like one.
    said = {where: re.sub(r"\b[0-9a-f]{12}\b", "", text) for where, text in texts.items()}
    assert {where: found for where, text in said.items() if (found := EXPONENT.findall(text))} == {}


def test_the_patterns_find_what_they_are_for() -> None:
    assert OPTION.findall("read it with --panel, or (--dark x)") == ["--panel", "--dark"]
    assert not OPTION.findall("3 – 5 mm -- it is")
    assert EXPONENT.findall("1e-06 phr, 1.3e-06 %, 2E+5") == ["1e-06", "1.3e-06", "2E+5"]
    assert not EXPONENT.findall("#1e2e30 and 5a3e9c7, 3 eggs")


@pytest.mark.parametrize("step", ["0.01", "0.1", "0.25"])
def test_a_weight_reads_alike_wherever_it_stands(demo: Client, book: Path, tmp_path: Path, step: str) -> None:
    """The sheet as text, on paper, on the page and as JSON: the same grams with the same digits."""
    steps = {"resin_step": step, "pigment_step": step}
    page = text_of(ok(demo.fill("/sheet/make", SHEET | {"grams": "4500"} | steps)))
    kept = page_sheet.kept_sheet(demo.workspace, demo.workspace.now().area("sheet"))
    assert kept is not None
    shown = re.findall(r"([\d.]+) g {3}actual", sheet_text.text_of(kept.sheet))
    assert len(shown) >= 4
    paper = ok(demo.get("/sheet/sheet.pdf")).content
    for weight in shown:
        assert re.search(rf"(?<![\d.]){re.escape(weight)}\s+g", page), weight
        if shutil.which("pdftotext"):
            (tmp_path / "sheet.pdf").write_bytes(paper)
            printed = subprocess.run(
                ["pdftotext", "-layout", tmp_path / "sheet.pdf", "-"], capture_output=True, check=True
            )
            assert re.search(rf"(?<![\d.]){re.escape(weight)}\s+g", printed.stdout.decode()), weight
    body = kept.body
    planned = [one["grams_to_weigh"] for one in body["parts"]] + [one["weigh"]["grams"] for one in body["pigments"]]
    planned += [one[key] for one in body["letdowns"] for key in ("pigment_g", "carrier_g") if not one["from_letdown"]]
    written = {float(weight) for weight in shown}
    assert all(any(abs(grams - one) < 1e-9 for one in written) for grams in planned), (planned, shown)
    assert all(abs(grams / float(step) - round(grams / float(step))) < 1e-6 for grams in written)


def test_no_answer_of_the_page_is_dropped() -> None:
    """A test that does not look at what it was answered would pass on a page that refuses everything."""
    dropped = []
    for path in sorted(Path(__file__).parent.glob("test_*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            call = node.value if isinstance(node, ast.Expr) else None
            if (
                isinstance(call, ast.Call)
                and isinstance(call.func, ast.Attribute)
                and call.func.attr in ("get", "post", "fill", "finish")
                and isinstance(call.func.value, ast.Name)
                and call.func.value.id in ("client", "demo", "filled", "page")
            ):
                dropped.append(f"{path.name}:{call.lineno}")
    assert dropped == []
