"""Two shares apart: Newcombe's interval, and the score test of any difference with its interval."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import ndtr, ndtri

from workbench.errors import Refusal
from workbench.inference.estimates import Estimate
from workbench.inference.results import Interval, check_confidence
from workbench.inference.roots import root_between
from workbench.inference.shares.count import Count, wilson_limits

METHODS = ("farrington-manning", "miettinen-nurminen")
Values = NDArray[np.float64]


def share_difference_interval(
    candidate: Count, reference: Count, confidence: float = 0.95
) -> Estimate:
    """Answer how far two shares lie apart, by Newcombe's square-and-add of Wilson's limits.

    Positive when the candidate's share is larger.

    References
    ----------
    Newcombe, R. G. (1998). Interval estimation for the difference between independent
    proportions: comparison of eleven methods. Statistics in Medicine 17, 873-890, method 10.

    Examples
    --------
    >>> found = share_difference_interval(Count(yes=56, of=70), Count(yes=48, of=80))
    >>> f"{found.estimate:.2f}, {found.low:.4f} to {found.high:.4f}"
    '0.20, 0.0524 to 0.3339'
    """
    check_confidence(confidence)
    own_low, own_high = wilson_limits(candidate, confidence)
    low, high = wilson_limits(reference, confidence)
    apart = candidate.share - reference.share
    return Estimate(
        estimate=apart,
        low=apart - math.hypot(candidate.share - own_low, high - reference.share),
        high=apart + math.hypot(own_high - candidate.share, reference.share - low),
        confidence=confidence,
        method="Newcombe",
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class ShareDifference:
    """Candidate's share minus reference's, judged by the score test at any boundary.

    The standard error at a boundary comes from the two shares most likely under it, so the
    interval holds exactly the differences the test does not reject.
    """

    candidate: Count
    reference: Count
    method: str

    @property
    def estimate(self) -> float:
        """The observed difference, from -1 to 1."""
        return self.candidate.share - self.reference.share

    def statistic(self, margin: float = 0.0) -> float:
        """Give z for the boundary `margin`."""
        if not -1 < margin < 1:
            raise Refusal("bad_margin", f"Shares differ by less than 1; the margin is {margin}.")
        z = float(
            score_statistic(
                self.candidate.yes, self.reference.yes, self.candidate.of, self.reference.of, margin
            )
        )
        if self.method == "miettinen-nurminen":
            total = self.candidate.of + self.reference.of
            z *= math.sqrt((total - 1) / total)
        return z

    def p_value(self, margin: float = 0.0) -> float:
        """Give the two-sided p of the boundary `margin`."""
        return float(2 * ndtr(-abs(self.statistic(margin))))

    def p_above(self, margin: float) -> float:
        """Give the one-sided p against 'the difference is `margin` or less'."""
        return float(ndtr(-self.statistic(margin)))

    def p_below(self, margin: float) -> float:
        """Give the one-sided p against 'the difference is `margin` or more'."""
        return float(ndtr(self.statistic(margin)))

    def interval(self, confidence: float = 0.95) -> Interval:
        """Give the differences the score test does not reject."""
        check_confidence(confidence)
        z = float(ndtri((1 + confidence) / 2))
        return Interval(low=self._where(z), high=self._where(-z), confidence=confidence)

    def _where(self, z: float) -> float:
        """Find the margin whose statistic is `z`; the statistic falls as the margin grows."""
        edge = 1 - 1e-12
        if self.statistic(-edge) <= z:
            return -1.0
        if self.statistic(edge) >= z:
            return 1.0
        return root_between(lambda margin: self.statistic(margin) - z, -edge, edge, absolute=1e-13)


def share_difference(
    candidate: Count, reference: Count, method: str = "farrington-manning"
) -> ShareDifference:
    """Answer whether two shares differ, or differ by more than a margin, for blocks not too few.

    Parameters
    ----------
    candidate, reference : Count
        Independent blocks with the feature, and blocks looked at.
    method : {"farrington-manning", "miettinen-nurminen"}
        The second widens the standard error by N / (N - 1).

    Raises
    ------
    Refusal
        `unknown_method`.

    References
    ----------
    Farrington, C. P., Manning, G. (1990). Test statistics and sample size formulae for comparative
    binomial trials with null hypothesis of non-zero risk difference or non-unity relative risk.
    Statistics in Medicine 9, 1447-1454. Miettinen, O., Nurminen, M. (1985). Comparative analysis
    of two rates. Statistics in Medicine 4, 213-226 (both from memory).

    Examples
    --------
    >>> apart = share_difference(Count(yes=83, of=88), Count(yes=69, of=76))
    >>> f"z = {apart.statistic(-0.10):.3f}, p = {apart.p_above(-0.10):.5f}"
    'z = 2.957, p = 0.00155'
    """
    if method not in METHODS:
        raise Refusal("unknown_method", f"The method is one of {METHODS}, not {method!r}.")
    return ShareDifference(candidate=candidate, reference=reference, method=method)


def score_statistic(
    own_yes: ArrayLike, other_yes: ArrayLike, own_of: int, other_of: int, margin: float
) -> Values:
    """Give Farrington and Manning's z of every table; counts broadcast against each other."""
    own = np.asarray(own_yes, dtype=float) / own_of
    other = np.asarray(other_yes, dtype=float) / other_of
    likely = _likeliest(own, other, other_of / own_of, margin)
    likely_other = np.clip(likely - margin, 0.0, 1.0)
    variance = likely * (1 - likely) / own_of + likely_other * (1 - likely_other) / other_of
    apart = own - other - margin
    # No spread under the boundary: agreement is no evidence, anything else is beyond doubt.
    certain = np.where(np.abs(apart) < 1e-12, 0.0, np.copysign(np.inf, apart))
    z: Values = np.where(
        variance > 0, apart / np.sqrt(np.where(variance > 0, variance, 1.0)), certain
    )
    return z


def _likeliest(own: Values, other: Values, ratio: float, margin: float) -> Values:
    """Give the candidate share likeliest under the boundary: the middle root of a cubic."""
    a = 1 + ratio
    b = -(1 + ratio + own + ratio * other + margin * (ratio + 2))
    c = margin**2 + margin * (2 * own + ratio + 1) + own + ratio * other
    d = -own * margin * (1 + margin)
    v = (b / (3 * a)) ** 3 - b * c / (6 * a**2) + d / (2 * a)
    u = np.sqrt(np.maximum((b / (3 * a)) ** 2 - c / (3 * a), 0.0))
    u = np.where(v >= 0, u, -u)
    cube = u**3
    inside = np.clip(np.divide(v, cube, out=np.zeros_like(v), where=cube != 0), -1.0, 1.0)
    angle = (np.pi + np.arccos(inside)) / 3
    root = 2 * u * np.cos(angle) - b / (3 * a)
    likeliest: Values = np.clip(root, max(0.0, margin), min(1.0, 1.0 + margin))
    return likeliest
