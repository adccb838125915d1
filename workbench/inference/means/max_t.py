"""The largest of several t's that lean on each other, and the range of several means: exact.

Several families set against one reference, or several future blocks set against one sample, share
what is not known about the reference and about the spread. Their t's are then
T_j = (sqrt(1 - l_j^2) Z_j + l_j Z_0) / (s / sigma) with loadings l_j, so that T_i and T_j correlate
l_i l_j. Averaging over Z_0 and s leaves a product of normal probabilities. All pairs of families
are judged alike by the studentised range. No random numbers: the same call always gives the same
bits (library routines by quasi-random integration wobble in the fourth decimal of p).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import ndtr

from workbench.errors import Refusal
from workbench.inference.noncentral import legendre, spread_nodes
from workbench.inference.results import check_confidence
from workbench.inference.roots import root_between

Values = NDArray[np.float64]

SPREAD_NODES = 96
PANEL_NODES = 40
REACH = 9.0


def max_t_cdf(
    bound: float, loadings: ArrayLike, degrees_of_freedom: float, *, two_sided: bool = True
) -> float:
    """Give the probability that every |T_j| (or every T_j) stays within `bound`.

    Parameters
    ----------
    bound : float
        The limit common to all.
    loadings : array_like
        l_j of each T, from 0 (independent) to below 1.
    degrees_of_freedom : float
        Of the shared spread; may be infinite.
    two_sided : bool
        |T_j| <= bound, or else T_j <= bound.

    References
    ----------
    Dunnett, C. W. (1955). A multiple comparison procedure for comparing several treatments with a
    control. Journal of the American Statistical Association 50, 1096-1121.

    Examples
    --------
    The two-sided 5 % point of three families against a reference, 8 df, is 2.880 (the 2.94 in
    the first tables is an upper bound):

    >>> round(max_t_cdf(2.8797, [0.5**0.5] * 3, 8), 5)
    0.95
    """
    distinct = _checked(loadings)
    if two_sided and bound <= 0:
        return 0.0
    s, s_weights = spread_nodes(degrees_of_freedom, SPREAD_NODES)
    shared, shared_weights = _shared_nodes(max(loading for loading, _ in distinct))
    inside = np.ones((s.size, shared.size))
    for loading, times in distinct:
        own = np.sqrt(1 - loading**2)
        limit, centre = bound * s[:, None] / own, loading * shared / own
        within = ndtr(limit - centre)
        if two_sided:
            within = within - ndtr(-limit - centre)
        inside *= within**times
    return float(s_weights @ inside @ shared_weights)


def max_t_quantile(
    confidence: float, loadings: ArrayLike, degrees_of_freedom: float, *, two_sided: bool = True
) -> float:
    """Give the bound within which all T_j (or |T_j|) stay with probability `confidence`."""
    check_confidence(confidence)

    def short(bound: float) -> float:
        return max_t_cdf(bound, loadings, degrees_of_freedom, two_sided=two_sided) - confidence

    low, high = (0.0, 4.0) if two_sided else (-4.0, 4.0)
    while short(high) < 0:
        high *= 2
    while not two_sided and short(low) > 0:
        low *= 2
    return root_between(short, low, high, absolute=1e-11, relative=1e-12)


def range_cdf(bound: float, families: int, degrees_of_freedom: float) -> float:
    """Give the probability that the studentised range of `families` means stays within `bound`.

    Agrees with `scipy.stats.studentized_range` to 1e-9, in a small part of its time.

    Examples
    --------
    >>> round(range_cdf(4.0461, 4, 16), 5)
    0.95
    """
    if families != int(families) or families < 2:
        raise Refusal("too_few_families", f"A range needs 2 families or more, not {families}.")
    if bound <= 0:
        return 0.0
    s, s_weights = spread_nodes(degrees_of_freedom, SPREAD_NODES)
    top, top_weights = _shared_nodes(0.0)
    below = ndtr(top) - ndtr(top - bound * s[:, None])
    within = families * below ** (families - 1) @ top_weights
    return min(1.0, float(s_weights @ within))


def range_quantile(confidence: float, families: int, degrees_of_freedom: float) -> float:
    """Give the bound the studentised range keeps with probability `confidence`."""
    check_confidence(confidence)

    def short(bound: float) -> float:
        return range_cdf(bound, families, degrees_of_freedom) - confidence

    high = 8.0
    while short(high) < 0:
        high *= 2
    return root_between(short, 0.0, high, absolute=1e-11, relative=1e-12)


def _shared_nodes(largest_loading: float) -> tuple[Values, Values]:
    """Give normal-weighted nodes, the more panels the steeper the product turns."""
    panels = max(4, int(1.5 / np.sqrt(1 - largest_loading**2)))
    x, w = legendre(PANEL_NODES)
    edges = np.linspace(-REACH, REACH, panels + 1)
    half = REACH / panels
    nodes = ((edges[:-1] + half)[:, None] + half * x).ravel()
    weights = np.tile(w, panels) * np.exp(-(nodes**2) / 2)
    return nodes, weights / weights.sum()


def _checked(loadings: ArrayLike) -> list[tuple[float, int]]:
    values = np.atleast_1d(np.asarray(loadings, dtype=float))
    if values.size == 0 or not ((values >= 0) & (values < 1)).all():
        raise Refusal(
            "bad_loading", f"Loadings lie from 0 to below 1, at least one; here {values.tolist()}."
        )
    found, times = np.unique(values, return_counts=True)
    return [(float(value), int(count)) for value, count in zip(found, times, strict=True)]
