"""The entry: a group that imports a command only when it is called, and the one place where errors become sentences."""

from __future__ import annotations

import os
import re
import signal
import sys
import warnings
from collections.abc import Sequence
from contextlib import suppress
from typing import Any, NoReturn

import click

from tintmix import __version__
from tintmix.faces.cli import INTERRUPTED, STOPPED
from tintmix.faces.cli.groups import Commands

COMMANDS = {
    "tour": "The whole job on the shipped demo chips, told step by step.",
    "plan": "Find out which test cups to pour, and what to weigh for each.",
    "read": "Put readings of a photo or an instrument into a chip set.",
    "fit": "Learn from measured chips how strongly each pigment colours the resin.",
    "look": "See what a dose will look like at each thickness.",
    "solve": "Find the doses that reach a target tint, or why none can.",
    "shape": "See how far light goes in a casting, from its mesh.",
    "sheet": "Weigh a recipe out: the batch sheet to work from at the bench.",
    "convert": "Turn a dose into other words: per 100 g of one part, by volume, in drops.",
    "adjust": "A trial chip is off: what to add to the tinted pot, or what else to do.",
    "lot": "See from a check chip how strong a new lot or bottle is.",
    "book": "Keep recipes, pours and lots, and make a tint again.",
    "serve": "Open the page: the whole job in a browser, on this machine only.",
    "checkup": "See whether tintmix is well on this machine, in words for a report.",
}
"""Each command and what it does in a line. Its module is tintmix.faces.cli.commands.<name>, its function <name>, and imports
the desk when it is run: help takes 0.06 s of processor time, and with numpy and the desk 0.2 to 0.6 s (measured)."""

BAD_INPUT = 2
READER_GONE = 141


@click.group(
    cls=Commands,
    summaries=COMMANDS,
    home=lambda name: f"tintmix.faces.cli.commands.{name}",
    invoke_without_command=True,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
)
@click.version_option(__version__, message="tintmix %(version)s")
@click.pass_context
def tintmix(ctx: click.Context) -> None:
    """Tint clear casting resin on purpose: from a few measured test chips to the doses that reach a target tint where
    the casting is thin and where it is thick.

    Doses are in phr: grams of pigment as supplied per 100 g of mixed resin, all parts together.

    \b
    Start here:
      tintmix tour                                      watch the whole job on the demo
      tintmix fit my-chips --model my.json              learn from your own chips
      tintmix look my.json --dose azure=0.02 --at 60     how dark will it be at 60 mm?
      tintmix solve my.json target.toml                 what do I add to get that tint?
    """
    if ctx.invoked_subcommand is None:
        click.echo(ctx.get_help())


def main(arguments: Sequence[str] | None = None) -> NoReturn:
    """Run a command and end the process: 0 when answered, 2 with a sentence on standard error when the input is bad."""
    # Looking for other packages' plugins costs 10 ms of every start, and none has business here.
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")
    # Many small matrices: a second BLAS thread costs more than it helps, and its start a tenth of a second.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    if not os.environ.get("TINTMIX_DEBUG"):
        warnings.simplefilter("ignore")
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")
    if signal.getsignal(signal.SIGINT) not in (signal.SIG_IGN, None):
        signal.signal(signal.SIGINT, signal.default_int_handler)
    # Ended from outside is stopped too: what was half written goes.
    if signal.getsignal(signal.SIGTERM) is signal.SIG_DFL:
        signal.signal(signal.SIGTERM, signal.default_int_handler)
    status = run(arguments)
    # What is asked is done: an interruption while Python tidies up would only write a traceback.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    if signal.getsignal(signal.SIGTERM) is signal.default_int_handler:
        signal.signal(signal.SIGTERM, signal.SIG_DFL)
    sys.exit(status)


def run(arguments: Sequence[str] | None = None) -> int:
    """Run a command; its exit status. Nothing gets past here as a traceback, unless TINTMIX_DEBUG is set."""
    try:
        status: Any = tintmix.main(args=arguments, prog_name="tintmix", standalone_mode=False)
        if sys.stdout is not None:  # None where the shell closed it
            sys.stdout.flush()
        return status if isinstance(status, int) else 0
    except click.exceptions.Exit as leave:
        return leave.exit_code
    except (click.Abort, KeyboardInterrupt):
        return _say(STOPPED, INTERRUPTED)
    except SystemExit as leave:
        # Click's own way of saying that the reader of our output has gone.
        return READER_GONE if leave.code == 1 else int(leave.code or 0)
    except BrokenPipeError:
        # Whoever read our output has gone; Python would complain once more when it closes standard output.
        os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
        return READER_GONE
    except Exception as problem:
        if _while_printing(problem):
            # Python would try once more, and complain, when it closes standard output.
            os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
            why = str(getattr(problem, "strerror", None) or type(problem).__name__).lower()
            return _say(f"the answer could not be printed: standard output cannot be written ({why}).", BAD_INPUT)
        if os.environ.get("TINTMIX_DEBUG"):
            raise
        return _say(sentence(problem), BAD_INPUT)


def _while_printing(problem: Exception) -> bool:
    """Whether it is standard output that failed: such an error names no file, and a second try to print may go well."""
    at = problem.__traceback__
    while at is not None and at.tb_next is not None:
        at = at.tb_next
    return isinstance(problem, OSError) and at is not None and at.tb_frame.f_code in (click.echo.__code__, run.__code__)


def sentence(problem: Exception) -> str:
    """One line for the maker, whatever went wrong."""
    # Errors and the words for their remedies are 7 ms of start-up, which a call that goes well need not wait for (measured).
    from tintmix.errors import LONGEST, TintmixError, in_short
    from tintmix.faces.remedies import told_in_shell

    if isinstance(problem, TintmixError):
        return told_in_shell(problem)
    if isinstance(problem, click.UsageError):
        context = problem.ctx.command_path if problem.ctx else "tintmix"
        more = f"`{context} --help` tells more."
        # What was typed is quoted in short, so that what can be typed stays.
        said = re.sub(
            "'([^']{60,})'", lambda found: f"'{in_short(found[1], 40)}'", problem.format_message().rstrip(".")
        )
        said = in_short(said, LONGEST - len(more) - 2)
        return f"{said}{'' if said.endswith('?') else '.'} {more}"
    if isinstance(problem, click.ClickException):
        return in_short(problem.format_message())
    if isinstance(problem, MemoryError):
        return "this machine has not enough memory for that; ask for fewer places or use fewer chips at once."
    if isinstance(problem, UnicodeEncodeError):
        return "a name holds letters that are no text in UTF-8; give the file or folder another name."
    if isinstance(problem, RecursionError):
        return "a file is nested too deeply to be read; make it again."
    if isinstance(problem, OSError):
        where = f"{in_short(str(problem.filename), 140, keep_end=True)}: " if problem.filename else ""
        return f"{where}the system refused ({(problem.strerror or type(problem).__name__).lower()})."
    return (
        f"something went wrong inside tintmix ({type(problem).__name__}: {in_short(str(problem), 100)}); this is a fault of the "
        "program. Set TINTMIX_DEBUG=1 to see where, and report it with the files that you used."
    )


def _say(words: str, status: int) -> int:
    line = " ".join("".join(c if c.isprintable() else " " for c in words).split())
    with suppress(OSError):
        click.echo(f"tintmix: {line}", err=True)
    return status
