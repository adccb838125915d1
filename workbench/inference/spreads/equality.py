"""Equality of spread: whether families vary alike, and how many times one variance is another."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import chdtrc, fdtr, fdtrc, fdtri, ndtri

from workbench.errors import Refusal
from workbench.inference.means.several_families import Families, Moments, one_way
from workbench.inference.means.welch import Summary
from workbench.inference.results import Interval, check_confidence
from workbench.inference.samples import Values, clean_families, settled, summarised


@dataclass(frozen=True, slots=True, kw_only=True)
class SpreadTest:
    """A test of 'all families spread alike': its statistic, degrees of freedom and p.

    `within_degrees_of_freedom` is infinite for tests that follow chi-square.
    """

    statistic: float
    between_degrees_of_freedom: float
    within_degrees_of_freedom: float
    p_value: float
    method: str


def brown_forsythe(families: Mapping[str, ArrayLike]) -> SpreadTest:
    """Answer whether families spread alike, safe against shapes that are not normal.

    The one-way analysis of the distances from each family's median. (Distances from the mean, the
    older Levene test, can decide differently on the same data: the median is meant here.)

    Parameters
    ----------
    families : mapping of str to array_like
        One number a block, two blocks or more each.

    Raises
    ------
    Refusal
        `zero_spread` when the distances do not vary; `too_few_families`, `too_few`, `not_finite`.

    References
    ----------
    Brown, M. B., Forsythe, A. B. (1974). Robust tests for the equality of variances. Journal of the
    American Statistical Association 69, 364-367 (from memory).
    """
    found = one_way(_distances(families))
    return SpreadTest(
        statistic=found.statistic,
        between_degrees_of_freedom=found.between_degrees_of_freedom,
        within_degrees_of_freedom=found.within_degrees_of_freedom,
        p_value=found.p_value,
        method="Brown-Forsythe",
    )


def fligner_killeen(families: Mapping[str, ArrayLike]) -> SpreadTest:
    """Answer whether families spread alike, by ranks of the distances from their medians.

    The safest of these tests against heavy tails. Parameters and refusals as `brown_forsythe`.

    References
    ----------
    Conover, W. J., Johnson, M. E., Johnson, M. M. (1981). A comparative study of tests for
    homogeneity of variances. Technometrics 23, 351-361 (from memory).
    """
    from scipy.stats import rankdata  # here alone: it is slow to load, and few need it

    distances = _distances(families)
    counts = np.array([row.size for row in distances.values()])
    largest = max(float(np.abs(row).max()) for row in clean_families(families).values())
    together = settled(np.concatenate(list(distances.values())), scale=largest)
    scores = ndtri(0.5 + rankdata(together) / (2 * (together.size + 1)))
    if np.ptp(scores) == 0:
        raise Refusal("zero_spread", "All blocks lie equally far from their family's median.")
    parts = np.split(scores, np.cumsum(counts)[:-1])
    means = np.array([part.mean() for part in parts])
    statistic = float(counts @ (means - scores.mean()) ** 2) / float(scores.var(ddof=1))
    return SpreadTest(
        statistic=statistic,
        between_degrees_of_freedom=counts.size - 1,
        within_degrees_of_freedom=math.inf,
        p_value=float(chdtrc(counts.size - 1, statistic)),
        method="Fligner-Killeen",
    )


def bartlett(families: Families) -> SpreadTest:
    """Answer whether normal families spread alike; works from printed summaries.

    Sharp for normal values and misleading for others: heavy tails look like unequal spreads.

    References
    ----------
    Bartlett, M. S. (1937). Properties of sufficiency and statistical tests. Proceedings of the
    Royal Society A 160, 268-282 (from memory).
    """
    known = Moments.of(families, least=2)
    df, variances = known.n - 1, known.own_variances
    spread = known.pooled_degrees_of_freedom * math.log(known.pooled_variance) - float(
        df @ np.log(variances)
    )
    k = known.n.size
    correction = 1 + (float((1 / df).sum()) - 1 / known.pooled_degrees_of_freedom) / (3 * (k - 1))
    return SpreadTest(
        statistic=spread / correction,
        between_degrees_of_freedom=k - 1,
        within_degrees_of_freedom=math.inf,
        p_value=float(chdtrc(k - 1, spread / correction)),
        method="Bartlett",
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class VarianceRatio:
    """Candidate variance over reference variance, judged by F; `sd_interval` is of its root."""

    estimate: float
    candidate_degrees_of_freedom: float
    reference_degrees_of_freedom: float

    def p_value(self, ratio: float = 1.0) -> float:
        """Give the two-sided p of the boundary `ratio`: twice the smaller tail."""
        return min(1.0, 2 * min(self.p_above(ratio), self.p_below(ratio)))

    def p_above(self, ratio: float) -> float:
        """Give the one-sided p against 'the ratio is `ratio` or less'."""
        return float(fdtrc(*self._degrees_of_freedom, self.estimate / _positive(ratio)))

    def p_below(self, ratio: float) -> float:
        """Give the one-sided p against 'the ratio is `ratio` or more'."""
        return float(fdtr(*self._degrees_of_freedom, self.estimate / _positive(ratio)))

    def interval(self, confidence: float = 0.95) -> Interval:
        """Give the equal-tailed interval of the ratio of variances."""
        check_confidence(confidence)
        tail = (1 - confidence) / 2
        small, large = (float(fdtri(*self._degrees_of_freedom, p)) for p in (tail, 1 - tail))
        return Interval(
            low=self.estimate / large, high=self.estimate / small, confidence=confidence
        )

    def sd_interval(self, confidence: float = 0.95) -> Interval:
        """Give the interval of the ratio of standard deviations."""
        found = self.interval(confidence)
        return Interval(low=math.sqrt(found.low), high=math.sqrt(found.high), confidence=confidence)

    @property
    def _degrees_of_freedom(self) -> tuple[float, float]:
        return self.candidate_degrees_of_freedom, self.reference_degrees_of_freedom


def variance_ratio(candidate: ArrayLike | Summary, reference: ArrayLike | Summary) -> VarianceRatio:
    """Answer how many times one variance is the other, for normal families.

    As misleading as `bartlett` where tails are heavy; `spread_ratio` needs no normality.

    Parameters
    ----------
    candidate, reference : array_like or Summary
        One number a block, or count, mean and standard deviation.

    Raises
    ------
    Refusal
        `zero_spread` when either family shows none; `too_few`, `not_finite`.

    References
    ----------
    Hahn, G. J., Meeker, W. Q. (1991). Statistical Intervals, section 4.8 (from memory).

    Examples
    --------
    >>> batches = variance_ratio(Summary(n=240, mean=0, sd=65.54909),
    ...                          Summary(n=240, mean=0, sd=61.85425))
    >>> f"F = {batches.estimate:.6f}, p = {batches.p_value():.4f}"
    'F = 1.123037, p = 0.3704'
    """
    own = summarised(candidate, name="the candidate")
    other = summarised(reference, name="the reference")
    for name, known in (("candidate", own), ("reference", other)):
        if known.sd == 0:
            raise Refusal("zero_spread", f"The {name} shows no spread, so there is no ratio.")
    return VarianceRatio(
        estimate=(own.sd / other.sd) ** 2,
        candidate_degrees_of_freedom=own.n - 1,
        reference_degrees_of_freedom=other.n - 1,
    )


def _positive(ratio: float) -> float:
    if not ratio > 0:
        raise Refusal("bad_ratio", f"A ratio of spreads lies above 0, not at {ratio}.")
    return ratio


def _distances(families: Mapping[str, ArrayLike]) -> dict[str, Values]:
    rows = clean_families(families)
    return {name: np.abs(row - np.median(row)) for name, row in rows.items()}
