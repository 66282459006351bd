"""The entry: what every command shares."""

from __future__ import annotations

import os
import shlex
import subprocess
import sys
from pathlib import Path

import click
import pytest

from tests.faces.conftest import ROOT, Call
from tintmix import __version__
from tintmix.errors import LONGEST, Remedy, ValueProblem
from tintmix.faces.cli import main as entry
from tintmix.faces.cli.main import COMMANDS, run, sentence


def python(*arguments: str, **more: str) -> subprocess.CompletedProcess[str]:
    environment = {key: value for key, value in os.environ.items() if key != "TINTMIX_DEBUG"} | more
    return subprocess.run(
        [sys.executable, *arguments], cwd=ROOT, env=environment, capture_output=True, text=True, timeout=60, check=False
    )


def test_help_lists_the_commands_in_the_order_of_the_job(call: Call) -> None:
    for arguments in (["--help"], ["-h"], []):
        said = call(*arguments)
        assert said.status == 0
        places = [said.out.index(f"\n  {name}") for name in COMMANDS]
        assert places == sorted(places)


@pytest.mark.parametrize("command", COMMANDS)
def test_each_command_tells_what_it_does(call: Call, command: str) -> None:
    said = call(command, "--help")
    assert said.status == 0
    assert said.err == ""
    assert f"Usage: tintmix {command}" in said.out
    assert "--json" in said.out
    module = __import__(f"tintmix.faces.cli.commands.{command}", fromlist=[command])
    assert getattr(module, command).short_help == COMMANDS[command]


def test_version(call: Call) -> None:
    assert call("--version").out == f"tintmix {__version__}\n"


@pytest.mark.parametrize(
    ("problem", "word"),
    [
        (MemoryError(), "memory"),
        (RecursionError(), "nested"),
        (PermissionError(13, "Permission denied", "x.json"), "x.json: the system refused (permission denied)"),
        (ZeroDivisionError("by zero\nand more"), "fault of the program"),
    ],
)
def test_nothing_gets_past_as_a_traceback(
    call: Call, monkeypatch: pytest.MonkeyPatch, problem: Exception, word: str
) -> None:
    def failing(**_: object) -> None:
        raise problem

    monkeypatch.setattr(entry.tintmix, "main", failing)
    said = call("look")
    assert said.status == 2
    assert word in said.err
    assert said.err.count("\n") == 1
    assert said.out == ""
    monkeypatch.setenv("TINTMIX_DEBUG", "1")
    with pytest.raises(type(problem)):
        run(["look"])


