"""`tintmix`, and `python -m tintmix`, from the first moment on: an interruption ends it in a line."""

import os
import signal
from types import FrameType
from typing import NoReturn

from tintmix.faces.cli import INTERRUPTED, STOPPED


def main() -> NoReturn:
    """Run what was typed."""
    # The imports of the command take a moment, in which Python would answer an interruption with a traceback.
    if signal.getsignal(signal.SIGINT) is signal.default_int_handler:
        signal.signal(signal.SIGINT, _at_once)
    from tintmix.faces.cli.main import main as run_command

    run_command()


def _at_once(number: int, frame: FrameType | None) -> None:
    os.write(2, f"tintmix: {STOPPED}\n".encode())
    os._exit(INTERRUPTED)


if __name__ == "__main__":
    main()
