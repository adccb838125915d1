"""Distances between a sample and a distribution, for points and for counts in cells.

Each takes many samples at once, one row a sample, and gives one number a row.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Values = NDArray[np.float64]

LEAST_SHARE = 1e-300


def anderson_darling(below: Values, above: Values) -> Values:
    """Give A^2 from F and 1 - F at the points of each sample, in rising order.

    Stephens, M. A. (1974), Journal of the American Statistical Association 69:730-737 (from
    memory).
    """
    n = below.shape[-1]
    weights = (2 * np.arange(1, n + 1) - 1) / n
    logs = np.log(np.maximum(below, LEAST_SHARE)) + np.log(
        np.maximum(above[..., ::-1], LEAST_SHARE)
    )
    found: Values = -n - logs @ weights
    return found


def cramer_von_mises(below: Values) -> Values:
    """Give W^2 from F at the points of each sample, in rising order."""
    n = below.shape[-1]
    middle = (2 * np.arange(1, n + 1) - 1) / (2 * n)
    found: Values = 1 / (12 * n) + ((below - middle) ** 2).sum(axis=-1)
    return found


def kolmogorov_smirnov(below: Values) -> Values:
    """Give D, the largest distance, from F at the points of each sample, in rising order."""
    n = below.shape[-1]
    steps = np.arange(n + 1) / n
    found: Values = np.maximum(steps[1:] - below, below - steps[:-1]).max(axis=-1)
    return found


def anderson_darling_cells(counts: Values, shares: Values) -> Values:
    """Give A^2 from counts in cells in order, and their shares under the distribution.

    Choulakian, V., Lockhart, R. A., Stephens, M. A. (1994). Cramer-von Mises statistics for
    discrete distributions. Canadian Journal of Statistics 22, 125-137 (from memory).
    """
    n, gaps, rising = _gaps(counts, shares)
    free = rising * (1 - rising)
    with np.errstate(divide="ignore", invalid="ignore"):
        terms = np.where(free > 0, gaps**2 * shares / free, 0.0)
    found: Values = n * terms[..., :-1].sum(axis=-1)
    return found


def cramer_von_mises_cells(counts: Values, shares: Values) -> Values:
    """Give W^2 from counts in cells in order, as `anderson_darling_cells`."""
    n, gaps, _ = _gaps(counts, shares)
    found: Values = n * (gaps**2 * shares).sum(axis=-1)
    return found


def kolmogorov_smirnov_cells(counts: Values, shares: Values) -> Values:
    """Give D over the edges of cells.

    Pettitt, A. N., Stephens, M. A. (1977). The Kolmogorov-Smirnov goodness-of-fit statistic with
    discrete and grouped data. Technometrics 19, 205-210 (from memory).
    """
    _, gaps, _ = _gaps(counts, shares)
    found: Values = np.abs(gaps).max(axis=-1)
    return found


def chi_square(counts: Values, shares: Values) -> Values:
    """Give Pearson's sum of (observed - expected)^2 / expected."""
    expected = counts.sum(axis=-1, keepdims=True) * shares
    with np.errstate(divide="ignore", invalid="ignore"):
        terms = np.where(expected > 0, (counts - expected) ** 2 / expected, 0.0)
    found: Values = terms.sum(axis=-1)
    return found


def _gaps(counts: Values, shares: Values) -> tuple[Values, Values, Values]:
    """Give the sample sizes, the distances of the two distributions at edges, and the fitted."""
    n = counts.sum(axis=-1)
    rising = np.minimum(np.cumsum(shares, axis=-1), 1.0)
    gaps: Values = np.cumsum(counts, axis=-1) / n[..., None] - rising
    return n, gaps, rising
