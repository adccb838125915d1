"""Two families by ranks: the exact Mann-Whitney test, ties and all, and the shift between them."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray
from scipy.special import ndtr, ndtri

from workbench.inference.estimates import RankedEstimate
from workbench.inference.ranks.pairwise import ordered_differences
from workbench.inference.results import check_confidence
from workbench.inference.samples import Values, clean_values, settled

# Additions the exact distribution may cost; about a tenth of a second.
EXACT_WORK = 5e7


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MannWhitney:
    """Candidate against reference by ranks; positive when the candidate tends to be larger.

    The p-values are those of the shift model: the candidate less `margin` and the reference are
    one family. They count every dealing of the values seen, ties included, as long as that is
    feasible (`exact`), and follow the normal curve with continuity beyond.
    """

    candidate: Values
    reference: Values
    exact: bool

    @property
    def statistic(self) -> float:
        """U: pairs in which the candidate is larger, ties counting half."""
        return self._u(0.0)

    @property
    def probability(self) -> float:
        """U over the number of pairs: how often a candidate block exceeds a reference block."""
        return self.statistic / (self.candidate.size * self.reference.size)

    @property
    def estimate(self) -> float:
        """The shift after Hodges and Lehmann: the median of all pairwise differences."""
        pairs = self.candidate.size * self.reference.size
        middle = self._apart([(pairs - 1) // 2, pairs // 2])
        return (middle[0] + middle[1]) / 2

    def p_value(self, margin: float = 0.0) -> float:
        """Give the two-sided p of the shift `margin`: twice the smaller tail."""
        return min(1.0, 2 * min(self._tails(margin)))

    def p_above(self, margin: float) -> float:
        """Give the one-sided p against 'the shift is `margin` or less'."""
        return self._tails(margin)[0]

    def p_below(self, margin: float) -> float:
        """Give the one-sided p against 'the shift is `margin` or more'."""
        return self._tails(margin)[1]

    def interval(self, confidence: float = 0.95) -> RankedEstimate:
        """Give the interval of the shift: two of the pairwise differences.

        Conservative when there are ties. Open at both ends where the blocks are too few to
        reach the confidence.
        """
        check_confidence(confidence)
        left_out, tail = self._left_out((1 - confidence) / 2)
        reached = left_out > 0
        pairs = self.candidate.size * self.reference.size
        ends = [left_out - 1, pairs - left_out] if reached else []
        lower, upper, *found = self._apart([(pairs - 1) // 2, pairs // 2, *ends])
        low, high = found if reached else (-math.inf, math.inf)
        return RankedEstimate(
            estimate=(lower + upper) / 2,
            low=low,
            high=high,
            confidence=confidence,
            attained=1 - 2 * tail if reached else 1.0,
            method="shift by exact ranks" if self.exact else "shift by ranks, normal limit",
        )

    def _apart(self, places: list[int]) -> list[float]:
        return ordered_differences(self.candidate, self.reference, places)

    def _u(self, margin: float) -> float:
        m = self.candidate.size
        return float(self._ranks(margin)[:m].sum()) - m * (m + 1) / 2

    def _ranks(self, margin: float) -> Values:
        together = settled(np.concatenate([self.candidate - margin, self.reference]))
        ranked = pd.Series(together).rank()  # scipy.stats takes long to load
        ranks: Values = np.asarray(ranked, dtype=np.float64)
        return ranks

    def _tails(self, margin: float) -> tuple[float, float]:
        m, n = self.candidate.size, self.reference.size
        ranks = self._ranks(margin)
        if self.exact:
            return _exact_tails(np.rint(2 * ranks).astype(np.int64), m)
        spread = math.sqrt(m * n / (m + n - 1) * float(((ranks - ranks.mean()) ** 2).mean()))
        apart = float(ranks[:m].sum()) - m * (m + n + 1) / 2
        if spread == 0:
            return 1.0, 1.0
        return float(ndtr((0.5 - apart) / spread)), float(ndtr((0.5 + apart) / spread))

    def _left_out(self, tail: float) -> tuple[int, float]:
        """Give how many differences lie at or outside each end, and the tail they leave."""
        m, n = self.candidate.size, self.reference.size
        if not self.exact:
            spread = math.sqrt(m * n * (m + n + 1) / 12)
            count = max(0, math.floor(m * n / 2 + float(ndtri(tail)) * spread + 0.5))
            return count, float(ndtr((count - 0.5 - m * n / 2) / spread))
        chances = rank_sum_chances(np.arange(m + n), min(m, n))
        smaller = min(m, n)
        chances = chances[smaller * (smaller - 1) // 2 :].cumsum()
        count = int(np.count_nonzero(chances <= tail * (1 + 1e-9)))
        return count, float(chances[count - 1]) if count else 0.0


def mann_whitney(candidate: ArrayLike, reference: ArrayLike) -> MannWhitney:
    """Answer whether one family tends to larger values, without any shape assumed.

    Parameters
    ----------
    candidate, reference : array_like
        One number a block, one block or more each, blocks independent.

    Returns
    -------
    MannWhitney
        p-values and interval for a shift between two families of the same shape.

    Raises
    ------
    Refusal
        `too_few`, `not_finite`.

    References
    ----------
    Mann, H. B., Whitney, D. R. (1947). On a test of whether one of two random variables is
    stochastically larger than the other. Annals of Mathematical Statistics 18, 50-60. Hollander,
    M., Wolfe, D. A. (1973). Nonparametric Statistical Methods, chapter 4. Both from memory.

    Examples
    --------
    >>> term = [0.80, 0.83, 1.89, 1.04, 1.45, 1.38, 1.91, 1.64, 0.73, 1.46]
    >>> early = [1.15, 0.88, 0.90, 0.74, 1.21]
    >>> found = mann_whitney(term, early)
    >>> found.statistic, round(found.p_above(0), 4), round(found.estimate, 3)
    (35.0, 0.1272, 0.305)
    """
    own = clean_values(candidate, name="the candidate")
    other = clean_values(reference, name="the reference")
    total, smaller = own.size + other.size, min(own.size, other.size)
    work = total * smaller * (2 * smaller * total)
    return MannWhitney(candidate=own, reference=other, exact=work <= EXACT_WORK)


def rank_sum_chances(scores: NDArray[np.int64], drawn: int) -> Values:
    """Give the chance of each sum 0, 1, 2 ... of `drawn` of the whole-number `scores`."""
    scores = np.sort(scores)
    summed = np.concatenate([np.zeros(drawn, dtype=np.int64), np.cumsum(scores)])
    largest = summed[drawn:] - summed[: scores.size]  # sum of `drawn` of the scores up to each
    ways = np.zeros((drawn + 1, largest[-1] + 1))
    ways[0, 0] = 1.0
    for at, (score, most) in enumerate(zip(scores.tolist(), largest.tolist(), strict=True)):
        # Each pass adds the dealings that take this score to those that leave it, of as many
        # scores as can be taken by now and can still become `drawn`.
        least, taken = max(1, drawn - scores.size + at + 1), min(at + 1, drawn)
        added = ways[least - 1 : taken, : most + 1 - score].copy()
        ways[least : taken + 1, score : most + 1] += added
    chances: Values = ways[drawn] / ways[drawn].sum()
    return chances


def _exact_tails(doubled: NDArray[np.int64], drawn: int) -> tuple[float, float]:
    """Give the chances of a sum of the first `drawn` ranks, or more; and of it, or less."""
    scores = doubled - doubled.min()
    scores //= max(1, int(np.gcd.reduce(scores)))
    first, rest = scores[:drawn], scores[drawn:]
    if first.size <= rest.size:
        chances = rank_sum_chances(scores, first.size)
        seen = int(first.sum())
        above, below = chances[seen:].sum(), chances[: seen + 1].sum()
    else:
        chances = rank_sum_chances(scores, rest.size)
        seen = int(rest.sum())
        above, below = chances[: seen + 1].sum(), chances[seen:].sum()
    return min(1.0, float(above)), min(1.0, float(below))
