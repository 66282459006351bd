"""One BLAS thread, and the same examples of hypothesis in every run."""

import os

# Before numpy is imported: the fit works on many small matrices, which a second BLAS thread only slows.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

from hypothesis import settings

# The suite's examples are the same everywhere and few enough for its minutes; "long" looks further, at random:
# `python -m pytest -n 0 --hypothesis-profile=long tests/…`.
settings.register_profile("suite", derandomize=True, deadline=None, max_examples=100)
settings.register_profile("long", deadline=None, max_examples=2000, print_blob=True)
settings.load_profile("suite")
