"""The two answers most questions end in: an interval, and a difference to be asked further."""

from __future__ import annotations

import math
from dataclasses import dataclass

from workbench.errors import Refusal


@dataclass(frozen=True, slots=True, kw_only=True)
class Interval:
    """A two-sided interval at `confidence` (0 to 1); `low` or `high` may be infinite."""

    low: float
    high: float
    confidence: float

    def contains(self, value: float) -> bool:
        """Tell whether `value` lies in the interval, ends included."""
        return self.low <= value <= self.high

    @property
    def half_width(self) -> float:
        """Half the length of the interval, in its unit."""
        return (self.high - self.low) / 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Difference:
    """Candidate minus reference, judged by Student's t: positive when the candidate is larger.

    `estimate` and `standard_error` are in the unit of the response. `degrees_of_freedom` may be
    infinite (the normal limit). `method` names the analysis in words.
    """

    estimate: float
    standard_error: float
    degrees_of_freedom: float
    method: str

    def __post_init__(self) -> None:
        """Refuse numbers no interval can be made from."""
        if not math.isfinite(self.estimate):
            raise Refusal("no_estimate", f"The difference is {self.estimate}, not a number.")
        if not (self.standard_error > 0 and math.isfinite(self.standard_error)):
            raise Refusal(
                "no_standard_error",
                f"The standard error is {self.standard_error}; it must be above 0 and finite.",
            )
        if not self.degrees_of_freedom > 0:
            raise Refusal(
                "no_degrees_of_freedom",
                f"The degrees of freedom are {self.degrees_of_freedom}; they must be above 0.",
            )

    def interval(self, confidence: float = 0.95) -> Interval:
        """Give the two-sided t interval of the difference at `confidence`."""
        from scipy.special import stdtrit

        check_confidence(confidence)
        half = -float(stdtrit(self.degrees_of_freedom, (1 - confidence) / 2)) * self.standard_error
        return Interval(low=self.estimate - half, high=self.estimate + half, confidence=confidence)

    def statistic(self, margin: float = 0.0) -> float:
        """Give t for the boundary `margin`: (estimate - margin) / standard error."""
        return (self.estimate - margin) / self.standard_error

    def p_value(self, margin: float = 0.0) -> float:
        """Give the two-sided p of the boundary `margin`."""
        from scipy.special import stdtr

        return float(2 * stdtr(self.degrees_of_freedom, -abs(self.statistic(margin))))

    def p_above(self, margin: float) -> float:
        """Give the one-sided p against 'the difference is `margin` or less'."""
        from scipy.special import stdtr

        return float(stdtr(self.degrees_of_freedom, -self.statistic(margin)))

    def p_below(self, margin: float) -> float:
        """Give the one-sided p against 'the difference is `margin` or more'."""
        from scipy.special import stdtr

        return float(stdtr(self.degrees_of_freedom, self.statistic(margin)))

    def widened(self, shared: float, degrees_of_freedom: float = math.inf) -> Difference:
        """Add an independent standard uncertainty `shared` that no further reading averages out.

        Variances add; the degrees of freedom combine by Welch-Satterthwaite (JCGM 100, G.4).
        """
        if not (shared >= 0 and math.isfinite(shared)):
            raise Refusal("bad_uncertainty", f"A standard uncertainty is 0 or more, not {shared}.")
        if shared == 0:
            return self
        own, added = self.standard_error**2, shared**2
        total = own + added
        spread = own**2 / self.degrees_of_freedom + added**2 / degrees_of_freedom
        return Difference(
            estimate=self.estimate,
            standard_error=math.sqrt(total),
            degrees_of_freedom=math.inf if spread == 0 else total**2 / spread,
            method=self.method,
        )


def check_confidence(confidence: float) -> None:
    """Refuse a confidence that is not strictly between 0 and 1."""
    if not 0 < confidence < 1:
        raise Refusal(
            "bad_confidence", f"Confidence must lie between 0 and 1, not at {confidence}."
        )
