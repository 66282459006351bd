"""docs/proof.md, made by one command: `python -m tests.proof`."""

import os

# Before numpy is loaded: many small matrices, for which a second thread only waits (as the command line sets it).
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
