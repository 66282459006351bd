"""The process that a fit of the page runs in: python -m tintmix.page.fit_process MODEL SET [SET …].

Ends with 0, or with 2 and {"error": sentence} on standard output.
"""

from __future__ import annotations

import json
import sys
import threading
import time
from collections.abc import Sequence

from tintmix.errors import TintmixError


def main(arguments: Sequence[str]) -> int:
    """Fit the sets and write the model."""
    from tintmix.desk.fit import fit_sets

    try:
        fit_sets(arguments[1:], arguments[0])
    except TintmixError as problem:
        print(json.dumps({"error": str(problem)}))
        return 2
    return 0


def _end_with_parent() -> None:
    """Where the page is gone, nobody waits for the answer any more."""
    import os

    parent = os.getppid()

    def watch() -> None:
        while os.getppid() == parent:
            time.sleep(1.0)
        os._exit(3)

    threading.Thread(target=watch, daemon=True).start()


if __name__ == "__main__":
    _end_with_parent()
    sys.exit(main(sys.argv[1:]))
