"""The restricted likelihood of a nested design at given variances, and its derivatives.

With V = sum of theta_r V_r, W its inverse and P = W - W X (X'WX)^-1 X'W, the restricted likelihood,
its gradient and both its information matrices need only Z'WZ, Z'W V_r W Z, Z'W V_r W V_s W Z and
the traces of W V_r and W V_r W V_s, where Z is X with the response as last column. Here they are
sums over inner groups (bores), closed within each outer group (block).

Within an outer group let a_j = s2 + n_j v_inner, d_j = sqrt(n_j) / a_j, q = sum n_j / a_j and
kappa = v_outer / (1 + v_outer q). Then W = diag(1/a) - kappa d d', V_0 = I, V_1 = diag(n) and
V_2 = sqrt(n) sqrt(n)'.

References
----------
Patterson, H. D. and Thompson, R. (1971). Recovery of inter-block information when block sizes are
unequal. Biometrika 58, 545-554.
Searle, S. R., Casella, G. and McCulloch, C. E. (1992). Variance Components. Wiley. Chapter 6.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from workbench.inference.nested_cells import Codes, Floats
from workbench.inference.nested_sums import NestedSums


@dataclass(frozen=True, slots=True, kw_only=True)
class Products:
    """Z'WZ (`zero`), Z'W V_r W Z (`one`), Z'W V_r W V_s W Z (`two`), and their traces without Z."""

    zero: Floats
    one: Floats
    two: Floats
    trace_one: Floats
    trace_two: Floats
    log_determinant: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Likelihood:
    """The restricted likelihood at `theta`.

    `criterion` is minus twice its logarithm, all constants in. `score` is the gradient of the
    logarithm; `expected` and `observed` are its information matrices. `covariance` is (X'WX)^-1.
    """

    theta: Floats
    criterion: float
    coefficients: Floats
    covariance: Floats
    score: Floats
    expected: Floats
    observed: Floats
    products: Products


def likelihood(sums: NestedSums, theta: Floats) -> Likelihood:
    """Work out the restricted likelihood and its derivatives at the variances `theta`."""
    products = _products(sums, theta)
    gram = products.zero[:-1, :-1]
    factor = np.linalg.cholesky(gram)
    covariance = np.linalg.inv(gram)
    covariance = (covariance + covariance.T) / 2
    coefficients = np.asarray(np.linalg.solve(gram, products.zero[:-1, -1]), dtype=np.float64)
    residual = np.append(-coefficients, 1.0)  # Z @ residual is the response less its fit
    explained = np.array([covariance @ one[:-1, :-1] for one in products.one])
    along = products.one @ residual
    quadratic = along @ residual
    trace_one = products.trace_one - np.einsum("rii->r", explained)
    trace_two = (
        products.trace_two
        - 2 * np.einsum("ij,rsji->rs", covariance, products.two[..., :-1, :-1])
        + np.einsum("rij,sji->rs", explained, explained)
    )
    # y'P V_r P V_s P y
    curvature = (
        np.einsum("i,rsij,j->rs", residual, products.two, residual)
        - along[:, :-1] @ covariance @ along[:, :-1].T
    )
    criterion = (
        (sums.readings - sums.fixed) * math.log(2 * math.pi)
        + products.log_determinant
        + 2 * np.log(np.diag(factor)).sum()
        + residual @ products.zero @ residual
    )
    return Likelihood(
        theta=theta,
        criterion=float(criterion),
        coefficients=coefficients,
        covariance=covariance,
        score=(quadratic - trace_one) / 2,
        expected=trace_two / 2,
        observed=curvature - trace_two / 2,
        products=products,
    )


