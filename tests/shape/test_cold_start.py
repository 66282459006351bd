"""Who asks for no casting waits for none: other commands load nothing of this room, and a shape's reader no tracer."""

from __future__ import annotations

import subprocess
import sys

import pytest

HEAVY = ("trimesh", "embreex", "networkx", "lxml")


def loaded(code: str) -> set[str]:
    told = subprocess.run(
        [sys.executable, "-c", f"import sys; {code}; print(*sys.modules)"], capture_output=True, text=True, check=True
    )
    return set(told.stdout.split())


@pytest.mark.parametrize(
    "what", ["tintmix.desk.look, tintmix.desk.solve, tintmix.desk.bench.sheet", "tintmix.faces.cli.main"]
)
def test_other_commands_load_nothing_of_it(what: str) -> None:
    modules = loaded(f"import {what}")
    assert not {name for name in modules if name.startswith("tintmix.shape") or name.split(".")[0] in HEAVY}


def test_reading_a_shape_loads_no_tracer() -> None:
    modules = loaded("import tintmix.shape.shape_file")
    assert not {name for name in modules if name.split(".")[0] in (*HEAVY, "scipy", "matplotlib")}