def test_an_interrupt_is_a_line(call: Call, monkeypatch: pytest.MonkeyPatch) -> None:
    def interrupted(**_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(entry.tintmix, "main", interrupted)
    said = call("look")
    assert said.status == 130
    assert said.err == "tintmix: stopped before it was done; nothing was written.\n"


@pytest.mark.skipif(os.name == "nt", reason="signals are another matter on Windows")
def test_ended_from_outside_it_leaves_nothing_half_written(tmp_path: Path) -> None:
    code = (
        "import os, signal, sys\n"
        "from tintmix.faces.cli import main as entry\n"
        "from tintmix.files.write import Outputs\n"
        "def written(**_):\n"
        "    with Outputs() as outputs:\n"
        "        outputs.at(sys.argv[1] + '/a.png')\n"
        "        os.kill(os.getpid(), signal.SIGTERM)\n"
        "entry.tintmix.main = written\n"
        "entry.main([])"
    )
    said = python("-c", code, str(tmp_path))
    assert (said.returncode, said.stdout) == (130, "")
    assert said.stderr == "tintmix: stopped before it was done; nothing was written.\n"
    assert os.listdir(tmp_path) == []


def test_an_interrupt_before_it_has_begun_is_a_line_too() -> None:
    """While its first library is imported, a tenth of a second after its start."""
    code = (
        "import os, signal, sys\n"
        "class Interrupts:\n"
        "    def find_spec(self, name, *_):\n"
        "        if name == 'click': os.kill(os.getpid(), signal.SIGINT)\n"
        "sys.meta_path.insert(0, Interrupts())\n"
        # What is started behind a shell's & ignores interrupts.
        "signal.signal(signal.SIGINT, signal.default_int_handler)\n"
        "sys.argv = ['tintmix', '--version']\n"
        "import runpy; runpy.run_module('tintmix', run_name='__main__')"
    )
    said = python("-c", code)
    assert (said.returncode, said.stdout) == (130, "")
    assert said.stderr == "tintmix: stopped before it was done; nothing was written.\n"


def test_an_unforeseen_error_says_what_to_do() -> None:
    assert "TINTMIX_DEBUG=1" in sentence(ValueError("odd"))


def test_in_a_process_of_its_own() -> None:
    said = python("-m", "tintmix", "look", "nowhere.json", "--at", "8")
    assert (said.returncode, said.stdout) == (2, "")
    assert said.stderr.startswith("tintmix: nowhere.json: ")
    assert said.stderr.count("\n") == 1
    debugged = python("-m", "tintmix", "look", "nowhere.json", "--at", "8", TINTMIX_DEBUG="1")
    assert "Traceback" in debugged.stderr


def test_a_reader_that_goes_away_is_no_error() -> None:
    # More text than a pipe holds, read by nobody.
    script = (
        "import sys, subprocess\n"
        f"command = [{sys.executable!r}, '-m', 'tintmix', '--help']\n"
        "p = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE)\n"
        "p.stdout.close()\n"
        "error = p.stderr.read()\n"
        "sys.exit(0 if p.wait() == 141 and error == b'' else repr((p.returncode, error)))\n"
    )
    assert python("-c", script).returncode == 0


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no device that is always full")
def test_output_that_cannot_be_written() -> None:
    with open("/dev/full", "w") as full:
        said = subprocess.run(
            [sys.executable, "-m", "tintmix", "--help"],
            cwd=ROOT,
            stdout=full,
            stderr=subprocess.PIPE,
            text=True,
            check=False,
        )
    assert said.returncode == 2
    assert said.stderr == (
        "tintmix: the answer could not be printed: standard output cannot be written (no space left on device).\n"
    )


def test_no_standard_output_at_all() -> None:
    script = f"exec {shlex.quote(sys.executable)} -m tintmix --help >&-"
    said = subprocess.run(["sh", "-c", script], cwd=ROOT, stderr=subprocess.PIPE, text=True, check=False)
    assert "fault of the program" not in said.stderr


def test_a_terminal_that_knows_no_unicode(tmp_path: object) -> None:
    said = subprocess.run(
        [sys.executable, "-m", "tintmix", "look", "nöwhere.json", "--at", "8"],
        cwd=ROOT,
        capture_output=True,
        check=False,
        env=os.environ | {"PYTHONIOENCODING": "ascii"},
    )
    assert said.returncode == 2
    assert said.stderr.count(b"\n") == 1


IMPORTED = """
import sys
from tintmix.faces.cli.main import run
status = run(sys.argv[1:])
print(status, *sys.modules, file=sys.stderr)
"""


@pytest.mark.parametrize(
    "command",
    [["--help"], ["--version"], ["look", "--help"], ["solve", "--help"], ["fit", "--help"], ["tour", "--help"]],
)
def test_help_imports_nothing_heavy(command: list[str]) -> None:
    loaded = python("-c", IMPORTED, *command).stderr.split()
    assert loaded[0] == "0"
    assert not {"numpy", "pydantic", "scipy", "matplotlib", "colour", "tomlkit", "tomllib"} & set(loaded)


def test_the_book_lists_its_recipes_without_numpy(tmp_path: Path) -> None:
    home = {key: str(tmp_path) for key in ("HOME", "USERPROFILE", "LOCALAPPDATA", "XDG_DATA_HOME")}
    loaded = python("-c", IMPORTED, "book", "list", TINTMIX_BOOK="", **home).stderr.split()
    assert loaded[0] == "0"
    assert not {"numpy", "tintmix.desk.book.history"} & set(loaded)


def test_look_and_solve_import_no_more_than_they_need(model: object, target: object) -> None:
    look = python("-c", IMPORTED, "look", str(model), "--dose", "azure=0.02", "--at", "8", "--json").stderr.split()
    solve = python("-c", IMPORTED, "solve", str(model), str(target), "--json").stderr.split()
    assert look[0] == solve[0] == "0"
    assert not {"pydantic", "scipy", "matplotlib", "colour", "tomlkit"} & set(look)
    assert not {"scipy", "matplotlib", "colour", "tomlkit"} & set(solve)


@pytest.mark.parametrize(
    "problem",
    [
        OSError(36, "File name too long", "n" * 4000), RuntimeError("x" * 4000),
        UnicodeEncodeError("utf-8", "\udcff", 0, 1, "no"), click.BadParameter("'" + "9" * 4000 + "' is no number"),
        ValueProblem(where="w" * 400, what="a" * 4000, remedy=Remedy.CHECK_THE_NAME),
    ],
    ids=lambda problem: type(problem).__name__,
)  # fmt: skip
def test_a_sentence_has_an_end(problem: Exception) -> None:
    """Whatever the input held."""
    assert len(sentence(problem)) <= LONGEST
