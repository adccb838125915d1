"""How far two spreads lie apart, in the unit of the values, with freedom that minds heavy tails.

Each true standard deviation is what was seen over the root of a chi-square by its freedom: what a
normal sample leaves open about it. Against a margin of 0 this is the F test of two variances;
other margins and the interval come from the same distribution of the difference. The freedom is
lessened where the blocks show heavy tails, so that the F test keeps its level for them too.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import gammainc, gammaincc

from workbench.errors import Refusal
from workbench.inference.means.welch import Summary
from workbench.inference.noncentral import legendre, spread_nodes
from workbench.inference.results import Interval, check_confidence
from workbench.inference.roots import root_between
from workbench.inference.samples import clean_values

Values = NDArray[np.float64]

LEAST_BLOCKS = 2
NORMAL_KURTOSIS = 3.0
NODES, NODES_OF_FEW, FEW = 96, 320, 20.0
SHARED_NODES, SHARED_REACH = 24, 7.0
SETTLED = 1e-13  # of the spreads
LARGEST = 1e150
FURTHEST = 1e9  # standard errors
CERTAIN = 1e-14


@dataclass(frozen=True, slots=True, kw_only=True)
class SpreadDifference:
    """Candidate standard deviation less reference's; below 0 the candidate is more consistent.

    `shared` is a standard uncertainty of the difference that no further block averages out.
    """

    candidate_sd: float
    reference_sd: float
    candidate_degrees_of_freedom: float
    reference_degrees_of_freedom: float
    shared: float = 0.0
    method: str = "F ratio of variances"

    @property
    def estimate(self) -> float:
        """The difference of the two standard deviations."""
        return self.candidate_sd - self.reference_sd

    @property
    def ratio(self) -> float:
        """The candidate's standard deviation over the reference's."""
        return self.candidate_sd / self.reference_sd

    @property
    def standard_error(self) -> float:
        """Of the difference, to first order: that of s is s / sqrt(2 df)."""
        return math.sqrt(
            self.candidate_sd**2 / (2 * self.candidate_degrees_of_freedom)
            + self.reference_sd**2 / (2 * self.reference_degrees_of_freedom)
            + self.shared**2
        )

    @property
    def degrees_of_freedom(self) -> float:
        """NaN: an F ratio has two of them, and the difference is no Student's t."""
        return math.nan

    def widened(self, shared: float, degrees_of_freedom: float = math.inf) -> SpreadDifference:
        """Add an independent normal uncertainty; `degrees_of_freedom` of it are not used."""
        if not (shared >= 0 and math.isfinite(shared)):
            raise Refusal("bad_uncertainty", f"A standard uncertainty is 0 or more, not {shared}.")
        return replace(self, shared=math.hypot(self.shared, shared))

    def p_above(self, margin: float) -> float:
        """Give the one-sided p against 'the difference is `margin` or less'."""
        return float(self._below(np.array([margin]))[0])

    def p_below(self, margin: float) -> float:
        """Give the one-sided p against 'the difference is `margin` or more'."""
        return float(1 - self._below(np.array([margin]))[0])

    def p_value(self, margin: float = 0.0) -> float:
        """Give the two-sided p of the boundary `margin`: twice the smaller tail."""
        return min(1.0, 2 * min(self.p_above(margin), self.p_below(margin)))

    def interval(self, confidence: float = 0.95) -> Interval:
        """Give the equal-tailed interval: the margins that neither one-sided test refuses."""
        check_confidence(confidence)
        tail = (1 - confidence) / 2
        return Interval(low=self._where(tail), high=self._where(1 - tail), confidence=confidence)

    def _where(self, share: float) -> float:
        """Find below which difference a share of all that may be true lies."""
        step = self.standard_error
        middle = self.estimate
        low, high = middle - step, middle + step
        while self.p_above(low) > share and middle - low < FURTHEST * step:
            low -= 2 * (middle - low)
        while self.p_above(high) < share and high - middle < FURTHEST * step:
            high += 2 * (high - middle)
        settled = SETTLED * (self.candidate_sd + self.reference_sd)
        if self.p_above(low) >= share:
            return low
        if self.p_above(high) <= share:
            return high
        return root_between(lambda at: self.p_above(at) - share, low, high, absolute=settled)

    def _below(self, margins: Values) -> Values:
        """Give how likely the true difference lies below each margin, given what was seen."""
        if self.shared == 0:
            return self._without_shared(margins)
        nodes, weights = legendre(SHARED_NODES)
        z = SHARED_REACH * nodes
        weights = weights * np.exp(-(z**2) / 2)
        moved = (margins[:, None] - self.shared * z).ravel()
        found = self._without_shared(moved).reshape(len(margins), -1)
        return np.asarray(found @ weights / weights.sum(), dtype=float)

    def _without_shared(self, margins: Values) -> Values:
        """Average over the spread that is better known the chance of the other."""
        own, other = self.candidate_degrees_of_freedom, self.reference_degrees_of_freedom
        if own >= other:
            nodes, weights = _nodes(own)
            least = self.candidate_sd / nodes - margins[:, None]
            # the reference's true spread is at least that
            x = np.minimum(self.reference_sd / np.maximum(least, 1e-300), LARGEST)
            chance = np.where(least > 0, gammainc(other / 2, other / 2 * x**2), 1.0)
        else:
            nodes, weights = _nodes(other)
            most = margins[:, None] + self.reference_sd / nodes
            x = np.minimum(self.candidate_sd / np.maximum(most, 1e-300), LARGEST)
            chance = np.where(most > 0, gammaincc(own / 2, own / 2 * x**2), 0.0)
        found: Values = np.clip(chance @ weights, CERTAIN, 1 - CERTAIN)
        return found


