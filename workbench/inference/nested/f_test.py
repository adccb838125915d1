"""Several differences of a mixed model at once: the F test of Kenward and Roger.

References
----------
Kenward, M. G. and Roger, J. H. (1997). Small sample inference for fixed effects from restricted
maximum likelihood. Biometrics 53, 983-997; Halekoh, U. and Højsgaard, S. (2014). Journal of
Statistical Software 59(9), section 3 (the same in the notation used here).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from workbench.errors import Refusal
from workbench.inference.nested.cells import Floats
from workbench.inference.nested.result import NestedFit

ALIKE = 1e-8  # share of a row left over by the rows before it, below which it adds nothing


@dataclass(frozen=True, slots=True, kw_only=True)
class FTest:
    """Whether several differences are all zero.

    `statistic` is `scaling` times the Wald statistic over its rows, to be held against F with
    `numerator` and `denominator` degrees of freedom.
    """

    statistic: float
    numerator: int
    denominator: float
    scaling: float
    p_value: float
    method: str


def f_test(fit: NestedFit, rows: Sequence[Mapping[str, float] | Sequence[float]]) -> FTest:
    """Answer whether several weighted sums of the fixed columns are all zero.

    Parameters
    ----------
    fit : NestedFit
        Any fit of the nested or the crossed model.
    rows : sequence
        The sums, each as for `NestedFit.combination`; those that follow from others count once.

    Returns
    -------
    FTest
        For one row, the square of its Kenward-Roger t with the same degrees of freedom.

    Raises
    ------
    Refusal
        `nothing_asked`, `not_converged`, and what `combination` refuses.
    """
    if not rows:
        raise Refusal("nothing_asked", "There is no difference to test.")
    if not fit.converged:
        raise Refusal(
            "not_converged", f"The fit reached no maximum in {fit.steps} steps; no answer."
        )
    weights = _independent(np.array([fit.row(row) for row in rows]))
    return _kenward_roger(fit, weights)


def _independent(rows: Floats) -> Floats:
    """Give an orthonormal basis of what the rows span."""
    _, sizes, directions = np.linalg.svd(rows, full_matrices=False)
    basis: Floats = directions[sizes > ALIKE * sizes[0]]
    return basis


def _kenward_roger(fit: NestedFit, rows: Floats) -> FTest:
    """Match the first two moments of the Wald statistic to those of a scaled F.

    With Theta = L'(L Phi L')^-1 L, the slopes of Phi stand for -Phi P_r Phi of the paper.
    """
    q, known = len(rows), fit.component_covariances["all"]
    theta = rows.T @ np.linalg.solve(rows @ fit.covariance @ rows.T, rows)
    turned = theta @ fit.slopes
    traces = np.einsum("rii->r", turned)
    a1 = float(traces @ known @ traces)
    a2 = float(np.einsum("rs,rij,sji->", known, turned, turned))
    b = (a1 + 6 * a2) / (2 * q)
    g = ((q + 1) * a1 - (q + 4) * a2) / ((q + 2) * a2)
    below = 3 * q + 2 * (1 - g)
    c1, c2, c3 = g / below, (q - g) / below, (q + 2 - g) / below
    mean = 1 - a2 / q  # the inverse of the statistic's expectation
    rho = (mean / (1 - c2 * b)) ** 2 * (1 + c1 * b) / (1 - c3 * b) / q
    denominator = 4 + (q + 2) / (q * rho - 1)
    if not denominator > 2:
        raise Refusal(
            "too_few_degrees_of_freedom",
            f"The {q} differences together leave {denominator:.2g} degrees of freedom for their "
            "error; an F test needs more than 2.",
        )
    scaling = denominator * mean / (denominator - 2)
    sums = rows @ fit.coefficients
    wald = float(sums @ np.linalg.solve(rows @ fit.adjusted @ rows.T, sums))
    statistic = scaling * wald / q
    from scipy.special import fdtrc

    return FTest(
        statistic=statistic,
        numerator=q,
        denominator=denominator,
        scaling=scaling,
        p_value=float(fdtrc(q, denominator, statistic)),
        method=f"{fit.model}, Kenward-Roger F",
    )
