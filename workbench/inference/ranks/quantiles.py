"""Medians and other quantiles by order statistics: independence, but no assumption on the shape."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import bdtr, bdtrc

from workbench.errors import Refusal
from workbench.inference.estimates import RankedEstimate
from workbench.inference.results import check_confidence
from workbench.inference.samples import Values, clean_values


def median_interval(values: ArrayLike, confidence: float = 0.95) -> RankedEstimate:
    """Answer where the middle block of the family lies: half are above it, half below.

    Examples
    --------
    With ten blocks the second and the ninth enclose the median with 97.9 %:

    >>> found = median_interval(range(1, 11))
    >>> found.low, found.high, round(found.attained, 4)
    (2.0, 9.0, 0.9785)
    """
    return quantile_interval(values, 0.5, confidence)


def quantile_interval(values: ArrayLike, share: float, confidence: float = 0.95) -> RankedEstimate:
    """Answer where the block lies that a `share` of the family stays below.

    The ends are observations: the innermost pair that leaves at most (1 - confidence) / 2 on
    either side, whatever the shape of the distribution. An end is infinite where even the least or
    greatest block does not reach that; `attained` then counts the closed end alone.

    Parameters
    ----------
    values : array_like
        One number a block.
    share : float
        0.5 for the median, 0.1 for the value one block in ten falls below.
    confidence : float
        From 0 to 1.

    Returns
    -------
    RankedEstimate
        The estimate itself interpolates so that it is about median-unbiased (Hyndman and Fan's
        definition 8).

    Raises
    ------
    Refusal
        `bad_share` for a share not between 0 and 1; `too_few`, `not_finite`, `bad_confidence`.

    References
    ----------
    Conover, W. J. (1999). Practical Nonparametric Statistics, 3rd ed., section 3.2 (from memory).
    """
    check_confidence(confidence)
    if not 0 < share < 1:
        raise Refusal("bad_share", f"A share lies between 0 and 1, not at {share}.")
    row = np.sort(clean_values(values))
    low_rank, high_rank = _ranks(row.size, share, (1 - confidence) / 2)
    below = _at_most(low_rank - 1, row.size, share)
    above = _at_least(high_rank, row.size, share)
    return RankedEstimate(
        estimate=float(np.quantile(row, share, method="median_unbiased")),
        low=_ordered(row, low_rank, -math.inf),
        high=_ordered(row, high_rank, math.inf),
        confidence=confidence,
        attained=1 - below - above,
        method="order statistics",
    )


def _ranks(n: int, share: float, tail: float) -> tuple[int, int]:
    """Find the innermost ranks (1 to n; 0 and n + 1 are open ends) with at most `tail` outside."""
    counts = np.arange(n + 1)
    low = int(np.count_nonzero(bdtr(counts, n, share) <= tail))
    high = n + 1 - int(np.count_nonzero(_at_least_all(counts, n, share) <= tail))
    return low, high


def _at_least_all(counts: np.ndarray, n: int, share: float) -> Values:
    tails: Values = np.where(counts > 0, bdtrc(np.maximum(counts - 1, 0), n, share), 1.0)
    return tails


def _at_most(count: int, n: int, share: float) -> float:
    return float(bdtr(count, n, share)) if count >= 0 else 0.0


def _at_least(count: int, n: int, share: float) -> float:
    return float(bdtrc(count - 1, n, share)) if count <= n else 0.0


def _ordered(row: Values, rank: int, otherwise: float) -> float:
    return float(row[rank - 1]) if 1 <= rank <= row.size else otherwise
