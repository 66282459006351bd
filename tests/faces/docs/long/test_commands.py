"""Every command block of README, docs and `--help`, typed in its order in a fresh folder, but the two set-up commands.

The folder holds what the set-up leaves: `swatches` of the copy, and `tintmix-tour`. Files that a page prints are written under
their names; what is measured at a bench is simulated under the names that are used (bench.py).
"""

from __future__ import annotations

import re
import shlex
import shutil
import signal
import sys
import urllib.request
from http.cookiejar import CookieJar
from pathlib import Path

import pytest

from tests.chips.folders import put, toml
from tests.faces.conftest import ROOT, Call
from tests.faces.docs.long.bench import Bench
from tests.faces.docs.test_readme import all_commands
from tests.faces.docs.typed import Command, File, Python, Typed, typed, typed_in_help
from tests.faces.web.test_serve import start
from tintmix.faces.cli.main import tintmix

sys.path.insert(0, str(ROOT / "docs"))
from put_figures import quoted

PAGES = {
    path.name: path.read_text(encoding="utf-8") for path in (ROOT / "README.md", *sorted((ROOT / "docs").glob("*.md")))
}
FIRST_SCREEN = "What do you have?|How dark will it be"
WAIT_S = 60.0
"""For the page's first answer, where other tests take the cores."""


SHOWN: dict[str, list[Typed]] = {name: list(typed(text)) for name, text in PAGES.items()}
for one in [tintmix, *all_commands()]:
    SHOWN[f"{'book ' if f'{one.name} --help' in SHOWN else ''}{one.name} --help"] = [*typed_in_help(str(one.help))]


def test_every_figure_that_a_page_quotes_stands_so_in_the_proof() -> None:
    for name, text in PAGES.items():
        assert quoted(text, PAGES["proof.md"]) == text, f"{name}: run docs/put_figures.py"


@pytest.mark.parametrize("name", [name for name, shown in SHOWN.items() if shown and name != "see-the-casting.md"])
def test_everything_that_is_shown_can_be_typed_in_its_order(name: str, call: Call, bench: Bench) -> None:
    if name.endswith("--help"):
        ready(bench, SHOWN[name], call)
    for one in SHOWN[name]:
        do(one, bench, call)
    if name == "README.md":
        comes_true(bench.folder, call)


def ready(bench: Bench, shown: list[Typed], call: Call) -> None:
    """What an example of `--help` takes for granted: a set, a model, a recipe, under the names that it uses."""
    said = " ".join(one.line for one in shown if isinstance(one, Command))
    folder = bench.folder
    demo, tour = folder / "swatches", folder / "tintmix-tour"
    for name, there in {
        "my-chips": demo / ("one-cup" if "my-photos" in said else "deck-prism"),
        "my.json": tour / "model.json", "recipe.json": tour / "recipe.json",
        "model.json": tour / "model.json", "target.toml": demo / "targets" / "brass-ring.toml",
        "resin.toml": demo / "resins" / "urethane.toml", "prism.shape.json": tour / "deck-prism.shape.json",
        "prism.obj": demo / "castings" / "deck-prism.obj",
    }.items():  # fmt: skip
        if there.is_dir():
            shutil.copytree(there, folder / name)
        else:
            shutil.copy(there, folder / name)
    if "one-cup.json" in said:
        assert call("fit", demo / "one-cup", "--model", "one-cup.json").status == 0
    if "my-photos" in said:
        rows = "".join(f"b{i},3,{0.1 * i:g}\n" for i in (1, 2))
        for kind, name in (("camera", "my-photos"), ("spectrum", "my-spectra"), ("colour", "my-colours")):
            put(folder / name, toml(kind), f"chip,thickness_mm,azure_phr\n{rows}")
        (folder / "my-photos" / "holder.csv").write_text("photo,window,chip\n1,1.2,b1\n1,2.4,b2\n", encoding="utf-8")
        (folder / "readings.txt").write_text("b1 78.2 23.7 238.1\nb2 70.3 30.2 241.5\n", encoding="utf-8")
    if "--model my.json --photo" in said or "--read-photo" in said:
        bench.by_camera()
    if "tintmix book" in said and "book keep" not in said:
        assert call("book", "keep", "recipe.json").status == 0
    if "--from-bottle" in said:
        made = ("--pigment", "azure", "--carrier", "B", "--pigment-g", "1", "--carrier-g", "50")
        assert call("book", "bottle", "azure 1+50", *made).status == 0
    if "--from-plan" in said:
        asked = ("--pigment", "azure=0.02", "--at", "8", "--at", "60", "--resin", "resin.toml")
        assert call("plan", "chips", *asked).status == 0


def comes_true(folder: Path, call: Call) -> None:
    """What README says of its own chips: `target.toml` asks for the tint that `look` told of."""
    assert {"half.png", "strengths.png", "chips.png", "recipe.png", "batch.pdf"} <= {
        path.name for path in folder.iterdir()
    }
    solved = call("solve", "my.json", "target.toml", "--json").json
    assert solved["outcome"] == "reached"
    assert solved["proposals"][0]["doses_phr"]["azure"] == pytest.approx(0.03, rel=0.02)


def do(one: Typed, bench: Bench, call: Call) -> None:
    """Type it: it has to go through, with no complaint."""
    if isinstance(one, File):
        path = bench.folder / one.name
        path.parent.mkdir(exist_ok=True)
        path.write_text(one.text, encoding="utf-8")
    elif isinstance(one, Python):
        exec(compile(one.text, "the example", "exec"), {})
    else:
        words = shlex.split(one.line)[1:]
        if words[:1] == ["serve"]:
            return serve(bench.folder)
        bench.supply(words)
        said = call(*words)
        assert said.status == 0, (one.line, said.err)
    return None


def serve(folder: Path) -> None:
    """Started, asked for its first screen, and stopped as a user stops it."""
    process = start(folder / "page", cwd=folder)
    try:
        assert process.stdout is not None
        found = re.search(r"http://\S+", process.stdout.readline())
        assert found is not None
        browser = urllib.request.build_opener(
            urllib.request.HTTPCookieProcessor(CookieJar()), urllib.request.ProxyHandler({})
        )
        first = browser.open(found[0], timeout=WAIT_S).read().decode("utf-8")
        if 'http-equiv="refresh"' in first:
            first = browser.open(found[0].partition("?")[0], timeout=WAIT_S).read().decode("utf-8")
        assert re.search(FIRST_SCREEN, first)
    finally:
        process.send_signal(signal.SIGINT)
        process.communicate(timeout=WAIT_S)
    assert process.returncode == 0
