"""Fisher's exact test of two shares, with the conditional odds ratio and its exact interval."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import gammaln

from workbench.inference.results import Interval, check_confidence
from workbench.inference.roots import root_between
from workbench.inference.shares.count import AS_UNLIKELY, Count

Values = NDArray[np.float64]
FURTHEST = 700.0


@dataclass(frozen=True, slots=True, kw_only=True)
class FisherTest:
    """Two counts given their total: the odds ratio is above 1 when the candidate's share is larger.

    `odds_ratio` is the conditional estimate (greatest likelihood given the total), which is nearer
    to 1 than the ratio of the four counts. `p_value` is two-sided: all tables no likelier than the
    one seen. `interval` is the exact one of the odds ratio, with equal tails.
    """

    candidate: Count
    reference: Count
    odds_ratio: float
    p_value: float
    p_above: float
    p_below: float

    def interval(self, confidence: float = 0.95) -> Interval:
        """Give the odds ratios under which the count seen, or one further out, is not rare."""
        check_confidence(confidence)
        tail = (1 - confidence) / 2
        counts, weights = _tables(self.candidate, self.reference)
        seen = self.candidate.yes
        low, high = 0.0, math.inf
        if seen > counts[0]:
            low = _odds(lambda x: float(_tilted(counts, weights, x)[counts >= seen].sum()) - tail)
        if seen < counts[-1]:
            high = _odds(lambda x: tail - float(_tilted(counts, weights, x)[counts <= seen].sum()))
        return Interval(low=low, high=high, confidence=confidence)


def fisher(candidate: Count, reference: Count) -> FisherTest:
    """Answer whether two shares differ, exactly, given how many blocks show the feature in all.

    Conservative when blocks are few: the total is taken as fixed, which an inspection of two
    families does not do. `barnard` and `boschloo` do without that and detect more.

    Parameters
    ----------
    candidate, reference : Count
        Independent blocks with the feature, and blocks looked at.

    References
    ----------
    Fisher, R. A. (1935). The Design of Experiments, chapter 2. Cornfield, J. (1956). A statistical
    problem arising from retrospective studies. Proc. 3rd Berkeley Symposium 4, 135-148 (interval).
    Both from memory.

    Examples
    --------
    The lady tasting tea, three of four right:

    >>> tea = fisher(Count(yes=3, of=4), Count(yes=1, of=4))
    >>> f"odds ratio {tea.odds_ratio:.3f}, p = {tea.p_above:.4f}"
    'odds ratio 6.408, p = 0.2429'
    """
    counts, weights = _tables(candidate, reference)
    likely, seen = _tilted(counts, weights, 0.0), candidate.yes
    return FisherTest(
        candidate=candidate,
        reference=reference,
        odds_ratio=_conditional_odds_ratio(counts, weights, seen),
        p_value=min(1.0, float(likely[likely <= likely[seen - counts[0]] * AS_UNLIKELY].sum())),
        p_above=min(1.0, float(likely[counts >= seen].sum())),
        p_below=min(1.0, float(likely[counts <= seen].sum())),
    )


def _tables(candidate: Count, reference: Count) -> tuple[NDArray[np.int64], Values]:
    """List the counts the candidate could have had, with the logarithm of their weights."""
    total = candidate.yes + reference.yes
    counts = np.arange(max(0, total - reference.of), min(candidate.of, total) + 1)
    return counts, _log_ways(candidate.of, counts) + _log_ways(reference.of, total - counts)


def _log_ways(of: int, counts: NDArray[np.int64]) -> Values:
    ways: Values = gammaln(of + 1) - gammaln(counts + 1) - gammaln(of - counts + 1)
    return ways


def _tilted(counts: NDArray[np.int64], weights: Values, log_odds_ratio: float) -> Values:
    """Give the probability of each count under an odds ratio."""
    logs = weights + log_odds_ratio * counts
    likely = np.exp(logs - logs.max())
    probabilities: Values = likely / likely.sum()
    return probabilities


def _conditional_odds_ratio(counts: NDArray[np.int64], weights: Values, seen: int) -> float:
    if counts.size == 1:
        return math.nan
    if seen == counts[0]:
        return 0.0
    if seen == counts[-1]:
        return math.inf
    return _odds(lambda x: float(_tilted(counts, weights, x) @ counts) - seen)


def _odds(rising: Callable[[float], float]) -> float:
    """Find the odds ratio at which a rising function of its logarithm crosses 0."""
    reach = 1.0
    while rising(reach) < 0 and reach < FURTHEST:
        reach *= 2
    low = 1.0
    while rising(-low) > 0 and low < FURTHEST:
        low *= 2
    return math.exp(root_between(rising, -low, reach, absolute=1e-13, relative=1e-14))
