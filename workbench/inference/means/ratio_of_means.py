"""How many times one mean is another: Fieller's interval, with the two spreads kept apart."""

from __future__ import annotations

import math
from dataclasses import dataclass

from numpy.typing import ArrayLike
from scipy.special import stdtr, stdtrit

from workbench.errors import Refusal
from workbench.inference.means.welch import Summary
from workbench.inference.results import Interval, check_confidence
from workbench.inference.samples import summarised


@dataclass(frozen=True, slots=True, kw_only=True)
class MeanRatio:
    """Candidate mean over reference mean, without unit; `p_value(1)` asks 'are they equal?'.

    The t statistic of a ratio r is (candidate - r reference) / its standard error, and the
    interval holds exactly the ratios it does not reject.
    """

    candidate: float
    reference: float
    candidate_error: float
    reference_error: float
    degrees_of_freedom: float

    @property
    def estimate(self) -> float:
        """The ratio of the two means."""
        return self.candidate / self.reference

    def statistic(self, ratio: float) -> float:
        """Give t against 'the candidate mean is `ratio` times the reference mean'."""
        error = math.hypot(self.candidate_error, ratio * self.reference_error)
        return (self.candidate - ratio * self.reference) / error

    def p_value(self, ratio: float = 1.0) -> float:
        """Give the two-sided p of the boundary `ratio`."""
        return float(2 * stdtr(self.degrees_of_freedom, -abs(self.statistic(ratio))))

    def interval(self, confidence: float = 0.95) -> Interval:
        """Give Fieller's interval.

        Raises
        ------
        Refusal
            `reference_near_zero` when the reference mean cannot be told from 0 at this
            confidence: any ratio, however large, would then agree with the data.
        """
        check_confidence(confidence)
        t = float(stdtrit(self.degrees_of_freedom, (1 + confidence) / 2))
        curve = self.reference**2 - (t * self.reference_error) ** 2
        if curve <= 0:
            raise Refusal(
                "reference_near_zero",
                f"The reference mean {self.reference:g} with standard error "
                f"{self.reference_error:g} cannot be told from 0 at {confidence:g} confidence, "
                "so the ratio has no bound.",
            )
        middle = self.candidate * self.reference
        root = t * math.sqrt(
            (self.candidate * self.reference_error) ** 2
            + (self.reference * self.candidate_error) ** 2
            - (t * self.candidate_error * self.reference_error) ** 2
        )
        return Interval(
            low=(middle - root) / curve, high=(middle + root) / curve, confidence=confidence
        )


def ratio_of_means(candidate: ArrayLike | Summary, reference: ArrayLike | Summary) -> MeanRatio:
    """Answer how many times the candidate mean is the reference mean.

    Assumes independent, roughly normal values; the spreads may differ. Degrees of freedom by
    Satterthwaite at the estimated ratio.

    Parameters
    ----------
    candidate, reference : array_like or Summary
        One number a block, or count, mean and standard deviation; one unit with a true zero.

    Raises
    ------
    Refusal
        `reference_near_zero` when the reference mean is 0; `zero_spread` when neither varies.

    References
    ----------
    Fieller, E. C. (1954). Some problems in interval estimation. Journal of the Royal Statistical
    Society B 16, 175-185 (from memory). Degrees of freedom as in Tamhane, A. C., Logan, B. R.
    (2004). Finding the maximum safe dose level for heteroscedastic data. Journal of
    Biopharmaceutical Statistics 14, 843-856 (from memory).

    Examples
    --------
    >>> heavier = ratio_of_means(Summary(n=8, mean=92.0, sd=2.5), Summary(n=12, mean=80.0, sd=2.0))
    >>> found = heavier.interval()
    >>> f"{heavier.estimate:.3f}, {found.low:.3f} to {found.high:.3f}"
    '1.150, 1.121 to 1.180'
    """
    own = summarised(candidate, name="the candidate")
    other = summarised(reference, name="the reference")
    if other.mean == 0:
        raise Refusal("reference_near_zero", "The reference mean is 0, so there is no ratio.")
    ratio = own.mean / other.mean
    own_variance, other_variance = own.sd**2 / own.n, ratio**2 * other.sd**2 / other.n
    if own_variance + other_variance == 0:
        raise Refusal("zero_spread", "Neither sample shows any spread, so nothing is known.")
    return MeanRatio(
        candidate=own.mean,
        reference=other.mean,
        candidate_error=own.sd / math.sqrt(own.n),
        reference_error=other.sd / math.sqrt(other.n),
        degrees_of_freedom=(own_variance + other_variance) ** 2
        / (own_variance**2 / (own.n - 1) + other_variance**2 / (other.n - 1)),
    )
