"""Groups of commands, each imported when it is called for."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from importlib import import_module
from typing import Any

import click

_FUNCTIONS = {"list": "list_", "import": "import_"}
"""Of commands whose names are taken in Python."""


class Commands(click.Group):
    """Commands that are known by name, in the order of the job, and imported when one is called for.

    summaries: what each does, in a line. home: the module of a command.
    """

    def __init__(self, *args: Any, summaries: Mapping[str, str], home: Callable[[str], str], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self._summaries, self._home = summaries, home

    def list_commands(self, ctx: click.Context) -> list[str]:
        """By the order of the job."""
        return list(self._summaries)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """The command of that name, imported now."""
        if cmd_name not in self._summaries:
            return None
        command: click.Command = getattr(
            import_module(self._home(cmd_name)), _FUNCTIONS.get(cmd_name, cmd_name.replace("-", "_"))
        )
        command.short_help = self._summaries[cmd_name]
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """The list of commands, without importing any of them."""
        with formatter.section("Commands"):
            formatter.write_dl(list(self._summaries.items()))
