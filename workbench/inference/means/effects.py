"""How large a difference is: in per cent, and in standard deviations between blocks."""

from __future__ import annotations

import math
from dataclasses import dataclass

from numpy.typing import ArrayLike
from scipy.special import gammaln

from workbench.errors import Refusal
from workbench.inference.means.pooled import pooled
from workbench.inference.means.ratio_of_means import MeanRatio, ratio_of_means
from workbench.inference.means.welch import Summary
from workbench.inference.noncentral import noncentrality_interval
from workbench.inference.results import Difference, Interval
from workbench.inference.samples import summarised


@dataclass(frozen=True, slots=True, kw_only=True)
class PercentDifference:
    """Candidate mean less reference mean, in per cent of the reference mean."""

    ratio: MeanRatio

    @property
    def estimate(self) -> float:
        """The difference in per cent."""
        return 100 * (self.ratio.estimate - 1)

    def p_value(self, percent: float = 0.0) -> float:
        """Give the two-sided p of the boundary `percent`."""
        return self.ratio.p_value(1 + percent / 100)

    def interval(self, confidence: float = 0.95) -> Interval:
        """Give Fieller's interval, in per cent."""
        found = self.ratio.interval(confidence)
        return Interval(
            low=100 * (found.low - 1), high=100 * (found.high - 1), confidence=confidence
        )


def percent_difference(
    candidate: ArrayLike | Summary, reference: ArrayLike | Summary
) -> PercentDifference:
    """Answer by how many per cent the candidate mean exceeds the reference mean.

    Parameters, refusals and source as `ratio_of_means`.

    Examples
    --------
    >>> more = percent_difference(Summary(n=8, mean=92, sd=2.5), Summary(n=12, mean=80, sd=2.0))
    >>> f"{more.estimate:.1f} %, {more.interval().low:.1f} to {more.interval().high:.1f} %"
    '15.0 %, 12.1 to 18.0 %'
    """
    return PercentDifference(ratio=ratio_of_means(candidate, reference))


@dataclass(frozen=True, slots=True, kw_only=True)
class StandardisedDifference:
    """A difference in standard deviations: `estimate` is Hedges' g, `uncorrected` Cohen's d."""

    difference: Difference
    spread: float
    spread_degrees_of_freedom: float

    @property
    def uncorrected(self) -> float:
        """The difference over the spread (d)."""
        return self.difference.estimate / self.spread

    @property
    def correction(self) -> float:
        """What makes d unbiased, from the degrees of freedom of the spread: below 1."""
        df = self.spread_degrees_of_freedom
        if math.isinf(df):
            return 1.0
        return math.exp(float(gammaln(df / 2) - gammaln((df - 1) / 2))) / math.sqrt(df / 2)

    @property
    def estimate(self) -> float:
        """The unbiased standardised difference (g)."""
        return self.correction * self.uncorrected

    @property
    def standard_error(self) -> float:
        """The large-sample standard error of g."""
        scale = self.difference.standard_error / self.spread
        own = self.uncorrected**2 / (2 * (self.spread_degrees_of_freedom + 2))
        return self.correction * math.sqrt(scale**2 + own)

    def interval(self, confidence: float = 0.95) -> Interval:
        """Give the interval of the true difference over the true spread, by noncentral t.

        Exact when the spread is the one the standard error was made from (pooled analysis), close
        otherwise. It holds 0 exactly when the difference's own interval does.
        """
        scale = self.difference.standard_error / self.spread
        ends = noncentrality_interval(
            self.difference.statistic(), self.difference.degrees_of_freedom, confidence
        )
        return Interval(low=ends.low * scale, high=ends.high * scale, confidence=confidence)


def hedges(
    candidate: ArrayLike | Summary, reference: ArrayLike | Summary
) -> StandardisedDifference:
    """Answer how many between-block standard deviations two families lie apart.

    Parameters
    ----------
    candidate, reference : array_like or Summary
        One number a block, or count, mean and standard deviation; spreads alike.

    Raises
    ------
    Refusal
        As `pooled`; `too_few` with fewer than four blocks in all.

    References
    ----------
    Hedges, L. V. (1981). Distribution theory for Glass's estimator of effect size and related
    estimators. Journal of Educational Statistics 6, 107-128; Borenstein, M. et al. (2009).
    Introduction to Meta-Analysis, chapter 4. Both from memory.

    Examples
    --------
    >>> found = hedges(Summary(n=50, mean=103, sd=5.5), Summary(n=50, mean=100, sd=4.5))
    >>> f"d = {found.uncorrected:.4f}, g = {found.estimate:.4f}"
    'd = 0.5970, g = 0.5924'
    """
    own = summarised(candidate, least=1, name="the candidate")
    other = summarised(reference, least=1, name="the reference")
    apart = pooled(own, other)
    spread = apart.standard_error / math.sqrt(1 / own.n + 1 / other.n)
    return standardised(apart, spread, apart.degrees_of_freedom)


def standardised(
    difference: Difference, spread: float, spread_degrees_of_freedom: float = math.inf
) -> StandardisedDifference:
    """Answer how many given standard deviations a difference is.

    Parameters
    ----------
    difference : Difference
        From any analysis: Welch, pooled, nested, paired.
    spread : float
        The standard deviation it is measured by, in the same unit: between blocks, as a rule.
    spread_degrees_of_freedom : float
        How well the spread is known; infinite when it is given.

    Raises
    ------
    Refusal
        `bad_spread` unless the spread is finite and above 0; `too_few` with less than two degrees
        of freedom.
    """
    if not (spread > 0 and math.isfinite(spread)):
        raise Refusal("bad_spread", f"The spread must be above 0 and finite, not {spread}.")
    if not spread_degrees_of_freedom >= 2:
        raise Refusal(
            "too_few",
            f"A spread with {spread_degrees_of_freedom} degrees of freedom standardises nothing; "
            "2 or more are needed.",
        )
    return StandardisedDifference(
        difference=difference, spread=spread, spread_degrees_of_freedom=spread_degrees_of_freedom
    )
