"""A model of the demo chips, made once; and a way to call the command line as a user does, in this process."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from tintmix.desk.demo import demo
from tintmix.faces.cli.main import run, tintmix

ROOT = Path(__file__).resolve().parents[2]


@dataclass(frozen=True)
class Said:
    """What a call left: its exit status, and what stands on standard output and standard error."""

    status: int
    out: str
    err: str

    @property
    def json(self) -> dict[str, Any]:
        def refuse(word: str) -> float:
            raise AssertionError(f"{word} in JSON")

        loaded = json.loads(self.out, parse_constant=refuse)
        assert isinstance(loaded, dict)
        return loaded


_NAMED = {
    "pigments",
    "doses_phr",
    "departures",
    "highest_phr",
    "under",
    "delta_e00_per_5_percent",
    "nearer",
    "part_phr",
}
_NAMED |= {"defaults_used", "change", "instead"}
"""Keys whose own keys are names of pigments, lights, limits or settings."""


def undocumented(command: str, body: Any) -> set[str]:
    """Keys of a command's JSON, however deep, that its table in docs/formats.md does not have."""
    page = (ROOT / "docs" / "formats.md").read_text(encoding="utf-8").partition("### What `--json` prints")[2]
    table = page.partition(f"\n`{command}`:\n")[2].partition("\n\n`")[0]
    # As in `look`, solve's sections are.
    table += page.partition("\n`look`:\n")[2].partition("\n\n`")[0] if command == "solve" else ""

    def keys(part: Any, named: bool = False) -> set[str]:
        if isinstance(part, list):
            return set().union(*map(keys, part))
        if not isinstance(part, dict):
            return set()
        return set(() if named else part).union(*(keys(value, key in _NAMED) for key, value in part.items()))

    return {key for key in keys(body) if f"`{key}`" not in table}


@pytest.fixture(scope="session")
def walked(once: Callable[[str, Callable[[Path], object]], Path]) -> Path:
    """A folder in which the tour was walked once for all tests: `tintmix-tour`, and what was said in `said.txt`. To be copied."""

    def walk(path: Path) -> None:
        path.mkdir(parents=True)
        done = CliRunner().invoke(tintmix, ["tour", "--into", str(path / "tintmix-tour")])
        assert done.exit_code == 0, done.output
        (path / "said.txt").write_text(done.stdout, encoding="utf-8")

    return once("walked", walk)


Call = Callable[..., Said]
Refused = Callable[..., str]


@pytest.fixture
def call(capfd: pytest.CaptureFixture[str]) -> Call:
    def calling(*arguments: object) -> Said:
        capfd.readouterr()
        status = run([str(argument) for argument in arguments])
        captured = capfd.readouterr()
        return Said(status, captured.out, captured.err)

    return calling


@pytest.fixture
def refused(call: Call) -> Refused:
    """A call that has to be refused: exit 2, no standard output, one line on standard error, which is returned."""

    def refusing(*arguments: object) -> str:
        said = call(*arguments)
        assert said.status == 2, said
        assert said.out == ""
        assert said.err.startswith("tintmix: ")
        assert said.err.count("\n") == 1
        assert said.err.endswith("\n")
        assert "Traceback" not in said.err
        assert "this is a fault of the program" not in said.err
        return said.err

    return refusing


@pytest.fixture(scope="session")
def model(tmp_path_factory: pytest.TempPathFactory, fitted: Callable[[str], Path]) -> Path:
    # A folder of its own: tests keep recipes beside the model.
    return Path(shutil.copy(fitted("deck-prism-colours"), tmp_path_factory.mktemp("models") / "deck.json"))


@pytest.fixture(scope="session")
def cup(tmp_path_factory: pytest.TempPathFactory, fitted: Callable[[str], Path]) -> Path:
    return Path(shutil.copy(fitted("one-cup"), tmp_path_factory.mktemp("models") / "cup.json"))


@pytest.fixture
def target() -> Path:
    return demo("targets", "sea-green-glass.toml")
