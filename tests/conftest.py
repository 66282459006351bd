"""Set before numpy is imported: the fit works on many small matrices, which a second BLAS thread only slows."""

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
