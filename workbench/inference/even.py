"""Points that fill a cube more evenly than chance does: the same interval from fewer draws.

Written out because the ready generators of such points come with the whole of scipy.stats, half a
second of every command.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from workbench.errors import Refusal

Values = NDArray[np.float64]

PRIMES = (2, 3, 5, 7, 11, 13, 17, 19)
INSIDE = 1e-15  # from 0 and 1, whose quantiles are infinite


def even_points(count: int, columns: int, generator: np.random.Generator) -> Values:
    """Give rows of numbers between 0 and 1, each alone uniform, together evenly spread.

    Multiples of the square roots of primes, less their whole part, all moved by one random shift
    a column, so that what is averaged over them is right on average.

    Parameters
    ----------
    count, columns : int
        Points, and numbers of each; as many columns as there are `PRIMES` at most.
    generator : numpy.random.Generator
        Of the shift.

    Raises
    ------
    Refusal
        `bad_count` for no points, or more columns than primes.

    References
    ----------
    Kuipers, L., Niederreiter, H. (1974). Uniform Distribution of Sequences, chapter 1; Cranley, R.,
    Patterson, T. N. L. (1976). SIAM Journal on Numerical Analysis 13, 904-914, for the shift. Both
    from memory.

    Examples
    --------
    >>> points = even_points(1000, 2, np.random.default_rng(1))
    >>> bool(abs(points.mean(axis=0) - 0.5).max() < 0.002)
    True
    """
    if count < 1 or not 1 <= columns <= len(PRIMES):
        raise Refusal(
            "bad_count",
            f"Even points are 1 or more, of 1 to {len(PRIMES)} columns, not {count} of {columns}.",
        )
    steps = np.sqrt(np.array(PRIMES[:columns], dtype=float))
    points = (generator.random(columns) + np.arange(count)[:, None] * steps) % 1.0
    inside: Values = np.clip(points, INSIDE, 1 - INSIDE)
    return inside
