"""Two means with their own spreads: Welch's analysis, from summaries as tables print them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from workbench.errors import Refusal
from workbench.inference.results import Difference

LEAST = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Summary:
    """Count, mean and standard deviation (divisor n - 1) of one sample, as a table prints them."""

    n: int
    mean: float
    sd: float

    def __post_init__(self) -> None:
        """Refuse a summary no sample can have."""
        if self.n < 1 or self.n != int(self.n):
            raise Refusal("bad_summary", f"A count is a whole number of 1 or more, not {self.n}.")
        if not math.isfinite(self.mean):
            raise Refusal("bad_summary", f"A mean is a finite number, not {self.mean}.")
        if not (self.sd >= 0 and math.isfinite(self.sd)):
            raise Refusal("bad_summary", f"A standard deviation is 0 or more, not {self.sd}.")

    @classmethod
    def of(cls, values: Sequence[float] | np.ndarray) -> Summary:
        """Summarise `values` (one number an independent unit; at least two, all finite)."""
        array = np.asarray(values, dtype=float)
        if array.ndim != 1 or array.size < LEAST:
            raise Refusal(
                "too_few_values", f"A spread needs at least {LEAST} values, not {array.size}."
            )
        if not np.isfinite(array).all():
            raise Refusal("bad_summary", "Every value must be a finite number.")
        return cls(n=array.size, mean=float(array.mean()), sd=float(array.std(ddof=1)))


def welch(candidate: Summary, reference: Summary) -> Difference:
    """Answer how far two means lie apart when the two spreads may differ.

    Assumes independent, roughly normal values in each sample; the values are the independent
    units (block means, not readings). Positive when the candidate is larger.

    Parameters
    ----------
    candidate, reference : Summary
        Count, mean and standard deviation of each sample, in one unit.

    Returns
    -------
    Difference
        Degrees of freedom after Welch and Satterthwaite, not rounded.

    Raises
    ------
    Refusal
        `too_few_values` with fewer than two values in a sample; `no_standard_error` when neither
        sample shows any spread.

    References
    ----------
    Welch, B. L. (1947). The generalization of "Student's" problem when several different
    population variances are involved. Biometrika 34, 28-35 (from memory).

    Examples
    --------
    >>> apart = welch(Summary(n=10, mean=0.75, sd=1.79), Summary(n=10, mean=2.33, sd=2.00))
    >>> f"{apart.estimate:.2f}, {apart.degrees_of_freedom:.1f} df, p = {apart.p_value():.3f}"
    '-1.58, 17.8 df, p = 0.079'
    """
    for name, summary in (("candidate", candidate), ("reference", reference)):
        if summary.n < LEAST:
            raise Refusal(
                "too_few_values",
                f"Welch's analysis needs at least {LEAST} values in each sample; "
                f"the {name} has {summary.n}.",
            )
    own, other = (s.sd**2 / s.n for s in (candidate, reference))
    variance = own + other
    if variance == 0:
        raise Refusal("no_standard_error", "Neither sample shows any spread, so nothing is known.")
    spread = own**2 / (candidate.n - 1) + other**2 / (reference.n - 1)
    return Difference(
        estimate=candidate.mean - reference.mean,
        standard_error=math.sqrt(variance),
        degrees_of_freedom=variance**2 / spread,
        method="Welch",
    )
