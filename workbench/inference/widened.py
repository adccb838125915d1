"""Any comparison with an independent error added that all its numbers share.

A difference judged by Student's t adds the variance of such an error to its own. An answer that has
no standard error (by ranks, by dealing or drawing blocks) has only its intervals: each of their
halves is widened by the root of the sum of squares of itself and of the error's own half at that
confidence, which for normal errors is exact. A p is the level at which the interval touches the
margin, so that both always agree.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Protocol

from workbench.errors import Refusal
from workbench.inference.results import Difference, Interval, check_confidence

LEAST_TAIL = 1e-12
BISECTIONS = 50


class Answer(Protocol):
    """A comparison that can be asked at any margin."""

    @property
    def estimate(self) -> float:
        """Candidate minus reference."""
        ...

    def interval(self, confidence: float = 0.95) -> Interval:
        """Give the two-sided interval."""
        ...

    def p_value(self, margin: float = 0.0) -> float:
        """Give the two-sided p of a boundary."""
        ...

    def p_above(self, margin: float) -> float:
        """Give the one-sided p against 'the difference is `margin` or less'."""
        ...

    def p_below(self, margin: float) -> float:
        """Give the one-sided p against 'the difference is `margin` or more'."""
        ...


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WidenedAnswer:
    """`answer` with an error of standard `uncertainty` added, on `degrees_of_freedom`."""

    answer: Answer
    uncertainty: float
    degrees_of_freedom: float = math.inf

    @property
    def estimate(self) -> float:
        """Candidate minus reference, as the answer has it."""
        return self.answer.estimate

    def interval(self, confidence: float = 0.95) -> Interval:
        """Give the widened interval; an end that is infinite stays so."""
        from scipy.special import stdtrit

        check_confidence(confidence)
        own = self.answer.interval(confidence)
        half = self.uncertainty * float(stdtrit(self.degrees_of_freedom, (1 + confidence) / 2))
        return Interval(
            low=self.estimate - math.hypot(self.estimate - own.low, half),
            high=self.estimate + math.hypot(own.high - self.estimate, half),
            confidence=confidence,
        )

    def p_value(self, margin: float = 0.0) -> float:
        """Give the two-sided p: twice the smaller tail."""
        return min(1.0, 2 * min(self.p_above(margin), self.p_below(margin)))

    def p_above(self, margin: float) -> float:
        """Give the one-sided p against 'the difference is `margin` or less'."""
        if margin < self.estimate:
            return self._tail(lambda interval: interval.low > margin)
        return 1 - self._tail(lambda interval: interval.high < margin)

    def p_below(self, margin: float) -> float:
        """Give the one-sided p against 'the difference is `margin` or more'."""
        if margin > self.estimate:
            return self._tail(lambda interval: interval.high < margin)
        return 1 - self._tail(lambda interval: interval.low > margin)

    def _tail(self, beyond: Beyond) -> float:
        """Find the least tail at which the interval leaves the margin out, by halving."""
        low, high = math.log(LEAST_TAIL), math.log(0.5)
        for _ in range(BISECTIONS):
            middle = (low + high) / 2
            if beyond(self.interval(1 - 2 * math.exp(middle))):
                high = middle
            else:
                low = middle
        return math.exp(high)


class Beyond(Protocol):
    """Tells whether an interval leaves a margin out."""

    def __call__(self, interval: Interval) -> bool:
        """Tell it of one interval."""
        ...


@dataclass(frozen=True, slots=True, kw_only=True)
class RivalDifference(Difference):
    """A difference whose intervals and p are those of `answer`, not of Student's t.

    Its standard error and degrees of freedom serve digits and plans alone.
    """

    answer: Answer

    def interval(self, confidence: float = 0.95) -> Interval:
        """Give the interval of the answer."""
        return self.answer.interval(confidence)

    def p_value(self, margin: float = 0.0) -> float:
        """Give the two-sided p of the answer."""
        return self.answer.p_value(margin)

    def p_above(self, margin: float) -> float:
        """Give the one-sided p of the answer against 'the difference is `margin` or less'."""
        return self.answer.p_above(margin)

    def p_below(self, margin: float) -> float:
        """Give the one-sided p of the answer against 'the difference is `margin` or more'."""
        return self.answer.p_below(margin)

    def widened(self, shared: float, degrees_of_freedom: float = math.inf) -> RivalDifference:
        """Add an independent standard uncertainty that no further reading averages out.

        Raises
        ------
        Refusal
            `bad_uncertainty` as `Difference.widened`.
        """
        known = Difference.widened(self, shared, degrees_of_freedom)
        if shared == 0:
            return self
        return RivalDifference(
            estimate=self.estimate,
            standard_error=known.standard_error,
            degrees_of_freedom=known.degrees_of_freedom,
            method=self.method,
            answer=WidenedAnswer(
                answer=self.answer, uncertainty=shared, degrees_of_freedom=degrees_of_freedom
            ),
        )


def rival(
    answer: Answer, *, standard_error: float, degrees_of_freedom: float, method: str
) -> RivalDifference:
    """Take a comparison without standard error for a difference, with a rough one for its digits.

    Raises
    ------
    Refusal
        `too_few_blocks` where the blocks are too few for it to exclude anything at 50 per cent.
    """
    ends = answer.interval(0.5)
    if not (math.isfinite(ends.low) and math.isfinite(ends.high)):
        raise Refusal("too_few_blocks", "The blocks are too few for this analysis to say anything.")
    return RivalDifference(
        estimate=answer.estimate,
        standard_error=standard_error,
        degrees_of_freedom=degrees_of_freedom,
        method=method,
        answer=answer,
    )
