"""The test statistic of a verdict, where it has one: the distance to the margin in errors."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from workbench.claims.verdict import Verdict

AGREES = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class Statistic:
    """A t, or a z where the degrees of freedom are infinite, with the number of its tails."""

    letter: str
    value: float
    degrees_of_freedom: float
    tails: int


def statistic_of(verdict: Verdict) -> Statistic | None:
    """Give the statistic whose p-value is that of the verdict; None where there is none.

    Of a verdict that rests on something else, such as a ratio of variances or an exact test, there
    is none: the p-value of the t would not be the verdict's.

    It is (estimate - boundary) / standard error. The boundary is the margin of the claim: of
    `different` the nearer of its two, and of `same` the one whose one-sided p is the larger;
    sameness contradicted is a two-sided test of that same one.
    """
    error, freedom = verdict.standard_error, verdict.degrees_of_freedom
    if verdict.direction is None or math.isnan(freedom) or not error > 0:
        return None
    boundary = {
        "greater": verdict.margin,
        "less": -verdict.margin,
        "same": math.copysign(verdict.margin, verdict.estimate),
        "different": math.copysign(verdict.margin, verdict.estimate),
    }[verdict.direction]
    test = Statistic(
        letter="t" if math.isfinite(freedom) else "z",
        value=(verdict.estimate - boundary) / error,
        degrees_of_freedom=freedom,
        tails=1 if verdict.direction == "same" and verdict.outcome != "contradicted" else 2,
    )
    return test if math.isclose(tail_of(test), verdict.told_p, rel_tol=AGREES) else None


def tail_of(test: Statistic) -> float:
    """Give the p-value of a statistic, one-sided towards sameness where it has one tail."""
    from scipy.special import ndtr, stdtr

    below = -abs(test.value)
    tail = ndtr(below) if test.letter == "z" else stdtr(test.degrees_of_freedom, below)
    return test.tails * float(tail)
