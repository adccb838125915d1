"""How often blocks of one family beat those of another: chances, Cliff's delta, beyond the best."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import ndtr, stdtrit

from workbench.errors import Refusal
from workbench.inference.estimates import Estimate
from workbench.inference.means.welch import Summary
from workbench.inference.noncentral import noncentrality_interval
from workbench.inference.results import Interval, check_confidence
from workbench.inference.samples import clean_values, settled, summarised
from workbench.inference.shares.count import Count, share_interval


@dataclass(frozen=True, slots=True, kw_only=True)
class ChanceOfExceeding:
    """The chance that a random candidate block exceeds a random reference block, normal families.

    `distance` is the difference of the means in standard deviations of a difference of two single
    blocks; the chance is the normal probability below it.
    """

    distance: float
    information: float
    degrees_of_freedom: float

    @property
    def estimate(self) -> float:
        """The chance, from 0 to 1; one half when the means are equal."""
        return float(ndtr(self.distance))

    def interval(self, confidence: float = 0.95) -> Interval:
        """Give the interval of the chance, by noncentral t."""
        root = math.sqrt(self.information)
        ends = noncentrality_interval(root * self.distance, self.degrees_of_freedom, confidence)
        low, high = (float(ndtr(end / root)) for end in (ends.low, ends.high))
        return Interval(low=low, high=high, confidence=confidence)


def chance_of_exceeding(
    candidate: ArrayLike | Summary, reference: ArrayLike | Summary
) -> ChanceOfExceeding:
    """Answer how often a random candidate block exceeds a random reference block.

    Assumes normal families, whose spreads may differ. `relative_effect` answers the same without a
    shape, from the values.

    Parameters
    ----------
    candidate, reference : array_like or Summary
        One number a block, or count, mean and standard deviation; two blocks or more each.

    Raises
    ------
    Refusal
        `zero_spread` when neither family varies; `too_few`, `not_finite`.

    References
    ----------
    McGraw, K. O., Wong, S. P. (1992). A common language effect size statistic. Psychological
    Bulletin 111, 361-365; Reiser, B., Guttman, I. (1986). Statistical inference for Pr(Y < X): the
    normal case. Technometrics 28, 253-257 (the interval). Both from memory.

    Examples
    --------
    >>> taller = chance_of_exceeding(Summary(n=99, mean=69.7, sd=2.8),
    ...                              Summary(n=99, mean=64.3, sd=2.6))
    >>> round(taller.estimate, 2)
    0.92
    """
    own = summarised(candidate, name="the candidate")
    other = summarised(reference, name="the reference")
    both = own.sd**2 + other.sd**2
    if both == 0:
        raise Refusal("zero_spread", "Neither family shows any spread, so nothing is known.")
    return ChanceOfExceeding(
        distance=(own.mean - other.mean) / math.sqrt(both),
        information=both / (own.sd**2 / own.n + other.sd**2 / other.n),
        degrees_of_freedom=both**2 / (own.sd**4 / (own.n - 1) + other.sd**4 / (other.n - 1)),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class CliffsDelta:
    """Pairs the candidate wins less pairs it loses, as a share of all pairs: from -1 to 1."""

    estimate: float
    standard_error: float
    degrees_of_freedom: float

    def interval(self, confidence: float = 0.95) -> Interval:
        """Give Cliff's interval, drawn in towards the ends -1 and 1; Student's quantile."""
        check_confidence(confidence)
        t = float(stdtrit(self.degrees_of_freedom, (1 + confidence) / 2))
        reach, square = t * self.standard_error, self.estimate**2
        middle, width = self.estimate * (1 - square), reach * math.hypot(1 - square, reach)
        below = 1 - square + reach**2
        return Interval(
            low=(middle - width) / below, high=(middle + width) / below, confidence=confidence
        )


def cliffs_delta(candidate: ArrayLike, reference: ArrayLike) -> CliffsDelta:
    """Answer how much oftener a candidate block exceeds a reference block than the reverse.

    Parameters
    ----------
    candidate, reference : array_like
        One number a block, two blocks or more each; any shape, ties allowed.

    Raises
    ------
    Refusal
        `fully_apart` when all pairs go one way: the spread of the pairs is then 0 and says
        nothing; `too_few`, `not_finite`.

    References
    ----------
    Cliff, N. (1996). Ordinal Methods for Behavioral Data Analysis (from memory): unbiased
    variance, n1 + n2 - 2 degrees of freedom.

    Examples
    --------
    >>> treated = [10, 10, 20, 20, 20, 30, 30, 30, 40, 50]
    >>> found = cliffs_delta(treated, [10, 20, 30, 40, 40, 50])
    >>> f"{found.estimate:.2f}, {found.interval().low:.4f} to {found.interval().high:.4f}"
    '-0.25, -0.7266 to 0.3890'
    """
    own = clean_values(candidate, least=2, name="the candidate")
    other = clean_values(reference, least=2, name="the reference")
    m, n = own.size, other.size
    together = settled(np.concatenate([own, other]))
    wins = np.sign(np.subtract.outer(together[:m], together[m:]))
    delta = float(wins.mean())
    rows, columns = wins.mean(axis=1) - delta, wins.mean(axis=0) - delta
    variance = float(
        n**2 * (rows**2).sum() + m**2 * (columns**2).sum() - ((wins - delta) ** 2).sum()
    ) / (m * n * (m - 1) * (n - 1))
    if variance <= 0:
        raise Refusal(
            "fully_apart",
            f"The pairs leave no spread to judge by (delta is {delta:g}); no interval is possible.",
        )
    return CliffsDelta(
        estimate=delta, standard_error=math.sqrt(variance), degrees_of_freedom=m + n - 2
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class BeyondBest:
    """Candidate blocks beyond the best reference block measured, `best`."""

    best: float
    count: Count

    @property
    def estimate(self) -> float:
        """The share of candidate blocks beyond it."""
        return self.count.share

    def interval(self, confidence: float = 0.95, method: str = "wilson") -> Estimate:
        """Give the interval of the share of the candidate family beyond that very block."""
        return share_interval(self.count, confidence, method)


def beyond_best(
    candidate: ArrayLike, reference: ArrayLike, *, larger_is_better: bool = True
) -> BeyondBest:
    """Answer which share of the candidate family beats the best reference block yet measured.

    The best of more blocks is better: the answer belongs to this reference sample and its size,
    not to the reference family, and the interval holds for the candidate family alone.

    Parameters
    ----------
    candidate, reference : array_like
        One number a block, one block or more each.
    larger_is_better : bool
        False where small values are wanted (mass).

    Examples
    --------
    >>> found = beyond_best([9.9, 10.4, 11.0], [9.1, 10.1, 8.8])
    >>> found.best, found.count.yes, found.count.of
    (10.1, 2, 3)
    """
    own = clean_values(candidate, name="the candidate")
    other = clean_values(reference, name="the reference")
    best = float(other.max() if larger_is_better else other.min())
    beyond = own > best if larger_is_better else own < best
    return BeyondBest(best=best, count=Count(yes=int(beyond.sum()), of=own.size))