def spread_difference(
    candidate: ArrayLike | Summary, reference: ArrayLike | Summary, *, robust: bool = True
) -> SpreadDifference:
    """Answer how much more, or less, the candidate's blocks differ among themselves.

    Parameters
    ----------
    candidate, reference : array_like or Summary
        One number a block, two blocks or more each; or count, mean and standard deviation.
    robust : bool
        Lessen the degrees of freedom where the blocks show heavier tails than normal ones (never
        raise them). Without it, and for printed summaries alone, the normal shape is taken on
        trust.

    Raises
    ------
    Refusal
        `too_few` below two blocks, which show no spread; `zero_spread`; `not_finite`.

    References
    ----------
    Shoemaker, L. H. (2003). Fixing the F test for equal variances. The American Statistician 57,
    105-114 (the degrees of freedom, here not above those of normal blocks). Weerahandi, S. (1993).
    Generalized confidence intervals. Journal of the American Statistical Association 88, 899-905.
    Both from memory.

    Examples
    --------
    >>> batches = spread_difference(Summary(n=240, mean=0, sd=65.54909),
    ...                             Summary(n=240, mean=0, sd=61.85425))
    >>> f"{batches.estimate:.2f}, p = {batches.p_value():.4f}"
    '3.69, p = 0.3704'
    """
    known = [_known(candidate, "the candidate"), _known(reference, "the reference")]
    kurtosis = _kurtosis([row for _, row in known if row is not None]) if robust else 3.0
    freedom = [_freedom(summary.n, kurtosis) for summary, _ in known]
    heavy = kurtosis > NORMAL_KURTOSIS
    return SpreadDifference(
        candidate_sd=known[0][0].sd,
        reference_sd=known[1][0].sd,
        candidate_degrees_of_freedom=freedom[0],
        reference_degrees_of_freedom=freedom[1],
        method="F ratio of variances" + (", freedom after Shoemaker" if heavy else ""),
    )


def _nodes(freedom: float) -> tuple[Values, Values]:
    return spread_nodes(freedom, NODES if freedom > FEW else NODES_OF_FEW)


def _known(family: ArrayLike | Summary, name: str) -> tuple[Summary, Values | None]:
    if isinstance(family, Summary):
        summary, row = family, None
    else:
        row = clean_values(family, least=LEAST_BLOCKS, name=name)
        summary = Summary.of(row)
    if summary.n < LEAST_BLOCKS:
        raise Refusal("too_few", f"{name} counts {summary.n} block, which shows no spread.")
    if summary.sd == 0 or (row is not None and np.ptp(row) == 0):
        raise Refusal("zero_spread", f"All {summary.n} blocks of {name} are equal.")
    return summary, row


def _kurtosis(rows: list[Values]) -> float:
    """Give the kurtosis of all rows about their own means, never below that of the normal."""
    if not rows:
        return NORMAL_KURTOSIS
    apart = np.concatenate([row - row.mean() for row in rows])
    return max(NORMAL_KURTOSIS, float((apart**4).mean() / (apart**2).mean() ** 2))


def _freedom(n: int, kurtosis: float) -> float:
    """Give the freedom of a chi-square that varies as the variance of n such values does."""
    return 2 * n / (kurtosis - (n - 3) / (n - 1)) if n > 1 else math.nan


def unlike_spreads(candidate: ArrayLike | Summary, reference: ArrayLike | Summary) -> float:
    """Give the two-sided p of 'both spread alike'; 1 where a family of one block cannot tell.

    A family that does not vary at all beside one that does gives 0.

    Examples
    --------
    >>> round(unlike_spreads([1.0, 2.0, 3.0, 4.0], [1.0, 5.0, 9.0, 14.0]), 3)
    0.041
    """
    spreads = []
    for family in (candidate, reference):
        if isinstance(family, Summary):
            spreads.append(family.sd if family.n >= LEAST_BLOCKS else None)
        else:
            row = clean_values(family)
            spreads.append(float(np.ptp(row)) if row.size >= LEAST_BLOCKS else None)
    if None in spreads:
        return 1.0
    if 0.0 in spreads:
        return 1.0 if spreads[0] == spreads[1] else 0.0
    return spread_difference(candidate, reference).p_value()
