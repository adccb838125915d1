"""A figure with its interval, and what any comparison must be able to answer."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

from workbench.inference.results import Interval


@dataclass(frozen=True, slots=True, kw_only=True)
class Estimate(Interval):
    """An interval together with the figure it surrounds and the method, in words."""

    estimate: float
    method: str


@dataclass(frozen=True, slots=True, kw_only=True)
class RankedEstimate(Estimate):
    """An interval whose ends are observations, so that its confidence moves in steps.

    `attained` is the confidence it really has, at least the one asked for. An end is infinite
    where no observation reaches that confidence.
    """

    attained: float


class WithInterval(Protocol):
    """Anything that gives its interval at a confidence."""

    def interval(self, confidence: float = 0.95) -> Interval:
        """Give the two-sided interval."""
        ...


class Comparison(WithInterval, Protocol):
    """Candidate against reference, of means, shares or anything else, asked at any boundary."""

    @property
    def estimate(self) -> float:
        """Candidate minus reference."""
        ...

    def p_above(self, margin: float) -> float:
        """Give the one-sided p against 'the difference is `margin` or less'."""
        ...

    def p_below(self, margin: float) -> float:
        """Give the one-sided p against 'the difference is `margin` or more'."""
        ...
