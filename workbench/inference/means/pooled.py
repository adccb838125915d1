"""Two means whose spreads are taken as alike: Student's pooled analysis."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import ndtr, stdtrit

from workbench.errors import Refusal
from workbench.inference.means.several_families import Moments
from workbench.inference.means.welch import Summary
from workbench.inference.noncentral import spread_nodes
from workbench.inference.results import Difference, check_confidence


def pooled(candidate: ArrayLike | Summary, reference: ArrayLike | Summary) -> Difference:
    """Answer how far two means lie apart when both families spread alike.

    One family may hold a single block: it borrows the other's spread. Where the spreads differ,
    and most of all where the smaller family spreads more, `welch` is right and this is not.

    Parameters
    ----------
    candidate, reference : array_like or Summary
        One number a block, or count, mean and standard deviation; one unit.

    Returns
    -------
    Difference
        Candidate minus reference, with n1 + n2 - 2 degrees of freedom.

    Raises
    ------
    Refusal
        `too_few` when both hold a single block; `zero_spread` when neither varies; `not_finite`.

    References
    ----------
    Student (1908). The probable error of a mean. Biometrika 6, 1-25.

    Examples
    --------
    >>> apart = pooled([4, 7, 8, 6, 3, 2], [6, 8, 7, 10, 11, 9])
    >>> f"t = {apart.statistic():.3f}, {apart.degrees_of_freedom:.0f} df"
    't = -2.842, 10 df'
    """
    known = Moments.of({"candidate": candidate, "reference": reference})
    return Difference(
        estimate=float(known.mean[0] - known.mean[1]),
        standard_error=math.sqrt(known.pooled_variance * float((1 / known.n).sum())),
        degrees_of_freedom=known.pooled_degrees_of_freedom,
        method="pooled",
    )


def false_alarms(candidate: int, reference: int, ratio: float, confidence: float = 0.95) -> float:
    """Answer how often the pooled analysis finds a difference there is not, the spreads unlike.

    Parameters
    ----------
    candidate, reference : int
        Blocks of each family, three in all; normal.
    ratio : float
        The candidate's spread over the reference's, above 0.
    confidence : float
        Of the interval that decides; 1 - confidence comes out where the ratio is 1.

    Raises
    ------
    Refusal
        `too_few`, `bad_ratio`, `bad_confidence`.

    Examples
    --------
    One block that varies twice as much as twelve others, and three beside fifty:

    >>> round(false_alarms(1, 12, 2.0), 2), round(false_alarms(3, 50, 2.0), 2)
    (0.28, 0.28)
    """
    check_confidence(confidence)
    if min(candidate, reference) < 1 or candidate + reference < 3:
        raise Refusal("too_few", "A pooled spread needs a block of each family and three in all.")
    if not (ratio > 0 and math.isfinite(ratio)):
        raise Refusal("bad_ratio", f"A ratio of spreads is above 0 and finite, not {ratio}.")
    freedom = candidate + reference - 2
    squares, weights = np.zeros((1, 1)), np.ones((1, 1))
    for shape, n, spread in (((-1, 1), candidate, ratio), ((1, -1), reference, 1.0)):
        if n > 1:
            nodes, likely = spread_nodes(n - 1)
            squares = squares + ((n - 1) * (spread * nodes) ** 2).reshape(shape)
            weights = weights * likely.reshape(shape)
    error = np.sqrt(squares / freedom * (1 / candidate + 1 / reference))
    true = math.sqrt(ratio**2 / candidate + 1 / reference)
    bound = float(stdtrit(freedom, (1 + confidence) / 2))
    return float((weights * 2 * ndtr(-bound * error / true)).sum())
