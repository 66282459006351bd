"""What README and docs tell a reader to type is real; that all of it goes through, in its order, long/test_commands.py shows."""

from __future__ import annotations

import re
import shlex
import shutil
import subprocess
from pathlib import Path

import click
import pytest

from tests.faces.conftest import ROOT
from tests.faces.docs.typed import Command, typed, typed_in_help
from tintmix.faces.cli.main import COMMANDS, tintmix

README = (ROOT / "README.md").read_text(encoding="utf-8")
PAGES = {
    path.name: path.read_text(encoding="utf-8")
    for path in (ROOT / "README.md", ROOT / "DEVELOPERS.md", *(ROOT / "docs").glob("*.md"))
}


def blocks(text: str, kind: str) -> list[str]:
    return re.findall(rf"^```{kind}\n(.*?)^```", text, re.MULTILINE | re.DOTALL)


def test_the_job_comes_first_in_one_paragraph() -> None:
    title, job, picture = README.split("\n\n")[:3]
    assert title == "# tintmix"
    assert len(job) > 300
    assert re.fullmatch(r"!\[[^\]]+\]\((docs/pictures/casting\.png)\)", picture)
    assert (ROOT / "docs" / "pictures" / "casting.png").stat().st_size > 10_000


def test_the_two_commands() -> None:
    section = README.split("## Two commands\n")[1].split("\n## ")[0]
    assert [block.strip() for block in blocks(section, "sh")] == [
        'python3 -m venv .venv && .venv/bin/pip install -e ".[test]" && .venv/bin/tintmix tour',
        ".venv/bin/python -m pytest",
    ]


def test_the_ci_script_finds_them() -> None:
    script = (ROOT / ".ci" / "run").read_text(encoding="utf-8")
    awk = re.search(r"awk '(.*?)' README\.md", script)
    assert awk is not None
    if shutil.which("awk") is None:
        pytest.skip("no awk on this machine")
    found = subprocess.run(
        ["awk", awk[1], "README.md"], cwd=ROOT, capture_output=True, text=True, check=True
    ).stdout.splitlines()
    assert len(found) == 2


def lines_with_tintmix() -> list[str]:
    shown = [one for text in PAGES.values() for one in typed(text) if isinstance(one, Command)]
    shown += [one for command in [tintmix, *all_commands()] for one in typed_in_help(str(command.help))]
    return [one.line for one in shown]


def all_commands() -> list[click.Command]:
    """Each command, and each command of a command that is a group."""
    made = [tintmix.get_command(click.Context(tintmix), name) for name in COMMANDS]
    whole = [command for command in made if command is not None]
    for group in [command for command in whole if isinstance(command, click.Group)]:
        context = click.Context(group)
        whole += [found for name in group.list_commands(context) if (found := group.get_command(context, name))]
    return whole


def flags_of(command: click.Command) -> set[str]:
    return {flag for parameter in command.params for flag in parameter.opts}


@pytest.mark.parametrize("line", lines_with_tintmix())
def test_every_command_and_flag_that_is_shown_is_real(line: str) -> None:
    _, command, *rest = shlex.split(line)
    made = tintmix.get_command(click.Context(tintmix), command)
    assert made is not None, line
    known = flags_of(made) | {"--help"}
    if isinstance(made, click.Group):
        below = next(word for word in rest if not word.startswith("--"))
        inner = made.get_command(click.Context(made), below)
        assert inner is not None, line
        known |= flags_of(inner)
    assert {word for word in rest if word.startswith("--")} <= known


def test_flags_that_pages_mention_are_real() -> None:
    known = {"--help", "--version"}.union(*map(flags_of, all_commands()))
    for name in ("README.md", "formats.md"):
        assert set(re.findall(r"`(?:\w+ )?(--[a-z-]+)`", PAGES[name])) <= known


def test_links_lead_somewhere() -> None:
    for path in (ROOT / "README.md", ROOT / "DEVELOPERS.md", *(ROOT / "docs").glob("*.md")):
        for link in re.findall(r"\]\((?!https?:)([^)# ]+)", path.read_text(encoding="utf-8")):
            assert (path.parent / link).exists(), (path.name, link)


@pytest.mark.parametrize("example", range(5))
def test_the_examples_of_formats_are_toml(example: int) -> None:
    import tomllib

    assert tomllib.loads(blocks(PAGES["formats.md"], "toml")[example])


def test_the_target_example_of_formats_can_be_read(tmp_path: Path) -> None:
    from tintmix.recipes.target_file import read_target

    examples = blocks(PAGES["formats.md"], "toml")
    shutil.copy(ROOT / "swatches" / "targets" / "sea-green-glass.csv", tmp_path / "green-glass.csv")
    # As TOML has it, a table ends where the next begins, so the two examples can stand in one file.
    (tmp_path / "target.toml").write_text(examples[2] + examples[4], encoding="utf-8")
    target = read_target(tmp_path / "target.toml")
    assert [section.name for section in target.sections] == ["flange", "point"]
    assert target.glass is not None
