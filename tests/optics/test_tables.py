"""The shipped tables, made again from colour-science."""

import numpy as np
import pytest

from tests.authorities import make_tables
from tintmix.optics.detector import SHIPPED_LIGHTS, known_cameras, known_lights


def numbers(text):
    return np.array([line.split(",") for line in text.splitlines() if line[:1].isdigit()], dtype=np.float64)


@pytest.fixture(scope="module")
def made():
    return make_tables.tables()


def test_no_file_more_or_less(made):
    shipped = {p.relative_to(make_tables.TABLES).as_posix() for p in make_tables.TABLES.rglob("*") if p.is_file()}
    assert shipped == set(made)


def test_the_numbers(made):
    # Not byte for byte: the last digits depend on the version of numpy.
    for name, text in made.items():
        shipped = (make_tables.TABLES / name).read_text(encoding="ascii")
        assert numbers(shipped) == pytest.approx(numbers(text), rel=1e-10, abs=1e-13), name


def test_every_table_says_where_it_comes_from():
    for path in make_tables.TABLES.rglob("*.*"):
        assert "colour-science" in path.read_text(encoding="ascii").splitlines()[0], path


def test_the_names_are_all_that_the_library_knows(made):
    library = [name for name in make_tables.colour.SDS_ILLUMINANTS if not name.startswith("ISO")]
    assert list(known_lights()) == library
    assert len(known_lights()) == 52
    assert list(known_cameras()) == list(make_tables.colour.MSDS_CAMERA_SENSITIVITIES)


def test_the_shipped_lights(made):
    tables = {name.removeprefix("power/").removesuffix(".csv") for name in made if name.startswith("power/")}
    assert tables == set(SHIPPED_LIGHTS) < set(known_lights())
