"""The restricted likelihood of a mixed model at given variances, and its derivatives.

With V = sum of theta_r V_r, W its inverse and P = W - W X (X'WX)^-1 X'W, the restricted likelihood,
its gradient and both its information matrices need only Z'WZ, Z'W V_r W Z, Z'W V_r W V_s W Z and
the traces of W V_r and W V_r W V_s, where Z is X with the response as last column. A design gives
these products; the same ones serve the full likelihood.

References
----------
Patterson, H. D. and Thompson, R. (1971). Recovery of inter-block information when block sizes are
unequal. Biometrika 58, 545-554.
Searle, S. R., Casella, G. and McCulloch, C. E. (1992). Variance Components. Wiley. Chapter 6.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Protocol

import numpy as np

from workbench.inference.nested.cells import Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class Products:
    """Z'WZ (`zero`), Z'W V_r W Z (`one`), Z'W V_r W V_s W Z (`two`), and their traces without Z."""

    zero: Floats
    one: Floats
    two: Floats
    trace_one: Floats
    trace_two: Floats
    log_determinant: float


class Design(Protocol):
    """What a likelihood asks of the readings; variances come residual first."""

    @property
    def components(self) -> tuple[str, ...]:
        """The names of the variances."""
        ...

    @property
    def residuals(self) -> tuple[int, ...]:
        """The places of the variances that cannot be zero."""
        ...

    @property
    def readings(self) -> float:
        """The number of readings."""
        ...

    @property
    def fixed(self) -> int:
        """The number of fixed columns."""
        ...

    def start(self) -> Floats:
        """Give variances to start from."""
        ...

    def products(self, theta: Floats) -> Products:
        """Give the products at the variances `theta`; a LinAlgError where they cannot be."""
        ...


@dataclass(frozen=True, slots=True, kw_only=True)
class Likelihood:
    """The restricted, or the full, likelihood at `theta`, the fixed columns at their best.

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


def likelihood(design: Design, theta: Floats, *, restricted: bool = True) -> Likelihood:
    """Work out the likelihood and its derivatives at the variances `theta`."""
    products = design.products(theta)
    gram = products.zero[:-1, :-1]
    factor = np.linalg.cholesky(gram)
    covariance = np.linalg.inv(gram)
    covariance = (covariance + covariance.T) / 2
    coefficients = np.asarray(np.linalg.solve(gram, products.zero[:-1, -1]), dtype=np.float64)
    residual = np.append(-coefficients, 1.0)  # Z @ residual is the response less its fit
    along = products.one @ residual
    quadratic = along @ residual
    # y'P V_r P V_s P y
    curvature = products.two @ residual @ residual - along[:, :-1] @ covariance @ along[:, :-1].T
    trace_one, trace_two = products.trace_one, products.trace_two
    criterion = (
        design.readings * math.log(2 * math.pi)
        + products.log_determinant
        + residual @ products.zero @ residual
    )
    if restricted:
        explained = covariance @ products.one[:, :-1, :-1]
        trace_one = trace_one - np.einsum("rii->r", explained)
        trace_two = (
            trace_two
            - 2 * np.einsum("ij,rsji->rs", covariance, products.two[..., :-1, :-1])
            + np.einsum("rij,sji->rs", explained, explained)
        )
        criterion += 2 * np.log(np.diag(factor)).sum() - design.fixed * math.log(2 * math.pi)
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
