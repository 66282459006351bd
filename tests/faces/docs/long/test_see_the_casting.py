"""docs/see-the-casting.md: its worked example comes out as it says, typed as it stands."""

from __future__ import annotations

import json
import re

import pytest

from tests.faces.conftest import Call
from tests.faces.docs.long.bench import Bench
from tests.faces.docs.long.test_commands import PAGES, SHOWN, do

NAME = "see-the-casting.md"
TABLE = {
    row.split()[0]: [float(one) for one in re.findall(r"[\d.]+", row)]
    for row in PAGES[NAME].split("```text\n")[1].splitlines()[1:5]
}


def test_the_worked_example(call: Call, bench: Bench) -> None:
    pytest.importorskip("embreex", reason="castings are traced by it")
    for one in SHOWN[NAME]:
        do(one, bench, call)
    places = {place["name"]: place for place in json.loads((bench.folder / "prism.shape.json").read_text())["places"]}
    for name, (mean, low, high, straight, clear) in TABLE.items():
        place = places[name]
        told = [place["path_mm"][key] for key in ("mean", "p5", "p95")] + [place["straight_mm"]]
        assert told == pytest.approx([mean, low, high, straight], abs=0.35), name
        assert 100 * place["of_clear"] == pytest.approx(clear, abs=2), name
    straight, seen = (call("solve", "my.json", f"{name}.toml", "--json").json for name in ("straight", "seen"))
    best = straight["proposals"][0]
    assert (straight["outcome"], seen["outcome"]) == ("short", "reached")
    # Two tints are as near as each other: which is told first hangs on the last digits of the model.
    assert 0.07 < best["total_phr"] < 0.11
    assert 5.5 < best["worst_delta_e00"] < 6.5
    assert round(seen["proposals"][0]["total_phr"], 3) == 0.026
    assert seen["proposals"][0]["worst_delta_e00"] < 1
    doses = [f"--dose={pigment}={dose}" for pigment, dose in best["doses_phr"].items()]
    looked = call("look", "my.json", *doses, "--on", "prism.shape.json", "--at", "slope", "--json").json
    [slope] = looked["sections"]
    assert 100 * slope["luminous_transmittance"] == pytest.approx(8, abs=1.5)
