"""Where the dots of a figure stand: few enough to see, and in the same places every time."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
BINS = 60


def dots(values: Floats, counts: NDArray[np.int64], limit: int) -> tuple[Floats, int]:
    """Give the sorted dots that stand for readings, and about how many readings each stands for.

    Up to `limit` readings are dots of their own. Beyond that m dots stand at the middle quantiles
    (i + 1/2) / m, so that each tells of the same number of readings.

    Parameters
    ----------
    values, counts
        Distinct values and how often each was read.
    limit
        The most dots to draw.
    """
    order = np.argsort(values, kind="stable")
    values, counts = values[order], counts[order]
    total = int(counts.sum())
    each = -(-total // limit)
    if each <= 1:
        return np.repeat(values, counts), 1
    wanted = total // each
    ranks = (np.arange(wanted) + 0.5) / wanted * total
    return values[np.searchsorted(np.cumsum(counts), ranks, side="left")], each


def spread_out(values: Floats) -> Floats:
    """Give each of the sorted `values` an offset in [-1, 1], wider where values crowd.

    The offsets follow the van der Corput sequence: neighbours come apart, and no random number is
    drawn.
    """
    if values.size == 0:
        return np.empty(0)
    edges = np.linspace(values[0], values[-1], BINS + 1)
    if edges[0] == edges[-1]:
        crowd = np.ones(values.size)
    else:
        heights, _ = np.histogram(values, edges)
        place = np.clip(np.searchsorted(edges, values, side="right") - 1, 0, BINS - 1)
        crowd = heights[place] / heights.max()
    return (2 * van_der_corput(values.size) - 1) * (0.2 + 0.8 * crowd)


def van_der_corput(count: int) -> Floats:
    """Give the first `count` terms of the van der Corput sequence in base 2: 0, 1/2, 1/4, ..."""
    left = np.arange(count, dtype=np.int64)
    result, digit = np.zeros(count), 0.5
    while left.any():
        result += digit * (left & 1)
        left >>= 1
        digit /= 2
    return result
