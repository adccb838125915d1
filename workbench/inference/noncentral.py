"""The noncentral t distribution and the same integral over an unknown spread, deterministic.

Written out because the ready routine answers NaN in far tails (scipy 1.17: `nct.cdf(-1.96, 1198,
8.6)`, true value 0). Everything is an average of normal probabilities over the distribution of
s / sigma, taken at fixed nodes; the same call always gives the same bits.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import cache

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import gammainc, gammainccinv, gammaincinv, ndtr

from workbench.errors import Refusal
from workbench.inference.results import Interval, check_confidence
from workbench.inference.roots import root_between

Values = NDArray[np.float64]

NODES = 240
TAIL = 1e-18
TINY = 1e-300
NORMAL_LIMIT = 1e9
FURTHEST = 1e12


@cache
def legendre(count: int) -> tuple[Values, Values]:
    """Give the Gauss-Legendre nodes and weights on -1 to 1."""
    nodes, weights = np.polynomial.legendre.leggauss(count)
    return nodes, weights


def spread_nodes(
    degrees_of_freedom: float, count: int = NODES, *, up_to: float = math.inf
) -> tuple[Values, Values]:
    """Give nodes and weights that average a smooth function over s / sigma.

    s / sigma is distributed as sqrt(chi-square / df): what is not known about a spread that was
    estimated with `degrees_of_freedom`. The weights add up to 1. With the default `count` averages
    are good to 12 digits from 0.3 degrees of freedom up. `up_to` leaves out larger spreads (where
    a function breaks off); the weights then add up to the probability of what is kept.
    """
    df = float(degrees_of_freedom)
    if not df > 0:
        raise Refusal(
            "no_degrees_of_freedom", f"The degrees of freedom are {df}; they must be above 0."
        )
    if df > NORMAL_LIMIT:
        return np.ones(1), np.full(1, float(up_to >= 1))
    # On the logarithm of s the density is smooth for any df and falls fast at both ends.
    ends = (gammaincinv(df / 2, TAIL), gammainccinv(df / 2, TAIL))
    low, high = (0.5 * math.log(2 * max(float(end), TINY) / df) for end in ends)
    kept = 1.0
    if up_to < math.exp(high):
        kept, high = float(gammainc(df / 2, df * up_to**2 / 2)), math.log(max(up_to, TINY))
        if high <= low:
            return np.ones(1), np.zeros(1)
    x, w = legendre(count)
    u = low + (high - low) * (x + 1) / 2
    weights = w * np.exp(df * (u - np.expm1(2 * u) / 2))
    return np.exp(u), kept * weights / weights.sum()


def noncentral_t_cdf(
    t: ArrayLike, degrees_of_freedom: float, noncentrality: ArrayLike
) -> NDArray[np.float64]:
    """Give P(T <= t) for T = (Z + noncentrality) / (s / sigma); arrays broadcast.

    Examples
    --------
    >>> bool(abs(noncentral_t_cdf(-1.96, 1198, 8.6)) < 1e-12)
    True
    """
    s, weights = spread_nodes(degrees_of_freedom)
    reach = np.asarray(t, dtype=float)[..., None] * s
    shift = np.asarray(noncentrality, dtype=float)[..., None]
    probability: Values = ndtr(reach - shift) @ weights
    return probability


def noncentrality_interval(
    t: float, degrees_of_freedom: float, confidence: float = 0.95
) -> Interval:
    """Give the equal-tailed interval of the noncentrality that an observed `t` allows.

    Each end is the noncentrality under which the observed t, or one further out, has the
    probability (1 - confidence) / 2.
    """
    check_confidence(confidence)
    tail = (1 - confidence) / 2
    s, weights = spread_nodes(degrees_of_freedom)
    reach = t * s

    def above(noncentrality: float) -> float:
        return float(ndtr(reach - noncentrality) @ weights)

    return Interval(
        low=_falling_root(lambda nc: above(nc) - (1 - tail), t),
        high=_falling_root(lambda nc: above(nc) - tail, t),
        confidence=confidence,
    )


def _falling_root(function: Callable[[float], float], start: float) -> float:
    """Find where a falling function crosses 0, by doubling steps out from `start`."""
    step = 1.0 + abs(start)
    low, high = start - step, start + step
    while function(low) < 0 and step < FURTHEST:
        step *= 2
        low -= step
    while function(high) > 0 and step < FURTHEST:
        step *= 2
        high += step
    return root_between(function, low, high, absolute=1e-12, relative=1e-14)
