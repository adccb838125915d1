"""One share: how many blocks of the family show a feature, and whether a limit is kept."""

from __future__ import annotations

import math
import operator
from dataclasses import dataclass

import numpy as np
from scipy.special import bdtr, bdtrc, betaincinv, gammaln, ndtri, xlog1py, xlogy

from workbench.errors import Refusal
from workbench.inference.estimates import Estimate
from workbench.inference.results import Interval, check_confidence

METHODS = ("wilson", "clopper-pearson", "jeffreys")
# Probabilities as large as the one observed, up to rounding, count as equally unlikely.
AS_UNLIKELY = 1 + 1e-7


@dataclass(frozen=True, slots=True, kw_only=True)
class Count:
    """`yes` blocks out of `of` show the feature."""

    yes: int
    of: int

    def __post_init__(self) -> None:
        """Refuse counts no inspection can give."""
        for name, number in (("yes", self.yes), ("of", self.of)):
            try:
                operator.index(number)
            except TypeError:
                raise Refusal(
                    "bad_count", f"`{name}` counts blocks, a whole number, not {number!r}."
                ) from None
        if self.of < 1:
            raise Refusal("bad_count", f"A share needs 1 block or more, not {self.of}.")
        if not 0 <= self.yes <= self.of:
            raise Refusal(
                "bad_count", f"{self.yes} blocks with the feature cannot be among {self.of}."
            )

    @property
    def share(self) -> float:
        """The observed share, from 0 to 1."""
        return self.yes / self.of


def share_interval(count: Count, confidence: float = 0.95, method: str = "wilson") -> Estimate:
    """Answer which shares of the whole family agree with the blocks seen.

    Parameters
    ----------
    count : Count
        Blocks with the feature, among independent blocks looked at.
    confidence : float
        From 0 to 1.
    method : {"wilson", "clopper-pearson", "jeffreys"}
        Wilson keeps its confidence on average and is the default; Clopper-Pearson keeps it
        whatever the share, at the price of length; Jeffreys lies between.

    Raises
    ------
    Refusal
        `unknown_method`, `bad_confidence`.

    References
    ----------
    Newcombe, R. G. (1998). Two-sided confidence intervals for the single proportion. Statistics
    in Medicine 17, 857-872. Brown, L. D., Cai, T. T., DasGupta, A. (2001). Interval estimation
    for a binomial proportion. Statistical Science 16, 101-133 (from memory).

    Examples
    --------
    >>> found = share_interval(Count(yes=15, of=148))
    >>> f"{found.low:.4f} to {found.high:.4f}"
    '0.0624 to 0.1605'
    """
    check_confidence(confidence)
    if method not in METHODS:
        raise Refusal("unknown_method", f"The method is one of {METHODS}, not {method!r}.")
    if method == "wilson":
        low, high = wilson_limits(count, confidence)
    else:
        low, high = _beta_limits(count, confidence, 0.0 if method == "clopper-pearson" else 0.5)
    return Estimate(estimate=count.share, low=low, high=high, confidence=confidence, method=method)


def share_bound(count: Count, confidence: float = 0.95, side: str = "upper") -> Estimate:
    """Answer what the share is at most (`upper`) or at least (`lower`), with exact confidence.

    After 59 sound blocks and no cracked one, at most 5 % of the family is cracked with 95 %
    confidence; three over the number of blocks is the rule of thumb for it.

    References
    ----------
    Clopper, C. J., Pearson, E. S. (1934). The use of confidence or fiducial limits illustrated in
    the case of the binomial. Biometrika 26, 404-413 (from memory).

    Examples
    --------
    >>> round(share_bound(Count(yes=0, of=59)).high, 4)
    0.0495
    """
    check_confidence(confidence)
    if side not in ("upper", "lower"):
        raise Refusal("unknown_side", f"The side is 'upper' or 'lower', not {side!r}.")
    low, high = _beta_limits(count, 2 * confidence - 1, 0.0)
    return Estimate(
        estimate=count.share,
        low=0.0 if side == "upper" else low,
        high=1.0 if side == "lower" else high,
        confidence=confidence,
        method=f"clopper-pearson, {side} bound",
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class ShareAgainstLimit:
    """An observed share held against a `limit`, by exact binomial probabilities.

    `p_above` is against 'the share is the limit or less', `p_below` against 'the limit or more';
    `p_value` is two-sided: all counts no likelier than the one seen.
    """

    count: Count
    limit: float
    p_value: float
    p_above: float
    p_below: float

    def interval(self, confidence: float = 0.95) -> Interval:
        """Give the exact interval; an end lies at the limit where a one-sided p is its tail."""
        return share_interval(self.count, confidence, "clopper-pearson")


def share_against(count: Count, limit: float) -> ShareAgainstLimit:
    """Answer whether more, or fewer, than a stated share of the family show the feature.

    Parameters
    ----------
    count : Count
        Blocks with the feature, among independent blocks looked at.
    limit : float
        The stated share, between 0 and 1.

    Raises
    ------
    Refusal
        `bad_share` for a limit not between 0 and 1.

    References
    ----------
    Conover, W. J. (1971). Practical Nonparametric Statistics, p. 97 (from memory).

    Examples
    --------
    >>> round(share_against(Count(yes=682, of=925), 0.75).p_value, 4)
    0.3825
    """
    if not 0 < limit < 1:
        raise Refusal("bad_share", f"A limit is a share between 0 and 1, not {limit}.")
    likely = binomial_probabilities(count.of, np.array([limit]))[:, 0]
    return ShareAgainstLimit(
        count=count,
        limit=limit,
        p_value=min(1.0, float(likely[likely <= likely[count.yes] * AS_UNLIKELY].sum())),
        p_above=float(bdtrc(count.yes - 1, count.of, limit)) if count.yes else 1.0,
        p_below=float(bdtr(count.yes, count.of, limit)),
    )


def binomial_probabilities(of: int, shares: np.ndarray) -> np.ndarray:
    """Give the probability of each count 0 to `of` (rows) under each share (columns)."""
    counts = np.arange(of + 1)[:, None]
    ways = gammaln(of + 1) - gammaln(counts + 1) - gammaln(of - counts + 1)
    probabilities: np.ndarray = np.exp(
        ways + xlogy(counts, shares) + xlog1py(of - counts, -np.asarray(shares))
    )
    return probabilities


def wilson_limits(count: Count, confidence: float) -> tuple[float, float]:
    """Give the shares the score test does not reject."""
    z2 = float(ndtri((1 + confidence) / 2)) ** 2
    p, n = count.share, count.of
    middle, reach = p + z2 / (2 * n), math.sqrt(z2 * (p * (1 - p) + z2 / (4 * n)) / n)
    low, high = ((middle + side * reach) / (1 + z2 / n) for side in (-1, 1))
    return (0.0 if count.yes == 0 else low), (1.0 if count.yes == n else high)


def _beta_limits(count: Count, confidence: float, added: float) -> tuple[float, float]:
    """Give beta quantiles: `added` is 0 for Clopper-Pearson, one half for Jeffreys."""
    tail, yes, no = (1 - confidence) / 2, count.yes, count.of - count.yes
    more = 1 - 2 * added
    low = 0.0 if yes == 0 else float(betaincinv(yes + added, no + added + more, tail))
    high = 1.0 if no == 0 else float(betaincinv(yes + added + more, no + added, 1 - tail))
    return low, high
