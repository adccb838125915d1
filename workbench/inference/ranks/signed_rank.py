"""Paired differences by signed ranks: Wilcoxon's test, exact with ties, and its interval."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import ndtr, ndtri
from scipy.stats import rankdata

from workbench.errors import Refusal
from workbench.inference.estimates import RankedEstimate
from workbench.inference.results import check_confidence
from workbench.inference.samples import Values, clean_values, settled

EXACT_PAIRS = 300
ROUNDING = 1e-10


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SignedRank:
    """Wilcoxon's signed ranks of paired differences, at any margin.

    Exact with ties up to 300 pairs; differences equal to the margin are left out, as Wilcoxon did.
    """

    differences: Values

    @property
    def statistic(self) -> float:
        """V: the sum of the ranks of the positive differences."""
        return self._ranked(0.0)[1]

    @property
    def estimate(self) -> float:
        """The pseudomedian: the median of the means of all pairs of differences."""
        return float(np.median(self._walsh()))

    def p_value(self, margin: float = 0.0) -> float:
        """Give the two-sided p of the boundary `margin`: twice the smaller tail."""
        return min(1.0, 2 * min(self._tails(margin)))

    def p_above(self, margin: float) -> float:
        """Give the one-sided p against 'the difference is `margin` or less'."""
        return self._tails(margin)[0]

    def p_below(self, margin: float) -> float:
        """Give the one-sided p against 'the difference is `margin` or more'."""
        return self._tails(margin)[1]

    def interval(self, confidence: float = 0.95) -> RankedEstimate:
        """Give the interval of the pseudomedian: two of the means of pairs.

        Conservative when there are ties; open where the pairs are too few.
        """
        check_confidence(confidence)
        walsh, n = np.sort(self._walsh()), self.differences.size
        count, tail = _left_out(n, (1 - confidence) / 2)
        return RankedEstimate(
            estimate=float(np.median(walsh)),
            low=float(walsh[count - 1]) if count else -math.inf,
            high=float(walsh[-count]) if count else math.inf,
            confidence=confidence,
            attained=1 - 2 * tail,
            method="signed ranks",
        )

    def _walsh(self) -> Values:
        first, second = np.triu_indices(self.differences.size)
        means: Values = (self.differences[first] + self.differences[second]) / 2
        return means

    def _ranked(self, margin: float) -> tuple[Values, float]:
        apart = settled(self.differences, margin)
        apart = apart[apart != 0]
        ranks: Values = rankdata(np.abs(apart))
        return ranks, float(ranks[apart > 0].sum())

    def _tails(self, margin: float) -> tuple[float, float]:
        ranks, seen = self._ranked(margin)
        if ranks.size > EXACT_PAIRS:
            spread = math.sqrt(float((ranks**2).sum()) / 4)
            apart = seen - float(ranks.sum()) / 2
            return float(ndtr((0.5 - apart) / spread)), float(ndtr((0.5 + apart) / spread))
        chances = _sign_chances(np.rint(2 * ranks).astype(np.int64))
        at = round(2 * seen)
        return min(1.0, float(chances[at:].sum())), min(1.0, float(chances[: at + 1].sum()))


def signed_rank(differences: ArrayLike) -> SignedRank:
    """Answer whether paired differences are off centre, by signed ranks; no shape but symmetry.

    Parameters
    ----------
    differences : array_like
        Candidate minus reference of each pair, not all 0.

    Raises
    ------
    Refusal
        `zero_spread` when every difference is 0; `too_few`, `not_finite`.

    References
    ----------
    Wilcoxon, F. (1945). Individual comparisons by ranking methods. Biometrics Bulletin 1, 80-83.
    Hollander, M., Wolfe, D. A. (1973). Nonparametric Statistical Methods, chapter 3. Both from
    memory.
    """
    row = clean_values(differences, name="the differences")
    if not row.any():
        raise Refusal("zero_spread", f"All {row.size} differences are 0.")
    return SignedRank(differences=row)


def _sign_chances(scores: np.ndarray) -> Values:
    """Give the chance of each sum of the scores whose sign came out positive."""
    chances = np.zeros(int(scores.sum()) + 1)
    chances[0] = 1.0
    for score in scores:
        moved = chances[: chances.size - score].copy()
        chances[score:] += moved
        chances /= 2
    return chances


def _left_out(n: int, tail: float) -> tuple[int, float]:
    """Give how many means lie at or outside each end, and the tail they leave."""
    if n > EXACT_PAIRS:
        middle, spread = n * (n + 1) / 4, math.sqrt(n * (n + 1) * (2 * n + 1) / 24)
        count = max(0, math.floor(middle + float(ndtri(tail)) * spread + 0.5))
        return count, float(ndtr((count - 0.5 - middle) / spread))
    below = _sign_chances(np.arange(1, n + 1)).cumsum()
    count = int(np.count_nonzero(below <= tail * (1 + ROUNDING)))
    return count, float(below[count - 1]) if count else 0.0
