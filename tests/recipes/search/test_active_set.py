"""The small quadratic programme: optimality conditions on random cases, and corners."""

import numpy as np
import pytest

from tintmix.recipes.search.active_set import dual_active_set


@pytest.mark.parametrize("case", range(200))
def test_optimality_conditions(case):
    """Karush-Kuhn-Tucker: Nocedal & Wright, Numerical Optimization, §16.1; sufficient since H is positive definite."""
    rng = np.random.default_rng(case)
    m, n = rng.integers(1, 7), rng.integers(0, 14)
    root = rng.normal(size=(m + 1, m))
    hessian, gradient = root.T @ root + 1e-3 * np.eye(m), 3 * rng.normal(size=m)
    rows, bounds = rng.normal(size=(n, m)), rng.uniform(0, 1, n) * rng.integers(0, 2, n)
    x, multipliers = dual_active_set(hessian, gradient, rows, bounds)
    scale = 1 + np.abs(x).max() + np.abs(multipliers).max(initial=0)
    np.testing.assert_allclose(hessian @ x + gradient + rows.T @ multipliers, 0, atol=1e-8 * scale)
    assert np.all(rows @ x <= bounds + 1e-9 * scale)
    assert np.all(multipliers >= 0)
    np.testing.assert_allclose(multipliers * (rows @ x - bounds), 0, atol=1e-8 * scale**2)


def test_redundant_rows():
    rows = np.array([[1.0, 0.0], [1.0, 0.0], [2.0, 0.0]])
    x, multipliers = dual_active_set(np.eye(2), np.array([-3.0, -1.0]), rows, np.array([1.0, 1.0, 2.0]))
    np.testing.assert_allclose(x, [1.0, 1.0], atol=1e-12)
    np.testing.assert_allclose(rows.T @ multipliers, [2.0, 0.0], atol=1e-12)


def test_nothing_is_possible():
    """Rows that exclude each other: an answer comes back all the same, no exception and no hang."""
    x, _ = dual_active_set(np.eye(1), np.array([0.0]), np.array([[1.0], [-1.0]]), np.array([-1.0, -1.0]))
    assert np.isfinite(x).all()
