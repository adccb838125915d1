"""A second, slow way to the same numbers: REML and Kenward-Roger with every matrix written out.

It follows the formulas of the papers over readings (n x n matrices), shares nothing with the
package, and searches the maximum with a general optimiser.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
import pytest
from scipy.optimize import minimize

from workbench.inference.nested.fit import nested_fit

NESTING = ("block", "bore")


@dataclass
class Dense:
    """Variances (residual first, then inner to outer), and what follows from them."""

    theta: np.ndarray
    criterion: float
    coefficients: np.ndarray
    covariance: np.ndarray
    adjusted: np.ndarray
    weights: dict[str, np.ndarray]
    slopes: np.ndarray

    def degrees_of_freedom(self, row, known):
        slopes = np.array([row @ slope @ row for slope in self.slopes])
        return 2 * (row @ self.covariance @ row) ** 2 / (slopes @ self.weights[known] @ slopes)


def dense_reml(y, X, groups):
    """`groups` are label arrays, innermost first."""
    parts = [np.eye(len(y))]
    parts += [(labels[:, None] == labels[None, :]).astype(float) for labels in groups]
    theta = _search(y, X, parts)
    V = np.tensordot(theta, parts, axes=1)
    W = np.linalg.inv(V)
    covariance = np.linalg.inv(X.T @ W @ X)
    P = W - W @ X @ covariance @ X.T @ W
    expected = np.array([[np.trace(P @ r @ P @ s) / 2 for s in parts] for r in parts])
    observed = np.array([[y @ P @ r @ P @ s @ P @ y for s in parts] for r in parts]) - expected
    weights = np.linalg.inv(expected)
    one = [X.T @ W @ r @ W @ X for r in parts]
    two = [[X.T @ W @ r @ W @ s @ W @ X for s in parts] for r in parts]
    many = range(len(parts))
    added = sum(
        weights[r, s] * (two[r][s] - one[r] @ covariance @ one[s]) for r in many for s in many
    )
    free = theta > 0
    return Dense(
        theta=theta,
        criterion=_criterion(theta, y, X, parts),
        coefficients=covariance @ X.T @ W @ y,
        covariance=covariance,
        adjusted=covariance + 2 * covariance @ added @ covariance,
        weights={
            "all": weights,
            "expected": _inverse(expected, free),
            "observed": _inverse(observed, free),
        },
        slopes=np.array([covariance @ r @ covariance for r in one]),
    )


def _criterion(theta, y, X, parts):
    V = np.tensordot(theta, parts, axes=1)
    gram = X.T @ np.linalg.solve(V, X)
    b = np.linalg.solve(gram, X.T @ np.linalg.solve(V, y))
    residual = y - X @ b
    return (
        (len(y) - X.shape[1]) * np.log(2 * np.pi)
        + np.linalg.slogdet(V)[1]
        + np.linalg.slogdet(gram)[1]
        + residual @ np.linalg.solve(V, residual)
    )


def _gradient(theta, y, X, parts):
    W = np.linalg.inv(np.tensordot(theta, parts, axes=1))
    P = W - W @ X @ np.linalg.solve(X.T @ W @ X, X.T @ W)
    return np.array([np.trace(P @ part) - y @ P @ part @ P @ y for part in parts])


def _search(y, X, parts):
    """Search from several starts, then polish with Newton steps on numerical second differences."""
    spread = np.var(y - X @ np.linalg.lstsq(X, y, rcond=None)[0])
    bounds = [(1e-6 * spread, None)] + [(0.0, None)] * (len(parts) - 1)
    found = [
        minimize(
            _criterion,
            spread * np.array([0.5, *shares][: len(parts)]),
            args=(y, X, parts),
            jac=_gradient,
            bounds=bounds,
            method="L-BFGS-B",
            options={"maxiter": 500, "ftol": 1e-15, "gtol": 1e-10},
        )
        for shares in ((0.5, 0.5), (0.1, 1.0), (1.0, 0.1))
    ]
    theta = min(found, key=lambda result: result.fun).x
    theta = np.where(theta < 1e-9 * spread, 0.0, theta)
    free = np.flatnonzero(theta > 0)
    for _ in range(20):
        step = 1e-5 * theta[free]
        columns = []
        for place, size in zip(free, step, strict=True):
            shift = np.zeros_like(theta)
            shift[place] = size
            rise = _gradient(theta + shift, y, X, parts) - _gradient(theta - shift, y, X, parts)
            columns.append(rise[free] / (2 * size))
        theta[free] -= np.linalg.solve(np.array(columns), _gradient(theta, y, X, parts)[free])
    return theta


def _inverse(matrix, free):
    inverse = np.zeros_like(matrix)
    places = np.ix_(np.flatnonzero(free), np.flatnonzero(free))
    inverse[places] = np.linalg.inv(matrix[places])
    return inverse


def readings(seed, *, spread=(1.0, 0.6, 0.3), blocks=(4, 5), drop=0.3):
    """An unbalanced table of two families, stations 0 to 2 and depths 0 to 1."""
    rng = np.random.default_rng(seed)
    rows = []
    for family, many in zip("ab", blocks, strict=True):
        for number in range(many):
            block = rng.normal(0, spread[0])
            for bore in range(rng.integers(1, 5)):
                wall = block + rng.normal(0, spread[1])
                rows += [
                    (
                        family,
                        f"{family}{number}",
                        str(bore),
                        str(station),
                        str(depth),
                        wall + 0.2 * station + rng.normal(0, spread[2]),
                    )
                    for station in range(3)
                    for depth in range(2)
                    if rng.random() > drop
                ]
    names = ["family", "block", "bore", "station", "depth", "wall"]
    return pd.DataFrame(rows, columns=names)


def fitted(table, nesting=NESTING, fixed=("family", "station", "depth"), response="wall"):
    return nested_fit(table, response=response, fixed=fixed, nesting=nesting)


def dense(table, nesting):
    X = np.column_stack(
        [np.ones(len(table))]
        + [
            table[name].to_numpy() == level
            for name in ("family", "station", "depth")
            for level in sorted(table[name].unique())[1:]
        ]
    ).astype(float)
    labels = {
        "block": table["block"].to_numpy(dtype=object),
        "bore": (table["block"] + "/" + table["bore"]).to_numpy(dtype=object),
    }
    return dense_reml(table["wall"].to_numpy(), X, [labels[name] for name in reversed(nesting)])


@pytest.mark.parametrize(
    ("seed", "nesting"),
    [(0, ()), *((seed, ("block",)) for seed in range(3)), *((seed, NESTING) for seed in range(6))],
)
def test_against_dense_matrices(seed, nesting):
    spread = [(1.0, 0.6, 0.3), (0.05, 0.6, 0.3), (1.0, 0.02, 0.3)][seed % 3]
    table = readings(seed, spread=spread)
    fit, other = fitted(table, nesting), dense(table, nesting)
    components = [fit.variance_components[name] for name in ("residual", *reversed(nesting))]
    assert fit.converged
    np.testing.assert_allclose(components, other.theta, rtol=1e-6, atol=1e-9)
    assert fit.reml_criterion == pytest.approx(other.criterion, abs=1e-7)
    np.testing.assert_allclose(fit.coefficients, other.coefficients, rtol=1e-6, atol=1e-9)
    np.testing.assert_allclose(fit.covariance, other.covariance, rtol=1e-6, atol=1e-9)
    np.testing.assert_allclose(fit.adjusted, other.adjusted, rtol=1e-6, atol=1e-9)
    row = np.zeros(len(fit.columns))
    row[1] = 1.0
    assert fit.contrast("family", "b", "a").degrees_of_freedom == pytest.approx(
        other.degrees_of_freedom(row, "all"), rel=1e-6
    )
    for information in ("expected", "observed"):
        difference = fit.contrast("family", "b", "a", "satterthwaite", information)
        assert difference.degrees_of_freedom == pytest.approx(
            other.degrees_of_freedom(row, information), rel=1e-5
        )
