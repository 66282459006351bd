"""One BLAS thread, the same examples of hypothesis in every run, and each shipped set fitted once for all tests."""

import os
import time
from collections.abc import Callable
from pathlib import Path

# Before numpy is imported: the fit works on many small matrices, which a second BLAS thread only slows.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import pytest
from hypothesis import settings

# The suite's examples are the same everywhere and few enough for its minutes; "long" looks further, at random:
# `python -m pytest -n 0 --hypothesis-profile=long tests/…`.
settings.register_profile("suite", derandomize=True, deadline=None, max_examples=50)
settings.register_profile("long", deadline=None, max_examples=2000, print_blob=True)
settings.load_profile("suite")

Once = Callable[[str, Callable[[Path], object]], Path]
WAIT_S = 300.0


@pytest.fixture(scope="session")
def once(tmp_path_factory: pytest.TempPathFactory) -> Once:
    """Makes a thing once for all tests and workers of a session: `once(name, make)`, where make writes to the path that
    it is given. What comes back is read or copied, never written to.
    """
    base = tmp_path_factory.getbasetemp()
    shared = (base.parent if os.environ.get("PYTEST_XDIST_WORKER") else base) / "once"

    def made(name: str, make: Callable[[Path], object]) -> Path:
        whole, begun = shared / name, shared / f"{name}.begun"
        shared.mkdir(exist_ok=True)
        try:
            begun.mkdir()
        except FileExistsError:
            until = time.monotonic() + WAIT_S
            while not whole.exists():
                assert time.monotonic() < until, f"the worker that makes {name} did not end"
                time.sleep(0.05)
        else:
            # Its own folder beside it, for a model is no model until the last byte is there.
            make(begun / name)
            (begun / name).rename(whole)
        return whole

    return made


@pytest.fixture(scope="session")
def fitted(once: Once) -> Callable[[str], Path]:
    """The model of a shipped set, by the set's name."""

    def model_of(name: str) -> Path:
        from tintmix.desk.demo import demo
        from tintmix.desk.fit import fit_sets

        return once(f"{name}.json", lambda path: fit_sets([demo(name)], path))

    return model_of
