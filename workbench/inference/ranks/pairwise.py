"""The k-th smallest of all differences between two samples, without holding them all."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from workbench.inference.samples import Values

HELD = 4_000_000  # differences that may be held at once: 32 MB


def ordered_differences(own: Values, other: Values, places: list[int]) -> list[float]:
    """Give the differences own - other that stand at `places` of their order, from 0.

    Where there are few they are all sorted. Else the value is enclosed between two bounds, the
    differences up to a bound being counted row by row in the sorted samples, until few are left or
    the bounds meet: time grows with the blocks, not with their pairs, and the answer is the same.

    >>> import numpy as np
    >>> ordered_differences(np.array([1.0, 5.0]), np.array([0.0, 2.0]), [0, 3])
    [-1.0, 5.0]
    """
    if own.size * other.size <= HELD:
        apart = np.sort(np.subtract.outer(own, other), axis=None)
        return [float(apart[place]) for place in places]
    rows, columns = np.sort(own), np.sort(other)[::-1]  # a row of differences rises
    return [_at(rows, columns, place) for place in places]


def _at(rows: Values, columns: Values, place: int) -> float:
    low = float(np.nextafter(rows[0] - columns[0], -np.inf))
    high = float(rows[-1] - columns[-1])
    under, upto = _counted(rows, columns, low), _counted(rows, columns, high)
    while int((upto - under).sum()) > HELD:
        middle = low + (high - low) / 2
        if not low < middle < high:
            return high
        counts = _counted(rows, columns, middle)
        if int(counts.sum()) > place:
            high, upto = middle, counts
        else:
            low, under = middle, counts
    left = [row - columns[start:stop] for row, start, stop in zip(rows, under, upto, strict=True)]
    rest = np.sort(np.concatenate(left))
    return float(rest[place - int(under.sum())])


def _counted(rows: Values, columns: Values, bound: float) -> NDArray[np.int64]:
    """Count in each row the differences up to a bound, as they are rounded."""
    least = np.zeros(rows.size, np.int64)
    most = np.full(rows.size, columns.size, np.int64)
    while (open_ := least < most).any():
        middle = np.minimum((least + most) // 2, columns.size - 1)
        within = rows - columns[middle] <= bound
        least = np.where(open_ & within, middle + 1, least)
        most = np.where(open_ & ~within, middle, most)
    return least
