"""The process that a fit of the page runs in: python -m tintmix.page.fit_process MODEL SET [SET …].

Says {"part": how much is done} on standard output now and then. Ends with 0, with 2 and {"error": its facts} as the last line,
or, where tintmix is at fault, with 1 and {"fault": what it was}.
"""

from __future__ import annotations

import json
import os
import sys
import threading
import time
import traceback
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from tintmix.desk.fit import fit_sets
from tintmix.errors import TintmixError


def main(arguments: Sequence[str]) -> int:
    """Fit the sets and write the model."""
    try:
        fit_sets(arguments[1:], arguments[0], progress=lambda part: print(json.dumps({"part": part}), flush=True))
    except TintmixError as problem:
        print(json.dumps({"error": facts_of(problem)}))
        return 2
    except Exception as fault:
        traceback.print_exc()
        print(json.dumps({"fault": fault_of(fault)}))
        return 1
    return 0


def fault_of(fault: Exception) -> str:
    """An exception that nobody foresaw, in a few words: its kind, and where in tintmix it was."""
    frames = [one for one in traceback.extract_tb(fault.__traceback__) if "tintmix" in one.filename]
    return type(fault).__name__ + (f", {Path(frames[-1].filename).name}, line {frames[-1].lineno}" if frames else "")


def facts_of(problem: TintmixError) -> dict[str, Any]:
    """What is wrong, as the process of the page makes an error of it again."""
    return {
        "where": problem.where,
        "what": problem.what,
        "found": problem.found if problem.found is None else str(problem.found),
        "limit": problem.limit,
        "remedy": problem.remedy,
        "facts": {key: str(fact) for key, fact in problem.facts.items()},
    }


def _end_with_parent() -> None:
    parent = os.getppid()

    def watch() -> None:
        while os.getppid() == parent:
            time.sleep(1.0)
        os._exit(3)

    threading.Thread(target=watch, daemon=True).start()


if __name__ == "__main__":
    _end_with_parent()
    sys.exit(main(sys.argv[1:]))