def _products(sums: NestedSums, theta: Floats) -> Products:
    """Sum all products over deviations and groups; see the head of this file for the symbols."""
    many, wide = len(theta), len(sums.within)
    s2 = float(theta[0])
    one, two = np.zeros((many, wide, wide)), np.zeros((many, many, wide, wide))
    trace_one, trace_two = np.zeros(many), np.zeros((many, many))
    zero = sums.within / s2
    one[0], two[0, 0] = sums.within / s2**2, sums.within / s2**3
    trace_one[0], trace_two[0, 0] = sums.deviations / s2, sums.deviations / s2**2
    log_determinant = sums.deviations * math.log(s2)
    if many > 1:
        n, z = sums.n, sums.means
        a = s2 + n * theta[1]
        log_determinant += float(np.log(a).sum())
        zero += _gram(z, 1 / a)
        e = (np.ones_like(n), n)
        for r in range(2):
            one[r] += _gram(z, e[r] / a**2)
            trace_one[r] += (e[r] / a).sum()
            for s in range(r, 2):
                two[r, s] += _gram(z, e[r] * e[s] / a**3)
                trace_two[r, s] += (e[r] * e[s] / a**2).sum()
        if sums.starts is not None:
            log_determinant += _add_outer(
                sums, sums.starts, float(theta[2]), a, zero, one, two, trace_one, trace_two
            )
    for r in range(many):
        for s in range(r):
            two[r, s] = two[s, r].T
            trace_two[r, s] = trace_two[s, r]
    return Products(
        zero=zero,
        one=one,
        two=two,
        trace_one=trace_one,
        trace_two=trace_two,
        log_determinant=log_determinant,
    )


def _add_outer(
    sums: NestedSums,
    starts: Codes,
    v_outer: float,
    a: Floats,
    zero: Floats,
    one: Floats,
    two: Floats,
    trace_one: Floats,
    trace_two: Floats,
) -> float:
    """Add what inner groups of one outer group share; give their part of the log determinant.

    With g = Z'd, h_r = Z'D E_r d, k_rs = Z'D E_r D E_s d, m_r = d'E_r d, m_rs = d'E_r D E_s d,
    u_r = h_r - kappa m_r g (so that Z'W E_r W sqrt(n) = omega u_r) and omega = 1 / (1 + v_outer q).
    """
    n, z = sums.n, sums.means

    def by_outer(values: Floats) -> Floats:
        return np.add.reduceat(values, starts, axis=0)

    d = np.sqrt(n) / a
    e = (np.ones_like(n), n)
    q = by_outer(n / a)
    omega = 1 / (1 + v_outer * q)
    kappa = v_outer * omega
    g = by_outer(z * d[:, None])
    zero -= _gram(g, kappa)
    m = [by_outer(e[r] * d**2) for r in range(2)]
    h = [by_outer(z * (e[r] * d / a)[:, None]) for r in range(2)]
    u = [h[r] - (kappa * m[r])[:, None] * g for r in range(2)]
    for r in range(2):
        cross = (h[r] * kappa[:, None]).T @ g
        one[r] -= cross + cross.T - _gram(g, kappa**2 * m[r])
        trace_one[r] -= kappa @ m[r]
        two[r, 2] = (u[r] * (omega**2)[:, None]).T @ g
        trace_two[r, 2] = omega**2 @ m[r]
        for s in range(r, 2):
            m_rs = by_outer(e[r] * e[s] * d**2 / a)
            k = by_outer(z * (e[r] * e[s] * d / a**2)[:, None])
            cross = (k * kappa[:, None]).T @ g
            two[r, s] -= cross + cross.T - _gram(g, kappa**2 * m_rs)
            two[r, s] -= (u[r] * kappa[:, None]).T @ u[s]
            trace_two[r, s] -= 2 * kappa @ m_rs - kappa**2 @ (m[r] * m[s])
    one[2] = _gram(g, omega**2)
    two[2, 2] = _gram(g, q * omega**3)
    trace_one[2] = q @ omega
    trace_two[2, 2] = (q * omega) @ (q * omega)
    return float(-np.log(omega).sum())


def _gram(rows: Floats, weights: Floats) -> Floats:
    """Give rows' diag(weights) rows."""
    return (rows * weights[:, None]).T @ rows
