"""The test statistic of a verdict, where it has one: the distance to the margin in errors."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from workbench.claims.verdict import Verdict


@dataclass(frozen=True, slots=True, kw_only=True)
class Statistic:
    """A t, or a z where the degrees of freedom are infinite, with the number of its tails."""

    letter: str
    value: float
    degrees_of_freedom: float
    tails: int


def statistic_of(verdict: Verdict) -> Statistic | None:
    """Give the statistic whose p-value is that of the verdict; None where there is none.

    It is (estimate - boundary) / standard error. The boundary is the margin of the claim: of
    `different` the nearer of its two, and of `same` the one whose one-sided p is the larger.
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
    return Statistic(
        letter="t" if math.isfinite(freedom) else "z",
        value=(verdict.estimate - boundary) / error,
        degrees_of_freedom=freedom,
        tails=1 if verdict.direction == "same" else 2,
    )
