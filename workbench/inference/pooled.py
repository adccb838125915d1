"""Two means whose spreads are taken as alike: Student's pooled analysis."""

from __future__ import annotations

import math

from numpy.typing import ArrayLike

from workbench.inference.results import Difference
from workbench.inference.several_families import Moments
from workbench.inference.welch import Summary


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
