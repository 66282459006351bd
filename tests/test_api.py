"""The public names: they are what the stub says, and cost nothing until they are used."""

from __future__ import annotations

import re
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

import tintmix

ROOT = Path(__file__).resolve().parents[1]


def test_names_and_stub_agree() -> None:
    stub = (ROOT / "tintmix" / "__init__.pyi").read_text(encoding="utf-8")
    typed = {name: home for home, name in re.findall(r"^from (\S+) import (\w+) as \2$", stub, re.MULTILINE)}
    assert typed == tintmix._HOMES


@pytest.mark.parametrize("name", [name for name in tintmix.__all__ if name != "__version__"])
def test_every_name_is_there(name: str) -> None:
    assert getattr(tintmix, name).__name__ == name


def test_other_names_are_not() -> None:
    with pytest.raises(AttributeError, match="no attribute 'colour'"):
        _ = tintmix.colour  # type: ignore[attr-defined]


def test_the_version_is_the_projects() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    assert tintmix.__version__ == project["version"]


def test_importing_the_package_imports_nothing_heavy() -> None:
    script = "import sys, tintmix; print(*sys.modules)"
    loaded = set(
        subprocess.run(
            [sys.executable, "-c", script], cwd=ROOT, capture_output=True, text=True, check=True
        ).stdout.split()
    )
    assert not {"numpy", "scipy", "pydantic", "click", "matplotlib", "colour"} & loaded
