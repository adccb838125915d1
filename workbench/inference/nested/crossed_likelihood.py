"""The likelihood of readings under several chance factors, and how it bends, from sums of levels.

Work grows with the number of levels, not of readings: only counts and sums per level enter.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.linalg import solve_triangular

from workbench.inference.samples import Values


@dataclass(frozen=True, slots=True, kw_only=True)
class Sums:
    """What the likelihood needs of `n` readings.

    `products` are those of the columns 1, the readings less their `centre`, and Z, a column a
    level. `factors` tells in a row a factor, by 1 and 0, which levels are its own.
    """

    n: int
    products: Values
    factors: Values
    centre: float


def sums_of(codes: Sequence[np.ndarray], y: Values) -> Sums:
    """Give the sums of the readings `y`, whose levels of each factor are numbered in `codes`."""
    columns = [(code[:, None] == np.arange(code.max() + 1)).astype(float) for code in codes]
    rows = np.column_stack([np.ones(y.size), y - y.mean(), *columns])
    owners = np.repeat(np.arange(len(codes)), [column.shape[1] for column in columns])
    return Sums(
        n=y.size,
        products=rows.T @ rows,
        factors=(owners == np.arange(len(codes))[:, None]).astype(float),
        centre=float(y.mean()),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Parts:
    """What a criterion is made of, in units of the residual, V being the readings' covariance.

    `log_v` is log|V|, `of_mean` 1'V^-1 1 and `of_both` 1'V^-1 y. With P for V^-1 less what the mean
    takes up, `rest` is y'Py, `along` Z'Py, `held` Z'PZ, and `free` Z'V^-1 Z.
    """

    log_v: float
    of_mean: float
    of_both: float
    rest: float
    along: Values
    held: Values
    free: Values


def parts_at(sums: Sums, ratios: Values) -> Parts:
    """Give the parts at the variances of the factors, each over that of the residual."""
    root = np.sqrt(ratios) @ sums.factors
    scaled = root[:, None] * sums.products[2:]
    lower = np.linalg.cholesky(np.eye(root.size) + scaled[:, 2:] * root)
    solved = solve_triangular(lower, scaled, lower=True, check_finite=False)
    free = sums.products - solved.T @ solved
    held = free[1:, 1:] - np.outer(free[0, 1:], free[0, 1:]) / free[0, 0]
    return Parts(
        log_v=2 * float(np.log(np.diag(lower)).sum()),
        of_mean=float(free[0, 0]),
        of_both=float(free[0, 1]),
        rest=float(held[0, 0]),
        along=held[0, 1:],
        held=held[1:, 1:],
        free=free[2:, 2:],
    )


def curved_at(
    sums: Sums, variances: Values, restricted: bool, *, scaled: bool = False
) -> tuple[float, Values, Values]:
    """Give the criterion, its slope and its curvature in the logarithms of the variances.

    With `scaled` it is that at their best common scale.

    Where all variances grow alike, the slope in each, a trace less a length, loses nothing but in
    its length. So the lengths are what the rows of the curvature add up to.
    """
    ratios = variances[:-1] / variances[-1]
    parts = parts_at(sums, ratios)
    freedom = sums.n - restricted
    residual = parts.rest / freedom if scaled else float(variances[-1])
    rest = parts.rest / residual
    criterion = freedom * math.log(2 * math.pi * residual) + parts.log_v + rest
    moved = parts.free
    if restricted:
        criterion, moved = criterion + math.log(parts.of_mean), parts.held
    factors = ratios[:, None] * sums.factors
    along = factors * parts.along
    lengths = along @ parts.along / residual
    slope = factors @ np.diag(moved) - lengths
    inner = 2 * along @ parts.held @ along.T / residual - factors @ moved**2 @ factors.T
    inner += np.diag(slope)
    slope = np.append(slope, freedom - rest - slope.sum())
    lengths = np.append(lengths, rest - lengths.sum())
    cross = lengths[:-1] - inner.sum(axis=1)
    curvature = np.empty((slope.size, slope.size))
    curvature[:-1, :-1] = inner
    curvature[-1, :-1] = curvature[:-1, -1] = cross
    curvature[-1, -1] = lengths[-1] - cross.sum()
    if scaled:
        curvature -= np.outer(lengths, lengths) / rest
    return criterion, slope, curvature
